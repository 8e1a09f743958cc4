#include "ecg_breath.h"

#include "stats.h"

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>

static const double TWO_PI = 6.28318530717958647692;
static const double LOW_HZ = 0.15;
static const double HIGH_HZ = 0.4;
static const double FIRST_HZ =
    0.05; /* slower modulation is looked at, and not believed */
static const double STEP_HZ = 0.002;
/* Ours: chance, an alternative's share of what the best explains, how unlike the median an interval
 * may be, and the share of them that must not be. */
static const double CHANCE_MOST = 0.01;
static const double ALTERNATIVE_MOST = 0.6;
static const double ODD_FROM = 0.2;
static const double USUAL_LEAST = 0.95;

enum {
    TERMS = 4, /* fitted: level, slope, cosine, sine */
    INTERVALS_LEAST = 12,
    BREATHS_LEAST = 3
};

/* Intervals near the median, each at its middle. */
typedef struct intervals {
    size_t n;
    double *at_s; /* at_s[0..n-1], about their mean */
    double *length_s;
} intervals;

/* Takes a straight line off, so that what is left is about zero; returns its sum of squares. */
static double take_line_off(intervals *v)
{
    double tt = 0.0;
    double tl = 0.0;
    double square = 0.0;
    const double level = mean_of(v->length_s, v->n);
    for (size_t i = 0; i < v->n; i++) {
        v->length_s[i] -= level;
        tt += v->at_s[i] * v->at_s[i];
        tl += v->at_s[i] * v->length_s[i];
    }
    for (size_t i = 0; i < v->n; i++) {
        v->length_s[i] -= tl / tt * v->at_s[i];
        square += v->length_s[i] * v->length_s[i];
    }
    return square;
}

/* Share of the squares that a sine of hz explains: the normal equations of a cosine and a sine,
 * written out (Lomb 1976). Not the analyser's own, which it is to be judged by. */
static double explained(const intervals *v, double all, double hz)
{
    double cc = 0.0;
    double cs = 0.0;
    double ss = 0.0;
    double lc = 0.0;
    double ls = 0.0;
    for (size_t i = 0; i < v->n; i++) {
        const double c = cos(TWO_PI * hz * v->at_s[i]);
        const double s = sin(TWO_PI * hz * v->at_s[i]);
        cc += c * c;
        cs += c * s;
        ss += s * s;
        lc += v->length_s[i] * c;
        ls += v->length_s[i] * s;
    }
    return (ss * lc * lc + cc * ls * ls - 2.0 * cs * lc * ls) /
           ((cc * ss - cs * cs) * all);
}

/* The intervals near the median; false where too many are not, as in an irregular rhythm. */
static bool gather(const double *r_s, size_t n, intervals *v, double *median_s)
{
    for (size_t i = 0; i + 1 < n; i++) {
        v->length_s[i] = r_s[i + 1] - r_s[i];
    }
    sort_doubles(v->length_s, n - 1);
    *median_s = sorted_quantile(v->length_s, n - 1, 0.5);
    for (size_t i = 0; i + 1 < n; i++) {
        const double length_s = r_s[i + 1] - r_s[i];
        if (fabs(length_s / *median_s - 1.0) < ODD_FROM) {
            v->length_s[v->n] = length_s;
            v->at_s[v->n++] = 0.5 * (r_s[i] + r_s[i + 1]);
        }
    }
    if (v->n < INTERVALS_LEAST || (double)v->n < USUAL_LEAST * (double)(n - 1)) {
        return false;
    }
    const double middle_s = mean_of(v->at_s, v->n);
    for (size_t i = 0; i < v->n; i++) {
        v->at_s[i] -= middle_s;
    }
    return true;
}

/* How likely the best of many sines explains such a share of as many values of chance: a
 * share above z has (1 - z)^((n - TERMS) / 2), by the F distribution of 2 and n - TERMS. */
static double by_chance(double share, size_t n, double sines)
{
    const double one = pow(1.0 - share, 0.5 * (double)(n - TERMS));
    return 1.0 - pow(1.0 - one, sines);
}

static double rate_of(intervals *v, double median_s)
{
    const double span_s = v->at_s[v->n - 1] - v->at_s[0];
    const double last_hz =
        fmin(0.6, 0.45 / median_s); /* under half a beat's frequency */
    const double all = take_line_off(v);
    double best = 0.0;
    double best_hz = 0.0;
    for (double hz = FIRST_HZ; hz < last_hz; hz += STEP_HZ) {
        const double share = explained(v, all, hz);
        if (share > best) {
            best = share;
            best_hz = hz;
        }
    }
    double alternative = 0.0;
    for (double hz = FIRST_HZ; hz < last_hz; hz += STEP_HZ) {
        if (fabs(hz - best_hz) * span_s > 1.5) {
            alternative = fmax(alternative, explained(v, all, hz));
        }
    }
    const double sines = span_s * (last_hz - FIRST_HZ);
    const bool told = best_hz >= LOW_HZ && best_hz <= HIGH_HZ &&
                      best_hz * span_s >= BREATHS_LEAST &&
                      alternative <= ALTERNATIVE_MOST * best &&
                      by_chance(best, v->n, sines) <= CHANCE_MOST;
    return told ? 60.0 * best_hz : (double)NAN;
}

double ecg_breath_rate(const double *r_s, size_t n)
{
    double rate = (double)NAN;
    double median_s = 0.0;
    intervals v = {0};
    if (n <= INTERVALS_LEAST) {
        return rate;
    }
    v.at_s = calloc(n, sizeof *v.at_s);
    v.length_s = calloc(n, sizeof *v.length_s);
    if (v.at_s != NULL && v.length_s != NULL && gather(r_s, n, &v, &median_s)) {
        rate = rate_of(&v, median_s);
    }
    free(v.at_s);
    free(v.length_s);
    return rate;
}
