/**
 * @file worksheet_score.h
 * A class's answers beside the key: per student, per item, and what misled whom.
 */
#ifndef USECASE_WORKSHEET_SCORE_H
#define USECASE_WORKSHEET_SCORE_H

#include "src/document/worksheet_scores.h"

/**
 * Judge every answer.
 *
 * @param name            of the answers, for errors
 * @param[in,out] text    text[0..n-1], changed; text[n] writable
 * @param tolerance       per minute
 * @return false with err APP_UNREADABLE: record and column, and nothing is scored
 */
bool worksheet_score(const worksheet_key *k,
                     const char *name,
                     char *text,
                     size_t n,
                     double tolerance,
                     worksheet_scores *out,
                     app_err *err);

/** What one count looks like beside an item. */
worksheet_slip worksheet_slip_of(const worksheet_item *item,
                                 int beats,
                                 int seconds,
                                 bool first_is_zero,
                                 double tolerance);

#endif
