/**
 * @file player_callback.h
 * The function that the sound driver calls for output, and what it may touch. It copies
 * samples from memory and notes how far it has come, with the driver's own time that is
 * handed to it. Nothing in it allocates, locks, waits, reads a clock or calls the system.
 */
#ifndef PLAYBACK_PLAYER_CALLBACK_H
#define PLAYBACK_PLAYER_CALLBACK_H

#include <portaudio.h>
#include <stdatomic.h>
#include <stdbool.h>
#include <stdint.h>

/** What to play. Written before it is published, never while the callback has it. */
typedef struct player_order {
    const float *samples; /**< NULL: silence */
    int64_t n;
    int64_t from;
    unsigned number; /**< counts the orders from 1 */
} player_order;

/** How far the callback has come, as it was at its last call. */
typedef struct player_mark {
    unsigned order; /**< of which order; 0: none yet */
    int64_t first;  /**< sample that the last block began with; goes on past n */
    int64_t next;   /**< sample that the next block will begin with */
    double now_s;   /**< the driver's clock at that call */
    double heard_s; /**< the driver's clock when `first` is heard; 0: not said */
} player_mark;

typedef struct player_callback_state {
    _Atomic(const player_order *) order;
    int outputs;          /**< channels of the output */
    atomic_uint taken;    /**< number of the order that is in use */
    atomic_uint calls;    /**< how often the driver has called */
    atomic_int gaps;      /**< underflows that the driver has said */
    atomic_bool finished; /**< the driver has said that it is over */
    /* The mark, guarded by a counter that is odd while it is being written. */
    atomic_uint turn;
    atomic_uint mark_order;
    _Atomic int64_t mark_first;
    _Atomic int64_t mark_next;
    _Atomic double mark_now_s;
    _Atomic double mark_heard_s;
    int64_t at; /**< callback only: the next sample of the order in use */
} player_callback_state;

/** Everything at rest: silence, nothing played. */
void player_callback_init(player_callback_state *s,
                          const player_order *silence,
                          int outputs);

/** A PaStreamCallback; user_data is a player_callback_state. Real-time safe. */
int player_callback(const void *input,
                    void *output,
                    unsigned long frames,
                    const PaStreamCallbackTimeInfo *time,
                    PaStreamCallbackFlags flags,
                    void *user_data);

/** A PaStreamFinishedCallback. */
void player_callback_finished(void *user_data);

/** The last mark, whole. Not for the callback. */
player_mark player_callback_mark(const player_callback_state *s);

/**
 * The sample of an order that is heard at a moment of the driver's clock.
 *
 * @param latency_s  used where the driver does not say when a block is heard
 * @return order->from..order->n; -1 before the first is heard
 */
int64_t player_mark_heard(const player_mark *m,
                          const player_order *order,
                          double now_s,
                          double rate_hz,
                          double latency_s);

#endif
