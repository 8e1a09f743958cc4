/**
 * @file forget_learner.h
 * Forgetting a learner: the rows in the logbook and the recordings of live sittings.
 */
#ifndef USECASE_FORGET_LEARNER_H
#define USECASE_FORGET_LEARNER_H

#include "src/base/bytes.h"
#include "src/port/logbook.h"

/** What was removed. Start it as {0}; bytes_free(&left). */
typedef struct forgotten {
    int rows;
    int recordings;  /**< files of live sittings, with what lay beside them */
    int not_removed; /**< that could not be */
    int n_left; /**< that a row calls a sitting's, and that stay: they lie elsewhere,
                          or no sitting of ours lies beside them */
    int copies; /**< damaged logbooks that were set aside */
    bytes left; /**< their paths, one a line */
} forgotten;

/**
 * Remove the recordings, then the rows, then copies of a damaged logbook that hold the
 * name.
 *
 * @param with_copies  false: where there are such copies nothing is removed
 * @return false with err as logbook_forget; APP_USAGE: there are copies
 */
bool forget_learner(
    logbook *l, const char *learner, bool with_copies, forgotten *out, app_err *err);

#endif
