#include "dsp/decoder.h"

#include <math.h>
#include <stddef.h>

enum {
    S1 = 0,
    S2 = 1,
    EARLY_S1 = 2,
    EARLY_S2 = 3,
    LANES = 4,
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
/* Two candidates nearer than this are one sound. */
static const double GAP_MIN_S = 0.05;

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

/* The same among gaps, each kind of way with its best: between equals the one from further
 * back, then the kind that was offered first. */
static void offer_gap(best *b, float value, size_t from, uint8_t state)
{
    if (value > b->value || (!(value < b->value) && (int)from < b->from)) {
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

/* Where the ranges of lengths begin and end among the gaps: they move little from one
 * candidate to the next, so each is looked for from where it was. */
typedef struct ranges {
    size_t early_from, early_to; /* candidates whose gap is an early one */
    size_t after_from, after_to; /* a gap behind an early beat */
} ranges;

typedef struct search {
    const fm_candidate *c;
    const fm_assumption *a;
    fm_decoder_memory *m;
    tables t;
    ranges by_diastole;
    ranges by_cycle;
} search;

/* The gaps before candidate j, the longest first: log_gap[k] belongs to first + k. */
typedef struct gaps {
    size_t first;
    size_t j;
    size_t n;       /* those of 50 ms and more */
    size_t n_cycle; /* those that can be a whole cycle */
    const double *log_gap;
    const float *log_gap_f;
    const uint16_t *step; /* of systole's table; LAG_STEPS: beyond it */
} gaps;

static double gap_s(const search *s, size_t i, size_t j)
{
    return s->c[j].time_s - s->c[i].time_s;
}

/* Fills row[from..to-1] for the gaps from first + k to j. */
static void measure_gaps(const search *s,
                         size_t first,
                         size_t j,
                         size_t from,
                         size_t to,
                         double *log_gap,
                         float *log_gap_f,
                         uint16_t *step)
{
    for (size_t k = from; k < to; k++) {
        const double gap = gap_s(s, first + k, j);
        const double at = gap / STEP_S + 0.5;
        log_gap[k] = log(gap);
        log_gap_f[k] = (float)log_gap[k];
        step[k] = at < LAG_STEPS ? (uint16_t)at : LAG_STEPS;
    }
}

/* The gaps from each of first..j-1 to j; what is known is not made again: all assumptions
 * are tried on the same candidates. */
static void find_gaps(search *s, gaps *g)
{
    fm_decoder_memory *m = s->m;
    const size_t j = g->j;
    const size_t n = j - g->first;
    if (n > FM_DECODER_GAPS) {
        measure_gaps(s, g->first, j, 0, n, m->long_log_gap, m->long_log_gap_f,
                     m->long_step);
        g->log_gap = m->long_log_gap;
        g->log_gap_f = m->long_log_gap_f;
        g->step = m->long_step;
        return;
    }
    const size_t start = FM_DECODER_GAPS - n;
    if (n > m->n_known[j]) {
        measure_gaps(s, g->first, j, 0, n - m->n_known[j], m->log_gap[j] + start,
                     m->log_gap_f[j] + start, m->step[j] + start);
        m->n_known[j] = (uint16_t)n;
    }
    g->log_gap = m->log_gap[j] + start;
    g->log_gap_f = m->log_gap_f[j] + start;
    g->step = m->step[j] + start;
}

/* Forget the gaps of other candidates. */
static void meet_candidates(fm_decoder_memory *m, const fm_candidate *c, size_t n)
{
    size_t same = 0;
    while (same < n && !(c[same].time_s < m->time_s[same]) &&
           !(c[same].time_s > m->time_s[same])) {
        same++;
    }
    /* A row speaks of the candidates before it: behind the first new one none holds. */
    for (size_t j = same; j < n; j++) {
        m->time_s[j] = c[j].time_s;
        m->n_known[j] = 0;
    }
}

/* Offers the greatest of v[0..n-1], what the gaps first..first + n - 1 are worth; the first
 * of equals. Four side by side, so v has room for three more behind its end. */
static void offer_top(float *v, size_t n, size_t first, uint8_t state, best *out)
{
    float lane[LANES];
    for (size_t l = 0; l < LANES; l++) {
        lane[l] = IMPOSSIBLE;
        v[n + l] = IMPOSSIBLE;
    }
    for (size_t k = 0; k < n; k += LANES) {
        for (size_t l = 0; l < LANES; l++) {
            lane[l] = v[k + l] > lane[l] ? v[k + l] : lane[l];
        }
    }
    const float low = lane[0] > lane[1] ? lane[0] : lane[1];
    const float high = lane[2] > lane[3] ? lane[2] : lane[3];
    const float top = low > high ? low : high;
    if (top < out->value) {
        return;
    }
    size_t at = 0;
    while (at < n && v[at] < top) {
        at++;
    }
    if (at < n) {
        offer_gap(out, top, first + at, state);
    }
}

/* Offers value[k] + fixed - log_gap[k] for k in from..to-1. */
static void offer_fixed(const search *s,
                        const gaps *g,
                        float fixed,
                        size_t from,
                        size_t to,
                        uint8_t state,
                        best *out)
{
    const float *value = s->m->value[state] + from;
    const float *log_gap = g->log_gap_f + (from - g->first);
    float *v = s->m->worth;
    const size_t n = to > from ? to - from : 0;
    for (size_t k = 0; k < n; k++) {
        v[k] = value[k] + fixed - log_gap[k];
    }
    offer_top(v, n, from, state, out);
}

/* Where each of n gaps stands in a table of ratios to the expected one. */
static void find_ratios(const gaps *g, double log_expected, size_t n, int32_t *ratio)
{
    const double *log_gap = g->log_gap;
    for (size_t k = 0; k < n; k++) {
        ratio[k] =
            (int32_t)(RATIO_CENTRE + RATIO_STEPS_PER_E * (log_gap[k] - log_expected));
    }
    /* Gaps grow shorter: only the first can be beyond the table, the last before it. */
    for (size_t k = 0; k < n && ratio[k] > LAG_STEPS - 1; k++) {
        ratio[k] = LAG_STEPS - 1;
    }
    for (size_t k = n; k > 0 && ratio[k - 1] < 0; k--) {
        ratio[k - 1] = 0;
    }
}

/* The same, with what a table says of each gap's ratio to the expected one. */
static void offer_ratio(const search *s,
                        const gaps *g,
                        double log_expected,
                        const float *table,
                        size_t n,
                        uint8_t state,
                        best *out)
{
    int32_t *ratio = s->m->ratio;
    find_ratios(g, log_expected, n, ratio);
    const float *value = s->m->value[state] + g->first;
    const float *log_gap = g->log_gap_f;
    float *v = s->m->worth;
    for (size_t k = 0; k < n; k++) {
        v[k] = value[k] + table[ratio[k]] - log_gap[k];
    }
    offer_top(v, n, g->first, state, out);
}

/* The first of n gaps whose |ln ratio| is at most (or below) a limit, looked for from
 * where it was; gaps grow shorter, so all behind it are too. */
static size_t first_within(const gaps *g,
                           size_t n,
                           double log_expected,
                           double limit,
                           bool or_equal,
                           size_t was)
{
    const double *log_gap = g->log_gap;
    size_t k = was > g->first ? was - g->first : 0;
    k = k < n ? k : n;
    if (or_equal) {
        while (k > 0 && log_gap[k - 1] - log_expected <= limit) {
            k--;
        }
        while (k < n && !(log_gap[k] - log_expected <= limit)) {
            k++;
        }
    } else {
        while (k > 0 && log_gap[k - 1] - log_expected < limit) {
            k--;
        }
        while (k < n && !(log_gap[k] - log_expected < limit)) {
            k++;
        }
    }
    return k;
}

/* Moves the ranges on to candidate j; kept as candidates, so that they stay in place. */
static void move_ranges(const gaps *g, size_t n, double log_expected, ranges *r)
{
    const size_t first = g->first;
    r->early_from =
        first + first_within(g, n, log_expected, -EARLY_LEAST, true, r->early_from);
    r->early_to =
        first + first_within(g, n, log_expected, -EARLY_MOST, false, r->early_to);
    r->after_from =
        first + first_within(g, n, log_expected, AFTER_MOST, true, r->after_from);
    r->after_to =
        first + first_within(g, n, log_expected, AFTER_LEAST, false, r->after_to);
}

/* Ways into an early beat, and out of one. */
static void extend_early(const search *s, const gaps *g, best *out)
{
    const tables *t = &s->t;
    const ranges *d = &s->by_diastole;
    const ranges *c = &s->by_cycle;
    best *early = &out[EARLY_S1];
    offer_fixed(s, g, t->early, d->early_from, d->early_to, S2, early);
    offer_fixed(s, g, t->again, d->early_from, d->early_to, EARLY_S2, early);
    offer_fixed(s, g, t->early_no_s2, c->early_from, c->early_to, S1, early);
    offer_fixed(s, g, t->after, d->after_from, d->after_to, EARLY_S2, &out[S1]);
    offer_fixed(s, g, t->after_no_s2, c->after_from, c->after_to, EARLY_S1, &out[S1]);
}

/* Ways from an S1 to its S2. */
static void extend_systole(const search *s, const gaps *g, best *out)
{
    const float *value = s->m->value[S1] + g->first;
    const float *early = s->m->value[EARLY_S1] + g->first;
    const double longest_s = 3.0 * s->a->systole_s;
    size_t from = g->n; /* the further back, the longer */
    while (from > 0 && g->step[from - 1] < LAG_STEPS &&
           gap_s(s, g->first + from - 1, g->j) < longest_s) {
        from--;
    }
    float top = IMPOSSIBLE;
    float top_early = IMPOSSIBLE;
    size_t at = g->n;
    size_t at_early = g->n;
    for (size_t k = g->n; k-- > from;) {
        const float systole = s->t.systole[g->step[k]];
        const float v = value[k] + systole;
        const float v_early = early[k] + systole + s->t.early_systole;
        if (v >= top) {
            top = v;
            at = k;
        }
        if (v_early >= top_early) {
            top_early = v_early;
            at_early = k;
        }
    }
    if (at < g->n) {
        offer(&out[S2], top, g->first + at, S1);
    }
    if (at_early < g->n) {
        offer(&out[EARLY_S2], top_early, g->first + at_early, EARLY_S1);
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
    gaps g = {.first = first, .j = j, .n = j - first};
    while (g.n > 0 && gap_s(s, first + g.n - 1, j) < GAP_MIN_S) {
        g.n--;
    }
    g.n_cycle = g.n;
    while (g.n_cycle > 0 && gap_s(s, first + g.n_cycle - 1, j) < CYCLE_MIN_S) {
        g.n_cycle--;
    }
    /* density of a gap = density of its logarithm / gap */
    find_gaps(s, &g);
    extend_systole(s, &g, out);
    offer_ratio(s, &g, log_diastole, s->t.diastole, g.n, S2, &out[S1]);
    offer_ratio(s, &g, log_cycle, s->t.cycle, g.n_cycle, S1, &out[S1]);
    move_ranges(&g, g.n, log_diastole, &s->by_diastole);
    move_ranges(&g, g.n_cycle, log_cycle, &s->by_cycle);
    extend_early(s, &g, out);
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
    meet_candidates(m, c, n);
    fill_tables(a, noise_per_s, &s.t);
    const double reach_s = REACH_CYCLES * a->cycle_s;
    best end = {0.0f, -1, S1};
    best far = {IMPOSSIBLE, -1, S1}; /* best of those that have fallen out of reach */
    size_t first = 0;
    for (size_t j = 0; j < n; j++) {
        while (c[j].time_s - c[first].time_s > reach_s) {
            for (unsigned state = S1; state < FM_DECODER_STATES; state++) {
                offer(&far, m->value[state][first], first, (uint8_t)state);
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
        const float rest = end_cost(segment_s - c[j].time_s, a->cycle_s);
        for (unsigned state = S1; state < FM_DECODER_STATES; state++) {
            m->value[state][j] = to[state].value + scores[state];
            m->back[j][state] = (int16_t)to[state].from;
            m->back_state[j][state] = to[state].state;
            offer(&end, m->value[state][j] + rest, j, (uint8_t)state);
        }
    }
    path->score = (double)end.value;
    trace_back(m, end.from, end.state, path);
}
