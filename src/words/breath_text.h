/**
 * @file breath_text.h
 * Respirations as a person reads them: the line, what it rests on, and what it means.
 */
#ifndef WORDS_BREATH_TEXT_H
#define WORDS_BREATH_TEXT_H

#include "dsp/result.h"

#include <stdbool.h>
#include <stdio.h>

/** Half a range, per minute: wider is no one number (ours, no source). */
#define BREATH_NUMBER_HALF_WIDTH 5.0
/** Half a range, per minute: wider is an estimate, not a count (ours, no source). */
#define BREATH_COUNTED_HALF_WIDTH 2.0

enum {
    BREATH_REASON_BYTES = 200,
    BREATH_PATTERN_BYTES = 200,
    BREATH_PAUSES_BYTES = 400
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

/** "in the same seconds as the pulse": where respirations were counted. */
const char *breath_text_where(const fm_count *count);

/**
 * "uneven, one minute is too short to say more": how breaths follow one another, without
 * a full stop. Says nothing of a pause's times: see breath_text_pauses.
 *
 * @param full_minute  "in this minute", else "in these seconds"
 * @return out
 */
const char *breath_text_pattern(fm_breath_pattern pattern,
                                bool full_minute,
                                char out[BREATH_PATTERN_BYTES]);

/**
 * "no breath was heard from 27 s to 41 s: look at the chest", without a full stop; of a
 * recording whose truth is known "the breathing paused from 27 s to 41 s". A sound alone
 * never tells that a person does not breathe.
 *
 * @param pauses  pauses[0..n-1]
 * @param known   they are the truth's
 * @param[out] out  "" for none @return out
 */
const char *breath_text_pauses(const fm_breath_pause *pauses,
                               size_t n,
                               bool known,
                               char out[BREATH_PAUSES_BYTES]);

/** The one line: count, rate, range, how sure; or why there is none. With its line end. */
void breath_text_print_line(const fm_count *count, FILE *to);

/** The same in a few words, for the end of a row: " Respirations 16." No line end. */
void breath_text_print_short(const fm_breath *b, FILE *to);

/** Under which seconds, and from which cues: two lines at most, or none. */
void breath_text_print_details(const fm_count *count, FILE *to);

/**
 * True when counted and outside the range that may judge it at the age.
 *
 * @param age_months  NaN: not given, the resting adult's
 */
bool breath_text_is_outside(const fm_breath *b, double age_months);

#endif
