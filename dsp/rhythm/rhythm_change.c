/*
 * Sudden changes of rate and runs of fast beats: the interval jumps from one level to
 * another inside one beat, and both levels are steady. A drift has no jump, an early beat
 * no level, fibrillation neither.
 */
#include "dsp/rhythm/rhythm.h"
#include "dsp/rhythm/rhythm_private.h"

#include <math.h>

enum {
    BEFORE = 6,     /* intervals a level is taken from; ours */
    BEFORE_MIN = 4, /* at least */
    RUN_MIN = 3,    /* a run: three and more fast beats in a row (from memory) */
    STAY_MIN = 6    /* a change of rate lasts this many intervals at least; ours */
};

static const double NEAR = 0.12; /* of its level: belongs to it; ours */
static const double NEAR_LEAST_S =
    0.050;                            /* timing errors of 15 ms, in an interval 21 */
static const double JUMP_SHARE = 0.6; /* of the change happens in one beat; ours */
static const double CHANGE_MIN =
    1.25; /* levels: the shorter 20 % under, as the HRT rule */
static const double RUN_RATIO = 0.80; /* fast: as early as an early beat (HRT rule) */
static const double STEADY_SHARE = 0.85; /* of all intervals near their level; ours */

static size_t at_most(size_t n, size_t most)
{
    return n < most ? n : most;
}

static double level_of(const fm_rhythm_series *s, size_t first, size_t n)
{
    double x[BEFORE];
    for (size_t i = 0; i < n; i++) {
        x[i] = s->beat[first + i].length_s;
    }
    return fm_rhythm_median(x, n);
}

static bool is_near(double length_s, double level_s)
{
    return fabs(length_s - level_s) <= fmax(NEAR * level_s, NEAR_LEAST_S);
}

static size_t near_count(const fm_rhythm_series *s,
                         size_t first,
                         size_t n,
                         double level_s)
{
    size_t inside = 0;
    for (size_t i = first; i < first + n; i++) {
        inside += is_near(s->beat[i].length_s, level_s) ? 1 : 0;
    }
    return inside;
}

/* Does the level jump at interval k, from before_s to after_s? Looks at `ahead` after. */
static bool jumps(const fm_rhythm_series *s,
                  size_t start,
                  size_t k,
                  size_t ahead,
                  double *before_s,
                  double *after_s)
{
    const size_t back = at_most(k - start, BEFORE);
    if (back < BEFORE_MIN || k + ahead > s->n || !s->beat[k].follows) {
        return false;
    }
    *before_s = level_of(s, k - back, back);
    *after_s = level_of(s, k, ahead);
    const double step_s = *after_s - *before_s;
    const double jump_s = s->beat[k].length_s - s->beat[k - 1].length_s;
    return near_count(s, k - back, back, *before_s) + 1 >= back &&
           near_count(s, k, ahead, *after_s) + (ahead > RUN_MIN ? 1 : 0) >= ahead &&
           fabs(step_s) >= (CHANGE_MIN - 1.0) * fmin(*before_s, *after_s) &&
           jump_s / step_s >= JUMP_SHARE;
}

/* First interval after a fast run that began at k; n when it does not end. */
static size_t run_end(const fm_rhythm_series *s, size_t k, double fast_s)
{
    size_t e = k + RUN_MIN;
    while (e < s->n && s->beat[e].length_s < CHANGE_MIN * fast_s) {
        e++;
    }
    return e;
}

static void note(size_t *n, double *times_s, double time_s)
{
    if (*n < FM_FINDING_TIMES) {
        times_s[*n] = time_s;
    }
    (*n)++;
}

/* Is the rate after a run the one before it? */
static bool comes_back(const fm_rhythm_series *s, size_t e, double before_s)
{
    const size_t n = at_most(s->n - e, BEFORE);
    return n == 0 || fabs(level_of(s, e, n) / before_s - 1.0) <= 1.5 * NEAR;
}

static void number_levels(fm_rhythm_series *s, size_t first, size_t level)
{
    for (size_t i = first; i < s->n; i++) {
        s->beat[i].level = level;
    }
}

static void scan(fm_rhythm_series *s, fm_rhythm_change *out)
{
    size_t start = 0;
    size_t level = 0;
    number_levels(s, 0, 0);
    for (size_t k = 1; k < s->n; k++) {
        double before_s = 0.0;
        double after_s = 0.0;
        if (jumps(s, start, k, RUN_MIN, &before_s, &after_s) &&
            after_s <= RUN_RATIO * before_s) {
            const size_t e = run_end(s, k, after_s);
            const bool run =
                (e < s->n || e - k < STAY_MIN) && comes_back(s, e, before_s);
            if (run) {
                note(&out->n_runs, out->runs_s, s->beat[k].start_s);
                number_levels(s, k, ++level);
                number_levels(s, e, ++level);
                start = e;
                k = e;
                continue;
            }
        }
        if (jumps(s, start, k, STAY_MIN, &before_s, &after_s)) {
            note(&out->n_changes, out->changes_s, s->beat[k].start_s);
            number_levels(s, k, ++level);
            start = k;
            k += STAY_MIN - 1;
        }
    }
}

/* Are nearly all intervals near the running level of their stretch? */
static bool is_steady(fm_rhythm_series *s)
{
    fm_rhythm_set_base(s);
    size_t inside = 0;
    size_t counted = 0;
    for (size_t i = 0; i < s->n; i++) {
        const fm_rhythm_beat *b = &s->beat[i];
        const bool near = is_near(b->length_s, b->base_s);
        inside += near ? 1 : 0;
        counted += near || !b->doubtful ? 1 : 0;
    }
    return (double)inside >= STEADY_SHARE * (double)counted;
}

void fm_rhythm_find_change(fm_rhythm_series *series, fm_rhythm_change *out)
{
    *out = (fm_rhythm_change){0};
    scan(series, out);
    out->found = out->n_changes + out->n_runs > 0 && is_steady(series);
    if (!out->found) {
        *out = (fm_rhythm_change){0};
        number_levels(series, 0, 0);
    }
}

double fm_rhythm_run_end_s(const fm_rhythm *r, double start_s)
{
    double first_s[RUN_MIN];
    size_t k = 0;
    while (k < r->n_intervals && r->intervals[k].start_s < start_s) {
        k++;
    }
    if (k + RUN_MIN > r->n_intervals || !(r->intervals[k].start_s <= start_s)) {
        return (double)NAN;
    }
    for (size_t i = 0; i < RUN_MIN; i++) {
        first_s[i] = r->intervals[k + i].length_s;
    }
    const double longest_s = CHANGE_MIN * fm_rhythm_median(first_s, RUN_MIN);
    double end_s = start_s;
    while (k < r->n_intervals && r->intervals[k].length_s < longest_s) {
        end_s = r->intervals[k].start_s + r->intervals[k].length_s;
        k++;
    }
    return end_s;
}
