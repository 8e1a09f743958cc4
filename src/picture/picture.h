/**
 * @file picture.h
 * One picture of a counted window: the minute dial, the interval strip, the numbers and
 * one sentence beside them; as SVG text, or as a file by its extension.
 *
 * It draws the numbers it is given. It judges nothing again: verdicts, kinds of
 * interval and pairs of tap and beat come from dsp/. A refused count is drawn without
 * ticks and without a number, with the reason in words.
 */
#ifndef SRC_PICTURE_PICTURE_H
#define SRC_PICTURE_PICTURE_H

#include "dsp/compare/compare.h"
#include "dsp/compare/taps.h"
#include "dsp/result.h"
#include "src/document/check_view.h"
#include "src/document/count_document.h"

#include <stdbool.h>
#include <stddef.h>

/**
 * What to draw. Every pointer is borrowed for the call only. Set the rest to zero:
 * `const picture p = {.count = &count, .title = "steady-72.flac"};`
 */
typedef struct picture {
    /** never NULL */
    const fm_count *count;
    /** the learner's count beside it; NULL: none */
    const fm_comparison *comparison;
    /** the learner's taps on its beats; NULL: not tapped */
    const fm_taps *taps;
    /** UTF-8, what was listened to; NULL: none */
    const char *title;
    /** UTF-8, a verdict in words, with its full stop; stands before what the picture
        says of taps and rhythm; NULL: none */
    const char *sentence;
    /** how the window starts and what the first S1 is called: ZERO takes one off the
        beats shown */
    fm_convention convention;
    /** the learner's respirations beside the second count; NULL: none */
    const fm_comparison *breaths;
    bool
        outside; /**< the rate lies outside the range for the age: a caution is drawn */
    bool act_now;  /**< a number is at a published line to act on (person_first.h) */
    bool composed; /**< nobody is there: 'if this were a person' */
    size_t n_breaths;
    /** breath_s[0..n_breaths-1], starts, seconds of the recording; those outside the
        window are not drawn */
    const double *breath_s;
    size_t n_pauses;
    /** pauses[0..n_pauses-1]: stretches without a breath, drawn and told in words */
    const fm_breath_pause *pauses;
    bool pauses_known; /**< they are the truth's */
    /** how the breathing went, as the text says it; told in words where it is uneven or
        waxing and waning */
    fm_breath_pattern breathing;
} picture;

/**
 * The picture as SVG text, UTF-8, numbers in the C locale; same input, same bytes.
 *
 * @param[out] n_bytes  length without the end mark; may be NULL
 * @return text, to be freed by the caller; NULL without memory
 */
char *picture_format(const picture *p, size_t *n_bytes);

/** What is drawn of a comparison: the minute with the learner's count, taps and
 *  respirations. Of a view whose pulse was checked; borrows from it. */
picture check_picture_of(const check_view *view);

/** The picture of one counted window, with the numbers as the person counts them. As SVG
 *  text, to be freed by the caller; NULL without memory. */
char *count_picture_format(const count_source *source, const fm_count *count);

#endif
