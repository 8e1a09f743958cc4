/**
 * @file count_text.h
 * A count as a person reads it: one line at a glance, then what it rests on and the
 * cautions that belong beside the number.
 *
 * Range of a resting adult, 60 to 100 per minute: common practice, no source.
 */
#ifndef REPORT_COUNT_TEXT_H
#define REPORT_COUNT_TEXT_H

#include "src/report/count_document.h"

#include <stdio.h>

#define COUNT_ADULT_LOW_BPM  60.0  /**< resting adult, common practice, no source */
#define COUNT_ADULT_HIGH_BPM 100.0 /**< resting adult, common practice, no source */

/** The pulse's line: count, rate, range, rhythm, how sure; or why there is no count. */
void count_text_print_line(const count_source *source, const fm_count *count, FILE *to);

/** One line of a row of windows: its times, the line above, respirations in brief. */
void count_text_print_row(const count_source *source, const fm_count *count, FILE *to);

/** The line, that of respirations, the details and the cautions. */
void count_text_print(const count_source *source, const fm_count *count, FILE *to);

/** The cautions alone, for the end of a row: as if for the most worrying of its counts. */
void count_text_print_cautions(bool any_refused, bool any_worrying, FILE *to);

/** True when the whole interval that holds the rate is outside the resting adult's range. */
bool count_text_is_outside(const fm_count *count);

/** True when a count is irregular, undetermined or outside the resting adult's range, or
 * respirations are outside theirs. */
bool count_text_is_worrying(const fm_count *count);

#endif
