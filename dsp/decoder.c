#include "dsp/decoder.h"

#include <math.h>

enum {
    S1 = 0,
    S2 = 1,
    EARLY_S1 = 2,
    EARLY_S2 = 3,
    LAG_STEPS = 1200 /* duration tables in steps of 5 ms, to 6 s */
};

static const double STEP_S = 0.005;
static const float IMPOSSIBLE = -1e9f;

/* Longest cycle looked back for, in typical cycles: two dropped beats. */
static const double REACH_CYCLES = 3.2;
/* Cost of losing the thread and starting again further on (natural log). */
static const float RESTART = -9.0f;
/* Cost for each typical cycle left unexplained at either end of the segment. */
static const double END_COST = 1.5;
/* Scale of |ln ratio| of an interval out of step (tuned on composed rhythms and the open
 * heart data). */
static const double SURPRISE_SCALE = 0.45;
/* An early beat: |ln ratio| of the diastole (or, where S2 is missing, the interval) before
 * it, all lengths alike; and of the one after it. Early: 20 % and more (librasch.org/hrt) of
 * the interval is at least this much of the diastole. Ranges tuned on composed rhythms. */
static const double EARLY_LEAST = 0.15;
static const double EARLY_MOST = 1.9;
static const double AFTER_LEAST = -0.1;
static const double AFTER_MOST = 1.0;
/* An early beat often has no S2 (from memory), and seldom another early
 * one behind it. */
static const double EARLY_S2_HEARD = 0.8;
static const double EARLY_AGAIN = 0.1;
/* Shortest S1-S1 interval, s: 240-300 ms is refractory (from memory). */
static const double CYCLE_MIN_S = 0.24;

typedef struct tables {
    float systole[LAG_STEPS];  /* S1 -> S2 */
    float diastole[LAG_STEPS]; /* S2 -> S1, by ratio to expected: index = log step */
    float cycle[LAG_STEPS];    /* S1 -> S1 where S2 was not heard */
    float early;               /* S2 -> early S1, any ratio in its range */
    float early_no_s2;         /* S1 -> early S1 */
    float early_systole;       /* added to systole: early S1 -> its S2 */
    float after;               /* early S2 -> S1, any ratio in its range */
    float after_no_s2;         /* early S1 -> S1 where the early S2 was not heard */
    float again;               /* early S2 -> early S1 */
} tables;

enum {
    RATIO_CENTRE = 600,
    RATIO_STEPS_PER_E = 250 /* table steps per factor e */
};

/* Log density of |ln(actual / expected)|, both sides alike: Laplace; now and then, wider:
 * an early beat or a pause. The two falls go down by a constant factor a step. */
static void fill_ratio_tables(const fm_assumption *a, double log_noise, tables *t)
{
    const double missed = log(1.0 - a->s2_heard) - log_noise;
    const double fall = exp(-1.0 / (RATIO_STEPS_PER_E * a->looseness));
    const double wide_fall = exp(-1.0 / (RATIO_STEPS_PER_E * SURPRISE_SCALE));
    double narrow = (1.0 - a->surprise) / (2.0 * a->looseness);
    double wide = a->surprise / (2.0 * SURPRISE_SCALE);
    for (int i = 0; i <= RATIO_CENTRE; i++) {
        const double log_density = log(narrow + wide);
        t->diastole[RATIO_CENTRE - i] = (float)(log_density - log_noise);
        t->cycle[RATIO_CENTRE - i] = (float)(log_density + missed);
        if (RATIO_CENTRE + i < LAG_STEPS) {
            t->diastole[RATIO_CENTRE + i] = t->diastole[RATIO_CENTRE - i];
            t->cycle[RATIO_CENTRE + i] = t->cycle[RATIO_CENTRE - i];
        }
        narrow *= fall;
        wide *= wide_fall;
    }
}

static void fill_early(const fm_assumption *a, double log_noise, tables *t)
{
    const double before = log(a->early / (EARLY_MOST - EARLY_LEAST)) - log_noise;
    const double after = -log(AFTER_MOST - AFTER_LEAST) - log_noise;
    t->early = (float)before;
    t->early_no_s2 = (float)(before + log(1.0 - a->s2_heard));
    t->early_systole = (float)(log(EARLY_S2_HEARD) - log(a->s2_heard));
    t->after = (float)after;
    t->after_no_s2 = (float)(after + log(1.0 - EARLY_S2_HEARD));
    t->again = (float)(log(EARLY_AGAIN / (EARLY_MOST - EARLY_LEAST)) - log_noise);
}

static void fill_tables(const fm_assumption *a, double noise_per_s, tables *t)
{
    const double log_noise = log(noise_per_s);
    const double sd = a->systole_sd_s;
    const double heard = log(a->s2_heard) - log(sd * 2.5066) - log_noise;
    for (int i = 0; i < LAG_STEPS; i++) {
        const double z = (i * STEP_S - a->systole_s) / sd;
        /* Gaussian core; beyond three deviations the tail falls off linearly. */
        const double core = fabs(z) < 3.0 ? -0.5 * z * z : -4.5 - 3.0 * (fabs(z) - 3.0);
        t->systole[i] = (float)(heard + core);
    }
    fill_ratio_tables(a, log_noise, t);
    fill_early(a, log_noise, t);
}

static int ratio_index(double log_actual, double log_expected)
{
    const double at = RATIO_CENTRE + RATIO_STEPS_PER_E * (log_actual - log_expected);
    if (at < 0.0) {
        return 0;
    }
    return at < LAG_STEPS - 1 ? (int)at : LAG_STEPS - 1;
}

typedef struct best {
    float value;
    int from;
    uint8_t state;
} best;

static void offer(best *b, float value, size_t from, uint8_t state)
{
    if (value > b->value) {
        *b = (best){value, (int)from, state};
    }
}

/* What each typical cycle left unexplained before the first or after the last sound
 * costs. */
static float end_cost(double unexplained_s, double cycle_s)
{
    const double cycles = unexplained_s / cycle_s - 1.0;
    return cycles > 0.0 ? (float)(-END_COST * cycles) : 0.0f;
}

typedef struct search {
    const fm_candidate *c;
    const fm_assumption *a;
    fm_decoder_memory *m;
    tables t;
} search;

/* Ways into an early beat, and out of one, over a gap whose |ln ratio| to the expected
 * diastole is r and to the expected cycle rc. */
static void extend_early(
    const search *s, size_t i, double r, double rc, float log_gap, best *out)
{
    const float *value = s->m->value[i];
    const tables *t = &s->t;
    if (-r >= EARLY_LEAST && -r <= EARLY_MOST) {
        offer(&out[EARLY_S1], value[S2] + t->early - log_gap, i, S2);
        offer(&out[EARLY_S1], value[EARLY_S2] + t->again - log_gap, i, EARLY_S2);
    }
    if (-rc >= EARLY_LEAST && -rc <= EARLY_MOST) {
        offer(&out[EARLY_S1], value[S1] + t->early_no_s2 - log_gap, i, S1);
    }
    if (r >= AFTER_LEAST && r <= AFTER_MOST) {
        offer(&out[S1], value[EARLY_S2] + t->after - log_gap, i, EARLY_S2);
    }
    if (rc >= AFTER_LEAST && rc <= AFTER_MOST) {
        offer(&out[S1], value[EARLY_S1] + t->after_no_s2 - log_gap, i, EARLY_S1);
    }
}

/* Best way to reach candidate j in each state from the ones within reach. */
static void extend(search *s, size_t first, size_t j, best *out)
{
    const fm_assumption *a = s->a;
    const double cycle_s = a->local_cycle_s ? (double)a->local_cycle_s[j] : a->cycle_s;
    const double log_cycle = log(cycle_s);
    /* The local cycle moves diastole; systole follows it a little. */
    const double diastole_s = cycle_s - a->systole_s;
    const double log_diastole = log(diastole_s > 0.08 ? diastole_s : 0.08);
    for (size_t i = first; i < j; i++) {
        const double gap_s = s->c[j].time_s - s->c[i].time_s;
        if (gap_s < 0.05) {
            continue;
        }
        const float *value = s->m->value[i];
        const size_t step = (size_t)(gap_s / STEP_S + 0.5);
        if (step < LAG_STEPS && gap_s < 3.0 * a->systole_s) {
            const float systole = s->t.systole[step];
            offer(&out[S2], value[S1] + systole, i, S1);
            offer(&out[EARLY_S2], value[EARLY_S1] + systole + s->t.early_systole, i,
                  EARLY_S1);
        }
        /* density of a gap = density of its logarithm / gap */
        const double log_gap = log(gap_s);
        const int r = ratio_index(log_gap, log_diastole);
        offer(&out[S1], value[S2] + s->t.diastole[r] - (float)log_gap, i, S2);
        if (gap_s >= CYCLE_MIN_S) {
            const int rc = ratio_index(log_gap, log_cycle);
            offer(&out[S1], value[S1] + s->t.cycle[rc] - (float)log_gap, i, S1);
            extend_early(s, i, log_gap - log_diastole, log_gap - log_cycle,
                         (float)log_gap, out);
        } else {
            extend_early(s, i, log_gap - log_diastole, (double)NAN, (float)log_gap,
                         out);
        }
    }
}

static void trace_back(const fm_decoder_memory *m, int j, uint8_t state, fm_path *path)
{
    path->n = 0;
    path->n_s1 = 0;
    path->n_s2 = 0;
    while (j >= 0 && path->n < FM_PATH_MAX) {
        path->index[path->n] = (uint16_t)j;
        const bool is_second = state == S2 || state == EARLY_S2;
        path->is_s2[path->n] = is_second;
        path->n++;
        path->n_s1 += is_second ? 0 : 1;
        path->n_s2 += is_second ? 1 : 0;
        const int before = m->back[j][state];
        state = m->back_state[j][state];
        j = before;
    }
    for (size_t i = 0; i < path->n / 2; i++) {
        const size_t k = path->n - 1 - i;
        const uint16_t index = path->index[i];
        const bool is_s2 = path->is_s2[i];
        path->index[i] = path->index[k];
        path->is_s2[i] = path->is_s2[k];
        path->index[k] = index;
        path->is_s2[k] = is_s2;
    }
}

void fm_decode(const fm_candidate *c,
               size_t n,
               double segment_s,
               double noise_per_s,
               const fm_assumption *a,
               fm_decoder_memory *m,
               fm_path *path)
{
    search s = {.c = c, .a = a, .m = m};
    fill_tables(a, noise_per_s, &s.t);
    const double reach_s = REACH_CYCLES * a->cycle_s;
    best end = {0.0f, -1, S1};
    best far = {IMPOSSIBLE, -1, S1}; /* best of those that have fallen out of reach */
    size_t first = 0;
    for (size_t j = 0; j < n; j++) {
        while (c[j].time_s - c[first].time_s > reach_s) {
            for (unsigned state = S1; state < FM_DECODER_STATES; state++) {
                offer(&far, m->value[first][state], first, (uint8_t)state);
            }
            first++;
        }
        const float start = end_cost(c[j].time_s, a->cycle_s);
        best to[FM_DECODER_STATES] = {{start, -1, S1},
                                      {start, -1, S1},
                                      {IMPOSSIBLE, -1, S1},
                                      {IMPOSSIBLE, -1, S1}};
        extend(&s, first, j, to);
        /* Behind a hole the first sound heard may as well be an S2. */
        const size_t far_from = (size_t)(far.from < 0 ? 0 : far.from);
        offer(&to[S1], far.value + RESTART, far_from, far.state);
        offer(&to[S2], far.value + RESTART, far_from, far.state);
        const float scores[FM_DECODER_STATES] = {c[j].score_s1, c[j].score_s2,
                                                 c[j].score_s1, c[j].score_s2};
        for (unsigned state = S1; state < FM_DECODER_STATES; state++) {
            m->value[j][state] = to[state].value + scores[state];
            m->back[j][state] = (int16_t)to[state].from;
            m->back_state[j][state] = to[state].state;
            offer(&end,
                  m->value[j][state] + end_cost(segment_s - c[j].time_s, a->cycle_s), j,
                  (uint8_t)state);
        }
    }
    path->score = (double)end.value;
    trace_back(m, end.from, end.state, path);
}
