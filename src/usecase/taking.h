/**
 * @file taking.h
 * The taking of a count, one step machine for every front door: a live sitting, a practice of
 * the page, a shared minute, the check of a file. It keeps the order: entered, stored, counted,
 * shown. Events go in; the phase says what is wanted next. It calls nobody: after an entry it
 * stands at TAKING_STORING until it is told what became of it, at once or later, so that no
 * store and no front door can put a count before an entry.
 *
 * A plain value: copy freely, nothing to free, no clock. All zero: nothing is taken.
 */
#ifndef USECASE_TAKING_H
#define USECASE_TAKING_H

#include "src/document/taking_phase.h"

#include <stdbool.h>
#include <stdint.h>

/** What happens. One that the phase has no use for changes nothing. */
typedef enum taking_event {
    TAKING_TIME,       /**< it is `at` now */
    TAKING_START,      /**< the lead-in; the window starts at `at` */
    TAKING_LACKS,      /**< something of this window was not heard */
    TAKING_AGAIN,      /**< another window in the place of this one */
    TAKING_KEEP,       /**< go on though something was not heard */
    TAKING_ENTERED,    /**< the number that is asked for */
    TAKING_STORED,     /**< it is where nothing takes it back */
    TAKING_NOT_STORED, /**< it was not made: it may be given once more */
    TAKING_COUNTED, /**< and, where there is a logbook, kept there beside the entry */
    TAKING_COUNT_FAILED,
    TAKING_STOP, /**< the person ends it; an open count is made of what there is */
    TAKING_INPUT_ENDED /**< no more sound, or none that can be kept */
} taking_event;

/** One number to be entered. */
typedef struct taking_step {
    taking_entry entry;
    int seconds; /**< that were counted */
    bool
        window; /**< they are lived through here; else the number is asked for at once */
    bool watched;   /**< by the clock, the chest piece off: it lacks nothing */
    bool with_next; /**< not stored alone: with the next one's */
} taking_step;

enum {
    TAKING_STEPS_MOST = 3
};

typedef struct taking {
    /* The plan. */
    taking_step steps[TAKING_STEPS_MOST];
    int n_steps;
    bool
        open; /**< an open count: its window is lived through, no number is asked for */
    bool repeats;   /**< with open: one window after the other until it is stopped */
    double rate_hz; /**< units of `at` in a second */
    int64_t settle; /**< so much has to be heard before a start */
    int64_t tail;   /**< and after the last window */
    /* Where it is. */
    taking_phase phase;
    int step;           /**< of steps */
    int window;         /**< of a row, from 1 */
    int64_t now;        /**< as of the last TAKING_TIME */
    int64_t start, end; /**< of the window */
    bool lacks;
} taking;

/** One more number in the plan, where it is wanted. */
void taking_add(taking *t, bool wanted, taking_step step);

/** Begin with the first of the plan. */
void taking_begin(taking *t);

/** @return whether anything has changed but the time */
bool taking_tell(taking *t, taking_event event, int64_t at);

/** The step it is at. */
const taking_step *taking_at(const taking *t);

/** Is there another number to be entered after this one? */
bool taking_has_more(const taking *t);

#endif
