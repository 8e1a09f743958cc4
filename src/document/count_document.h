/**
 * @file count_document.h
 * The count document, "fullminute.count/1": one JSON object for one window of one
 * recording. Times to 1 ms, rates to 0.1, whatever the locale; a number that is not
 * known is null; a refused count carries its reason and no number of the heart.
 *
 * Members beside the contract's own, which a reader may ignore:
 *   source.channel, source.channel_chosen, source.truncated, source.not_numbers,
 *   window.first_beat, heart.band, heart.reason_start_s, heart.reason_length_s,
 *   heart.usable_s, breath.reason_code, breath.rate_low_per_min,
 *   breath.rate_high_per_min, breath.usable_s, breath.cues, quality.low_band_missing.
 * breath.pattern (even, uneven, with pauses, waxing and waning, undetermined) and
 * breath.findings ([{"kind": "pause", "start_s", "end_s"}]) stand also where the number
 * is refused: a long stretch without a breath is told whatever the count is worth.
 *
 * breath.window is the pulse's window or one of its own; breath refused says nothing of
 * the heart, and the other way round.
 */
#ifndef DOCUMENT_COUNT_DOCUMENT_H
#define DOCUMENT_COUNT_DOCUMENT_H

#include "dsp/compare/compare.h"
#include "dsp/result.h"

#include <jansson.h>

/** Where a count came from and how it was taken. Texts are borrowed. */
typedef struct count_source {
    const char *name;    /**< file name without its folder, any bytes */
    double duration_s;   /**< whole recording; NaN when not known */
    double rate_hz;      /**< > 0 */
    int channels;        /**< 1.. */
    int channel;         /**< the one counted, 1..channels */
    bool channel_chosen; /**< true: picked for its quality, not named by the person */
    bool truncated;      /**< the header promises more than there is */
    int64_t not_numbers; /**< samples of the counted stretch that were NaN or inf */
    fm_convention
        convention; /**< where the window starts; ZERO: the first S1 is none */
    bool age_known; /**< of the person; false: the adult's ranges */
    double age_months;
} count_source;

/**
 * Beats as the person counts them: the S1 in the window, less the first one where that
 * is called zero.
 */
int count_source_beats(const count_source *source, const fm_count *count);

/**
 * Rate, low and high under the same convention: of a whole minute one less where the
 * first beat is called zero, otherwise as they stand. NaN stays NaN.
 */
double count_source_rate(const count_source *source,
                         const fm_count *count,
                         double rate_bpm);

/* What every text and picture means by an uneven rhythm. */

/** The pattern's word is an irregular one. */
bool count_is_irregular(fm_pattern pattern);

/** A pulse that is not refused, and anything but even: its pattern, or a finding in one that
 * has no word. */
bool count_is_uneven(const fm_count *count);

/** Uneven only in step with breathing, nothing else found: common in the young, no alarm. */
bool count_is_with_breathing(const fm_count *count);

enum {
    COUNT_REASON_BYTES = 256
};

/** The sentences that belong to a count; "" where there is none to say. */
typedef struct count_said {
    char heart_reason[COUNT_REASON_BYTES]; /**< why it is refused or doubted */
    char breath_reason[COUNT_REASON_BYTES];
} count_said;

/**
 * The document as a JSON value.
 *
 * @return a new reference, for json_decref; NULL without memory
 */
json_t *count_document_build(const count_source *source,
                             const fm_count *count,
                             const count_said *said);

#endif
