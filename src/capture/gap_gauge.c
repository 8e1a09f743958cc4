#include "src/capture/gap_gauge.h"

#include <math.h>

/* Our choices: a backlog comes within tens of milliseconds of being asked for; on a machine
   with far too much to do, within a second. */
#define SETTLED_S 1.0
#define LONGEST_S 3.0
#define LOWER_S   0.002

void gap_gauge_begin(gap_gauge *g,
                     const arrival_clock *clock,
                     double before_s,
                     double monotonic_s)
{
    *g = (gap_gauge){.before_s = arrival_clock_zero_s(clock, before_s),
                     .least_s = (double)NAN,
                     .began_s = monotonic_s,
                     .sank_s = monotonic_s,
                     .rate_hz = clock->rate_hz};
}

bool gap_gauge_note(gap_gauge *g, double monotonic_s, int64_t samples)
{
    const double zero_s = monotonic_s - (double)samples / g->rate_hz;
    if (!(zero_s > g->least_s - LOWER_S)) {
        g->sank_s = monotonic_s;
    }
    g->least_s = fmin(zero_s, g->least_s);
    return monotonic_s - g->sank_s >= SETTLED_S ||
           monotonic_s - g->began_s >= LONGEST_S;
}

int64_t gap_gauge_samples(const gap_gauge *g)
{
    const double missing_s = g->least_s - g->before_s;
    return missing_s > 0.0 ? (int64_t)llround(missing_s * g->rate_hz) : 0;
}
