/**
 * @file compose_partners.h
 * Options of `compose` that change nothing without another one. Given alone they are
 * refused: whoever typed them would take the recording for what it is not.
 */
#ifndef COMMAND_COMPOSE_PARTNERS_H
#define COMMAND_COMPOSE_PARTNERS_H

#include "src/base/error.h"
#include "src/base/options.h"

/**
 * Has every option given its partner?
 *
 * @param o  parsed with compose_option_table
 * @return false with err APP_USAGE: the option and what it goes with
 */
bool compose_partners_check(const options *o, app_err *err);

#endif
