/*
 * The whole analysis of one gathered window, against the truth of composed recordings
 * (dsp/compose shares no code with it) and against the contract's own arithmetic.
 *   Input:     clean recordings composed here, 4 kHz, fixed seeds, some with a stretch
 *              lost, drowned or too short.
 *   Tolerance: a clean count is exact, its onsets within 30 ms (the bar). A rate
 *              beside a gap: 60 (n - 1) / (t_n - t_1) over each stretch without a gap,
 *              summed again here: 1e-9; and within 1 of the truth.
 */
#include "dsp/minute.h"

#include "dsp/analyser.h"
#include "dsp/signal/random.h"

#include "compose_support.h"

#define N_ELEMENTS(a) (sizeof(a) / sizeof((a)[0]))

enum {
    RATE = 4000
};

static composed compose_clean(double seconds, double bpm, uint64_t seed)
{
    fm_recipe recipe = fm_recipe_default();
    recipe.seconds = seconds;
    recipe.bpm = bpm;
    recipe.seed = seed;
    return compose_or_fail(&recipe);
}

/* Gather x (NULL-free) as one window of [0, window_s) and analyse it. */
static void analyse(
    fm_minute *m, const float *x, size_t n, double window_s, fm_count *out)
{
    fm_collector *c = fm_collector_create(RATE);
    assert_non_null(c);
    fm_segment segment;
    const int64_t end = (int64_t)(window_s * RATE);
    const int64_t context_end =
        end + 4 * RATE < (int64_t)n ? end + 4 * RATE : (int64_t)n;
    fm_collector_begin(c, 0, 0, end);
    fm_collector_push(c, x, (size_t)context_end);
    fm_collector_finish(c, context_end, &segment);
    memset(out, 0x55, sizeof(*out));
    fm_minute_analyse(m, &segment, out);
    fm_collector_destroy(c);
}

static fm_minute *new_minute(void)
{
    fm_minute *m = fm_minute_create();
    assert_non_null(m);
    return m;
}

static fm_count *new_count(void)
{
    fm_count *c = calloc(1, sizeof(*c));
    assert_non_null(c);
    return c;
}

static size_t truths_inside(const fm_truth *t, double start_s, double end_s)
{
    size_t n = 0;
    for (size_t i = 0; i < t->n_s1; i++) {
        n += t->s1_s[i] >= start_s && t->s1_s[i] < end_s;
    }
    return n;
}

/* No onset so near the window's edges that the tolerance of one decides. */
static void assert_clear_of_edges(const fm_truth *t, double start_s, double end_s)
{
    assert_int_equal(truths_inside(t, start_s - 0.03, start_s + 0.03), 0);
    assert_int_equal(truths_inside(t, end_s - 0.03, end_s + 0.03), 0);
}

static bool in_a_gap(const fm_count *c, double time_s)
{
    for (size_t i = 0;
         i < c->heart.count.quality.n_gaps + c->heart.count.quality.n_unusable; i++) {
        const fm_span *s =
            i < c->heart.count.quality.n_gaps
                ? &c->heart.count.quality.gaps[i]
                : &c->heart.count.quality.unusable[i - c->heart.count.quality.n_gaps];
        if (time_s >= s->start_s && time_s < s->start_s + s->length_s) {
            return true;
        }
    }
    return false;
}

/* Is there a gap that begins between two beats? */
static bool parted(const fm_count *c, double from_s, double to_s)
{
    for (size_t i = 0;
         i < c->heart.count.quality.n_gaps + c->heart.count.quality.n_unusable; i++) {
        const fm_span *s =
            i < c->heart.count.quality.n_gaps
                ? &c->heart.count.quality.gaps[i]
                : &c->heart.count.quality.unusable[i - c->heart.count.quality.n_gaps];
        if (s->start_s < to_s && s->start_s + s->length_s > from_s) {
            return true;
        }
    }
    return false;
}

/* What holds of every result, whatever was heard. */
static void assert_contract(const fm_count *c)
{
    const fm_heart *h = &c->heart;
    for (size_t i = 0; i < h->count.n; i++) {
        assert_true(h->count.onsets_s[i] >= c->heart.count.window.start_s &&
                    h->count.onsets_s[i] < c->heart.count.window.end_s);
        assert_true(i == 0 || h->count.onsets_s[i] > h->count.onsets_s[i - 1]);
        assert_true(h->s1_sureness[i] >= 0.0f && h->s1_sureness[i] <= 1.0f);
        assert_false(in_a_gap(c, h->count.onsets_s[i])); /* none made up inside a gap */
    }
    for (size_t i = 0; i < h->n_s2; i++) {
        assert_true(h->s2_s[i] >= c->heart.count.window.start_s &&
                    h->s2_s[i] < c->heart.count.window.end_s);
        assert_true(i == 0 || h->s2_s[i] > h->s2_s[i - 1]);
        assert_false(in_a_gap(c, h->s2_s[i]));
    }
    assert_int_equal(fm_is_known(&h->count), h->count.status != FM_REFUSED);
    assert_int_equal(h->count.reason == FM_REASON_NONE, h->count.status == FM_COUNTED);
    assert_true(h->count.confidence >= 0.0 && h->count.confidence <= 1.0);
    if (fm_is_known(&h->count)) {
        assert_true(h->count.rate_low_per_min <= h->count.rate_per_min &&
                    h->count.rate_per_min <= h->count.rate_high_per_min);
    } else {
        assert_true(isnan(h->count.rate_low_per_min) &&
                    isnan(h->count.rate_high_per_min));
    }
    assert_true(c->heart.count.quality.overall >= 0.0 &&
                c->heart.count.quality.overall <= 1.0);
    if (c->heart.count.window.full_minute && fm_is_known(&h->count)) {
        assert_within(h->count.rate_per_min, (double)h->count.n, 0.0);
    }
}

static void a_clean_minute_is_counted_exactly(void **state)
{
    (void)state;
    fm_minute *m = new_minute();
    fm_count *out = new_count();
    const double rates_bpm[] = {54.0, 78.0, 112.0};
    for (size_t k = 0; k < N_ELEMENTS(rates_bpm); k++) {
        composed c = compose_clean(65.0, rates_bpm[k], 300 + k);
        assert_clear_of_edges(&c.truth, 0.0, 60.0);
        analyse(m, c.x, c.n, 60.0, out);
        assert_contract(out);
        assert_int_equal(out->heart.count.status, FM_COUNTED);
        assert_true(out->heart.count.window.full_minute);
        assert_int_equal(out->heart.count.n, truths_inside(&c.truth, 0.0, 60.0));
        for (size_t i = 0; i < out->heart.count.n; i++) {
            assert_within(out->heart.count.onsets_s[i], c.truth.s1_s[i], 0.030);
        }
        composed_free(&c);
    }
    fm_minute_destroy(m);
    free(out);
}

/* A gap of less than a beat leaves the minute whole: its rate is its beats. */
static void a_short_gap_keeps_the_minute(void **state)
{
    (void)state;
    fm_minute *m = new_minute();
    fm_count *out = new_count();
    composed c = compose_clean(65.0, 66.0, 310);
    assert_clear_of_edges(&c.truth, 0.0, 60.0);
    const size_t from = (size_t)(c.truth.s1_s[20] * RATE) + 2000; /* in diastole */
    for (size_t i = from; i < from + 600; i++) {                  /* 150 ms */
        c.x[i] = NAN;
    }
    analyse(m, c.x, c.n, 60.0, out);
    assert_contract(out);
    assert_int_equal(out->heart.count.quality.n_gaps, 1);
    assert_true(out->heart.count.window.full_minute);
    assert_int_equal(out->heart.count.n, truths_inside(&c.truth, 0.0, 60.0));
    assert_within(out->heart.count.rate_per_min, (double)out->heart.count.n, 0.0);
    composed_free(&c);
    fm_minute_destroy(m);
    free(out);
}

/* The contract's rate: 60 (n - 1) / (t_n - t_1) over the stretches between gaps. */
static double rate_of_stretches(const fm_count *c)
{
    const fm_heart *h = &c->heart;
    double beats = 0.0;
    double seconds = 0.0;
    size_t first = 0;
    for (size_t i = 1; i <= h->count.n; i++) {
        if (i == h->count.n ||
            parted(c, h->count.onsets_s[i - 1], h->count.onsets_s[i])) {
            beats += (double)(i - 1 - first);
            seconds += h->count.onsets_s[i - 1] - h->count.onsets_s[first];
            first = i;
        }
    }
    return 60.0 * beats / seconds;
}

/* A gap longer than a beat: no full minute, no beat inside it, a rate without it. */
static void a_long_gap_is_left_out(void **state)
{
    (void)state;
    fm_minute *m = new_minute();
    fm_count *out = new_count();
    const double rates_bpm[] = {60.0, 75.0, 120.0};
    const double lengths_s[] = {1.5, 4.0, 11.0};
    for (size_t k = 0; k < N_ELEMENTS(lengths_s); k++) {
        composed c = compose_clean(65.0, rates_bpm[k], 320 + k);
        for (size_t i = 25 * RATE; i < (size_t)((25.0 + lengths_s[k]) * RATE); i++) {
            c.x[i] = NAN;
        }
        analyse(m, c.x, c.n, 60.0, out);
        assert_contract(out);
        assert_false(out->heart.count.window.full_minute);
        assert_true(fm_is_known(&out->heart.count));
        assert_within(out->heart.count.rate_per_min, rate_of_stretches(out), 1e-9);
        assert_within(out->heart.count.rate_per_min, rates_bpm[k], 1.0);
        assert_within(out->heart.count.usable_s, 60.0 - lengths_s[k], 1e-6);
        const double most =
            (double)(truths_inside(&c.truth, 0.0, 25.0) +
                     truths_inside(&c.truth, 25.0 + lengths_s[k], 60.0));
        /* a beat cut in two by an edge may go either way: its S1 lost, its S2 left */
        assert_within((double)out->heart.count.n, most, 1.0);
        composed_free(&c);
    }
    fm_minute_destroy(m);
    free(out);
}

/* Rubs of 60 to 250 ms, one after the other, broadband, from 22 to 31 s. */
static void add_rubs(float *x)
{
    fm_random r = fm_random_init(4, 10);
    double at_s = 22.0;
    while (at_s < 31.0) {
        const double length_s = fm_random_between(&r, 0.06, 0.25);
        const float loud = (float)fm_random_between(&r, 0.1, 0.5);
        for (size_t i = 0; i < (size_t)(length_s * RATE); i++) {
            x[(size_t)(at_s * RATE) + i] += loud * (float)fm_random_normal(&r);
        }
        at_s += length_s + fm_random_between(&r, 0.02, 0.15);
    }
}

/* Named, with its times, and no beats made up in it. */
static void friction_is_named_with_its_times(void **state)
{
    (void)state;
    fm_minute *m = new_minute();
    fm_count *out = new_count();
    composed c = compose_clean(65.0, 72.0, 330);
    add_rubs(c.x);
    analyse(m, c.x, c.n, 60.0, out);
    assert_contract(out);
    assert_false(out->heart.count.window.full_minute);
    double covered_s = 0.0;
    for (size_t i = 0; i < out->heart.count.quality.n_unusable; i++) {
        const fm_span *s = &out->heart.count.quality.unusable[i];
        /* from sure beat to sure beat: two beats to spare on either side */
        assert_true(s->start_s > 22.0 - 2.0 && s->start_s + s->length_s < 31.0 + 2.0);
        covered_s += s->reason == FM_REASON_FRICTION ? s->length_s : 0.0;
    }
    assert_true(covered_s > 7.0);
    if (out->heart.count.status != FM_COUNTED) {
        assert_int_equal(out->heart.count.reason, FM_REASON_FRICTION);
        assert_true(out->heart.count.reason_span.start_s > 20.0);
        assert_true(out->heart.count.reason_span.length_s > 2.0);
    }
    if (fm_is_known(&out->heart.count)) {
        assert_within(out->heart.count.rate_per_min, rate_of_stretches(out), 1e-9);
        assert_within(out->heart.count.rate_per_min, 72.0, 1.0);
    }
    composed_free(&c);
    fm_minute_destroy(m);
    free(out);
}

/* Under six seconds or five intervals there is no rate, however clear the beats are. */
static void too_little_has_no_rate(void **state)
{
    (void)state;
    fm_minute *m = new_minute();
    fm_count *out = new_count();
    composed c = compose_clean(65.0, 40.0, 340);
    analyse(m, c.x, c.n, 5.9, out);
    assert_contract(out);
    assert_int_equal(out->heart.count.reason, FM_REASON_TOO_SHORT);
    assert_true(isnan(out->heart.count.rate_per_min));
    const double windows_s[] = {6.0, 6.5, 7.0}; /* 4 or 5 beats: at most 4 intervals */
    for (size_t k = 0; k < N_ELEMENTS(windows_s); k++) {
        analyse(m, c.x, c.n, windows_s[k], out);
        assert_contract(out);
        assert_true(truths_inside(&c.truth, 0.0, windows_s[k]) <= 5);
        assert_int_equal(out->heart.count.status, FM_REFUSED);
        assert_true(isnan(out->heart.count.rate_per_min));
    }
    composed_free(&c);
    fm_minute_destroy(m);
    free(out);
}

static void a_short_window_is_never_a_full_minute(void **state)
{
    (void)state;
    fm_minute *m = new_minute();
    fm_count *out = new_count();
    composed c = compose_clean(65.0, 84.0, 345);
    const double windows_s[] = {15.0, 30.0, 59.0};
    for (size_t k = 0; k < N_ELEMENTS(windows_s); k++) {
        assert_clear_of_edges(&c.truth, 0.0, windows_s[k]);
        analyse(m, c.x, c.n, windows_s[k], out);
        assert_contract(out);
        assert_false(out->heart.count.window.full_minute);
        assert_int_equal(out->heart.count.n,
                         truths_inside(&c.truth, 0.0, windows_s[k]));
        assert_within(out->heart.count.rate_per_min, rate_of_stretches(out), 1e-9);
    }
    composed_free(&c);
    fm_minute_destroy(m);
    free(out);
}

/* Silence, white noise and a constant hold no heart, each with a reason. */
static void what_holds_no_heart_is_refused(void **state)
{
    (void)state;
    fm_minute *m = new_minute();
    fm_count *out = new_count();
    const size_t n = 62 * RATE;
    float *x = calloc(n, sizeof(*x));
    assert_non_null(x);
    analyse(m, x, n, 60.0, out);
    assert_contract(out);
    assert_int_equal(out->heart.count.reason, FM_REASON_TOO_QUIET);
    assert_true(isinf(out->heart.count.quality.level_dbfs) &&
                out->heart.count.quality.level_dbfs < 0.0);
    fm_random r = fm_random_init(11, 10);
    for (size_t i = 0; i < n; i++) {
        x[i] = 0.1f * (float)fm_random_normal(&r);
    }
    analyse(m, x, n, 60.0, out);
    assert_contract(out);
    assert_int_equal(out->heart.count.status, FM_REFUSED);
    assert_within(out->heart.count.quality.level_dbfs, -20.0, 0.1);
    for (size_t i = 0; i < n; i++) {
        x[i] = 0.5f * (float)sin(0.4 * (double)i); /* 255 Hz */
    }
    analyse(m, x, n, 60.0, out);
    assert_contract(out);
    assert_int_equal(out->heart.count.status, FM_REFUSED);
    assert_int_equal(out->heart.count.reason, FM_REASON_TONE);
    free(x);
    fm_minute_destroy(m);
    free(out);
}

/* The same bytes, whatever minutes were analysed before, in this object or another. */
static void earlier_minutes_leave_no_trace(void **state)
{
    (void)state;
    fm_minute *m = new_minute();
    fm_minute *other = new_minute();
    fm_count *first = new_count();
    fm_count *again = new_count();
    fm_recipe recipe = fm_recipe_default();
    recipe.rhythm = FM_COMPOSE_PREMATURE;
    recipe.noise[FM_COMPOSE_ROOM] = true;
    recipe.snr_db = 6.0;
    recipe.seed = 350;
    composed c = compose_or_fail(&recipe);
    composed loud = compose_clean(65.0, 150.0, 351);
    analyse(m, c.x, c.n, 60.0, first);
    assert_contract(first);
    const fm_evidence evidence = *fm_minute_evidence(m);
    analyse(m, loud.x, loud.n, 60.0, again);
    analyse(m, loud.x, 100, 60.0, again);
    analyse(m, loud.x, loud.n, 20.0, again);
    analyse(m, c.x, c.n, 60.0, again);
    assert_memory_equal(first, again, sizeof(*first));
    assert_memory_equal(fm_minute_evidence(m), &evidence, sizeof(evidence));
    analyse(other, c.x, c.n, 60.0, again);
    assert_memory_equal(first, again, sizeof(*first));
    composed_free(&c);
    composed_free(&loud);
    fm_minute_destroy(m);
    fm_minute_destroy(other);
    fm_minute_destroy(NULL);
    free(first);
    free(again);
}

/* Half as loud, twice as loud: the same beats (steps of two lose nothing). */
static void loudness_does_not_move_the_beats(void **state)
{
    (void)state;
    fm_minute *m = new_minute();
    fm_count *first = new_count();
    fm_count *again = new_count();
    composed c = compose_clean(65.0, 90.0, 360);
    analyse(m, c.x, c.n, 60.0, first);
    const float gains[] = {0.0625f, 0.5f, 1.5f};
    for (size_t k = 0; k < N_ELEMENTS(gains); k++) {
        float *x = malloc(c.n * sizeof(*x));
        assert_non_null(x);
        for (size_t i = 0; i < c.n; i++) {
            x[i] = gains[k] * c.x[i];
        }
        analyse(m, x, c.n, 60.0, again);
        assert_int_equal(again->heart.count.status, first->heart.count.status);
        assert_int_equal(again->heart.count.n, first->heart.count.n);
        for (size_t i = 0; i < first->heart.count.n; i++) {
            assert_within(again->heart.count.onsets_s[i],
                          first->heart.count.onsets_s[i], 0.002);
        }
        assert_within(again->heart.count.quality.level_dbfs -
                          first->heart.count.quality.level_dbfs,
                      20.0 * log10((double)gains[k]), 1e-3);
        free(x);
    }
    composed_free(&c);
    fm_minute_destroy(m);
    free(first);
    free(again);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_clean_minute_is_counted_exactly),
        cmocka_unit_test(a_short_gap_keeps_the_minute),
        cmocka_unit_test(a_long_gap_is_left_out),
        cmocka_unit_test(friction_is_named_with_its_times),
        cmocka_unit_test(too_little_has_no_rate),
        cmocka_unit_test(a_short_window_is_never_a_full_minute),
        cmocka_unit_test(what_holds_no_heart_is_refused),
        cmocka_unit_test(earlier_minutes_leave_no_trace),
        cmocka_unit_test(loudness_does_not_move_the_beats),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
