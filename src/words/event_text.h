/**
 * @file event_text.h
 * What the lines of pulse and respirations say alike.
 */
#ifndef WORDS_EVENT_TEXT_H
#define WORDS_EVENT_TEXT_H

#include "dsp/compare/reference_range.h"
#include "dsp/result.h"

#include <stdio.h>

/** "  Recording     ", before what is said of it; "" goes on under it. */
void event_text_label(const char *label, FILE *to);

/** "15 s", "35.5 s": a length to a tenth, a whole one without. */
void event_text_length(double length_s, FILE *to);

/**
 * " = 71 per minute (70 to 73)": a whole minute's rate is a count. A short one's is no
 * product of the numbers before it: "; by their spacing 71.9 per minute (70 to 73)". NaN: low and high, not known; rate, too few for one.
 */
void event_text_rate(double rate, double low, double high, bool full_minute, FILE *to);

/** ". Counted, confidence 0.98.", and the doubt's reason, "" for none. */
void event_text_end(const fm_event_count *count,
                    const char *counted,
                    const char *reason,
                    FILE *to);

/** The interval of the rate, whole and outward, as printed; the rate itself where none is
 * known. */
void event_text_range(const fm_event_count *count, double *low, double *high);

/** The range that may judge a rate at the age, an adult's for NaN; NULL: none. */
const fm_reference_range *event_text_judge(fm_event_kind kind, double age_months);

#endif
