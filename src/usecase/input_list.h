/**
 * @file input_list.h
 * The inputs of this computer for a person to choose from.
 */
#ifndef USECASE_INPUT_LIST_H
#define USECASE_INPUT_LIST_H

#include "src/base/error.h"

#include <jansson.h>

/** [{key, name, channels, default}], none is no error; NULL with err. */
json_t *input_list_make(app_err *err);

#endif
