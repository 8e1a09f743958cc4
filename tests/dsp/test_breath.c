/*
 * Respirations through the whole library on closed forms: trains of noise bursts whose
 * breaths are known by construction, and signals that hold none.
 *   Input:     made here, 4 kHz, seeds fixed.
 *   Tolerance: one breath, as one that begins near an end may fall on either side.
 */
#include "breath_support.h"

#include "dsp/minute.h"

#include "compose_support.h"

static void assert_counts(const train *t, const char *what)
{
    size_t n = 0;
    float *x = train_make(t, &n);
    fm_count *c = count_samples(x, n, t->rate_hz);
    const fm_breath *b = &c->breath;
    if (b->count.status == FM_REFUSED || abs((int)b->count.n - train_count(t)) > 1) {
        fail_msg("%s at %.0f: status %d, %zu breaths, expected %d, confidence %.2f",
                 what, t->per_min, (int)b->count.status, b->count.n, train_count(t),
                 b->count.confidence);
    }
    assert_true(fm_is_known(&b->count));
    assert_true(b->count.window.full_minute);
    assert_within(b->count.rate_per_min, (double)b->count.n, 1e-9);
    assert_true(b->count.rate_low_per_min <= b->count.rate_per_min);
    assert_true(b->count.rate_high_per_min >= b->count.rate_per_min);
    for (size_t i = 0; i < b->count.n; i++) {
        assert_true(b->count.onsets_s[i] >= b->count.window.start_s);
        assert_true(b->count.onsets_s[i] < b->count.window.end_s);
        assert_true(i == 0 || b->count.onsets_s[i] > b->count.onsets_s[i - 1]);
    }
    free(c);
    free(x);
}

static void two_lobes_a_breath_count_once(void **state)
{
    (void)state;
    static const double rates[] = {8.0, 11.0, 16.0, 24.0, 33.0, 45.0, 60.0};
    for (size_t i = 0; i < sizeof(rates) / sizeof(*rates); i++) {
        const train t = train_of(rates[i]);
        assert_counts(&t, "two lobes");
    }
}

/* Even lobes, all alike, could be two to a breath at half the rate, and nothing in the sound
 * says which: most must be said, what is counted must be right, and what is said at half the
 * rate must be said with doubt, and of one rate at the most. */
static void one_lobe_a_breath_counts_once(void **state)
{
    (void)state;
    static const double rates[] = {8.0, 12.0, 18.0, 26.0, 40.0, 60.0};
    int said = 0;
    int halved = 0;
    for (size_t i = 0; i < sizeof(rates) / sizeof(*rates); i++) {
        train t = train_of(rates[i]);
        t.loudness = 0.0;
        size_t n = 0;
        float *x = train_make(&t, &n);
        fm_count *c = count_samples(x, n, t.rate_hz);
        const bool half = c->breath.count.status == FM_CAUTION &&
                          c->breath.count.reason == FM_REASON_RATE_AMBIGUOUS &&
                          abs(2 * (int)c->breath.count.n - train_count(&t)) <= 2;
        if (half) {
            halved++;
        } else if (c->breath.count.status != FM_REFUSED) {
            assert_within((double)c->breath.count.n, train_count(&t), 1.0);
            said++;
        }
        free(c);
        free(x);
    }
    assert_true(said >= 4);
    assert_true(halved <= 1);
}

/* Lobes that differ in nothing but the silence behind every second one. */
static void equal_lobes_are_not_vouched_for_doubled(void **state)
{
    (void)state;
    static const double rates[] = {10.0, 16.0, 25.0};
    for (size_t i = 0; i < sizeof(rates) / sizeof(*rates); i++) {
        train t = train_of(rates[i]);
        t.loudness = 1.0;
        t.dullness = 0.0;
        t.inspiration = t.expiration = 0.35;
        size_t n = 0;
        float *x = train_make(&t, &n);
        fm_count *c = count_samples(x, n, t.rate_hz);
        if (c->breath.count.status == FM_COUNTED) {
            assert_true(abs((int)c->breath.count.n - train_count(&t)) <= 1);
        }
        free(c);
        free(x);
    }
}

static void starts_are_those_of_inspiration(void **state)
{
    (void)state;
    const train t = train_of(14.0);
    size_t n = 0;
    float *x = train_make(&t, &n);
    fm_count *c = count_samples(x, n, t.rate_hz);
    const double breath_s = 60.0 / t.per_min;
    assert_true(c->breath.count.n >= 13);
    for (size_t i = 0; i < c->breath.count.n; i++) {
        const double off =
            fmod(c->breath.count.onsets_s[i] - t.first_s + 4.5 * breath_s, breath_s) -
            0.5 * breath_s;
        /* a tenth of a breath: half a sine rises slowly out of the floor */
        assert_within(off, 0.0, 0.12 * breath_s);
    }
    free(c);
    free(x);
}

static void refuses_when_nothing_breathes(void **state)
{
    (void)state;
    train t = train_of(15.0);
    t.loudness = 0.0;
    t.floor = 0.05;
    size_t n = 0;
    float *x = train_make(&t, &n);
    fm_random random = fm_random_init(3, 4);
    for (size_t i = 0; i < n; i++) {
        x[i] = (float)(0.05 * fm_random_normal(&random));
    }
    fm_count *c = count_samples(x, n, t.rate_hz);
    assert_int_equal(c->breath.count.status, FM_REFUSED);
    assert_false(fm_is_known(&c->breath.count));
    assert_true(isnan(c->breath.count.rate_per_min));
    assert_true(c->breath.count.reason != FM_REASON_NONE);
    free(c);
    memset(x, 0, n * sizeof(*x));
    c = count_samples(x, n, t.rate_hz);
    assert_int_equal(c->breath.count.status, FM_REFUSED);
    assert_int_equal(c->breath.count.reason, FM_REASON_TOO_QUIET);
    free(c);
    free(x);
}

/* A heart alone that no breath modulates. */
static void refuses_a_heart_that_does_not_breathe(void **state)
{
    (void)state;
    for (uint64_t seed = 1; seed <= 3; seed++) {
        fm_recipe r = fm_recipe_default();
        r.seed = seed;
        r.seconds = 60.0;
        r.breath_db = -(double)INFINITY;
        r.rsa_ms = 0.0;
        r.loudness_swing_db = 0.0;
        composed made = compose_or_fail(&r);
        fm_count *c = count_samples(made.x, made.n, r.rate_hz);
        assert_int_equal(c->heart.count.status, FM_COUNTED);
        assert_int_equal(c->breath.count.status, FM_REFUSED);
        free(c);
        composed_free(&made);
    }
}

/* DESIGN 6: under two complete breaths refused, two to three at most caution. */
static void few_breaths_are_refused_or_doubted(void **state)
{
    (void)state;
    train t = train_of(12.0);
    t.seconds = 8.0; /* 1.6 breaths */
    size_t n = 0;
    float *x = train_make(&t, &n);
    fm_count *c = count_samples(x, n, t.rate_hz);
    assert_int_equal(c->breath.count.status, FM_REFUSED);
    free(c);
    free(x);
    t.seconds = 16.0; /* starts at 1.75, 6.75, 11.75: two complete breaths */
    x = train_make(&t, &n);
    c = count_samples(x, n, t.rate_hz);
    assert_true(c->breath.count.status != FM_COUNTED);
    assert_false(c->breath.count.window.full_minute);
    free(c);
    free(x);
}

/* Of two and three quarters two are complete, wherever the first begins: from expiration to
 * expiration where only two inspirations begin in the window. */
static void two_complete_breaths_may_begin_anywhere(void **state)
{
    (void)state;
    int said = 0;
    for (int i = 0; i < 8; i++) {
        train t = train_of(11.0);
        t.seconds = 15.0;
        t.first_s = (double)i / 8.0 * 60.0 / t.per_min;
        size_t n = 0;
        float *x = train_make(&t, &n);
        fm_count *c = count_samples(x, n, t.rate_hz);
        const fm_breath *b = &c->breath;
        assert_true(b->count.status != FM_COUNTED);
        if (b->count.status == FM_CAUTION) {
            assert_true(b->count.n >= 2);
            assert_within(b->count.rate_per_min, 11.0, 1.5);
            said++;
        }
        free(c);
        free(x);
    }
    assert_true(said >= 6); /* two are read as one lobe each, and may be one breath */
}

static void a_short_window_gives_the_rate_between_starts(void **state)
{
    (void)state;
    train t = train_of(30.0);
    t.seconds = 25.0;
    size_t n = 0;
    float *x = train_make(&t, &n);
    fm_count *c = count_samples(x, n, t.rate_hz);
    const fm_breath *b = &c->breath;
    assert_true(b->count.status != FM_REFUSED);
    const double span_s = b->count.onsets_s[b->count.n - 1] - b->count.onsets_s[0];
    assert_within(b->count.rate_per_min, 60.0 * (double)(b->count.n - 1) / span_s,
                  1e-9);
    assert_within(b->count.rate_per_min, 30.0, 1.0);
    free(c);
    free(x);
}

static void lost_audio_is_left_out(void **state)
{
    (void)state;
    const train t = train_of(20.0);
    size_t n = 0;
    float *x = train_make(&t, &n);
    for (size_t i = (size_t)(20.0 * t.rate_hz); i < (size_t)(30.0 * t.rate_hz); i++) {
        x[i] = (float)NAN; /* counts as lost */
    }
    fm_count *c = count_samples(x, n, t.rate_hz);
    const fm_breath *b = &c->breath;
    assert_true(b->count.status != FM_REFUSED);
    assert_false(b->count.window.full_minute);
    assert_within(b->count.usable_s, 50.0, 0.1);
    assert_within(b->count.rate_per_min, 20.0, 1.0);
    for (size_t i = 0; i < b->count.n; i++) {
        assert_false(b->count.onsets_s[i] >= 20.0 && b->count.onsets_s[i] < 30.0);
    }
    free(c);
    free(x);
}

/* Six composed minutes, seeds 1 to 6: what is said is right by off_most, most is said. */
static void assert_composed(const fm_recipe *recipe, double per_min_step, int off_most)
{
    int said = 0;
    for (uint64_t seed = 1; seed <= 6; seed++) {
        fm_recipe r = *recipe;
        r.seed = seed;
        r.seconds = 60.0;
        r.breaths_per_min += per_min_step * (double)seed;
        composed made = compose_or_fail(&r);
        fm_count *c = count_samples(made.x, made.n, r.rate_hz);
        if (c->breath.count.status == FM_COUNTED) {
            assert_within((double)c->breath.count.n, (double)made.truth.n_breaths, 2.0);
        }
        if (c->breath.count.status != FM_REFUSED) {
            said++;
            if (abs((int)c->breath.count.n - (int)made.truth.n_breaths) > off_most) {
                fail_msg(
                    "seed %d: %zu breaths, expected %zu, status %d, confidence %.2f",
                    (int)seed, c->breath.count.n, made.truth.n_breaths,
                    (int)c->breath.count.status, c->breath.count.confidence);
            }
        }
        free(c);
        composed_free(&made);
    }
    assert_true(said >= 5);
}

/* A held breath is as quiet as the rest between breaths, not half way up one. */
static void a_held_breath_holds_no_breaths(void **state)
{
    (void)state;
    fm_recipe r = fm_recipe_default();
    r.breaths_per_min = 24.0;
    r.breathing = FM_COMPOSE_PAUSED_BREATHING;
    r.breath_pause_s = 16.0;
    r.breath_snr_db = 16.0;
    assert_composed(&r, 3.0, 1);
}

/* Where no heart is heard, loud breath in a coloured noise is now and then decoded as
 * beats; the breathing must not be laid over those. */
static void breath_taken_for_beats_is_not_heeded(void **state)
{
    (void)state;
    fm_recipe r = fm_recipe_default();
    r.heart = false;
    r.breaths_per_min = 6.0;
    r.breath_jitter = 0.1;
    r.inspiration_share = 0.45;
    r.expiration_db = -6.5;
    r.expiration_pitch = 0.75;
    r.expiration_heard = 0.75;
    r.breath_snr_db = 27.0;
    r.noise[FM_COMPOSE_PINK] = true;
    r.snr_db = 8.0;
    assert_composed(&r, 0.1, 1);
}

/* Where breathing waxes and wanes its faintest breaths, a seventh as deep as the deepest, are
 * no rest. Some of them may be missed, and then nothing is vouched for. */
static void faint_breaths_are_counted(void **state)
{
    (void)state;
    fm_recipe r = fm_recipe_default();
    r.heart = false;
    r.breathing = FM_COMPOSE_WAXING_BREATHING;
    r.breaths_per_min = 12.0;
    r.breath_jitter = 0.1;
    r.inspiration_share = 0.45;
    r.expiration_db = -10.0;
    r.expiration_pitch = 0.6;
    r.expiration_heard = 0.8;
    r.breath_snr_db = 16.0;
    r.noise[FM_COMPOSE_PINK] = true;
    r.snr_db = 15.0;
    assert_composed(&r, 2.0, 3);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(two_lobes_a_breath_count_once),
        cmocka_unit_test(one_lobe_a_breath_counts_once),
        cmocka_unit_test(equal_lobes_are_not_vouched_for_doubled),
        cmocka_unit_test(starts_are_those_of_inspiration),
        cmocka_unit_test(refuses_when_nothing_breathes),
        cmocka_unit_test(refuses_a_heart_that_does_not_breathe),
        cmocka_unit_test(few_breaths_are_refused_or_doubted),
        cmocka_unit_test(two_complete_breaths_may_begin_anywhere),
        cmocka_unit_test(a_short_window_gives_the_rate_between_starts),
        cmocka_unit_test(lost_audio_is_left_out),
        cmocka_unit_test(a_held_breath_holds_no_breaths),
        cmocka_unit_test(breath_taken_for_beats_is_not_heeded),
        cmocka_unit_test(faint_breaths_are_counted),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
