/**
 * @file live_view.h
 * What a screen may show of a live sitting at one moment. Everything that may be seen
 * before the entry is in here, and nothing in it follows the beats unless marks were
 * asked for.
 */
#ifndef USECASE_LIVE_VIEW_H
#define USECASE_LIVE_VIEW_H

#include "src/document/sitting_document.h"

#include <stdbool.h>

typedef enum live_phase {
    LIVE_SETTLING, /**< place the chest piece, look at the level */
    LIVE_LEAD_IN,  /**< three ticks */
    LIVE_RUNNING,  /**< the window */
    LIVE_GAPPED, /**< the window is over and lacks audio, or contact: again, or go on */
    LIVE_ENTRY,  /**< waits for a number */
    LIVE_ENDING, /**< a few more seconds are recorded after the window */
    LIVE_DONE,   /**< complete: close it */
    LIVE_BROKEN  /**< the input is gone or the disk is full: close it */
} live_phase;

/** Whose number is waited for. */
typedef enum live_entry {
    LIVE_ENTRY_PULSE,
    LIVE_ENTRY_SECOND, /**< the second examiner's, at the wrist */
    LIVE_ENTRY_BREATH
} live_entry;

enum {
    LIVE_MARKS_MAX = 64,
    LIVE_ENVELOPE_HZ = 50,
    LIVE_ENVELOPE_MAX = 50 /**< values: the last second's */
};

/** A provisional mark: may be wrong, enters nothing. */
typedef struct live_mark {
    double time_s; /**< on the recording, about when the sound was */
    bool is_s2;
    double monotonic_s; /**< when it was known here */
} live_mark;

/** One moment. */
typedef struct live_view {
    live_phase phase;
    sitting_kind kind;
    bool watched; /**< by the clock, the chest piece off: no second count of it */
    live_entry entry;
    int window;       /**< which one of a row, from 1 */
    int seconds;      /**< length of the window */
    double elapsed_s; /**< in the window, or of the lead-in; never negative */
    double left_s;
    bool can_start;      /**< settling: something has been heard for three seconds */
    double level_dbfs;   /**< of the last whole three seconds, in steps of 3 dB; NaN */
    const char *advice;  /**< about the level, "" none */
    const char *trouble; /**< what went wrong, "" nothing */
    const char *person;  /**< what a number already entered asks for, by the learner's
                              number alone (person_first.h); "" nothing */
    double missing_s;    /**< of this window so far */
    double
        lost_start_s; /**< with LIVE_GAPPED: contact was lost, from the window's start */
    double lost_length_s; /**< 0: it was not; from the level alone */
    bool stalled;
    bool tapped;  /**< any tap in this window */
    bool ticks;   /**< the lead-in can be heard */
    double now_s; /**< on the recording */
    int n_marks;
    live_mark marks[LIVE_MARKS_MAX]; /**< the last few seconds', oldest first */
} live_view;

#endif
