/*
 * The periodogram of the heart's channels.
 *   Oracle:    numpy.linalg.lstsq of NumPy 1.24.2 on the same values (a level, a cosine and a
 *              sine fitted by least squares), and the closed form of chance, (1 - z)^((n-3)/2)
 *              (Scargle, Astrophys. J. 263 (1982) 835).
 *   Input:     made here; closed form, or noise of a fixed seed.
 *   Tolerance: single precision against the oracle; of chance the exact binomial's 99.9 %.
 */
#include "dsp/breath_swing.h"

#include "track_support.h"

enum {
    BEATS = 24,
    TRIALS = 4000
};

static const double TWO_PI = 6.28318530717958647692;
static const double BEAT_S = 0.9;

/* A channel of 24 s that speaks once a beat: value(i, t) at t s, the rest silent. */
static void lay_beats(fm_breath_series *s, int c, double (*value)(int i, double t))
{
    int i = 0;
    for (size_t k = 0; k < s->n; k++) {
        const bool beat = i < BEATS && k == (size_t)(90.0 * i + 7.0 * sin(i)) + 10;
        const double t = (double)k / FM_FRAME_RATE_HZ;
        s->weight[c][k + 1] = s->weight[c][k] + (beat ? 1.0 : 0.0);
        s->sum[c][k + 1] = s->sum[c][k] + (beat ? value(i, t) : 0.0);
        i += beat ? 1 : 0;
    }
}

static double swinging(int i, double t)
{
    return 0.05 * cos(TWO_PI * 0.27 * t) + 0.01 * ((7 * i) % 5 - 2);
}

static double still(int i, double t)
{
    (void)i;
    (void)t;
    return 0.3;
}

static fm_random chance;

static double noisy(int i, double t)
{
    (void)i;
    (void)t;
    return fm_random_normal(&chance);
}

static bench *open_24_s(void)
{
    bench *b = bench_open();
    b->series.n = 2400;
    b->series.length_s = 24.0;
    for (int c = FM_BREATH_SOUND_CHANNELS; c < FM_BREATH_CHANNELS; c++) {
        lay_beats(&b->series, c, still);
    }
    return b;
}

static void surprise_is_that_of_least_squares(void **state)
{
    (void)state;
    static const struct {
        size_t place;
        double expected;
    } rows[] = {{3, 0.0853232},   {10, 0.0346270}, {19, 21.4789187},
                {20, 13.3612537}, {30, 0.0532085}, {40, 0.0690321}};
    bench *b = open_24_s();
    fm_swings w;
    lay_beats(&b->series, FM_BREATH_INTERVAL, swinging);
    fm_swings_make(&b->series, BEAT_S, &w);
    assert_int_equal(w.n, 46);
    for (size_t i = 0; i < sizeof(rows) / sizeof(*rows); i++) {
        const int c = FM_BREATH_INTERVAL - FM_BREATH_SOUND_CHANNELS;
        /* a millionth is added to what is left, so that nothing left has a logarithm */
        assert_within((double)w.surprise[c][rows[i].place], rows[i].expected,
                      1e-4 * rows[i].expected + 1e-4);
    }
    assert_within(fm_swing_near(&w, FM_BREATH_INTERVAL, 0.27), rows[2].expected, 2e-3);
    assert_within(fm_swing_all_near(&w, 0.27), rows[2].expected, 2e-3);
    assert_true(fm_swing_all_elsewhere(&w, 0.27) < 3.0);
    assert_true(fm_swing_all_elsewhere(&w, 0.40) > 21.0);
    free(b);
}

static void what_does_not_swing_surprises_nowhere(void **state)
{
    (void)state;
    bench *b = open_24_s();
    fm_swings w;
    fm_swings_make(&b->series, BEAT_S, &w);
    for (double hz = 0.0; hz < 1.5; hz += 0.01) {
        assert_within(fm_swing_near(&w, FM_BREATH_S1, hz), 0.0, 1e-9);
        assert_within(fm_swing_all_near(&w, hz), 0.0, 1e-9);
    }
    free(b);
}

/* At one rate chance surprises by ln 20 and more once in twenty. */
static void chance_surprises_as_often_as_it_should(void **state)
{
    (void)state;
    bench *b = open_24_s();
    fm_swings w;
    int surprised = 0;
    chance = fm_random_init(11, 12);
    for (int trial = 0; trial < TRIALS; trial++) {
        lay_beats(&b->series, FM_BREATH_S2, noisy);
        fm_swings_make(&b->series, BEAT_S, &w);
        surprised +=
            (double)w.surprise[FM_BREATH_S2 - FM_BREATH_SOUND_CHANNELS][18] >= log(20.0)
                ? 1
                : 0;
    }
    /* 200 of 4000, 99.9 % of such counts within 3.3 times their SD of 13.8 */
    assert_within(surprised, 200.0, 46.0);
    free(b);
}

/* Beats a second apart cannot tell 0.7 from 0.3 a second. */
static void nothing_is_looked_at_above_half_the_beats(void **state)
{
    (void)state;
    bench *b = open_24_s();
    fm_swings w;
    lay_beats(&b->series, FM_BREATH_INTERVAL, swinging);
    fm_swings_make(&b->series, BEAT_S, &w);
    const double last_hz = w.first_hz + w.step_hz * (double)w.n;
    assert_true(last_hz <= 0.5 / BEAT_S + w.step_hz);
    assert_within(fm_swing_near(&w, FM_BREATH_INTERVAL, 1.0 / BEAT_S - 0.27), 0.0, 0.0);
    fm_swings_make(&b->series, 0.0, &w); /* no heart */
    assert_int_equal(w.n, 0);
    assert_within(fm_swing_all_near(&w, 0.27), 0.0, 0.0);
    assert_within(fm_swing_all_elsewhere(&w, 0.27), 0.0, 0.0);
    free(b);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(surprise_is_that_of_least_squares),
        cmocka_unit_test(what_does_not_swing_surprises_nowhere),
        cmocka_unit_test(chance_surprises_as_often_as_it_should),
        cmocka_unit_test(nothing_is_looked_at_above_half_the_beats),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
