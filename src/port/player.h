/**
 * @file player.h
 * Plays samples through an output and says what is being heard now. The callback copies
 * from memory; nothing in it allocates, locks or waits.
 */
#ifndef PORT_PLAYER_H
#define PORT_PLAYER_H

#include "src/base/error.h"

#include <stdbool.h>
#include <stdint.h>

/** Opaque; see player_close. */
typedef struct player player;

/**
 * Open an output and keep it running, silent. With devices_open (src/port/devices.h)
 * called before, nothing of what the system's sound libraries chatter reaches the person.
 *
 * @param device   PortAudio's index; -1: the default output
 * @param rate_hz  of what will be played
 * @return the player; NULL with err APP_FAILED
 */
player *player_open(int device, double rate_hz, app_err *err);

double player_rate_hz(const player *p);

/**
 * Play samples from now on, in place of what is playing. Mono, sent to every channel.
 *
 * @param samples  samples[0..n-1], full scale +/-1; borrowed until player_stop, the next
 *                 player_start or player_close
 * @param from     first sample to play, 0..n
 */
void player_start(player *p, const float *samples, int64_t n, int64_t from);

/** Silence; the position stays. After it the samples are the caller's own again. */
void player_stop(player *p);

/**
 * The sample that is heard at this moment: what was handed out, less the output's latency.
 *
 * @return 0..n; n when all was heard; -1 before the first is heard
 */
int64_t player_heard(const player *p);

/** The output's latency, s, as the driver says. */
double player_latency_s(const player *p);

/** False once the output is gone or has stalled for over a second (three at its start). */
bool player_alive(const player *p);

/** Close, with a deadline; false: abandoned (see capture_close). NULL is allowed. */
bool player_close(player *p);

/**
 * Three ticks a second apart, 1 kHz, 25 ms each with soft edges, then half a second of
 * silence: what is heard before a minute opens. The tone lies above the heart band, and
 * the last tick ends before the minute begins.
 *
 * @param[out] out  out[0..player_lead_in_samples(rate)-1]
 */
int64_t player_lead_in_samples(double rate_hz);
void player_lead_in(double rate_hz, float *out);

#endif
