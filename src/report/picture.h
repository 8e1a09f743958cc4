/**
 * @file picture.h
 * One picture of a counted window: the minute dial, the interval strip, the numbers and
 * one sentence beside them; as SVG text, or as a file by its extension.
 *
 * It draws the numbers it is given. It judges nothing again: verdicts, kinds of
 * interval and pairs of tap and beat come from dsp/. A refused count is drawn without
 * ticks and without a number, with the reason in words.
 */
#ifndef SRC_REPORT_PICTURE_H
#define SRC_REPORT_PICTURE_H

#include "dsp/compare/compare.h"
#include "dsp/compare/taps.h"
#include "dsp/result.h"
#include "src/base/error.h"

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
 * Can path be drawn to? Looks at the extension only (.svg or .png, any case), so that a
 * command can refuse a wrong one before it counts.
 *
 * @return true; false with APP_USAGE and a sentence naming both extensions
 */
bool picture_path_check(const char *path, app_err *err);

/**
 * Does the picture spare what it is made from? --force must not replace a recording that
 * happens to have a picture's name.
 *
 * @param input  a file that is read, "-" for standard input; NULL: none
 * @return true; false with APP_USAGE when path and input are one file
 */
bool picture_input_check(const char *path, const char *input, app_err *err);

/**
 * Draw p and write it to path, .svg or .png by the extension. The file appears whole or
 * not at all.
 *
 * @param force  replace an existing file; without it an existing file is an error
 * @return true; false with APP_USAGE (extension, existing file) or APP_FAILED
 *         (no memory, cannot write, the PNG part is not installed), path named
 */
bool picture_write(const picture *p, const char *path, bool force, app_err *err);

/**
 * The picture as SVG text, UTF-8, numbers in the C locale; same input, same bytes.
 *
 * @param[out] n_bytes  length without the end mark; may be NULL
 * @return text, to be freed by the caller; NULL without memory
 */
char *picture_format(const picture *p, size_t *n_bytes);

#endif
