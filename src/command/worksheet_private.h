/**
 * @file worksheet_private.h
 * What worksheet make does around the worksheet, and how its key and scores are printed.
 */
#ifndef COMMAND_WORKSHEET_PRIVATE_H
#define COMMAND_WORKSHEET_PRIVATE_H

#include "src/usecase/worksheet_make.h"
#include "src/usecase/worksheet_score.h"

/** worksheet_make; plan->from may also be a recipe file, which is composed first. */
bool worksheet_make_any(worksheet_plan *plan, size_t *n, app_err *err);

/**
 * folder/sheet.pdf from sheet.html there, by a converter or a browser on the PATH.
 *
 * @return false where there is none, or it failed; then no sheet.pdf is there
 */
bool worksheet_make_pdf(const char *folder);

void worksheet_print_key(const worksheet_key *k);
void worksheet_print_scores(const worksheet_key *k, const worksheet_scores *s);

/** One row an answer, for a spreadsheet. */
void worksheet_print_csv(const worksheet_key *k, const worksheet_scores *s);

/** "fullminute.scores/1"; false with err APP_FAILED. */
bool worksheet_print_json(const worksheet_key *k,
                          const worksheet_scores *s,
                          app_err *err);

#endif
