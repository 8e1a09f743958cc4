/**
 * @file last_count.h
 * How far off a learner was the time before, for 'better than last time or not'.
 */
#ifndef USECASE_LAST_COUNT_H
#define USECASE_LAST_COUNT_H

#include "src/document/check_view.h"
#include "src/port/logbook.h"

/**
 * The last row of this learner before this one whose pulse, and the last whose respirations,
 * were compared. Refused counts and those without a verdict are none. First attempts only,
 * and of a second attempt nothing is said: whoever has seen the number knows it.
 *
 * @param l    NULL: none is kept
 * @param row  number 0: not stored
 * @return NaN where there is none, or the logbook cannot be read
 */
check_before last_count_find(logbook *l, const entry *row);

#endif
