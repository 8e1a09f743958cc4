#include "dsp/heart/decoder_private.h"

#include <math.h>
#include <stddef.h>

/* Costs are natural logs, ours, chosen on composed recordings. That of a restart after a gap in the path. */
static const float RESTART = -9.0f;
/* Cost for each typical cycle left unexplained at either end of the segment. */
static const float END_COST = 1.5f;
/* No diastole is expected to be shorter: at 222 a minute systole leaves 0.14 s (systole.h). Ours. */
static const double DIASTOLE_MIN_S = 0.08;

typedef struct search {
    const fm_decoding *decoding; /* decoding[0..FM_LANES-1] */
    fm_decoder_memory *m;
    double reach_s[FM_LANES];
    fm_lane_ints reach; /* candidate within reach, the farthest back */
    fm_lanes far;       /* best of those that have fallen out of reach */
    fm_lane_ints far_at;
    fm_lanes cost_per_s;           /* of what is left unexplained at an end */
    bool is_local;                 /* does any hypothesis have a local cycle? */
    bool is_shared;                /* do all lanes share the scores? */
    float local_cycle_s[FM_LANES]; /* that the logarithms below were taken of */
    fm_lanes log_cycle;
    fm_lanes log_diastole;
} search;

/* ---- Gaps ---- */

static double gap_s(const search *s, size_t i, size_t j)
{
    return s->m->time_s[j] - s->m->time_s[i];
}

/* Fills row[from..to-1] for the gaps from first + k to j. */
static void measure_gaps(const search *s,
                         size_t first,
                         size_t j,
                         size_t from,
                         size_t to,
                         float *log_gap,
                         uint16_t *step)
{
    for (size_t k = from; k < to; k++) {
        const double gap = gap_s(s, first + k, j);
        const double at = gap / FM_SYSTOLE_STEP_S + 0.5;
        log_gap[k] = (float)log(gap);
        step[k] = at < FM_DECODER_STEPS ? (uint16_t)at : FM_DECODER_STEPS;
    }
}

/* The gaps from each of first..j-1 to j; what is known is not made again: all hypotheses
 * are tried on the same candidates. */
static void find_gaps(const search *s, size_t j, fm_gaps *g)
{
    fm_decoder_memory *m = s->m;
    const size_t n = j - g->first;
    g->n = n;
    while (g->n > 0 && gap_s(s, g->first + g->n - 1, j) < FM_GAP_MIN_S) {
        g->n--;
    }
    g->n_cycle = g->n;
    while (g->n_cycle > 0 &&
           gap_s(s, g->first + g->n_cycle - 1, j) < FM_CYCLE_GAP_MIN_S) {
        g->n_cycle--;
    }
    if (n > FM_DECODER_GAPS) {
        measure_gaps(s, g->first, j, 0, n, m->long_log_gap, m->long_step);
        g->log_gap = m->long_log_gap;
        g->step = m->long_step;
        return;
    }
    const size_t start = FM_DECODER_GAPS - n;
    if (n > m->n_known[j]) {
        measure_gaps(s, g->first, j, 0, n - m->n_known[j], m->log_gap[j] + start,
                     m->step[j] + start);
        m->n_known[j] = (uint16_t)n;
    }
    g->log_gap = m->log_gap[j] + start;
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

/* ---- What depends on each lane's hypothesis ---- */

/* What each typical cycle left unexplained before the first or after the last sound
 * costs, but for the first. */
#define END_COST_OF(s, unexplained_s, cost)                                            \
    do {                                                                               \
        const fm_lanes beyond = (s)->cost_per_s * (float)(unexplained_s) + END_COST;   \
        const fm_lanes nothing = {0};                                                  \
        (cost) = FM_CHOOSE(beyond < nothing, beyond, nothing);                         \
    } while (0)

static void expect_lane(search *s, size_t l, double cycle_s)
{
    const double diastole_s = cycle_s - s->decoding[l].hypothesis->systole_s;
    s->log_cycle[l] = (float)log(cycle_s);
    s->log_diastole[l] = (float)log(fmax(diastole_s, DIASTOLE_MIN_S));
}

/* The lengths expected at candidate j. The local cycle moves diastole; systole follows it
 * a little. */
static void expect(search *s, size_t j)
{
    for (size_t l = 0; l < FM_LANES && s->is_local; l++) {
        const float *local = s->decoding[l].hypothesis->local_cycle_s;
        if (local &&
            (local[j] < s->local_cycle_s[l] || local[j] > s->local_cycle_s[l])) {
            s->local_cycle_s[l] = local[j];
            expect_lane(s, l, (double)local[j]);
        }
    }
}

/* Leaves behind what falls out of reach; returns the farthest candidate that any lane
 * still looks back to. */
static size_t move_reach(search *s, size_t j)
{
    const fm_decoder_memory *m = s->m;
    size_t first = j;
    for (size_t l = 0; l < FM_LANES; l++) {
        const size_t was = (size_t)s->reach[l];
        size_t i = was;
        while (gap_s(s, i, j) > s->reach_s[l]) {
            i++;
        }
        if (i > was) {
            s->reach[l] = (int32_t)i;
            s->far[l] = m->passed[i - 1][l];
            s->far_at[l] = m->passed_at[i - 1][l];
        }
        first = i < first ? i : first;
    }
    return first;
}

/* ---- The search ---- */

static void begin(search *s)
{
    s->reach = (fm_lane_ints){0};
    s->far = (fm_lanes){0} + FM_IMPOSSIBLE;
    s->far_at = (fm_lane_ints){0} + FM_NO_WAY;
    s->m->end = s->far_at;
    s->m->score = (fm_lanes){0};
    s->is_shared = true;
    for (size_t l = 0; l < FM_LANES; l++) {
        const fm_hypothesis *h = s->decoding[l].hypothesis;
        s->reach_s[l] = FM_REACH_CYCLES * h->cycle_s;
        s->cost_per_s[l] = (float)(-(double)END_COST / h->cycle_s);
        s->is_local = s->is_local || h->local_cycle_s;
        s->is_shared =
            s->is_shared && s->decoding[l].candidates == s->decoding[0].candidates;
        expect_lane(s, l, h->cycle_s);
    }
}

FM_WIDE static void find_ways(search *s, size_t j, fm_ways *w)
{
    const fm_lane_ints none = (fm_lane_ints){0} + FM_NO_WAY;
    END_COST_OF(s, s->m->time_s[j], w->value[FM_S1]);
    w->value[FM_S2] = w->value[FM_S1];
    w->value[FM_EARLY_S1] = (fm_lanes){0} + FM_IMPOSSIBLE;
    w->value[FM_EARLY_S2] = w->value[FM_EARLY_S1];
    for (size_t state = 0; state < FM_DECODER_STATES; state++) {
        w->from[state] = none;
    }
    expect(s, j);
    fm_gaps g = {.first = move_reach(s, j)};
    g.reach = s->reach;
    g.log_cycle = s->log_cycle;
    g.log_diastole = s->log_diastole;
    find_gaps(s, j, &g);
    fm_decoder_extend(s->m, &g, w);
    /* Behind a gap the first sound found may as well be an S2. */
    const fm_lanes again = s->far + RESTART;
    for (size_t state = FM_S1; state <= FM_S2; state++) {
        const fm_lane_ints better = again > w->value[state];
        w->value[state] = FM_CHOOSE(better, again, w->value[state]);
        w->from[state] = FM_CHOOSE_INTS(better, s->far_at, w->from[state]);
    }
}

static void find_scores(const search *s, size_t j, fm_lanes *score)
{
    const fm_candidate *c = &s->decoding[0].candidates[j];
    score[0] = (fm_lanes){0} + c->score_s1;
    score[1] = (fm_lanes){0} + c->score_s2;
    for (size_t l = 0; l < FM_LANES && !s->is_shared; l++) {
        score[0][l] = s->decoding[l].candidates[j].score_s1;
        score[1][l] = s->decoding[l].candidates[j].score_s2;
    }
}

FM_WIDE static void keep_ways(search *s, size_t j, double segment_s, const fm_ways *w)
{
    fm_decoder_memory *m = s->m;
    fm_lanes rest;
    fm_lanes score[2];
    fm_lanes passed = (fm_lanes){0} + FM_IMPOSSIBLE;
    fm_lane_ints passed_at = (fm_lane_ints){0} + FM_NO_WAY;
    if (j > 0) {
        passed = m->passed[j - 1];
        passed_at = m->passed_at[j - 1];
    }
    END_COST_OF(s, segment_s - m->time_s[j], rest);
    find_scores(s, j, score);
    for (size_t state = 0; state < FM_DECODER_STATES; state++) {
        const fm_lanes value = w->value[state] + score[state & 1];
        const fm_lanes ended = value + rest;
        const fm_lane_ints here = (fm_lane_ints){0} + (int32_t)(j << 2 | state);
        const fm_lane_ints ends = ended > m->score;
        const fm_lane_ints passes = value > passed;
        m->value[state][j] = value;
        m->back[state][j] = w->from[state];
        m->score = FM_CHOOSE(ends, ended, m->score);
        m->end = FM_CHOOSE_INTS(ends, here, m->end);
        passed = FM_CHOOSE(passes, value, passed);
        passed_at = FM_CHOOSE_INTS(passes, here, passed_at);
    }
    m->passed[j] = passed;
    m->passed_at[j] = passed_at;
}

void fm_decode_all(const fm_decoding *decoding,
                   size_t n_decodings,
                   size_t n,
                   double segment_s,
                   double noise_per_s,
                   fm_decoder_memory *m)
{
    fm_decoding lane[FM_LANES];
    const fm_hypothesis *hypothesis[FM_LANES];
    for (size_t l = 0; l < FM_LANES; l++) {
        lane[l] = decoding[l < n_decodings ? l : n_decodings - 1];
        hypothesis[l] = lane[l].hypothesis;
    }
    search s = {.decoding = lane, .m = m};
    begin(&s);
    meet_candidates(m, lane[0].candidates, n);
    fm_decoder_fill_tables(hypothesis, n_decodings, noise_per_s, &m->tables);
    for (size_t j = 0; j < n; j++) {
        fm_ways w;
        find_ways(&s, j, &w);
        keep_ways(&s, j, segment_s, &w);
    }
}

/* ---- The path ---- */

static void turn_round(fm_path *path)
{
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

void fm_decoder_path(const fm_decoder_memory *m, size_t lane, fm_path *path)
{
    path->score = (double)m->score[lane];
    path->n = 0;
    path->n_s1 = 0;
    path->n_s2 = 0;
    for (int32_t at = m->end[lane]; at >= 0 && path->n < FM_PATH_MAX;) {
        const size_t j = (size_t)at >> 2;
        const size_t state = (size_t)at & 3U;
        const bool is_second = state == FM_S2 || state == FM_EARLY_S2;
        path->index[path->n] = (uint16_t)j;
        path->is_s2[path->n] = is_second;
        path->n++;
        path->n_s1 += is_second ? 0 : 1;
        path->n_s2 += is_second ? 1 : 0;
        at = m->back[state][j][lane];
    }
    turn_round(path);
}
