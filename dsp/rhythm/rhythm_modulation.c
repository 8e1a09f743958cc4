/*
 * A smooth periodic modulation of the intervals, as breathing makes it: one sinusoid fitted by
 * least squares to about four breaths at a time, because breaths are not all of one
 * length, with half the stretch shared with the next. Times are taken as they are, so an
 * interval left out does not matter.
 */
#include "dsp/rhythm/rhythm_private.h"

#include "dsp/constants.h"

#include <math.h>

/* Breathing lies in 0.15-0.4 Hz, in infants to about 1 Hz (PMC3225923); slow
 * deep breaths reach 0.1. The beats sample it, so nothing over half their rate shows. */
static const double SLOWEST_HZ = 0.10;
static const double FASTEST_HZ = 0.70;
static const double STEP_HZ = 0.0125; /* a quarter of what a stretch resolves */

static const double NYQUIST_SHARE = 0.48; /* of the beat rate; ours */

static const double STRETCH_S = 20.0; /* ours */
static const size_t STRETCH_MIN = 10; /* intervals; ours: the fit has four numbers */
static const double OUTLIER_SPREADS = 3.5; /* robust SDs off the base: an event; ours */
static const double OUTLIER_LEAST = 0.05;  /* but not under this; ours */
static const double SAME_PERIOD =
    0.30; /* of the usual period: the same breathing; ours */

enum {
    TERMS = 4, /* level, slope, cosine, sine */
    STRETCHES_MAX = 16
};

typedef struct fitted {
    size_t first, last; /* intervals [first, last) */
    double limit;       /* outliers lie further off their base */
    double middle_s;
    double hz;
    double c[TERMS];
    double chance; /* share of variance the best sinusoid takes from noise */
    double rest;   /* sum of squares left */
    double trend;  /* sum of squares left by level and slope alone */
} fitted;

static double off_base(const fm_rhythm_beat *b)
{
    return fabs(b->length_s / b->base_s - 1.0);
}

/* How far off its base an interval may be to belong to a modulation and not be an event. */
static double outlier_limit(const fm_rhythm_series *s)
{
    return fmax(OUTLIER_LEAST, OUTLIER_SPREADS * fm_rhythm_spread(s));
}

static bool counts(const fm_rhythm_beat *b, double limit)
{
    return off_base(b) <= limit && b->kind != FM_INTERVAL_UNSURE;
}

static double middle_of(const fm_rhythm_beat *b)
{
    return b->start_s + 0.5 * b->length_s;
}

static void terms_at(double t, double hz, double *x)
{
    x[0] = 1.0;
    x[1] = t;
    x[2] = cos(2.0 * FM_PI * hz * t);
    x[3] = sin(2.0 * FM_PI * hz * t);
}

/* Solve the normal equations of n unknowns in place (Cholesky). False when singular. */
static bool solve(double a[TERMS][TERMS], double *b, size_t n)
{
    for (size_t j = 0; j < n; j++) {
        for (size_t k = 0; k < j; k++) {
            a[j][j] -= a[j][k] * a[j][k];
        }
        if (!(a[j][j] > 1e-9)) {
            return false;
        }
        a[j][j] = sqrt(a[j][j]);
        for (size_t i = j + 1; i < n; i++) {
            for (size_t k = 0; k < j; k++) {
                a[i][j] -= a[i][k] * a[j][k];
            }
            a[i][j] /= a[j][j];
        }
    }
    for (size_t i = 0; i < n; i++) {
        for (size_t k = 0; k < i; k++) {
            b[i] -= a[i][k] * b[k];
        }
        b[i] /= a[i][i];
    }
    for (size_t i = n; i-- > 0;) {
        for (size_t k = i + 1; k < n; k++) {
            b[i] -= a[k][i] * b[k];
        }
        b[i] /= a[i][i];
    }
    return true;
}

/* Least squares with the first n terms; returns the sum of squares left. */
static double fit(
    const fm_rhythm_series *s, const fitted *f, double hz, size_t n, double *c)
{
    double a[TERMS][TERMS] = {{0}};
    double squares = 0.0;
    double b[TERMS] = {0};
    double x[TERMS];
    const double level_s = s->beat[f->first].base_s;
    for (size_t i = f->first; i < f->last; i++) {
        if (!counts(&s->beat[i], f->limit)) {
            continue;
        }
        const double y = s->beat[i].length_s - level_s;
        terms_at(middle_of(&s->beat[i]) - f->middle_s, hz, x);
        squares += y * y;
        for (size_t j = 0; j < n; j++) {
            b[j] += x[j] * y;
            for (size_t k = 0; k <= j; k++) {
                a[j][k] += x[j] * x[k];
            }
        }
    }
    double right[TERMS];
    for (size_t j = 0; j < n; j++) {
        right[j] = b[j];
    }
    if (!solve(a, b, n)) {
        return (double)INFINITY;
    }
    for (size_t j = 0; j < n; j++) {
        squares -= right[j] * b[j];
        c[j] = b[j];
    }
    c[0] += level_s;
    return fmax(squares, 0.0);
}

/* Median share of the variance that the best of m independent sinusoids takes from n
 * independent normal values, two of them used up by level and slope: each share has the
 * distribution 1 - (1 - x)^((n - 4) / 2) (least squares with two free numbers). */
static double chance_share(size_t n, double fastest_hz, double span_s)
{
    const double m = fmax(1.0, span_s * (fastest_hz - SLOWEST_HZ));
    return 1.0 - pow(1.0 - pow(0.5, 1.0 / m), 2.0 / ((double)n - TERMS));
}

/* The best sinusoid of one stretch; false when it holds too little. */
static bool fit_stretch(const fm_rhythm_series *s, fitted *f)
{
    size_t n = 0;
    double span_s = 0.0;
    for (size_t i = f->first; i < f->last; i++) {
        n += counts(&s->beat[i], f->limit) ? 1 : 0;
        span_s += s->beat[i].length_s;
    }
    if (n < STRETCH_MIN) {
        return false;
    }
    const double beats_hz = (double)(f->last - f->first) / span_s;
    const double fastest_hz = fmin(FASTEST_HZ, NYQUIST_SHARE * beats_hz);
    f->chance = chance_share(n, fastest_hz, span_s);
    f->middle_s =
        0.5 * (middle_of(&s->beat[f->first]) + middle_of(&s->beat[f->last - 1]));
    f->trend = fit(s, f, 0.0, 2, f->c);
    f->rest = (double)INFINITY;
    for (int k = 0; SLOWEST_HZ + STEP_HZ * k <= fastest_hz; k++) {
        const double hz = SLOWEST_HZ + STEP_HZ * k;
        double c[TERMS] = {0};
        const double rest = fit(s, f, hz, TERMS, c);
        if (rest < f->rest) {
            f->rest = rest;
            f->hz = hz;
            for (size_t j = 0; j < TERMS; j++) {
                f->c[j] = c[j];
            }
        }
    }
    return isfinite(f->rest);
}

/* Cut into stretches with half overlap, each fitted; returns how many. */
static size_t fit_stretches(const fm_rhythm_series *s, fitted *all)
{
    size_t n = 0;
    size_t first = 0;
    const double limit = outlier_limit(s);
    while (first < s->n && n < STRETCHES_MAX) {
        size_t last = first;
        size_t half = first;
        const double start_s = s->beat[first].start_s;
        while (last < s->n && s->beat[last].start_s < start_s + STRETCH_S) {
            half += s->beat[last].start_s < start_s + 0.5 * STRETCH_S ? 1 : 0;
            last++;
        }
        all[n] = (fitted){.first = first, .last = last, .limit = limit};
        n += fit_stretch(s, &all[n]) ? 1 : 0;
        if (last == s->n) {
            break;
        }
        first = half;
    }
    return n;
}

static double usual_period(const fitted *all, size_t n)
{
    double period_s[STRETCHES_MAX];
    for (size_t i = 0; i < n; i++) {
        period_s[i] = 1.0 / all[i].hz;
    }
    return fm_rhythm_median(period_s, n);
}

/* The fitted interval at each listed one: the mean of the stretches that cover it. */
static void lay_out(const fm_rhythm_series *s,
                    const fitted *all,
                    size_t n,
                    fm_rhythm_modulation *out)
{
    for (size_t i = 0; i < s->n; i++) {
        double sum_s = 0.0;
        size_t covered = 0;
        for (size_t k = 0; k < n; k++) {
            if (i < all[k].first || i >= all[k].last) {
                continue;
            }
            double x[TERMS];
            terms_at(middle_of(&s->beat[i]) - all[k].middle_s, all[k].hz, x);
            for (size_t j = 0; j < TERMS; j++) {
                sum_s += all[k].c[j] * x[j];
            }
            covered++;
        }
        out->fit_s[i] = covered == 0 ? s->beat[i].base_s : sum_s / (double)covered;
    }
}

/* Longest less shortest interval of the window, events left out, as the definition has it.
 * The fitted ones lie too near each other, as one breath deeper than the rest is averaged;
 * timing errors only widen it, and where they are large no modulation is seen. */
static double range_of(const fm_rhythm_series *s, double limit)
{
    double shortest_s = (double)INFINITY;
    double longest_s = 0.0;
    for (size_t i = 0; i < s->n; i++) {
        if (counts(&s->beat[i], limit)) {
            shortest_s = fmin(shortest_s, s->beat[i].length_s);
            longest_s = fmax(longest_s, s->beat[i].length_s);
        }
    }
    return fmax(0.0, longest_s - shortest_s);
}

void fm_rhythm_find_modulation(const fm_rhythm_series *series,
                               fm_rhythm_modulation *out)
{
    fitted all[STRETCHES_MAX];
    *out = (fm_rhythm_modulation){.period_s = (double)NAN};
    const size_t n = fit_stretches(series, all);
    lay_out(series, all, n, out);
    if (n == 0) {
        return;
    }
    out->period_s = usual_period(all, n);
    out->range_s = range_of(series, all[0].limit);
    double rest = 0.0;
    double trend = 0.0;
    double chance = 0.0;
    size_t same = 0;
    for (size_t k = 0; k < n; k++) {
        rest += all[k].rest;
        trend += all[k].trend;
        const double off = fabs(1.0 / all[k].hz / out->period_s - 1.0);
        same += off <= SAME_PERIOD ? 1 : 0;
        chance += all[k].chance / (double)n;
    }
    const double share = trend > 0.0 ? 1.0 - rest / trend : 0.0;
    out->share = fmax(0.0, (share - chance) / (1.0 - chance));
    out->same = (double)same / (double)n;
}
