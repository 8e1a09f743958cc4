/*
 * Against a slow exact version: every labelling (neither, S1, S2, and both of an early
 * beat) of small sets of candidates is scored in double by the model that dsp/heart/decoder.h
 * describes, written here once more, and the best is compared with what the decoder found.
 *   Input:     sets of 0 to 9 candidates, 1500 seeds: trains of beats with strays and early
 *              beats, or times and scores wholly by chance; with and without a local cycle.
 *   Tolerance: with the durations rounded to the decoder's table steps the score must
 *              agree to 2e-3 (its sums are in single precision); without rounding to what
 *              one table step is worth, for each step of the path.
 */
#include "dsp/heart/decoder.h"

#include "dsp/heart/systole.h"
#include "dsp/signal/random.h"

#include "tests/dsp/decoder_support.h"
#include "tests/support.h"

#include <stdlib.h>
#include <string.h>

#define N_ELEMENTS(a) (sizeof(a) / sizeof((a)[0]))

enum {
    SET_MAX = 9,
    LABELLINGS = 19683, /* 3 to the power of SET_MAX */
    NEITHER = 0,
    S1 = 1,
    S2 = 2,
    EARLY_S1 = 3,
    EARLY_S2 = 4,
    LABELS = 5,
    SEEDS = 1500
};

static const double PI = 3.14159265358979323846;
static const double NEVER = -1e8;
/* The decoder's tables: systole in steps of 5 ms, ratios in 250 steps a factor e, as far
 * as 2.4 either way. */
static const double RATIO_STEPS = 250.0;
static const double RATIO_MAX = 2.4;

/* One small problem and its pairwise scores by the model. */
typedef struct problem {
    size_t n;
    fm_candidate c[SET_MAX];
    float local_cycle_s[SET_MAX];
    double segment_s;
    double noise_per_s;
    fm_hypothesis a;
    double step[SET_MAX][LABELS][SET_MAX][LABELS]; /* from i as p to j as q */
} problem;

/* Best score of every labelling as neither, S1 or S2, early or not; and the best. */
typedef struct answer {
    double score_of[LABELLINGS];
    size_t best;
} answer;

/* Laplace in ln(actual / expected); now and then a wider one: an early beat, a pause. */
static double log_ratio_density(const fm_hypothesis *a,
                                double gap_s,
                                double usual_s,
                                bool rounded)
{
    double at = log(gap_s) - log(usual_s);
    if (rounded) {
        const double step = 600.0 + RATIO_STEPS * at;
        at = (floor(fmax(0.0, fmin(1199.0, step))) - 600.0) / RATIO_STEPS;
    }
    const double r = fmin(fabs(at), RATIO_MAX);
    const double usual = exp(-r / a->looseness) / (2.0 * a->looseness);
    const double out_of_step = exp(-r / 0.45) / (2.0 * 0.45);
    /* a density over the logarithm, brought to one over seconds */
    return log((1.0 - a->surprise) * usual + a->surprise * out_of_step) - log(gap_s);
}

/* Gaussian to three deviations, beyond them a straight line. */
static double log_systole_density(const fm_hypothesis *a, double gap_s, bool rounded)
{
    const double at_s = rounded ? floor(gap_s / 0.005 + 0.5) * 0.005 : gap_s;
    const double z = fabs((at_s - a->systole_s) / a->systole_sd_s);
    const double core = z < 3.0 ? -0.5 * z * z : -4.5 - 3.0 * (z - 3.0);
    return core - log(a->systole_sd_s * sqrt(2.0 * PI));
}

/* The S1 of an early beat: after any shorter diastole alike, or a shorter interval where
 * the S2 between was not detected; seldom after another early beat. */
static double early_score(const fm_hypothesis *a, int p, double log_shorter)
{
    if (log_shorter < 0.15 || log_shorter > 1.9) {
        return NEVER;
    }
    const double share = p == EARLY_S2 ? 0.1 : a->early;
    return log(share / (1.9 - 0.15)) + (p == S1 ? log(1.0 - a->s2_detected) : 0.0);
}

/* The S1 after an early beat: at its place or later, up to a factor e, all alike. */
static double after_early_score(int p, double log_longer)
{
    if (log_longer < -0.1 || log_longer > 1.0) {
        return NEVER;
    }
    return -log(1.1) + (p == EARLY_S1 ? log(1.0 - 0.8) : 0.0);
}

/* An S1 at the end of a gap, by what came before the gap, whose usual length is known. */
static double to_s1_score(
    const fm_hypothesis *a, int p, int q, double gap_s, double usual_s, bool rounded)
{
    const double log_ratio = log(gap_s) - log(usual_s);
    const bool p_early = p == EARLY_S1 || p == EARLY_S2;
    if (q == EARLY_S1) {
        return p == EARLY_S1 ? NEVER : early_score(a, p, -log_ratio) - log(gap_s);
    }
    if (p_early) {
        return after_early_score(p, log_ratio) - log(gap_s);
    }
    return log_ratio_density(a, gap_s, usual_s, rounded) +
           (p == S1 ? log(1.0 - a->s2_detected) : 0.0);
}

/* What it is worth that label q at j follows label p at i, nothing labelled between. */
static double step_score(
    const problem *t, size_t i, int p, size_t j, int q, bool rounded)
{
    const fm_hypothesis *a = &t->a;
    const double gap_s = t->c[j].time_s - t->c[i].time_s;
    const double cycle_s = a->local_cycle_s ? (double)a->local_cycle_s[j] : a->cycle_s;
    const double noise = log(t->noise_per_s);
    if (gap_s > 3.2 * a->cycle_s) {
        return q == S1 || q == S2 ? -9.0
                                  : NEVER; /* a restart after a gap in the path */
    }
    if (gap_s < 0.05) {
        return NEVER;
    }
    if (q == S2 || q == EARLY_S2) {
        const bool of_this_beat = p == (q == S2 ? S1 : EARLY_S1);
        return of_this_beat && gap_s < 3.0 * a->systole_s && gap_s < 5.9975
                   ? log(q == S2 ? a->s2_detected : 0.8) +
                         log_systole_density(a, gap_s, rounded) - noise
                   : NEVER;
    }
    if (p == S2 || p == EARLY_S2) {
        const double diastole_s = fmax(cycle_s - a->systole_s, 0.08);
        return to_s1_score(a, p, q, gap_s, diastole_s, rounded) - noise;
    }
    return gap_s >= 0.24 ? to_s1_score(a, p, q, gap_s, cycle_s, rounded) - noise
                         : NEVER;
}

static double end_score(const problem *t, double unexplained_s)
{
    return -1.5 * fmax(0.0, unexplained_s / t->a.cycle_s - 1.0);
}

static void fill_steps(problem *t, bool rounded)
{
    for (size_t i = 0; i < t->n; i++) {
        for (size_t j = i + 1; j < t->n; j++) {
            for (int p = S1; p < LABELS; p++) {
                for (int q = S1; q < LABELS; q++) {
                    t->step[i][p][j][q] = step_score(t, i, p, j, q, rounded);
                }
            }
        }
    }
}

/* A labelling on the way: what is labelled so far, and its number in base 3. */
typedef struct partial {
    size_t next;
    size_t last;
    int last_label;
    double score;
    size_t number;
    size_t place;
} partial;

/* Every way to go on from here. */
static void go_on(const problem *t, partial p, answer *out)
{
    if (p.next == t->n) {
        const double score =
            p.last == SET_MAX
                ? 0.0
                : p.score + end_score(t, t->segment_s - t->c[p.last].time_s);
        out->score_of[p.number] = fmax(out->score_of[p.number], score);
        return;
    }
    const size_t j = p.next;
    partial with = {j + 1, p.last, p.last_label, p.score, p.number, p.place * 3};
    go_on(t, with, out);
    for (int label = S1; label < LABELS; label++) {
        const bool second = label == S2 || label == EARLY_S2;
        const double own = (double)(second ? t->c[j].score_s2 : t->c[j].score_s1);
        const bool is_first = p.last == SET_MAX;
        const double step = is_first ? end_score(t, t->c[j].time_s)
                                     : t->step[p.last][p.last_label][j][label];
        if (step > 0.5 * NEVER && !(is_first && label >= EARLY_S1)) {
            with = (partial){j + 1,
                             j,
                             label,
                             p.score + own + step,
                             p.number + p.place * (second ? S2 : S1),
                             p.place * 3};
            go_on(t, with, out);
        }
    }
}

/* Every labelling there is. */
static void enumerate(const problem *t, answer *out)
{
    for (size_t k = 0; k < LABELLINGS; k++) {
        out->score_of[k] = (double)-INFINITY;
    }
    go_on(t, (partial){.last = SET_MAX, .place = 1}, out);
    out->best = 0;
    for (size_t k = 0; k < LABELLINGS; k++) {
        out->best = out->score_of[k] > out->score_of[out->best] ? k : out->best;
    }
}

static double second_best(const answer *a)
{
    double second = (double)-INFINITY;
    for (size_t k = 0; k < LABELLINGS; k++) {
        second = k != a->best ? fmax(second, a->score_of[k]) : second;
    }
    return second;
}

static size_t number_of(const uint8_t *label, size_t n)
{
    size_t number = 0;
    for (size_t j = n; j-- > 0;) {
        number = 3 * number + label[j];
    }
    return number;
}

/* A path as labels; checks on the way that it is a path at all. */
static void labels_of(const fm_path *path, size_t n, uint8_t *label)
{
    size_t n_s1 = 0;
    memset(label, NEITHER, n);
    for (size_t i = 0; i < path->n; i++) {
        assert_true(path->index[i] < n);
        assert_true(i == 0 || path->index[i] > path->index[i - 1]);
        label[path->index[i]] = path->is_s2[i] ? S2 : S1;
        n_s1 += !path->is_s2[i];
    }
    assert_int_equal(path->n_s1, n_s1);
    assert_int_equal(path->n_s1 + path->n_s2, path->n);
}

/* Times by chance on a grid of 5 ms, or a train of beats with strays. */
static void draw_times(problem *t, fm_random *r, bool train)
{
    const bool early = fm_random_uniform(r) < 0.5;
    double at_s = fm_random_between(r, 0.0, 1.2);
    for (size_t j = 0; j < t->n; j++) {
        t->c[j] = (fm_candidate){.time_s = floor(at_s / 0.005 + 0.5) * 0.005};
        if (train && fm_random_uniform(r) < 0.8) {
            const double diastole_s = t->a.cycle_s - t->a.systole_s;
            at_s += j % 2 == 0 ? t->a.systole_s
                               : diastole_s * (j % 4 == 1 && early ? 0.4 : 1.0);
            at_s += j % 4 == 3 && early ? 0.6 * diastole_s : 0.0;
            at_s += 0.015 * fm_random_normal(r);
        } else {
            at_s += fm_random_uniform(r) < 0.3 ? fm_random_between(r, 2.0, 5.0)
                                               : fm_random_between(r, 0.03, 0.8);
        }
        if (at_s < t->c[j].time_s + 0.02) {
            at_s = t->c[j].time_s + 0.02;
        }
    }
    t->segment_s = at_s + fm_random_between(r, 0.0, 2.0);
}

static problem draw(uint64_t seed)
{
    fm_random r = fm_random_init(seed, 1);
    problem t;
    memset(&t, 0, sizeof(t));
    t.n = seed % 4 == 0 ? seed / 4 % (SET_MAX + 1) : SET_MAX - seed % 2;
    t.noise_per_s = fm_random_between(&r, 2.0, 12.0);
    t.a = (fm_hypothesis){
        .cycle_s = fm_random_between(&r, 0.35, 1.3),
        .systole_sd_s = fm_random_between(&r, 0.012, 0.05),
        .looseness = fm_random_between(&r, 0.05, 0.5),
        .surprise = fm_random_between(&r, 0.02, 0.2),
        .s2_detected = fm_random_between(&r, 0.3, 0.97),
        .early = fm_random_between(&r, 0.005, 0.2),
    };
    t.a.systole_s = t.a.cycle_s * fm_random_between(&r, 0.3, 0.5);
    draw_times(&t, &r, seed % 3 != 0);
    for (size_t j = 0; j < t.n; j++) {
        t.c[j].score_s1 = (float)fm_random_between(&r, -4.0, 6.0);
        t.c[j].score_s2 = (float)fm_random_between(&r, -4.0, 6.0);
        t.local_cycle_s[j] = (float)(t.a.cycle_s * fm_random_between(&r, 0.7, 1.4));
    }
    return t;
}

static void the_best_labelling_of_all_is_found(void **state)
{
    (void)state;
    static fm_decoder_memory memory;
    static answer exact;
    size_t n_empty = 0;
    size_t n_restarts = 0;
    size_t n_skipped_s2 = 0;
    size_t n_early = 0;
    size_t n_sounds = 0;
    for (uint64_t seed = 0; seed < SEEDS; seed++) {
        problem t = draw(seed);
        t.a.local_cycle_s = seed % 2 == 0 ? t.local_cycle_s : NULL;
        fill_steps(&t, true);
        enumerate(&t, &exact);
        const double best = exact.score_of[exact.best];
        fm_path path;
        memset(&path, 0x55, sizeof(path));
        decode_alone(t.c, t.n, t.segment_s, t.noise_per_s, &t.a, &memory, &path);
        assert_within(path.score, best, 2e-3);
        uint8_t label[SET_MAX];
        labels_of(&path, t.n, label);
        /* the labels are worth what the decoder says, and the same unless two tie */
        assert_within(exact.score_of[number_of(label, t.n)], best, 2e-3);
        if (best - second_best(&exact) > 4e-3) {
            assert_int_equal(number_of(label, t.n), exact.best);
        }
        n_empty += path.n == 0;
        n_sounds += path.n;
        for (size_t i = 1; i < path.n; i++) {
            const double gap_s =
                t.c[path.index[i]].time_s - t.c[path.index[i - 1]].time_s;
            n_restarts += gap_s > 3.2 * t.a.cycle_s;
            n_skipped_s2 += !path.is_s2[i] && !path.is_s2[i - 1];
        }
        /* without early beats the best would be worth less */
        problem plain = t;
        plain.a.early = 1e-30;
        fill_steps(&plain, true);
        enumerate(&plain, &exact);
        n_early += exact.score_of[exact.best] < best - 0.01;
    }
    /* Every part of the model was put to the test. */
    assert_true(n_empty >= 20 && n_restarts >= 20 && n_skipped_s2 >= 20);
    assert_true(n_early >= 20 && n_sounds >= 2 * SEEDS);
}

/* The tables' steps cost no more than they must. */
static void table_steps_cost_little(void **state)
{
    (void)state;
    static fm_decoder_memory memory;
    static answer exact;
    for (uint64_t seed = 1000; seed < 1200; seed++) {
        problem t = draw(seed);
        fill_steps(&t, false);
        enumerate(&t, &exact);
        const double best = exact.score_of[exact.best];
        fm_path path;
        decode_alone(t.c, t.n, t.segment_s, t.noise_per_s, &t.a, &memory, &path);
        uint8_t label[SET_MAX];
        labels_of(&path, t.n, label);
        const double one_step = 1.0 / RATIO_STEPS / t.a.looseness;
        const double allowed = (double)t.n * one_step + 2e-3;
        assert_within(path.score, best, allowed);
        assert_true(exact.score_of[number_of(label, t.n)] >= best - 2.0 * allowed);
    }
}

/* Which of some cycles explains a train best; the winner's path is left in path. */
static double best_cycle(const fm_candidate *c,
                         size_t n,
                         double segment_s,
                         const double *cycles_s,
                         size_t n_cycles,
                         fm_path *path)
{
    static fm_decoder_memory memory;
    double best_score = (double)-INFINITY;
    double best_s = 0.0;
    for (size_t k = 0; k < n_cycles; k++) {
        const fm_hypothesis a = {
            .cycle_s = cycles_s[k],
            .systole_s = fm_systole_expected_s(cycles_s[k]),
            .systole_sd_s = 0.03,
            .looseness = 0.25,
            .surprise = 0.06,
            .s2_detected = 0.85,
            .early = 0.03,
        };
        fm_path trial;
        decode_alone(c, n, segment_s, (double)n / segment_s, &a, &memory, &trial);
        if (trial.score > best_score) {
            best_score = trial.score;
            best_s = cycles_s[k];
            *path = trial;
        }
    }
    return best_s;
}

/* S1 and S2 alike to the ear, strays between them: durations alone must tell. */
static size_t make_train(fm_candidate *c,
                         const double *intervals_s,
                         size_t n_intervals,
                         size_t beats,
                         double *segment_s)
{
    fm_random r = fm_random_init(5, beats);
    double mean_s = 0.0;
    for (size_t i = 0; i < n_intervals; i++) {
        mean_s += intervals_s[i] / (double)n_intervals;
    }
    const double systole_s = fm_systole_expected_s(mean_s);
    double at_s = 0.2;
    size_t n = 0;
    for (size_t i = 0; i < beats; i++) {
        const double interval_s = intervals_s[i % n_intervals];
        const double shake_s = 0.008 * fm_random_normal(&r);
        c[n++] = (fm_candidate){.time_s = at_s, .score_s1 = 2.0f, .score_s2 = 2.0f};
        c[n++] = (fm_candidate){
            .time_s = at_s + systole_s + shake_s, .score_s1 = 2.0f, .score_s2 = 2.0f};
        if (i % 3 == 1) {
            c[n++] = (fm_candidate){.time_s = at_s + systole_s +
                                              0.6 * (interval_s - systole_s),
                                    .score_s1 = -2.0f,
                                    .score_s2 = -2.0f};
        }
        at_s += interval_s;
    }
    *segment_s = at_s;
    return n;
}

static void half_and_double_rates_lose(void **state)
{
    (void)state;
    const double rates_bpm[] = {40.0,  48.0,  60.0,  72.0, 90.0,
                                104.0, 132.0, 160.0, 190.0};
    for (size_t k = 0; k < N_ELEMENTS(rates_bpm); k++) {
        fm_candidate c[200];
        fm_path path = {0};
        double segment_s;
        const double interval_s = 60.0 / rates_bpm[k];
        const double cycles_s[] = {0.5 * interval_s, interval_s, 2.0 * interval_s,
                                   interval_s / 1.5, interval_s * 1.5};
        const size_t n = make_train(c, &interval_s, 1, 40, &segment_s);
        const double found_s =
            best_cycle(c, n, segment_s, cycles_s, N_ELEMENTS(cycles_s), &path);
        assert_within(found_s, interval_s, 1e-12);
        assert_int_equal(path.n_s1, 40);
        assert_int_equal(path.n_s2, 40);
    }
}

/* Early beats in pairs: each is counted, and two in one cycle is not the better story. */
static void bigeminy_is_counted_beat_by_beat(void **state)
{
    (void)state;
    const double pairs_s[][2] = {{0.52, 1.04}, {0.60, 0.95}, {0.45, 0.85}};
    for (size_t k = 0; k < N_ELEMENTS(pairs_s); k++) {
        fm_candidate c[200];
        fm_path path = {0};
        double segment_s;
        const double mean_s = 0.5 * (pairs_s[k][0] + pairs_s[k][1]);
        const double cycles_s[] = {0.5 * mean_s, mean_s, 2.0 * mean_s};
        const size_t n = make_train(c, pairs_s[k], 2, 40, &segment_s);
        const double found_s =
            best_cycle(c, n, segment_s, cycles_s, N_ELEMENTS(cycles_s), &path);
        assert_within(found_s, mean_s, 1e-12);
        assert_int_equal(path.n_s1, 40);
    }
}

static void nothing_to_label_gives_an_empty_path(void **state)
{
    (void)state;
    static fm_decoder_memory memory;
    const fm_hypothesis a = {.cycle_s = 0.8,
                             .systole_s = 0.3,
                             .systole_sd_s = 0.03,
                             .looseness = 0.1,
                             .surprise = 0.06,
                             .s2_detected = 0.85,
                             .early = 0.03};
    fm_path path;
    memset(&path, 0x55, sizeof(path));
    decode_alone(NULL, 0, 60.0, 1.0, &a, &memory, &path);
    assert_int_equal(path.n, 0);
    assert_int_equal(path.n_s1, 0);
    assert_int_equal(path.n_s2, 0);
    assert_within(path.score, 0.0, 0.0);
    fm_candidate c[30];
    for (size_t i = 0; i < N_ELEMENTS(c); i++) {
        c[i] = (fm_candidate){
            .time_s = 2.0 * (double)i, .score_s1 = -9.0f, .score_s2 = -9.0f};
    }
    decode_alone(c, N_ELEMENTS(c), 60.0, 1.0, &a, &memory, &path);
    assert_int_equal(path.n, 0);
    assert_within(path.score, 0.0, 0.0);
}

/* As many candidates as there can be, each of them liked: no more labels than fit. */
static void a_crowd_of_candidates_fits(void **state)
{
    (void)state;
    static fm_decoder_memory memory;
    static fm_candidate c[FM_CANDIDATES_MAX];
    static uint8_t label[FM_CANDIDATES_MAX];
    const fm_hypothesis a = {.cycle_s = 0.27,
                             .systole_s = 0.12,
                             .systole_sd_s = 0.05,
                             .looseness = 0.5,
                             .surprise = 0.2,
                             .s2_detected = 0.9,
                             .early = 0.03};
    for (size_t i = 0; i < FM_CANDIDATES_MAX; i++) {
        c[i] = (fm_candidate){.time_s = (double)i * 68.0 / FM_CANDIDATES_MAX,
                              .score_s1 = 6.0f,
                              .score_s2 = 6.0f};
    }
    fm_path path;
    decode_alone(c, FM_CANDIDATES_MAX, 68.0, 30.0, &a, &memory, &path);
    assert_in_range(path.n, 300, FM_PATH_MAX);
    labels_of(&path, FM_CANDIDATES_MAX, label);
}

/* What the memory keeps of other candidates and hypotheses changes no bit. */
static void what_was_decoded_before_changes_nothing(void **state)
{
    (void)state;
    static fm_decoder_memory used;
    static fm_decoder_memory fresh;
    static fm_candidate c[FM_CANDIDATES_MAX];
    fm_hypothesis a = {.systole_s = 0.3,
                       .systole_sd_s = 0.03,
                       .looseness = 0.25,
                       .surprise = 0.06,
                       .s2_detected = 0.85,
                       .early = 0.03};
    fm_random r = fm_random_init(5, 77);
    for (int round = 0; round < 12; round++) {
        /* Near and far reach in turn, the farthest beyond what is kept; now and then other
         * candidates, all of them or from some on. */
        const size_t from = round % 3 == 0 ? (size_t)round * 100 : FM_CANDIDATES_MAX;
        for (size_t i = from; i < FM_CANDIDATES_MAX; i++) {
            c[i] = (fm_candidate){
                .time_s = ((double)i + fm_random_between(&r, 0.0, 0.9)) / 30.0,
                .score_s1 = (float)fm_random_between(&r, -4.0, 6.0),
                .score_s2 = (float)fm_random_between(&r, -4.0, 6.0)};
        }
        static const double CYCLES_S[] = {0.7, 2.4, 1.1, 0.4};
        a.cycle_s = CYCLES_S[round % 4];
        fm_path path;
        fm_path again;
        memset(&fresh, 0, sizeof(fresh));
        memset(&path, 0, sizeof(path));
        memset(&again, 0, sizeof(again));
        decode_alone(c, FM_CANDIDATES_MAX, 68.0, 20.0, &a, &used, &path);
        decode_alone(c, FM_CANDIDATES_MAX, 68.0, 20.0, &a, &fresh, &again);
        assert_true(path.n > 50);
        assert_memory_equal(&path, &again, sizeof(path));
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_best_labelling_of_all_is_found),
        cmocka_unit_test(table_steps_cost_little),
        cmocka_unit_test(half_and_double_rates_lose),
        cmocka_unit_test(bigeminy_is_counted_beat_by_beat),
        cmocka_unit_test(nothing_to_label_gives_an_empty_path),
        cmocka_unit_test(a_crowd_of_candidates_fits),
        cmocka_unit_test(what_was_decoded_before_changes_nothing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
