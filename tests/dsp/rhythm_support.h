/*
 * Series of S1 onsets for the tests of rhythm: written out, or composed with known truth
 * by dsp/compose/compose_rhythm.c, which shares no code with dsp/rhythm/rhythm.c.
 */
#ifndef RHYTHM_SUPPORT_H
#define RHYTHM_SUPPORT_H

#include "dsp/compose/compose_private.h"
#include "dsp/rhythm/rhythm.h"
#include "dsp/signal/random.h"
#include "tests/support.h"

#include <stdlib.h>
#include <string.h>

#define MINUTE_S 60.0

/* Onsets in a window that starts at 0, and how sure each is. */
typedef struct series {
    size_t n;
    double s1_s[FM_BEATS_MAX];
    float sureness[FM_BEATS_MAX];
} series;

/* Start a series with its first beat. */
static inline series series_start(double first_s)
{
    series s = {.n = 1};
    s.s1_s[0] = first_s;
    s.sureness[0] = 0.9F;
    return s;
}

/* Add one interval, in ms. */
static inline void series_add(series *s, double ms)
{
    assert_true(s->n < FM_BEATS_MAX);
    s->s1_s[s->n] = s->s1_s[s->n - 1] + ms / 1000.0;
    s->sureness[s->n++] = 0.9F;
}

/* Add ms[0..n-1] over and over, n_times. */
static inline void series_repeat(series *s, const double *ms, size_t n, size_t n_times)
{
    for (size_t i = 0; i < n * n_times; i++) {
        series_add(s, ms[i % n]);
    }
}

static inline double series_end(const series *s)
{
    return s->s1_s[s->n - 1] + 0.3;
}

/* Describe over [0, end of the series), every beat sure and no excluded. */
static inline fm_rhythm describe(const series *s)
{
    fm_rhythm r;
    fm_rhythm_describe(s->s1_s, s->sureness, s->n, NULL, 0, 0.0, series_end(s), &r);
    return r;
}

/* Times of all onsets moved by independent normal errors; order is kept. */
static inline void series_shake(series *s, double sd_s, fm_random *random)
{
    for (size_t i = 0; i < s->n; i++) {
        s->s1_s[i] += sd_s * fm_random_normal(random);
        if (i > 0 && s->s1_s[i] <= s->s1_s[i - 1]) {
            s->s1_s[i] = s->s1_s[i - 1] + 1e-3;
        }
    }
}

/*
 * The beats of a recipe inside its first minute, and the truth about them (pattern, repeat,
 * findings; no sound). Free the truth.
 */
static inline series composed_beats(const fm_recipe *recipe, fm_truth *truth)
{
    series s = {0};
    fm_breathing breathing = {0};
    fm_beats beats = {0};
    *truth = (fm_truth){.duration_s = recipe->seconds, .rate_hz = recipe->rate_hz};
    assert_null(fm_recipe_fault(recipe));
    assert_int_equal(fm_breathing_make(recipe, &breathing), FM_OK);
    assert_int_equal(fm_beats_make(recipe, &breathing, &beats), FM_OK);
    truth->s1_s = calloc(beats.n, sizeof *truth->s1_s);
    assert_non_null(truth->s1_s);
    for (size_t i = 0; i < beats.n; i++) {
        const double t = beats.beat[i].s1_s;
        if (llround(t * recipe->rate_hz) < 0) {
            continue;
        }
        truth->s1_s[truth->n_s1++] = t;
        if (t < MINUTE_S && s.n < FM_BEATS_MAX) {
            s.s1_s[s.n] = t;
            s.sureness[s.n++] = 0.9F;
        }
    }
    fm_truth_describe(recipe, &beats, truth);
    free(beats.beat);
    fm_breathing_free(&breathing);
    return s;
}

#endif
