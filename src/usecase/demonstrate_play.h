/**
 * @file demonstrate_play.h
 * Playing a demonstration: pause, seek, loop, click, and which marks have just been heard.
 * It knows no terminal, and no sound card either: the output is four functions.
 */
#ifndef USECASE_DEMONSTRATE_PLAY_H
#define USECASE_DEMONSTRATE_PLAY_H

#include "src/usecase/demonstrate.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#define DEMONSTRATE_LOOP_MIN_S 1.0

/** An output; src/port/player.h is one. See there what each does. */
typedef struct demonstrate_output {
    void *context;
    void (*start)(void *context, const float *samples, int64_t n, int64_t from);
    void (*stop)(void *context);
    int64_t (*heard)(void *context);
    bool (*alive)(void *context);
    double latency_s; /**< what is on its way to the ear when the sound is exchanged */
} demonstrate_output;

/** The state. Plain value; what it points at is borrowed. */
typedef struct demonstrate_play {
    const demonstration *d;
    demonstrate_output out;
    int64_t at; /**< the sample that is heard */
    bool playing;
    bool ended; /**< heard to its end, and not begun again */
    bool lost;  /**< the output is gone */
    bool click;
    bool looping;
    int64_t loop_from, loop_to; /**< samples; loop_to <= n */
    size_t next;                /**< the first mark that is still to come */
    size_t fresh;               /**< marks fresh..next-1 were passed by the last step */
    int rounds;                 /**< how often the loop has begun again */
} demonstrate_play;

/** At rest, at the start of the stretch. */
void demonstrate_play_init(demonstrate_play *p,
                           const demonstration *d,
                           const demonstrate_output *out);

/** Play on from where it stands; from the start once it has ended. */
void demonstrate_play_go(demonstrate_play *p);

/** Silence; the place stays. */
void demonstrate_play_pause(demonstrate_play *p);

/** Go by_s seconds forwards or backwards, within the stretch or the loop. */
void demonstrate_play_seek(demonstrate_play *p, double by_s);

/** Clicks at each S1 or not, from now on. */
void demonstrate_play_click(demonstrate_play *p, bool on);

/**
 * Repeat a stretch; where the place is outside it, it goes to its start.
 *
 * @return false when it is shorter than DEMONSTRATE_LOOP_MIN_S or not inside: nothing has
 *         changed
 */
bool demonstrate_play_loop(demonstrate_play *p, double from_s, double to_s);

/** Repeat nothing. */
void demonstrate_play_loop_clear(demonstrate_play *p);

/** Look what is heard now: moves the place, passes marks, begins a loop again, ends. */
void demonstrate_play_step(demonstrate_play *p);

/** Where it is, s of the stretch. */
double demonstrate_play_at_s(const demonstrate_play *p);

/** Seconds until the next mark is heard; infinity: none is coming, or it does not play. */
double demonstrate_play_until_next_s(const demonstrate_play *p);

#endif
