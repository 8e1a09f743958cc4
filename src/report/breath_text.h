/**
 * @file breath_text.h
 * Respirations as a person reads them: the line, what it rests on, and what it means.
 *
 * Range of a resting adult, 12 to 20 per minute: common practice, no source.
 */
#ifndef REPORT_BREATH_TEXT_H
#define REPORT_BREATH_TEXT_H

#include "dsp/result.h"

#include <stdbool.h>
#include <stdio.h>

/** Half a range, per minute: wider is no one number (ours, no source). */
#define BREATH_NUMBER_HALF_WIDTH 5.0
/** Half a range, per minute: wider is an estimate, not a count (ours, no source). */
#define BREATH_COUNTED_HALF_WIDTH 2.0

#define BREATH_ADULT_LOW_PER_MIN  12.0 /**< resting adult, common practice, no source */
#define BREATH_ADULT_HIGH_PER_MIN 20.0 /**< resting adult, common practice, no source */

enum {
    BREATH_REASON_BYTES = 200
};

/**
 * Why respirations were not counted, or are doubted: a sentence without its full stop.
 *
 * @param[out] out  "" for FM_REASON_NONE
 * @return out
 */
const char *breath_text_reason(fm_reason reason, char out[BREATH_REASON_BYTES]);

/** "breath sound and beat intervals": the cues that were there; "" for none.
 * @param[out] out  out[0..bytes-1] @return out */
const char *breath_text_cues(const fm_breath *b, char *out, size_t bytes);

/** Is the breath's window another than the pulse's? */
bool breath_text_own_window(const fm_count *count);

/** The one line: count, rate, range, how sure; or why there is none. With its line end. */
void breath_text_print_line(const fm_count *count, FILE *to);

/** The same in a few words, for the end of a row: " Respirations 16." No line end. */
void breath_text_print_short(const fm_breath *b, FILE *to);

/** Under which seconds, and from which cues: two lines at most, or none. */
void breath_text_print_details(const fm_count *count, FILE *to);

/** True when counted and outside the resting adult's range. */
bool breath_text_is_outside(const fm_breath *b);

#endif
