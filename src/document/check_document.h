/**
 * @file check_document.h
 * The comparison document, "fullminute.check/1": one JSON object, the whole count
 * document inside. Times to 1 ms, rates to 0.1; what is not known is null.
 *
 * Members beside the contract's own, which a reader may ignore:
 *   manual.from_taps, difference_beats, judged_against ("device" or "truth"),
 *   same_seconds {start_s, end_s, beats, per_min, low, high}: what `difference` and
 *   `verdict` compare with, minute {per_min, low, high}: what the whole minute gave,
 *   no_verdict (why there is none), in_doubt, explained_by_convention (the first-beat
 *   convention that explains a difference of exactly one), fewer_at_wrist,
 *   judged_at ("apex" or "wrist": whose beats same_seconds holds), apex_beats,
 *   taps.lost_until_s,
 *   reference.{age_band, age_given, meaning, from_memory, place ("below", "within",
 *   "above", "at the edge": the interval that holds the rate is partly outside)},
 *   tolerance.set_by ("instructor" or "example"),
 *   breath_check: present where respirations were checked: {manual {entered, seconds,
 *   per_min, method ("watched", "listened", null), from_taps}, difference,
 *   difference_breaths, verdict, no_verdict, in_doubt, judged_against, same_seconds
 *   {start_s, end_s, breaths, per_min, low, high}, minute {per_min, low, high}, tolerance,
 *   explained_by_method, slip, taps {count} (counted over those seconds, never a rate from
 *   gaps), short_counts, reference {range, source, ...}, who_fast_breathing {limit_per_min,
 *   fast, source} or null from five years on and without an age}.
 *
 * Where respirations alone were checked the pulse stays sealed: count.heart, count.rhythm
 * and the pulse's members are null, no_verdict is "pulse not entered". Where no
 * respirations were entered they stay sealed: count.breath is null.
 */
#ifndef DOCUMENT_CHECK_DOCUMENT_H
#define DOCUMENT_CHECK_DOCUMENT_H

#include "src/document/check_view.h"

#include <jansson.h>

enum {
    CHECK_SAID_BYTES = 2048,
    CHECK_FIRST_MOST = 8
};

/** The sentences that belong to a comparison; "" where there is none to say. */
typedef struct check_said {
    count_said count;
    char slip[CHECK_SAID_BYTES];
    char breath_slip[CHECK_SAID_BYTES];
    bool act_now;  /**< a number is at a published line to act on */
    bool composed; /**< nobody is there */
    size_t n_first;
    char first[CHECK_FIRST_MOST]
              [CHECK_SAID_BYTES]; /**< what stands above every number */
} check_said;

/**
 * The document as a JSON value.
 *
 * @return a new reference, for json_decref; NULL without memory
 */
json_t *check_document_build(const check_view *view, const check_said *said);

#endif
