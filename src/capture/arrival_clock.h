/**
 * @file arrival_clock.h
 * Ties the monotonic clock to the samples of a running input. Plain arithmetic: no clock
 * is read here, nothing is allocated.
 *
 * Samples arrive late by a changing amount (buffers, bursts, a busy machine) and never
 * early. So the least of (arrival - samples / rate) over a while is the constant delay,
 * and a moment less that minimum is its place on the timeline. Ten seconds are long enough
 * for some arrival to be on time and short enough that two clocks 100 ppm apart stay
 * within 1 ms.
 *
 * The minimum is kept for 100 stretches of 0.1 s, so it reaches back between 9.9 and 10 s.
 */
#ifndef CAPTURE_ARRIVAL_CLOCK_H
#define CAPTURE_ARRIVAL_CLOCK_H

#include <stdint.h>

enum {
    ARRIVAL_STRETCHES = 100
};

#define ARRIVAL_STRETCH_S 0.1

/** Plain value: copy freely, nothing to free. */
typedef struct arrival_clock {
    double rate_hz;
    double least_s[ARRIVAL_STRETCHES];  /**< least lateness of each stretch */
    int64_t stretch[ARRIVAL_STRETCHES]; /**< which stretch that was; -1: none */
} arrival_clock;

/** @param rate_hz  over 0 */
void arrival_clock_init(arrival_clock *c, double rate_hz);

/** Forget all arrivals: after a gap or a stall the old delay may not hold. */
void arrival_clock_anchor(arrival_clock *c);

/**
 * Note one arrival.
 *
 * @param monotonic_s  when `samples` were known to have come; not before earlier notes
 * @param samples      on the timeline by then, gaps counted in
 */
void arrival_clock_note(arrival_clock *c, double monotonic_s, int64_t samples);

/**
 * The least lateness of the 10 s that end at a moment.
 *
 * @return s on the monotonic clock where the timeline has its zero; NaN: no arrival noted
 *         in those 10 s
 */
double arrival_clock_zero_s(const arrival_clock *c, double monotonic_s);

/**
 * The place on the timeline of a moment.
 *
 * @return s; NaN when no arrival was noted since the last anchor. Long after the last
 *         arrival the newest minimum still serves, and for a moment before all that is
 *         remembered, the least of what is kept
 */
double arrival_clock_time_s(const arrival_clock *c, double monotonic_s);

#endif
