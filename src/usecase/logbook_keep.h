/**
 * @file logbook_keep.h
 * A checked count on its way into the logbook: the learner's numbers are committed before
 * the recording is analysed, the second count's are added afterwards.
 *
 * A second count that could not be sealed is not shown: whoever has seen it could enter the
 * right number next time, and that row would be called a first attempt. So where a logbook
 * is kept and the row cannot be committed, the check stops there. Only an entry that is on
 * disk already, in a live sitting's document, goes on without its row, and that is said.
 */
#ifndef USECASE_LOGBOOK_KEEP_H
#define USECASE_LOGBOOK_KEEP_H

#include "src/base/error.h"
#include "src/port/logbook.h"
#include "src/usecase/checked_count.h"

/** One row on its way. Start it with logbook_keep_begin; end it with logbook_keep_end. */
typedef struct logbook_keep {
    logbook *book;         /**< NULL: nothing is kept */
    entry row;             /**< number 0: not committed */
    bool wanted;           /**< a logbook is kept for this count */
    bool sealed_elsewhere; /**< the entry is on disk in a sitting's document */
    bool refused;          /**< it could not be sealed, and that ended the check */
    char problem[APP_ERR_TEXT_BYTES]; /**< what to say on stderr; "" nothing */
} logbook_keep;

/**
 * @param path     the logbook's file; NULL: keep nothing
 * @param make     begin one where there is none
 * @param learner  initials or a nickname
 */
void logbook_keep_begin(logbook_keep *k,
                        const char *path,
                        bool make,
                        const char *learner);

/**
 * A whole check with this logbook: what was entered is committed, with what the caller put
 * into row besides; then counted; then what the second count said is added.
 *
 * @param deficit_per_min  NaN for none
 * @return to be shown, and freed with checked_count_free; NULL with err as above and as
 *         checked_count_open
 */
checked_count *logbook_keep_check(logbook_keep *k,
                                  const check_request *request,
                                  double deficit_per_min,
                                  app_err *err);

/** Close. */
void logbook_keep_end(logbook_keep *k);

#endif
