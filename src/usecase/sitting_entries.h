/**
 * @file sitting_entries.h
 * What a learner entered in a live sitting, for the comparison: whether it is complete,
 * what is still to be asked, and the check's request filled from it.
 */
#ifndef USECASE_SITTING_ENTRIES_H
#define USECASE_SITTING_ENTRIES_H

#include "src/document/entry.h"
#include "src/document/sitting_document.h"
#include "src/usecase/checked_count.h"
#include "src/usecase/taking.h"

/**
 * The taking of what has still to be entered before anything may be shown; all of it is
 * stored at once. TAKING_ENDED: nothing.
 *
 * @param duration_s  of the recording; a window that it does not hold whole is left out
 */
taking sitting_entries_missing(const sitting_document *d, double duration_s);

/** What a row of the logbook takes from the sitting: when it was entered, the second
 *  examiner's beats, and respirations that were watched. */
void sitting_entries_describe(const sitting_document *d, entry *row);

/** Take an entry over, into d only: not yet on disk.
 *
 * @return false with err APP_USAGE: nobody counts that much, or no such word
 */
bool sitting_entries_take(sitting_document *d,
                          taking_entry kind,
                          const own_count *own,
                          int seconds,
                          app_err *err);

/**
 * Fill a request from a sitting, where the person gave nothing else.
 *
 * @param[in,out] request  given_taps is borrowed from taps
 * @param[out] taps        the taps less their delay, owned by the caller
 * @return false without memory
 */
bool sitting_entries_fill(const sitting_document *d,
                          check_request *request,
                          times *taps);

#endif
