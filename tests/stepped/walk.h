/**
 * @file walk.h
 * A live sitting walked through by a test on the stepped clock. Everything that is put on
 * disk and everything that may be seen is noted in the order in which it happens:
 *
 *   screen running pulse          the phase that a screen would show, and of what
 *   disk sealed; pulse 6.10-21.10 the sitting's document, written; `aside` and `moved`
 *        ...                      behind a window, entries, gaps, taps as far as there are
 *   refused                       the document could not be written
 *
 * The input is a heart at 4000 Hz, and may fall silent without its samples ever coming
 * (stall), say that it dropped some (overflow), be gone (lost), or come to its end.
 */
#ifndef STEPPED_WALK_H
#define STEPPED_WALK_H

#include "src/usecase/live_sitting.h"

#include "tests/support.h"

#define WALK_NEVER 1e9

enum {
    WALK_RATE_HZ = 4000,
    WALK_LOG_BYTES = 16384,
    WALK_FOLDER_BYTES = 32,
    WALK_PATH_BYTES = 64
};

/** What goes wrong with the input, in seconds of its own since it was opened. */
typedef struct walk_input {
    double stall_from_s, stall_s; /**< no samples, and those of that time never come */
    double overflow_s,
        dropped_s; /**< samples are dropped there, with the driver's word */
    double lost_s; /**< the device is gone */
    double lifted_s, lifted_for_s; /**< contact: only the room is heard, very softly */
} walk_input;

/** One that is well. */
#define WALK_INPUT_SOUND                                                               \
    {                                                                                  \
        .stall_from_s = WALK_NEVER, .overflow_s = WALK_NEVER, .lost_s = WALK_NEVER,    \
        .lifted_s = WALK_NEVER                                                         \
    }

typedef struct walk {
    char folder[WALK_FOLDER_BYTES];
    char sound[WALK_PATH_BYTES];
    char document[WALK_PATH_BYTES];
    live_plan plan;
    live_sitting *s;
    char log[WALK_LOG_BYTES];
    char screen[64]; /**< the last line of that kind */
} walk;

/** A checked pulse of 15 s, with nothing else; the plan may be changed before walk_open. */
void walk_init(walk *w);

void walk_open(walk *w, const walk_input *input);

/** Let time go on in steps of 50 ms, as a screen does. */
void walk_go(walk *w, double seconds);

/** The same until the screen says so ("entry pulse"), for two minutes at most. */
void walk_until(walk *w, const char *screen);

/** Do it, and note what is seen afterwards. */
void walk_do(walk *w, void (*how)(live_sitting *s));

/** Enter a number. @return whether it was stored; else its error is in err */
bool walk_enter(walk *w, int entered, app_err *err);

/** From now on no document can be written; or again. */
void walk_disk_full(bool full);

/** The same of the sound alone. */
void walk_sound_full(bool full);

/** The document as it lies on disk. */
void walk_read(const walk *w, sitting_document *d);

/** All that was noted is this, line for line; the list is empty afterwards. */
void walk_said(walk *w, const char *expected);

/** Whether the second count may be shown; it is made where it may. */
bool walk_reveals(const walk *w, app_err *err);

/** Close it as a front end does. */
void walk_close(walk *w);

/** Remove its files. */
void walk_end(walk *w);

#endif
