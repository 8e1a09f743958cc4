#include "dsp/compare/taps.h"

#include "dsp/constants.h"

#include <math.h>
#include <string.h>

/* Lags a person can have: anticipation to slow reaction (sources in taps.h), with room. */
static const double LAG_LOW_S = -0.15;
static const double LAG_HIGH_S = 0.40;
static const double LAG_STEP_S = 0.01;

/*
 * At fast rates two lags one beat apart fit equally well; the more usual one is taken.
 * Centre and width from memory (a few tens of ms early to 250 ms late).
 */
static const double USUAL_LAG_S = 0.05;
static const double USUAL_LAG_SD_S = 0.20;

/* Furthest a tap may be from its beat, lag removed: a reaction tap on a steady tapper. */
static const double PAIR_MAX_S = 0.25;

/* A tap this near the window's edge may answer a beat just outside: not called extra. */
static const double EDGE_S = 0.15;

/* Taps further outside the window than any lag and pairing can reach are left out. */
static const double REACH_S = 0.5;

/*
 * Lost thread: log-likelihood ratio per beat of 'no longer following' against
 * 'following', summed over a stretch. Following: 5 % missed, 5 % late, else normal.
 * Lost: 40 % missed, else anywhere within PAIR_MAX_S. Shares from memory; the bar asks
 * for about five beats in a row without a tap, tuned on simulated taps (test_taps.c).
 */
static const double FOLLOW_MISS = 0.05;
static const double FOLLOW_LATE = 0.05;
static const double LOST_MISS = 0.40;
static const double LOST_BAR = 10.0;
static const double LAG_SD_LOW_S = 0.02;
static const double LAG_SD_HIGH_S = 0.06;

enum {
    STEP_PAIR = 1,
    STEP_BEAT = 2,
    STEP_TAP = 3
};

#define NO_TAP ((size_t)-1)

/** The beats and taps of one alignment: beats in the window, taps near it. */
typedef struct scene {
    const double *beat_s;
    size_t n_beats;
    const double *tap_s;
    size_t n_taps;
    double start_s;
    double end_s;
} scene;

static bool ascending(const double *t, size_t n)
{
    for (size_t i = 0; i < n; i++) {
        if (!isfinite(t[i]) || (i > 0 && t[i] < t[i - 1])) {
            return false;
        }
    }
    return true;
}

/* Not answering a beat costs 1; a tap costs 1 unless it may belong outside the window. */
static double lone_tap_cost(const scene *s, double tap_s)
{
    return tap_s >= s->start_s + EDGE_S && tap_s < s->end_s - EDGE_S ? 1.0 : 0.0;
}

static double best_pairing(const scene *s, double lag_s, fm_taps_work *work)
{
    const size_t width = s->n_taps + 1;
    double *above = work->cost[0];
    double *row = work->cost[1];
    above[0] = 0.0;
    for (size_t j = 1; j <= s->n_taps; j++) {
        above[j] = above[j - 1] + lone_tap_cost(s, s->tap_s[j - 1] - lag_s);
        work->step[j] = STEP_TAP;
    }
    for (size_t i = 1; i <= s->n_beats; i++) {
        unsigned char *step = work->step + i * width;
        row[0] = above[0] + 1.0;
        step[0] = STEP_BEAT;
        for (size_t j = 1; j <= s->n_taps; j++) {
            const double tap_s = s->tap_s[j - 1] - lag_s;
            const double off = (tap_s - s->beat_s[i - 1]) / PAIR_MAX_S;
            row[j] = above[j] + 1.0;
            step[j] = STEP_BEAT;
            const double lone = row[j - 1] + lone_tap_cost(s, tap_s);
            if (lone < row[j]) {
                row[j] = lone;
                step[j] = STEP_TAP;
            }
            const double pair = above[j - 1] + 2.0 * off * off;
            if (fabs(off) < 1.0 && pair <= row[j]) {
                row[j] = pair;
                step[j] = STEP_PAIR;
            }
        }
        double *const swap = above;
        above = row;
        row = swap;
    }
    return above[s->n_taps];
}

/* Read the pairing back from the steps; returns how many pairs. */
static size_t trace(const scene *s, fm_taps_work *work)
{
    const size_t width = s->n_taps + 1;
    size_t i = s->n_beats;
    size_t j = s->n_taps;
    size_t pairs = 0;
    while (i > 0 || j > 0) {
        const unsigned char step = work->step[i * width + j];
        if (step == STEP_PAIR) {
            i--;
            j--;
            work->tap_of_beat[i] = j;
            pairs++;
        } else if (step == STEP_BEAT) {
            i--;
            work->tap_of_beat[i] = NO_TAP;
        } else {
            j--;
        }
    }
    return pairs;
}

static double best_lag(const scene *s, fm_taps_work *work)
{
    const int n = (int)lround((LAG_HIGH_S - LAG_LOW_S) / LAG_STEP_S);
    double best_cost = HUGE_VAL;
    double best_s = 0.0;
    for (int k = 0; k <= n; k++) {
        const double lag_s = LAG_LOW_S + (double)k * LAG_STEP_S;
        const double unusual = (lag_s - USUAL_LAG_S) / USUAL_LAG_SD_S;
        const double cost = best_pairing(s, lag_s, work) + unusual * unusual;
        if (cost < best_cost) {
            best_cost = cost;
            best_s = lag_s;
        }
    }
    return best_s;
}

/* Insertion: keeps sorted[0..n] ascending. */
static void insert_sorted(double *sorted, size_t n, double value)
{
    size_t k = n;
    while (k > 0 && sorted[k - 1] > value) {
        sorted[k] = sorted[k - 1];
        k--;
    }
    sorted[k] = value;
}

static double median_lag(const scene *s, fm_taps_work *work)
{
    size_t n = 0;
    for (size_t i = 0; i < s->n_beats; i++) {
        if (work->tap_of_beat[i] != NO_TAP) {
            insert_sorted(work->sorted, n++,
                          s->tap_s[work->tap_of_beat[i]] - s->beat_s[i]);
        }
    }
    return n % 2 == 1 ? work->sorted[n / 2]
                      : 0.5 * (work->sorted[n / 2 - 1] + work->sorted[n / 2]);
}

/*
 * Spread of the lag while following, from the nearer part of the pairs so that a lost
 * stretch does not widen it: 0.524 is the 40 % point of |normal|.
 */
static double following_sd(const scene *s, double lag_s, fm_taps_work *work)
{
    size_t n = 0;
    for (size_t i = 0; i < s->n_beats; i++) {
        if (work->tap_of_beat[i] != NO_TAP) {
            const double lag = s->tap_s[work->tap_of_beat[i]] - s->beat_s[i];
            insert_sorted(work->sorted, n++, fabs(lag - lag_s));
        }
    }
    if (n == 0) {
        return LAG_SD_HIGH_S;
    }
    const double sd = work->sorted[(size_t)(0.4 * (double)n)] / 0.524;
    return fmin(fmax(sd, LAG_SD_LOW_S), LAG_SD_HIGH_S);
}

static double lost_score(bool tapped, double off_s, double sd_s)
{
    if (!tapped) {
        return log(LOST_MISS / FOLLOW_MISS);
    }
    const double even = 1.0 / (2.0 * PAIR_MAX_S);
    const double z = off_s / sd_s;
    const double normal = exp(-0.5 * z * z) / (sd_s * sqrt(2.0 * FM_PI));
    const double follow =
        (1.0 - FOLLOW_MISS - FOLLOW_LATE) * normal + FOLLOW_LATE * even;
    return log((1.0 - LOST_MISS) * even / follow);
}

/* The stretch with the largest sum of scores (Kadane), if it clears the bar. */
static void find_lost(const scene *s,
                      const fm_taps_work *work,
                      double sd_s,
                      fm_taps *out)
{
    double sum = 0.0;
    double best = 0.0;
    size_t from = 0;
    for (size_t i = 0; i < s->n_beats; i++) {
        const size_t j = work->tap_of_beat[i];
        const double off_s =
            j == NO_TAP ? 0.0 : s->tap_s[j] - s->beat_s[i] - out->lag_s;
        if (sum <= 0.0) {
            sum = 0.0;
            from = i;
        }
        sum += lost_score(j != NO_TAP, off_s, sd_s);
        if (sum > best) {
            best = sum;
            out->lost_from_s = s->beat_s[from];
            out->lost_until_s = s->beat_s[i];
        }
    }
    out->lost = best >= LOST_BAR;
    if (!out->lost) {
        out->lost_from_s = (double)NAN;
        out->lost_until_s = (double)NAN;
    }
}

/* Was this beat in the stretch where the thread was lost? */
static bool while_lost(const fm_taps *taps, double beat_s)
{
    return taps->lost && beat_s >= taps->lost_from_s && beat_s <= taps->lost_until_s;
}

/* The steadiness of the lag, over the beats that were followed. */
static void measure_lag_sd(fm_taps *out)
{
    double sum = 0.0;
    double squares = 0.0;
    size_t n = 0;
    for (size_t i = 0; i < out->n_matched; i++) {
        if (!while_lost(out, out->matched[i].beat_s)) {
            const double d =
                out->matched[i].tap_s - out->matched[i].beat_s - out->lag_s;
            sum += d;
            squares += d * d;
            n++;
        }
    }
    if (n >= 2) {
        const double count = (double)n;
        out->lag_sd_s = sqrt(fmax(squares - sum * sum / count, 0.0) / (count - 1.0));
    }
}

/* delay_s is added back: the document shows taps as they were recorded. */
static void collect(const scene *s,
                    const fm_taps_work *work,
                    double lag_s,
                    double delay_s,
                    fm_taps *out)
{
    size_t next_tap = 0;
    for (size_t i = 0; i <= s->n_beats; i++) {
        const size_t j = i < s->n_beats ? work->tap_of_beat[i] : s->n_taps;
        if (j == NO_TAP) {
            out->not_tapped_s[out->n_not_tapped++] = s->beat_s[i];
            continue;
        }
        for (; next_tap < j; next_tap++) {
            if (lone_tap_cost(s, s->tap_s[next_tap] - lag_s) > 0.0) {
                out->extra_s[out->n_extra++] = s->tap_s[next_tap] + delay_s;
            }
        }
        if (i < s->n_beats) {
            out->matched[out->n_matched++] =
                (fm_tap_pair){.beat_s = s->beat_s[i], .tap_s = s->tap_s[j]};
            next_tap = j + 1;
        }
    }
    out->n_taps = out->n_matched + out->n_extra;
}

static void start_empty(fm_taps *out)
{
    memset(out, 0, sizeof *out);
    out->lag_s = (double)NAN;
    out->lag_sd_s = (double)NAN;
    out->lost_from_s = (double)NAN;
    out->lost_until_s = (double)NAN;
}

static void align(const scene *s, double delay_s, fm_taps_work *work, fm_taps *out)
{
    double lag_s = best_lag(s, work);
    for (int round = 0; round < 2; round++) {
        best_pairing(s, lag_s, work);
        if (trace(s, work) < 3) {
            lag_s = 0.0; /* too few to know it */
            break;
        }
        lag_s = median_lag(s, work);
    }
    best_pairing(s, lag_s, work);
    out->lag_known = trace(s, work) >= 3;
    collect(s, work, lag_s, delay_s, out);
    if (out->lag_known) {
        out->lag_s = lag_s;
        find_lost(s, work, following_sd(s, lag_s, work), out);
        measure_lag_sd(out);
    }
    for (size_t i = 0; i < out->n_matched; i++) {
        out->matched[i].tap_s += delay_s;
    }
}

/* The beats in the window and the taps near it; false: more taps than there is room. */
static bool set_scene(const fm_taps_input *in, fm_taps_work *work, scene *s)
{
    *s = (scene){.beat_s = in->beats_s,
                 .tap_s = work->tap_s,
                 .start_s = in->window.start_s,
                 .end_s = in->window.end_s};
    size_t first = 0;
    while (first < in->n_beats && in->beats_s[first] < s->start_s) {
        first++;
    }
    if (first < in->n_beats) {
        s->beat_s = in->beats_s + first;
    }
    while (first + s->n_beats < in->n_beats && s->beat_s[s->n_beats] < s->end_s) {
        s->n_beats++;
    }
    for (size_t i = 0; i < in->n_taps; i++) {
        const double tap_s = in->taps_s[i] - in->delay_s;
        if (tap_s < s->start_s - REACH_S || tap_s >= s->end_s + REACH_S) {
            continue;
        }
        if (s->n_taps == FM_TAPS_MAX) {
            return false;
        }
        work->tap_s[s->n_taps++] = tap_s;
    }
    return true;
}

fm_status fm_taps_align(const fm_taps_input *in, fm_taps_work *work, fm_taps *out)
{
    scene s;
    if (in->n_beats > FM_BEATS_MAX || !(fabs(in->delay_s) <= 1.0) ||
        !ascending(in->beats_s, in->n_beats) || !ascending(in->taps_s, in->n_taps) ||
        !set_scene(in, work, &s)) {
        return FM_ERR_ARG;
    }
    start_empty(out);
    align(&s, in->delay_s, work, out);
    return FM_OK;
}
