/**
 * @file gap_gauge.h
 * How long was the stretch that is missing? Plain arithmetic, no clock is read here.
 *
 * A driver that dropped samples does not say how many, and a server that was held up may
 * hand over later all that it kept. Both are told apart by the delay of what comes
 * afterwards: samples come late but never early, so once the backlog is through, the least
 * lateness since is what it was before, plus what is missing.
 */
#ifndef CAPTURE_GAP_GAUGE_H
#define CAPTURE_GAP_GAUGE_H

#include "src/capture/arrival_clock.h"

#include <stdbool.h>

/** Plain value. */
typedef struct gap_gauge {
    double before_s; /**< zero of the timeline before; NaN unknown */
    double least_s;  /**< and since */
    double began_s;
    double sank_s; /**< when least_s last sank */
    double rate_hz;
} gap_gauge;

/**
 * Begin, when the first samples behind the suspected place have come.
 *
 * @param clock        with the arrivals from before it
 * @param before_s     the moment of the last arrival before it
 * @param monotonic_s  now
 */
void gap_gauge_begin(gap_gauge *g,
                     const arrival_clock *clock,
                     double before_s,
                     double monotonic_s);

/**
 * Note an arrival.
 *
 * @return true when the delay has settled: no lower for a second; 3 s at most
 */
bool gap_gauge_note(gap_gauge *g, double monotonic_s, int64_t samples);

/** Samples that are missing as far as is known by now, >= 0. */
int64_t gap_gauge_samples(const gap_gauge *g);

#endif
