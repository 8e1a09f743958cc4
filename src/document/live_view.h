/**
 * @file live_view.h
 * What a screen may show of a live sitting at one moment. Everything that may be seen
 * before the entry is in here, and nothing in it follows the beats unless marks were
 * asked for.
 */
#ifndef DOCUMENT_LIVE_VIEW_H
#define DOCUMENT_LIVE_VIEW_H

#include "dsp/provisional.h"
#include "src/document/sitting_document.h"
#include "src/document/taking_phase.h"

#include <jansson.h>
#include <stdbool.h>
#include <stddef.h>

enum {
    LIVE_MARKS_MAX = 64,
    LIVE_ENVELOPE_HZ = 50,
    LIVE_ENVELOPE_MAX = 50 /**< values: the last second's */
};

/** A provisional mark: may be wrong, enters nothing. */
typedef struct live_mark {
    double time_s; /**< on the recording, about when the sound was */
    fm_provisional_kind kind;
    double monotonic_s; /**< when it was known here */
} live_mark;

/** One moment. */
typedef struct live_view {
    taking_phase phase;
    sitting_kind kind;
    bool watched;       /**< by the clock, the chest piece off: no second count of it */
    taking_entry entry; /**< whose number is waited for */
    int window;         /**< which one of a row, from 1 */
    int seconds;        /**< length of the window */
    double elapsed_s;   /**< in the window, or of the lead-in; never negative */
    double left_s;
    bool can_start;      /**< settling: something has been heard for three seconds */
    double level_dbfs;   /**< of the last whole three seconds, in steps of 3 dB; NaN */
    const char *advice;  /**< about the level, "" none */
    const char *trouble; /**< what went wrong, "" nothing */
    const char *person;  /**< what a number already entered asks for, by the learner's
                              number alone (person_first.h); "" nothing */
    double missing_s;    /**< of this window so far */
    double
        lost_start_s; /**< with TAKING_GAPPED: contact was lost, from the window's start */
    double lost_length_s; /**< 0: it was not; from the level alone */
    bool stalled;
    bool tapped;  /**< any tap in this window */
    bool ticks;   /**< the lead-in can be heard */
    double now_s; /**< on the recording */
    int n_marks;
    live_mark marks[LIVE_MARKS_MAX]; /**< the last few seconds', oldest first */
} live_view;

/** Of an open count: how loud the heart band was. */
typedef struct live_envelope {
    float values[LIVE_ENVELOPE_MAX]; /**< n of them, full scale 1 */
    size_t n;
    double first_s; /**< the time of the first on the recording */
} live_envelope;

/**
 * For a page: {phase, kind, watched, entry, seconds, elapsed_s, left_s, can_start, level_dbfs,
 * advice, trouble, missing_s, lost_start_s, lost_length_s, stalled, checked, ticks, now_s, at_s,
 * person} and, of an open count, open {marks [[time_s, is_s2 or
 * null where it is not named]], envelope [], envelope_from_s,
 * envelope_hz}.
 *
 * @param envelope  NULL: a checked count, which has none
 * @param at_s      the moment of the view on the program's clock
 * @return a new reference; NULL without memory
 */
json_t *live_view_json(const live_view *v, const live_envelope *envelope, double at_s);

#endif
