#include "ecg_breath.h"

#include "stats.h"

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>

static const double TWO_PI = 6.28318530717958647692;
static const double LOW_HZ = 0.15;
static const double HIGH_HZ = 0.4;
static const double FIRST_HZ = 0.05; /* slower swings are looked at, and not believed */
static const double STEP_HZ = 0.002;
/* Ours: chance, a rival's share of what the best explains, how unlike the median an interval
 * may be, and the share of them that must not be. */
static const double CHANCE_MOST = 0.01;
static const double RIVAL_MOST = 0.6;
static const double ODD_FROM = 0.2;
static const double USUAL_LEAST = 0.95;

enum {
    TERMS = 4, /* level, slope, cosine, sine */
    INTERVALS_LEAST = 12,
    BREATHS_LEAST = 3
};

/* Intervals near the median, each at its middle. */
typedef struct intervals {
    size_t n;
    double *at_s; /* at_s[0..n-1], about their mean */
    double *length_s;
} intervals;

/* Solves a[TERMS][TERMS] x = b by elimination with pivots; both are used up. */
static void solve(double a[TERMS][TERMS], double b[TERMS], double x[TERMS])
{
    for (int c = 0; c < TERMS; c++) {
        int top = c;
        for (int r = c + 1; r < TERMS; r++) {
            top = fabs(a[r][c]) > fabs(a[top][c]) ? r : top;
        }
        for (int k = 0; k < TERMS; k++) {
            const double swap = a[c][k];
            a[c][k] = a[top][k];
            a[top][k] = swap;
        }
        const double swap = b[c];
        b[c] = b[top];
        b[top] = swap;
        for (int r = c + 1; r < TERMS; r++) {
            const double share = a[r][c] / a[c][c];
            for (int k = c; k < TERMS; k++) {
                a[r][k] -= share * a[c][k];
            }
            b[r] -= share * b[c];
        }
    }
    for (int r = TERMS - 1; r >= 0; r--) {
        x[r] = b[r];
        for (int k = r + 1; k < TERMS; k++) {
            x[r] -= a[r][k] * x[k];
        }
        x[r] /= a[r][r];
    }
}

static void terms_at(double t, double hz, double term[TERMS])
{
    term[0] = 1.0;
    term[1] = t;
    term[2] = cos(TWO_PI * hz * t);
    term[3] = sin(TWO_PI * hz * t);
}

/* Sum of squares that a level, a slope and a sine leave of the intervals. */
static double left_over(const intervals *v, double hz)
{
    double a[TERMS][TERMS] = {{0}};
    double b[TERMS] = {0};
    double x[TERMS] = {0};
    double term[TERMS];
    for (size_t i = 0; i < v->n; i++) {
        terms_at(v->at_s[i], hz, term);
        for (int r = 0; r < TERMS; r++) {
            for (int c = 0; c < TERMS; c++) {
                a[r][c] += term[r] * term[c];
            }
            b[r] += term[r] * v->length_s[i];
        }
    }
    solve(a, b, x);
    double left = 0.0;
    for (size_t i = 0; i < v->n; i++) {
        terms_at(v->at_s[i], hz, term);
        double off = v->length_s[i];
        for (int r = 0; r < TERMS; r++) {
            off -= x[r] * term[r];
        }
        left += off * off;
    }
    return left;
}

/* Sum of squares about a straight line. */
static double about_line(const intervals *v)
{
    double tt = 0.0;
    double tl = 0.0;
    double ll = 0.0;
    const double level = mean_of(v->length_s, v->n);
    for (size_t i = 0; i < v->n; i++) {
        tt += v->at_s[i] * v->at_s[i];
        tl += v->at_s[i] * (v->length_s[i] - level);
        ll += (v->length_s[i] - level) * (v->length_s[i] - level);
    }
    return ll - tl * tl / tt;
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

static double rate_of(const intervals *v, double median_s)
{
    const double span_s = v->at_s[v->n - 1] - v->at_s[0];
    const double last_hz =
        fmin(0.6, 0.45 / median_s); /* under half a beat's frequency */
    const double all = about_line(v);
    double best = 0.0;
    double best_hz = 0.0;
    for (double hz = FIRST_HZ; hz < last_hz; hz += STEP_HZ) {
        const double share = 1.0 - left_over(v, hz) / all;
        if (share > best) {
            best = share;
            best_hz = hz;
        }
    }
    double rival = 0.0;
    for (double hz = FIRST_HZ; hz < last_hz; hz += STEP_HZ) {
        if (fabs(hz - best_hz) * span_s > 1.5) {
            rival = fmax(rival, 1.0 - left_over(v, hz) / all);
        }
    }
    const double sines = span_s * (last_hz - FIRST_HZ);
    const bool told = best_hz >= LOW_HZ && best_hz <= HIGH_HZ &&
                      best_hz * span_s >= BREATHS_LEAST && rival <= RIVAL_MOST * best &&
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
