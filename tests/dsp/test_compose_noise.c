/*
 * What is added, and the ways it comes: spectra and rhythm of each kind.
 *   Sources:   closed forms; a 4th order Butterworth high-pass at 250 Hz computed with
 *              SciPy 1.10.1 (-55.9 dB at 50 Hz, -31.8 at 100, -17.8 at 150, -8.4 at 200);
 *              lung sound over the chest 100-1000 Hz, falling from about 200 Hz
 *              (PMC10521503, table 1).
 *   Input:     rendered here, 4 kHz, seed in each test.
 *   Tolerance: in each test.
 */
#include "dsp/compose/compose_private.h"

#include "compose_support.h"

enum {
    RATE = 4000,
    N = 60 * RATE
};

static float *render(fm_compose_noise kind, uint64_t seed)
{
    fm_recipe r = fm_recipe_default();
    r.seed = seed;
    float *const x = calloc(N, sizeof *x);
    assert_non_null(x);
    fm_noise_render(&r, kind, x, N);
    return x;
}

static double power(const float *x, double low_hz, double high_hz)
{
    fm_band_meter *const m = fm_band_meter_create((double)RATE);
    assert_non_null(m);
    const double p = fm_band_meter_power(m, x, N, low_hz, high_hz);
    fm_band_meter_destroy(m);
    return p;
}

static double db(double ratio)
{
    return 10.0 * log10(ratio);
}

/* The meter itself: a sine of amplitude a has power a^2 / 2, all of it in its own band. */
static void the_meter_reads_a_sine(void **state)
{
    (void)state;
    float *const x = calloc(N, sizeof *x);
    assert_non_null(x);
    for (int i = 0; i < N; i++) {
        x[i] = (float)(0.3 * sin(2.0 * 3.14159265358979323846 * 0.05 * i)); /* 200 Hz */
    }
    assert_within(power(x, 190.0, 210.0), 0.045, 0.045 * 0.01);
    assert_true(power(x, 25.0, 150.0) < 1e-3 * 0.045);
    assert_true(power(x, 300.0, 2000.0) < 1e-3 * 0.045);
    free(x);
}

/* Closed form: the same power in every band of one width. 0.2 dB: 12000 lines each. */
static void white_is_flat(void **state)
{
    (void)state;
    float *const x = render(FM_COMPOSE_WHITE, 1);
    const double whole = power(x, 0.2, 2000.0);
    assert_within(whole, 1.0, 0.02);
    for (double f = 100.0; f < 2000.0; f += 200.0) {
        assert_within(db(power(x, f - 100.0, f + 100.0) / (whole / 10.0)), 0.0, 0.2);
    }
    free(x);
}

/* Closed form: the same power in every octave, to a fifth of the rate. 1 dB: ripple. */
static void pink_has_equal_octaves(void **state)
{
    (void)state;
    float *const x = render(FM_COMPOSE_PINK, 2);
    const double first = power(x, 12.5, 25.0);
    for (double f = 25.0; f < 800.0; f *= 2.0) {
        assert_within(db(power(x, f, 2.0 * f) / first), 0.0, 1.0);
    }
    free(x);
}

/* Mains: nearly everything within 0.5 Hz of 50, 100, 150, ... Hz, most of it at 50. */
static void hum_lies_at_multiples_of_mains(void **state)
{
    (void)state;
    float *const x = render(FM_COMPOSE_HUM, 3);
    double lines = 0.0;
    for (double f = 50.0; f <= 400.0; f += 50.0) {
        lines += power(x, f - 0.75, f + 0.75);
    }
    assert_true(lines > 0.97 * power(x, 1.0, 2000.0));
    assert_true(power(x, 45.0, 55.0) > 0.4 * lines);
    free(x);
}

static void tone_is_one_line(void **state)
{
    (void)state;
    float *const x = render(FM_COMPOSE_TONE, 4);
    assert_true(power(x, 219.0, 221.0) > 0.99 * power(x, 1.0, 2000.0));
    free(x);
}

/* Loudness in frames of 50 ms, as a share of the mean. */
static double *frames(const float *x, size_t *n)
{
    const size_t w = RATE / 20;
    *n = N / w;
    double *const e = calloc(*n, sizeof *e);
    assert_non_null(e);
    double sum = 0.0;
    for (size_t k = 0; k < *n; k++) {
        for (size_t i = 0; i < w; i++) {
            const double v = (double)x[k * w + i];
            e[k] += v * v;
        }
        sum += e[k];
    }
    for (size_t k = 0; k < *n; k++) {
        e[k] *= (double)*n / sum;
    }
    return e;
}

static double quiet_share(const float *x, double limit)
{
    size_t n = 0;
    double *const e = frames(x, &n);
    size_t quiet = 0;
    for (size_t k = 0; k < n; k++) {
        quiet += e[k] < limit ? 1 : 0;
    }
    free(e);
    return (double)quiet / (double)n;
}

/* Three to six syllables a second: loudness has more of its modulation there than above. The
 * voice has its pitch over 80 Hz, formants to 3 kHz, and pauses. */
static void speech_is_modulated_at_syllable_rate(void **state)
{
    (void)state;
    float *const x = render(FM_COMPOSE_SPEECH, 5);
    assert_true(power(x, 1.0, 60.0) < 0.01 * power(x, 80.0, 400.0));
    assert_true(power(x, 400.0, 2000.0) > 0.2 * power(x, 80.0, 400.0));
    const double quiet = quiet_share(x, 0.05);
    assert_true(quiet > 0.1 && quiet < 0.6);
    size_t n = 0;
    double *const e = frames(x, &n);
    double slow = 0.0;
    double fast = 0.0;
    for (double f = 2.0; f < 10.0; f += 0.05) {
        double re = 0.0;
        double im = 0.0;
        for (size_t k = 0; k < n; k++) {
            const double a = 2.0 * 3.14159265358979323846 * f * (double)k / 20.0;
            re += (sqrt(e[k]) - 0.8) * cos(a);
            im += (sqrt(e[k]) - 0.8) * sin(a);
        }
        *(f < 6.0 ? &slow : &fast) += re * re + im * im;
    }
    assert_true(slow > 1.5 * fast);
    free(e);
    free(x);
}

/* Bursts with stillness between, most power over 100 Hz yet some thuds under 100. */
/* Notes from the first second to the last: what all begins at once is no music. */
static void music_goes_on_to_its_end(void **state)
{
    (void)state;
    float *const x = render(FM_COMPOSE_MUSIC, 9);
    fm_band_meter *const m = fm_band_meter_create((double)RATE);
    assert_non_null(m);
    const double all = fm_band_meter_power(m, x, N, 300.0, 1500.0);
    for (int at = 0; at < N; at += 10 * RATE) {
        const double part =
            fm_band_meter_power(m, x + at, 10 * (size_t)RATE, 300.0, 1500.0);
        assert_within(db(part / all), 0.0,
                      3.0); /* some fifty notes by chance in each */
    }
    fm_band_meter_destroy(m);
    free(x);
}

static void friction_comes_in_bursts(void **state)
{
    (void)state;
    float *const x = render(FM_COMPOSE_FRICTION, 6);
    const double quiet = quiet_share(x, 0.001);
    assert_true(quiet > 0.3 && quiet < 0.9);
    const double low = power(x, 20.0, 100.0) / power(x, 20.0, 2000.0);
    assert_true(low > 0.02 && low < 0.6);
    free(x);
}

/* No loudness period: the autocorrelation of burst loudness has no peak over 0.5 beyond
 * 1 s. */
static void friction_has_no_period(void **state)
{
    (void)state;
    float *const x = render(FM_COMPOSE_FRICTION, 7);
    size_t n = 0;
    double *const e = frames(x, &n);
    double zero = 0.0;
    for (size_t k = 0; k < n; k++) {
        e[k] = fmin(e[k], 6.0) - 1.0;
        zero += e[k] * e[k];
    }
    for (size_t lag = 30; lag < 200; lag++) {
        double sum = 0.0;
        for (size_t k = lag; k < n; k++) {
            sum += e[k] * e[k - lag];
        }
        assert_true(sum < 0.5 * zero);
    }
    free(e);
    free(x);
}

static void room_never_falls_silent_and_knocks(void **state)
{
    (void)state;
    float *const x = render(FM_COMPOSE_ROOM, 8);
    assert_true(quiet_share(x, 0.02) < 0.01);
    size_t n = 0;
    double *const e = frames(x, &n);
    size_t loud = 0;
    for (size_t k = 0; k < n; k++) {
        loud += e[k] > 5.0 ? 1 : 0;
    }
    assert_true(loud >= 3 && loud < n / 20);
    assert_true(power(x, 600.0, 1200.0) < 0.25 * power(x, 150.0, 300.0));
    free(e);
    free(x);
}

/* |b0 + b1 z^-1 + b2 z^-2| on the unit circle. */
static double magnitude(double c0, double c1, double c2, double w)
{
    const double re = c0 + c1 * cos(w) + c2 * cos(2.0 * w);
    const double im = c1 * sin(w) + c2 * sin(2.0 * w);
    return hypot(re, im);
}

/* |H| at a frequency; closed form from the coefficients. */
static double cascade_gain(const fm_cascade *c, double rate_hz, double frequency_hz)
{
    const double w = 2.0 * 3.14159265358979323846 * frequency_hz / rate_hz;
    double gain = 1.0;
    for (int i = 0; i < c->n; i++) {
        const fm_section *s = &c->section[i];
        gain *= magnitude(s->b0, s->b1, s->b2, w) / magnitude(1.0, s->a1, s->a2, w);
    }
    return gain;
}

static void small_microphone_falls_as_computed(void **state)
{
    (void)state;
    fm_recipe r = fm_recipe_default();
    r.rate_hz = 44100.0;
    r.small_microphone = true;
    const fm_cascade c = fm_compose_microphone(&r);
    const double hz[] = {50.0, 100.0, 150.0, 200.0, 250.0, 1000.0};
    const double expected[] = {-55.9, -31.8, -17.8, -8.4, -3.01, 0.0};
    for (size_t k = 0; k < 6; k++) {
        assert_within(2.0 * db(cascade_gain(&c, 44100.0, hz[k])), expected[k], 0.1);
    }
    r.small_microphone = false;
    assert_int_equal(fm_compose_microphone(&r).n, 0);
}

/* What a filter says of itself it does to a sine. */
static void a_cascade_does_what_its_gain_says(void **state)
{
    (void)state;
    fm_recipe r = fm_recipe_default();
    const fm_cascade c = fm_compose_response(&r);
    assert_true(c.n >= 3);
    for (double f = 20.0; f < 1500.0; f *= 1.7) {
        fm_cascade run = c;
        double power_out = 0.0;
        for (int i = 0; i < 3 * RATE; i++) {
            const double x = sin(2.0 * 3.14159265358979323846 * f * i / RATE);
            const double y = fm_cascade_step(&run, x);
            power_out += i >= RATE ? y * y : 0.0;
        }
        const double gain = sqrt(2.0 * power_out / (2.0 * RATE));
        assert_within(gain, cascade_gain(&c, (double)RATE, f), 0.01);
    }
}

/* Breath sounds: 100-1000 Hz, falling from about 200 Hz; inspiration the louder. */
static void breath_sounds_lie_where_lungs_sound(void **state)
{
    (void)state;
    fm_recipe r = fm_recipe_default();
    r.breath_jitter = 0.0;
    r.chest_piece = false;
    fm_breathing b = {0};
    assert_int_equal(fm_breathing_make(&r, &b), FM_OK);
    float *const x = calloc(N, sizeof *x);
    assert_non_null(x);
    fm_breath_render(&r, &b, x, N);
    const double all = power(x, 1.0, 2000.0);
    assert_true(power(x, 100.0, 1000.0) > 0.85 * all);
    assert_true(power(x, 400.0, 800.0) < 0.25 * power(x, 100.0, 400.0));
    double in = 0.0;
    double out = 0.0;
    for (size_t k = 0; k + 1 < b.n; k++) {
        for (int i = 0; i < 4 * RATE; i++) { /* 4 s a breath: 1.6 in, 2.4 out */
            const double at = b.starts_s[k] * RATE + i;
            if (at >= 0.0 && at < N) {
                const double v = (double)x[(size_t)at];
                *(i < 1.6 * RATE ? &in : &out) += v * v;
            }
        }
    }
    assert_within(db(in / out), 8.0, 4.0);
    free(x);
    fm_breathing_free(&b);
}

/* Lungs: empty at the start of a breath, full at the end of inspiration. */
static void lung_volume_follows_the_cycle(void **state)
{
    (void)state;
    fm_recipe r = fm_recipe_default();
    fm_breathing b = {0};
    assert_int_equal(fm_breathing_make(&r, &b), FM_OK);
    for (size_t k = 1; k + 2 < b.n; k++) {
        const double length = b.starts_s[k + 1] - b.starts_s[k];
        assert_within(fm_breathing_volume(&b, b.starts_s[k]), 0.0, 1e-6);
        assert_within(fm_breathing_volume(&b, b.starts_s[k] + 0.4 * length), 1.0, 1e-6);
        assert_within(fm_breathing_volume(&b, b.starts_s[k] + 0.95 * length), 0.0,
                      1e-6);
    }
    fm_breathing_free(&b);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_meter_reads_a_sine),
        cmocka_unit_test(white_is_flat),
        cmocka_unit_test(pink_has_equal_octaves),
        cmocka_unit_test(hum_lies_at_multiples_of_mains),
        cmocka_unit_test(tone_is_one_line),
        cmocka_unit_test(speech_is_modulated_at_syllable_rate),
        cmocka_unit_test(music_goes_on_to_its_end),
        cmocka_unit_test(friction_comes_in_bursts),
        cmocka_unit_test(friction_has_no_period),
        cmocka_unit_test(room_never_falls_silent_and_knocks),
        cmocka_unit_test(small_microphone_falls_as_computed),
        cmocka_unit_test(a_cascade_does_what_its_gain_says),
        cmocka_unit_test(breath_sounds_lie_where_lungs_sound),
        cmocka_unit_test(lung_volume_follows_the_cycle),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
