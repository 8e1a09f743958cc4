#include "dsp/compare/slip.h"

#include <math.h>

/* How near double or half still looks like it: common practice, no source. */
static const double NEAR_SHARE = 0.10;

/* Is a rate so near another that it looks like it? Both per minute; target >= 0. */
static bool looks_like(double per_min, double target_per_min)
{
    return fabs(per_min - target_per_min) <=
           NEAR_SHARE * target_per_min + FM_COMPARE_EPSILON;
}

/* A short count's entry that was multiplied up before it was entered. */
static bool multiplied_already(const fm_slip_case *c)
{
    const int factor = 60 / c->seconds;
    const int counted = c->entered / factor;
    return factor > 1 && counted * factor == c->entered &&
           looks_like((double)counted, (double)c->counted);
}

static const fm_short_count *short_count_of(const fm_slip_case *c, int seconds)
{
    for (size_t i = 0; i < c->n_short; i++) {
        if (c->short_counts[i].seconds == seconds) {
            return &c->short_counts[i];
        }
    }
    return NULL;
}

static bool gives(const fm_short_count *s, double per_min)
{
    return s != NULL && per_min >= s->min_per_min && per_min <= s->max_per_min;
}

/* A full-minute entry that is what 15 s of this minute give. */
static bool is_a_quarter(const fm_slip_case *c)
{
    return c->seconds == 60 && gives(short_count_of(c, 15), 4.0 * (double)c->entered);
}

/* A full-minute entry that is a short count multiplied up; or a short count beside the
 * minute, which is what counts of its length give. */
static bool looks_multiplied(const fm_slip_case *c, int seconds)
{
    if (c->seconds == 60) {
        return c->entered % (60 / seconds) == 0 &&
               gives(short_count_of(c, seconds), (double)c->entered);
    }
    return c->of_minute && c->seconds == seconds &&
           gives(short_count_of(c, seconds),
                 60.0 * (double)c->entered / (double)seconds);
}

fm_slip fm_slip_of(const fm_slip_case *c)
{
    const double per_min = (double)c->entered * 60.0 / (double)c->seconds;
    if (c->lost_thread) {
        return FM_SLIP_LOST_THREAD;
    }
    if (c->other_seconds && multiplied_already(c)) {
        return FM_SLIP_MULTIPLIED;
    }
    if (c->other_seconds && is_a_quarter(c)) {
        return FM_SLIP_SECONDS;
    }
    if (c->doubled != FM_SLIP_NONE && looks_like(per_min, 2.0 * c->reference)) {
        return c->doubled;
    }
    if (c->halved != FM_SLIP_NONE && looks_like(per_min, 0.5 * c->reference)) {
        return c->halved;
    }
    return looks_multiplied(c, 15) || looks_multiplied(c, 30) ? FM_SLIP_SHORT_COUNT
                                                              : FM_SLIP_NONE;
}
