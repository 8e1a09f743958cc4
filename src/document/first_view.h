/**
 * @file first_view.h
 * A comparison as it is read in one look, in words: made by src/words/first_look.h, shown by
 * the terminal, and by the page from this JSON. Every text is a finished sentence or a phrase.
 * Members, the texts "" or null where there is nothing to say:
 *   person {now, text[]} or null, sides[] {kind ("pulse", "breath"), you, you_text, entered,
 *   seconds, second, second_text, low, high, judged_by ("truth", "second"), unit, numbers,
 *   difference, sure, range, word {yours, found, same, text}}, trend,
 *   next {code, kind, text, action, start_s},
 *   slips[] {kind, text, start_s, seconds}: start_s null where it has no place; shorter[],
 *   method[]
 */
#ifndef DOCUMENT_FIRST_VIEW_H
#define DOCUMENT_FIRST_VIEW_H

#include "dsp/result.h"

#include <jansson.h>
#include <stdbool.h>

enum {
    FIRST_TEXT_BYTES = 1024,
    FIRST_WORD_BYTES = 128,
    FIRST_LINES_MOST = 12,
    FIRST_SLIPS_MOST = 16
};

/** Sentences, text[0..n-1]. */
typedef struct first_lines {
    size_t n;
    char text[FIRST_LINES_MOST][FIRST_TEXT_BYTES];
} first_lines;

/** The rhythm, or how the breathing went. */
typedef struct first_word {
    char yours[FIRST_WORD_BYTES]; /**< the learner's; "" not said */
    char found[FIRST_WORD_BYTES]; /**< known, or heard; "" not named */
    bool same;                    /**< both, in the same word */
    char text[FIRST_TEXT_BYTES];
} first_word;

/** The pulse, or the respirations. Rates per minute, NaN: none. */
typedef struct first_side {
    fm_event_kind kind;
    bool could_not; /**< the learner could not count it */
    int entered;    /**< as counted; 0 where could_not */
    int seconds;
    double you_per_min;
    double second_per_min, low_per_min, high_per_min;
    bool by_truth; /**< known events judge, not the second count */
    char second_text[FIRST_WORD_BYTES];
    char numbers[FIRST_TEXT_BYTES];
    char difference[FIRST_TEXT_BYTES];
    char sure[FIRST_TEXT_BYTES];
    char range[FIRST_TEXT_BYTES];
    first_word word;
} first_side;

/** What the learner can do next: enumerator, code, what the page begins for it. */
#define FIRST_STEP_MAP(X)                                                              \
    X(FIRST_PERSON, "person", "person")                                                \
    X(FIRST_LOOK_AT_CHEST, "look_at_chest", "person")                                  \
    X(FIRST_MEND_SOUND, "mend_sound", "again")                                         \
    X(FIRST_FIND_PLACE, "find_place", "place")                                         \
    X(FIRST_TWO_EXAMINERS, "two_examiners", "second_examiner")                         \
    X(FIRST_TRUTH_DOUBTED, "truth_doubted", "again")                                   \
    X(FIRST_LONGER, "longer", "full_minute")                                           \
    X(FIRST_CALM_MINUTE, "calm_minute", "again")                                       \
    X(FIRST_SLIPS_MARKED, "slips_marked", "listen_marks")                              \
    X(FIRST_BOTH_SOUNDS, "both_sounds", "slow")                                        \
    X(FIRST_EVERY_OTHER, "every_other", "tap_along")                                   \
    X(FIRST_OTHER_SECONDS, "other_seconds", "again")                                   \
    X(FIRST_FULL_MINUTE, "full_minute", "full_minute")                                 \
    X(FIRST_UNEVEN, "uneven", "irregular")                                             \
    X(FIRST_UNEVEN_AGAIN, "uneven_again", "irregular")                                 \
    X(FIRST_TAP_ALONG, "tap_along", "tap_along")                                       \
    X(FIRST_TAP_SAME, "tap_same", "tap_along")                                         \
    X(FIRST_COUNT_AGAIN, "count_again", "again")                                       \
    X(FIRST_BREATHS, "breaths", "breaths")                                             \
    X(FIRST_COUNT_PULSE, "count_pulse", "again")

typedef enum first_step {
#define X(step, code, action) step,
    FIRST_STEP_MAP(X)
#undef X
    FIRST_STEP_COUNT
} first_step;

typedef struct first_next {
    first_step step;
    fm_event_kind kind;
    char text[FIRST_TEXT_BYTES];
    double start_s; /**< of the six seconds to hear; NaN: none */
} first_next;

/** One named slip. */
typedef struct first_slip {
    fm_event_kind kind;
    char text[FIRST_TEXT_BYTES];
    double start_s; /**< where to listen, s of the recording; NaN: it has no place */
    int seconds;
    size_t n; /**< beats missed and counted too often there */
} first_slip;

/** All of it, about 100 KB: keep it on the heap. Plain value. */
typedef struct first_view {
    bool now;           /**< a number is at a published line to act on */
    first_lines person; /**< what to do for the person */
    size_t n_sides;     /**< sides[0..n_sides-1], the pulse first */
    first_side sides[FM_EVENT_KINDS];
    char trend[FIRST_TEXT_BYTES];
    first_next next;
    size_t n_slips;
    first_slip slips[FIRST_SLIPS_MOST];
    first_lines shorter; /**< what a shorter count would have said */
    first_lines method;  /**< how it was counted */
} first_view;

/** As a JSON value; a new reference, NULL without memory. */
json_t *first_view_document(const first_view *v);

#endif
