/**
 * @file worksheet_private.h
 * How a worksheet's key and scores are printed, on stdout.
 */
#ifndef COMMAND_WORKSHEET_PRIVATE_H
#define COMMAND_WORKSHEET_PRIVATE_H

#include "src/sitting/worksheet_score.h"

void worksheet_print_key(const worksheet_key *k);
void worksheet_print_scores(const worksheet_key *k, const worksheet_scores *s);

/** "fullminute.scores/1"; false with err APP_FAILED. */
bool worksheet_print_json(const worksheet_key *k,
                          const worksheet_scores *s,
                          app_err *err);

#endif
