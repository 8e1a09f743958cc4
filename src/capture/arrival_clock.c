#include "src/capture/arrival_clock.h"

#include <math.h>

void arrival_clock_init(arrival_clock *c, double rate_hz)
{
    c->rate_hz = rate_hz;
    arrival_clock_anchor(c);
}

void arrival_clock_anchor(arrival_clock *c)
{
    for (int i = 0; i < ARRIVAL_STRETCHES; i++) {
        c->least_s[i] = 0.0;
        c->stretch[i] = -1;
    }
}

static int64_t stretch_of(double monotonic_s)
{
    return (int64_t)floor(monotonic_s / ARRIVAL_STRETCH_S);
}

void arrival_clock_note(arrival_clock *c, double monotonic_s, int64_t samples)
{
    const double late_s = monotonic_s - (double)samples / c->rate_hz;
    const int64_t stretch = stretch_of(monotonic_s);
    const int at = (int)(stretch % ARRIVAL_STRETCHES);
    if (c->stretch[at] != stretch || late_s < c->least_s[at]) {
        c->stretch[at] = stretch;
        c->least_s[at] = late_s;
    }
}

static double least_up_to(const arrival_clock *c, int64_t last)
{
    double least_s = (double)NAN;
    for (int i = 0; i < ARRIVAL_STRETCHES; i++) {
        const int64_t s = c->stretch[i];
        if (s >= 0 && s <= last && s > last - ARRIVAL_STRETCHES) {
            least_s = fmin(least_s, c->least_s[i]); /* fmin passes over NaN */
        }
    }
    return least_s;
}

double arrival_clock_zero_s(const arrival_clock *c, double monotonic_s)
{
    return least_up_to(c, stretch_of(monotonic_s));
}

double arrival_clock_time_s(const arrival_clock *c, double monotonic_s)
{
    int64_t newest = -1;
    for (int i = 0; i < ARRIVAL_STRETCHES; i++) {
        newest = c->stretch[i] > newest ? c->stretch[i] : newest;
    }
    const int64_t now = stretch_of(monotonic_s);
    const double then_s = least_up_to(c, newest < now ? newest : now);
    return monotonic_s - (isnan(then_s) ? least_up_to(c, newest) : then_s);
}
