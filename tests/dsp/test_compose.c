/*
 * Composed recordings against the definitions: onset, SNR, systole, level, sameness.
 *   Sources:   DEVELOPERS.md, Definitions (onset, SNR); systole: Chest 80:613, 1981,
 *              less 60-90 ms (from memory) up to 110 per minute; 0.45-0.5 of the interval
 *              from 120 (from memory).
 *   Input:     composed here, seeds in each test.
 *   Tolerance: in each test.
 */
#include "compose_support.h"

static const double PI = 3.14159265358979323846;

/* ---- A plain FFT of our own for the tests: powers of two, in place ---- */

static void fft(double *re, double *im, size_t n)
{
    for (size_t i = 1, j = 0; i < n; i++) {
        size_t bit = n >> 1;
        for (; (j & bit) != 0; bit >>= 1) {
            j ^= bit;
        }
        j ^= bit;
        if (i < j) {
            const double tr = re[i];
            const double ti = im[i];
            re[i] = re[j];
            im[i] = im[j];
            re[j] = tr;
            im[j] = ti;
        }
    }
    for (size_t length = 2; length <= n; length <<= 1) {
        for (size_t k = 0; k < length / 2; k++) {
            const double angle = -2.0 * PI * (double)k / (double)length;
            const double c = cos(angle);
            const double s = sin(angle);
            for (size_t i = k; i < n; i += length) {
                const size_t m = i + length / 2;
                const double xr = re[m] * c - im[m] * s;
                const double xi = re[m] * s + im[m] * c;
                re[m] = re[i] - xr;
                im[m] = im[i] - xi;
                re[i] += xr;
                im[i] += xi;
            }
        }
    }
}

/* Power between two frequencies by a brick wall: no filter of dsp/ takes part. */
static double brick_power(
    const double *x, size_t n, double rate_hz, double low_hz, double high_hz)
{
    size_t size = 1;
    while (size < n) {
        size <<= 1;
    }
    double *const re = calloc(size, sizeof *re);
    double *const im = calloc(size, sizeof *im);
    assert_non_null(re);
    assert_non_null(im);
    memcpy(re, x, n * sizeof *x);
    fft(re, im, size);
    double power = 0.0;
    for (size_t k = 1; k < size / 2; k++) {
        const double f = (double)k * rate_hz / (double)size;
        if (f >= low_hz && f <= high_hz) {
            power += 2.0 * (re[k] * re[k] + im[k] * im[k]);
        }
    }
    free(re);
    free(im);
    return power / (double)size / (double)n;
}

static double *as_double(const composed *c)
{
    double *const x = calloc(c->n, sizeof *x);
    assert_non_null(x);
    for (size_t i = 0; i < c->n; i++) {
        x[i] = (double)c->x[i];
    }
    return x;
}

static double dot(const double *a, const double *b, size_t n)
{
    double sum = 0.0;
    for (size_t i = 0; i < n; i++) {
        sum += a[i] * b[i];
    }
    return sum;
}

/* ---- Sameness ---- */

static void the_same_recipe_gives_the_same_samples(void **state)
{
    (void)state;
    fm_recipe r = fm_recipe_default();
    r.noise[FM_COMPOSE_SPEECH] = true;
    r.seconds = 20.0;
    composed a = compose_or_fail(&r);
    composed b = compose_or_fail(&r);
    assert_memory_equal(a.x, b.x, a.n * sizeof *a.x);
    assert_int_equal(a.truth.n_s1, b.truth.n_s1);
    assert_memory_equal(a.truth.s1_s, b.truth.s1_s, a.truth.n_s1 * sizeof(double));
    r.seed = 2;
    composed other = compose_or_fail(&r);
    assert_memory_not_equal(a.x, other.x, a.n * sizeof *a.x);
    composed_free(&a);
    composed_free(&b);
    composed_free(&other);
}

/* Adding noise must not move a beat. */
static void parts_do_not_move_one_another(void **state)
{
    (void)state;
    fm_recipe r = fm_recipe_default();
    composed a = compose_or_fail(&r);
    r.noise[FM_COMPOSE_FRICTION] = true;
    r.murmur = FM_COMPOSE_EJECTION;
    r.s3_db = -10.0;
    composed b = compose_or_fail(&r);
    assert_int_equal(a.truth.n_s1, b.truth.n_s1);
    assert_memory_equal(a.truth.s1_s, b.truth.s1_s, a.truth.n_s1 * sizeof(double));
    assert_memory_equal(a.truth.s2_s, b.truth.s2_s, a.truth.n_s2 * sizeof(double));
    composed_free(&a);
    composed_free(&b);
}

/* ---- Level ---- */

static void samples_lie_on_the_grid_at_the_level_asked(void **state)
{
    (void)state;
    const double levels[] = {0.0, -6.0, -40.0};
    for (size_t k = 0; k < 3; k++) {
        fm_recipe r = fm_recipe_default();
        r.seconds = 10.0;
        r.peak_dbfs = levels[k];
        composed c = compose_or_fail(&r);
        double peak = 0.0;
        for (size_t i = 0; i < c.n; i++) {
            const double step = (double)c.x[i] * 32768.0;
            assert_within(step, nearbyint(step), 0.0);
            assert_true(step >= -32768.0 && step <= 32767.0);
            peak = fmax(peak, fabs((double)c.x[i]));
        }
        assert_within(peak, pow(10.0, levels[k] / 20.0), 1.0 / 32768.0);
        composed_free(&c);
    }
}

static void gain_clips_at_full_scale(void **state)
{
    (void)state;
    fm_recipe r = fm_recipe_default();
    r.seconds = 10.0;
    r.gain_db = 20.0;
    composed c = compose_or_fail(&r);
    size_t top = 0;
    size_t bottom = 0;
    for (size_t i = 0; i < c.n; i++) {
        top += (double)c.x[i] * 32768.0 > 32766.5 ? 1 : 0;
        bottom += (double)c.x[i] * 32768.0 < -32767.5 ? 1 : 0;
    }
    assert_true(top > 50 && bottom > 50);
    composed_free(&c);
}

static void nothing_asked_is_digital_silence(void **state)
{
    (void)state;
    fm_recipe r = fm_recipe_default();
    r.heart = false;
    r.breath_db = -(double)INFINITY;
    composed c = compose_or_fail(&r);
    for (size_t i = 0; i < c.n; i++) {
        assert_true(fabsf(c.x[i]) <= 0.0F);
    }
    assert_int_equal(c.truth.n_s1, 0);
    assert_true(isnan(c.truth.snr_db) && !c.truth.has_radial);
    assert_false(c.truth.pattern_known);
    composed_free(&c);
}

static void lost_audio_is_zero_and_its_beats_are_listed(void **state)
{
    (void)state;
    fm_recipe r = fm_recipe_default();
    r.lost_start_s = 20.0;
    r.lost_length_s = 3.0;
    composed c = compose_or_fail(&r);
    for (size_t i = 80000; i < 92000; i++) {
        assert_true(fabsf(c.x[i]) <= 0.0F);
    }
    size_t in = 0;
    for (size_t i = 0; i < c.truth.n_s1; i++) {
        in += c.truth.s1_s[i] >= 20.0 && c.truth.s1_s[i] < 23.0 ? 1 : 0;
    }
    assert_true(in >= 3);
    assert_int_equal(c.truth.n_inaudible_s1, in);
    for (size_t k = 0; k < in; k++) {
        assert_within(c.truth.s1_s[c.truth.inaudible_s1[k]], 21.5, 1.5);
    }
    composed_free(&c);
}

static double rms_db(const composed *c, double from_s, double to_s)
{
    double sum = 0.0;
    size_t n = 0;
    for (size_t i = (size_t)(from_s * 4000.0); i < (size_t)(to_s * 4000.0); i++, n++) {
        sum += (double)c->x[i] * (double)c->x[i];
    }
    return 10.0 * log10(sum / (double)n);
}

/* All that is heard falls, noise too; what was before and comes after is as it was; the beats
 * that nobody can hear are listed, those of the fade are not. */
static void lost_contact_takes_all_away_and_says_so(void **state)
{
    (void)state;
    fm_recipe r = fm_recipe_default();
    r.noise[FM_COMPOSE_PINK] = true;
    r.snr_db = 12.0;
    composed whole = compose_or_fail(&r);
    r.contact_lost_start_s = 20.0;
    r.contact_lost_length_s = 4.0;
    r.contact_fade_s = 0.5;
    composed c = compose_or_fail(&r);
    assert_within(rms_db(&c, 10.0, 20.0), rms_db(&whole, 10.0, 20.0), 0.3);
    assert_within(rms_db(&c, 24.0, 34.0), rms_db(&whole, 24.0, 34.0), 0.3);
    assert_true(rms_db(&c, 20.6, 23.4) < rms_db(&whole, 20.6, 23.4) - 18.0);
    assert_int_equal(c.truth.n_s1, whole.truth.n_s1);
    assert_true(c.truth.n_inaudible_s1 >= 3);
    for (size_t k = 0; k < c.truth.n_inaudible_s1; k++) {
        const double at_s = c.truth.s1_s[c.truth.inaudible_s1[k]];
        assert_true(at_s > 20.0 + 0.2 && at_s < 24.0 - 0.2);
    }
    assert_within(c.truth.contact_lost.start_s, 20.0, 0.0);
    assert_within(c.truth.contact_lost.length_s, 4.0, 0.0);
    assert_within(whole.truth.contact_lost.length_s, 0.0, 0.0);
    composed_free(&c);
    composed_free(&whole);
}

static void dropouts_are_zeros_one_in_every_part_of_a_minute(void **state)
{
    (void)state;
    fm_recipe r = fm_recipe_default();
    r.dropouts_per_min = 6.0;
    r.dropout_s = 0.5;
    composed c = compose_or_fail(&r);
    for (size_t part = 0; part < 6; part++) {
        size_t longest = 0;
        size_t run = 0;
        for (size_t i = part * 40000; i < (part + 1) * 40000; i++) {
            run = fabsf(c.x[i]) <= 0.0F ? run + 1 : 0;
            longest = run > longest ? run : longest;
        }
        assert_in_range(longest, 1990, 2100);
    }
    composed_free(&c);
}

/* ---- Onset ---- */

/* Onset of the one sound in from..to, by the definition, from the samples themselves. */
static double onset_again(const composed *c, double rate_hz, double from_s, double to_s)
{
    const size_t w = (size_t)lround(0.010 * rate_hz);
    const size_t first = (size_t)(fmax(0.0, from_s) * rate_hz);
    const size_t last = (size_t)(to_s * rate_hz);
    double peak = 0.0;
    for (int pass = 0; pass < 2; pass++) {
        for (size_t i = first; i + w < last && i + w < c->n; i++) {
            double sum = 0.0;
            for (size_t k = 0; k < w; k++) {
                sum += (double)c->x[i + k] * (double)c->x[i + k];
            }
            const double rms = sqrt(sum / (double)w);
            if (pass == 0) {
                peak = fmax(peak, rms);
            } else if (rms >= 0.10 * peak) {
                return ((double)i + 0.5 * (double)w) / rate_hz;
            }
        }
    }
    return -1.0;
}

/* One kind of sound alone (the other set silent), so that the recording is the component:
 * onsets measured again on the finished samples. What stays is the floor 50 dB under the
 * mean power of the heart, and one sample: 1 ms. */
static void onsets_are_where_the_definition_puts_them(void **state)
{
    (void)state;
    for (unsigned k = 0; k < 8; k++) {
        fm_recipe r = fm_recipe_default();
        const bool second = (k & 1) != 0;
        r.small_microphone = (k & 2) != 0;
        r.rate_hz = (k & 4) != 0 ? 8000.0 : 4000.0;
        r.breath_db = -(double)INFINITY;
        r.s1_db = second ? -80.0 : 0.0;
        r.s2_db = second ? 0.0 : -80.0;
        r.peak_dbfs = -1.0;
        r.first_beat_s = 0.4;
        r.seconds = 30.0;
        r.seed = 60U + k;
        composed c = compose_or_fail(&r);
        const double *const at = second ? c.truth.s2_s : c.truth.s1_s;
        const size_t n = second ? c.truth.n_s2 : c.truth.n_s1;
        for (size_t i = 1; i + 1 < n; i++) {
            const double again = onset_again(&c, r.rate_hz, at[i] - 0.25, at[i] + 0.25);
            assert_within(again, at[i], 0.001);
        }
        assert_true(n > 30);
        composed_free(&c);
    }
}

/* ---- Systole ---- */

static double mean_systole_s(const fm_truth *t, double *sd)
{
    double sum = 0.0;
    double square = 0.0;
    size_t n = 0;
    for (size_t i = 0, j = 0; i < t->n_s1 && j < t->n_s2; i++) {
        while (j < t->n_s2 && t->s2_s[j] < t->s1_s[i]) {
            j++;
        }
        if (j < t->n_s2) {
            const double systole = t->s2_s[j] - t->s1_s[i];
            sum += systole;
            square += systole * systole;
            n++;
        }
    }
    *sd = sqrt(fmax(0.0, square / (double)n - sum / (double)n * (sum / (double)n)));
    return sum / (double)n;
}

static void systole_follows_the_regression_at_50_to_110(void **state)
{
    (void)state;
    for (double bpm = 50.0; bpm <= 110.0; bpm += 10.0) {
        fm_recipe r = fm_recipe_default();
        r.bpm = bpm;
        r.seed = (uint64_t)bpm;
        composed c = compose_or_fail(&r);
        double sd = 0.0;
        const double ms = 1000.0 * mean_systole_s(&c.truth, &sd);
        const double men = 541.0 - 2.2 * bpm;
        const double women = 540.0 - 2.0 * bpm;
        assert_true(ms > men - 90.0 && ms < women - 60.0);
        assert_within(ms, 0.5 * (men + women) - 75.0, 3.0);
        assert_true(sd > 0.001 && sd < 0.010);
        composed_free(&c);
    }
}

static void systole_is_near_half_of_a_fast_beat(void **state)
{
    (void)state;
    for (double bpm = 125.0; bpm <= 205.0; bpm += 20.0) {
        fm_recipe r = fm_recipe_default();
        r.bpm = bpm;
        composed c = compose_or_fail(&r);
        double sd = 0.0;
        const double share = mean_systole_s(&c.truth, &sd) * bpm / 60.0;
        assert_true(share >= 0.445 && share <= 0.505);
        composed_free(&c);
    }
}

/* No step where the two rules meet: 1 per minute moves systole by under 4 ms anywhere. */
static void systole_has_no_step(void **state)
{
    (void)state;
    double last = 0.0;
    for (double bpm = 100.0; bpm <= 130.0; bpm += 1.0) {
        fm_recipe r = fm_recipe_default();
        r.bpm = bpm;
        r.seed = 5;
        r.seconds = 120.0;
        r.rate_hz = 2000.0;
        composed c = compose_or_fail(&r);
        double sd = 0.0;
        const double now = mean_systole_s(&c.truth, &sd);
        assert_true(bpm < 100.5 || fabs(now - last) < 0.004);
        last = now;
        composed_free(&c);
    }
}

/* Systole changes little from beat to beat even when the rhythm is irregular. */
static void systole_stays_narrow_in_fibrillation(void **state)
{
    (void)state;
    fm_recipe r = fm_recipe_default();
    r.rhythm = FM_COMPOSE_FIBRILLATION;
    r.bpm = 80.0;
    composed c = compose_or_fail(&r);
    double sd = 0.0;
    (void)mean_systole_s(&c.truth, &sd);
    assert_true(sd < 0.025);
    composed_free(&c);
}

/* ---- SNR ---- */

/* The heart alone (same seed) is taken out of the mix by least squares; what is left is
 * what was added. Powers by the brick wall, so 0.5 dB: the filters' skirts differ. */
static void snr_measured_again_is_the_snr_asked(void **state)
{
    (void)state;
    const fm_compose_noise kinds[] = {FM_COMPOSE_WHITE, FM_COMPOSE_PINK,
                                      FM_COMPOSE_SPEECH, FM_COMPOSE_HUM};
    for (size_t k = 0; k < 4; k++) {
        fm_recipe r = fm_recipe_default();
        r.seed = 70 + k;
        r.breath_db = -(double)INFINITY;
        r.peak_dbfs = 0.0;
        composed alone = compose_or_fail(&r);
        r.noise[kinds[k]] = true;
        r.snr_db = 5.0;
        composed mix = compose_or_fail(&r);
        double *const h = as_double(&alone);
        double *const m = as_double(&mix);
        const double gain = dot(h, m, mix.n) / dot(h, h, mix.n);
        for (size_t i = 0; i < mix.n; i++) {
            m[i] -= gain * h[i];
        }
        const double heart = gain * gain * brick_power(h, mix.n, 4000.0, 25.0, 400.0);
        const double added = brick_power(m, mix.n, 4000.0, 25.0, 400.0);
        assert_within(10.0 * log10(heart / added), 5.0, 0.5);
        free(h);
        free(m);
        composed_free(&alone);
        composed_free(&mix);
    }
}

/* Every noise, every level: the truth's own measure agrees with what was asked. */
static void every_noise_reaches_every_level(void **state)
{
    (void)state;
    for (int k = 0; k < FM_COMPOSE_NOISE_COUNT; k++) {
        for (double snr = -40.0; snr <= 40.0; snr += 20.0) {
            fm_recipe r = fm_recipe_default();
            r.seconds = 20.0;
            r.noise[k] = true;
            r.snr_db = snr;
            r.small_microphone = k % 2 == 0;
            composed c = compose_or_fail(&r);
            assert_within(c.truth.snr_db, snr, snr > 30.0 ? 0.5 : 0.05);
            for (size_t i = 0; i < c.n; i++) {
                assert_true(isfinite(c.x[i]));
            }
            composed_free(&c);
        }
    }
}

/* ---- Bad arguments ---- */

static void out_of_range_fields_are_named(void **state)
{
    (void)state;
    struct {
        size_t offset;
        double bad;
        const char *name;
    } const rows[] = {
        {offsetof(fm_recipe, seconds), 0.5, "seconds"},
        {offsetof(fm_recipe, seconds), 7201.0, "seconds"},
        {offsetof(fm_recipe, seconds), (double)NAN, "seconds"},
        {offsetof(fm_recipe, rate_hz), 999.0, "rate_hz"},
        {offsetof(fm_recipe, rate_hz), (double)INFINITY, "rate_hz"},
        {offsetof(fm_recipe, bpm), 29.0, "bpm"},
        {offsetof(fm_recipe, bpm), (double)NAN, "bpm"},
        {offsetof(fm_recipe, jitter), -0.1, "jitter"},
        {offsetof(fm_recipe, coupling), 0.2, "coupling"},
        {offsetof(fm_recipe, events_per_min), 14.9, "events_per_min"},
        {offsetof(fm_recipe, rsa_ms), 520.0, "rsa_ms"},
        {offsetof(fm_recipe, breaths_per_min), 100.0, "breaths_per_min"},
        {offsetof(fm_recipe, breath_db), (double)NAN, "breath_db"},
        {offsetof(fm_recipe, s1_db), -(double)INFINITY, "s1_db"},
        {offsetof(fm_recipe, snr_db), 41.0, "snr_db"},
        {offsetof(fm_recipe, peak_dbfs), 1.0, "peak_dbfs"},
        {offsetof(fm_recipe, lost_length_s), -1.0, "lost_length_s"},
        {offsetof(fm_recipe, dropout_s), 3.0, "dropout_s"},
        {offsetof(fm_recipe, contact_depth_db), 5.0, "contact_depth_db"},
    };
    for (size_t k = 0; k < sizeof rows / sizeof rows[0]; k++) {
        fm_recipe r = fm_recipe_default();
        r.bpm = 59.0;
        r.rsa_ms = 100.0;
        *(double *)(void *)((char *)&r + rows[k].offset) = rows[k].bad;
        const char *const fault = fm_recipe_fault(&r);
        assert_non_null(fault);
        assert_non_null(strstr(fault, rows[k].name));
        float x[16];
        fm_truth t = {0};
        assert_int_equal(fm_compose(&r, x, 16, &t), FM_ERR_ARG);
        assert_int_equal(t.n_s1, 0);
    }
}

static void wrong_lengths_and_missing_intervals_are_refused(void **state)
{
    (void)state;
    fm_recipe r = fm_recipe_default();
    float x[16];
    fm_truth t = {0};
    assert_int_equal(fm_compose(&r, x, 16, &t), FM_ERR_ARG);
    r.rhythm = FM_COMPOSE_GIVEN;
    assert_non_null(strstr(fm_recipe_fault(&r), "given"));
    const double bad[2] = {0.8, (double)NAN};
    r.intervals_s = bad;
    r.n_intervals = 2;
    assert_non_null(strstr(fm_recipe_fault(&r), "interval"));
    r = fm_recipe_default();
    r.seconds = 3600.0;
    r.rate_hz = 44100.0;
    assert_non_null(strstr(fm_recipe_fault(&r), "40 million"));
    r.rhythm = FM_COMPOSE_RHYTHM_COUNT;
    assert_non_null(fm_recipe_fault(&r));
}

static void every_word_is_its_own(void **state)
{
    (void)state;
    for (int a = 0; a < FM_COMPOSE_RHYTHM_COUNT; a++) {
        for (int b = 0; b < a; b++) {
            assert_string_not_equal(fm_compose_rhythm_word((fm_compose_rhythm)a),
                                    fm_compose_rhythm_word((fm_compose_rhythm)b));
        }
    }
    for (int a = 0; a < FM_COMPOSE_NOISE_COUNT; a++) {
        for (int b = 0; b < a; b++) {
            assert_string_not_equal(fm_compose_noise_word((fm_compose_noise)a),
                                    fm_compose_noise_word((fm_compose_noise)b));
        }
    }
    assert_string_equal(fm_compose_murmur_word(FM_COMPOSE_MURMUR_COUNT), "unknown");
    assert_string_equal(fm_compose_murmur_word(FM_COMPOSE_EJECTION), "ejection");
}

/* The lowest and the highest rate work, and give the same beats. */
static void every_sample_rate_gives_the_same_beats(void **state)
{
    (void)state;
    const double rates[] = {1000.0, 2000.0, 44100.0, 192000.0};
    fm_recipe r = fm_recipe_default();
    r.seconds = 10.0;
    r.noise[FM_COMPOSE_ROOM] = true;
    composed base = compose_or_fail(&r);
    for (size_t k = 0; k < 4; k++) {
        r.rate_hz = rates[k];
        composed c = compose_or_fail(&r);
        assert_int_equal(c.truth.n_s1, base.truth.n_s1);
        for (size_t i = 0; i < c.truth.n_s1; i++) {
            assert_within(c.truth.s1_s[i], base.truth.s1_s[i], 0.001);
        }
        composed_free(&c);
    }
    composed_free(&base);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_same_recipe_gives_the_same_samples),
        cmocka_unit_test(parts_do_not_move_one_another),
        cmocka_unit_test(samples_lie_on_the_grid_at_the_level_asked),
        cmocka_unit_test(gain_clips_at_full_scale),
        cmocka_unit_test(nothing_asked_is_digital_silence),
        cmocka_unit_test(lost_audio_is_zero_and_its_beats_are_listed),
        cmocka_unit_test(lost_contact_takes_all_away_and_says_so),
        cmocka_unit_test(dropouts_are_zeros_one_in_every_part_of_a_minute),
        cmocka_unit_test(onsets_are_where_the_definition_puts_them),
        cmocka_unit_test(systole_follows_the_regression_at_50_to_110),
        cmocka_unit_test(systole_is_near_half_of_a_fast_beat),
        cmocka_unit_test(systole_has_no_step),
        cmocka_unit_test(systole_stays_narrow_in_fibrillation),
        cmocka_unit_test(snr_measured_again_is_the_snr_asked),
        cmocka_unit_test(every_noise_reaches_every_level),
        cmocka_unit_test(out_of_range_fields_are_named),
        cmocka_unit_test(wrong_lengths_and_missing_intervals_are_refused),
        cmocka_unit_test(every_word_is_its_own),
        cmocka_unit_test(every_sample_rate_gives_the_same_beats),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
