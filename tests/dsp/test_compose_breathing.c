/*
 * Breathing as composed: when breaths come, how deep they are, how they sound.
 *   Input:     recordings composed here, seeds fixed; breath alone (no heart, no noise)
 *              where its sound is measured, so that nothing else is in the samples.
 *   It says:   lengths given are the lengths in the truth; the level asked for is the
 *              level measured again from the samples, not by the composer's own sums.
 *   Tolerance: beside each; statistics of n breaths are held to 4 standard errors.
 */
#include "compose_support.h"

#include "dsp/compose/compose_band.h"

#include <math.h>
#include <stdio.h>

static double length_s(const fm_truth *t, size_t i)
{
    return t->breath_starts_s[i + 1] - t->breath_starts_s[i];
}

static double mean_length_s(const fm_truth *t)
{
    const size_t n = t->n_breaths;
    return (t->breath_starts_s[n - 1] - t->breath_starts_s[0]) / (double)(n - 1);
}

static double sd_length_s(const fm_truth *t)
{
    const double mean = mean_length_s(t);
    double sum = 0.0;
    for (size_t i = 0; i + 1 < t->n_breaths; i++) {
        sum += (length_s(t, i) - mean) * (length_s(t, i) - mean);
    }
    return sqrt(sum / (double)(t->n_breaths - 2));
}

/* Power of x between two times, s. */
static double power_between(const composed *c, double rate_hz, double from, double to)
{
    const size_t first = (size_t)fmax(0.0, from * rate_hz);
    const size_t past = (size_t)fmin((double)c->n, to * rate_hz);
    double sum = 0.0;
    for (size_t i = first; i < past; i++) {
        sum += (double)c->x[i] * (double)c->x[i];
    }
    return past > first ? sum / (double)(past - first) : 0.0;
}

/* Breath sounds alone, long enough for many breaths. */
static fm_recipe breath_alone(double per_min)
{
    fm_recipe r = fm_recipe_default();
    r.heart = false;
    r.breath_db = 0.0;
    r.breaths_per_min = per_min;
    return r;
}

static void even_breaths_have_the_rate_asked(void **state)
{
    (void)state;
    const double rates[] = {6.0, 14.0, 32.0, 70.0};
    for (size_t k = 0; k < 4; k++) {
        fm_recipe r = fm_recipe_default();
        r.rate_hz = 1000.0;
        r.seconds = 600.0;
        r.breaths_per_min = rates[k];
        composed c = compose_or_fail(&r);
        const double usual_s = 60.0 / rates[k];
        const double error =
            4.0 * 0.06 * usual_s / sqrt((double)(c.truth.n_breaths - 1));
        assert_within(mean_length_s(&c.truth), usual_s, error);
        /* clipping at 2.5 SD takes 3 % of the SD; its standard error is SD / sqrt(2n) */
        const double sd_s = 0.97 * 0.06 * usual_s;
        assert_within(sd_length_s(&c.truth), sd_s,
                      4.0 * sd_s / sqrt(2.0 * (double)c.truth.n_breaths));
        composed_free(&c);
    }
}

static void irregular_breaths_spread_and_keep_the_mean(void **state)
{
    (void)state;
    fm_recipe r = fm_recipe_default();
    r.rate_hz = 1000.0;
    r.seconds = 1200.0;
    r.breathing = FM_COMPOSE_IRREGULAR_BREATHING;
    r.breath_spread = 0.35;
    r.breaths_per_min = 20.0;
    composed c = compose_or_fail(&r);
    const double n = (double)c.truth.n_breaths;
    assert_within(mean_length_s(&c.truth), 3.0, 4.0 * 0.35 * 3.0 / sqrt(n));
    /* the log-normal tail is clipped at 2.5 SD of the logarithm: about 6 % less */
    assert_within(sd_length_s(&c.truth), 0.35 * 3.0 * 0.94, 0.12);
    double product = 0.0; /* successive lengths do not follow one another */
    const double mean = mean_length_s(&c.truth);
    for (size_t i = 0; i + 2 < c.truth.n_breaths; i++) {
        product += (length_s(&c.truth, i) - mean) * (length_s(&c.truth, i + 1) - mean);
    }
    const double sd = sd_length_s(&c.truth);
    assert_within(product / (n - 2.0) / (sd * sd), 0.0, 4.0 / sqrt(n));
    composed_free(&c);
}

static void given_lengths_are_used_as_they_are(void **state)
{
    (void)state;
    const double lengths[] = {3.11, 2.05, 4.4, 1.02, 2.6};
    fm_recipe r = fm_recipe_default();
    r.breath_lengths_s = lengths;
    r.n_breath_lengths = 5;
    composed c = compose_or_fail(&r);
    assert_true(c.truth.n_breaths > 20);
    assert_true(c.truth.breath_starts_s[0] < lengths[0]);
    for (size_t i = 0; i + 1 < c.truth.n_breaths; i++) {
        assert_within(length_s(&c.truth, i), lengths[(i + 1) % 5], 1e-9);
    }
    composed_free(&c);
    r.breathing = FM_COMPOSE_WAXING_BREATHING;
    assert_non_null(fm_recipe_fault(&r));
    r.breathing = FM_COMPOSE_EVEN_BREATHING;
    const double too_long[] = {3.0, 31.0};
    const double not_a_number[] = {3.0, (double)NAN};
    r.n_breath_lengths = 2;
    r.breath_lengths_s = too_long;
    assert_non_null(fm_recipe_fault(&r));
    r.breath_lengths_s = not_a_number;
    assert_non_null(fm_recipe_fault(&r));
}

static void a_pause_is_silent_and_as_long_as_asked(void **state)
{
    (void)state;
    fm_recipe r = breath_alone(15.0);
    r.breath_jitter = 0.0;
    r.breathing = FM_COMPOSE_PAUSED_BREATHING;
    r.breath_pause_s = 18.0;
    r.breath_pause_at_s = 22.0;
    composed c = compose_or_fail(&r);
    size_t pauses = 0;
    for (size_t i = 0; i + 1 < c.truth.n_breaths; i++) {
        const double start_s = c.truth.breath_starts_s[i];
        if (length_s(&c.truth, i) < 5.0) {
            assert_within(length_s(&c.truth, i), 4.0, 1e-9);
            continue;
        }
        pauses++;
        assert_within(length_s(&c.truth, i), 22.0, 1e-9);
        assert_true(start_s <= 22.0 && start_s + 4.0 > 22.0);
        const double breath = power_between(&c, r.rate_hz, start_s, start_s + 1.6);
        const double rest = power_between(&c, r.rate_hz, start_s + 4.0, start_s + 21.9);
        assert_true(breath > 0.0 && rest < 1e-6 * breath);
    }
    assert_int_equal(pauses, 1);
    /* The truth's pause runs from the end of that breath to the next start. */
    assert_true(c.truth.breathing_known);
    assert_int_equal(c.truth.breath_pattern, FM_BREATH_PATTERN_WITH_PAUSES);
    assert_int_equal(c.truth.n_breath_pauses, 1);
    assert_within(c.truth.breath_pauses[0].end_s - c.truth.breath_pauses[0].start_s,
                  18.0, 1e-9);
    composed_free(&c);
    r.breath_pause_s = 9.0; /* under the 10 s that are named */
    c = compose_or_fail(&r);
    assert_int_equal(c.truth.n_breath_pauses, 0);
    assert_int_equal(c.truth.breath_pattern, FM_BREATH_PATTERN_EVEN);
    composed_free(&c);
    r.breath_pause_s = 2.0;
    assert_non_null(fm_recipe_fault(&r));
}

static void waxing_breaths_swell_and_fade(void **state)
{
    (void)state;
    fm_recipe r = breath_alone(24.0);
    r.seconds = 200.0;
    r.breath_jitter = 0.0;
    r.breathing = FM_COMPOSE_WAXING_BREATHING;
    r.swell_s = 45.0;
    r.breath_pause_s = 12.0;
    composed c = compose_or_fail(&r);
    assert_int_equal(c.truth.breath_pattern, FM_BREATH_PATTERN_WAXING);
    assert_int_equal(c.truth.n_breath_pauses, 4); /* one a swell of 45 s, in 200 s */
    double last_pause_s = -1.0;
    size_t swells = 0;
    for (size_t i = 0; i + 1 < c.truth.n_breaths; i++) {
        if (length_s(&c.truth, i) < 5.0) {
            continue;
        }
        const double start_s = c.truth.breath_starts_s[i];
        assert_within(length_s(&c.truth, i), 14.5, 1e-9);
        if (last_pause_s > 0.0) {
            swells++;
            /* whole breaths of 2.5 s fill the swell */
            assert_within(start_s - last_pause_s, 45.0, 2.5);
            const double middle_s = 0.5 * (last_pause_s + 12.0 + start_s);
            const double loud =
                power_between(&c, r.rate_hz, middle_s - 2.5, middle_s + 2.5);
            const double soft = power_between(&c, r.rate_hz, start_s, start_s + 2.5);
            assert_true(loud > 30.0 * soft && soft > 0.0);
        }
        last_pause_s = start_s;
    }
    assert_true(swells >= 2);
    composed_free(&c);
    r.swell_s = 15.0; /* no room for three breaths beside the pause */
    assert_non_null(fm_recipe_fault(&r));
}

/* Recording with breath = a * (recording without) + breath, a by least squares. */
static double breath_snr_again(fm_recipe r)
{
    composed with = compose_or_fail(&r);
    r.breath_snr_db = (double)NAN;
    r.breath_db = -(double)INFINITY;
    composed without = compose_or_fail(&r);
    double cross = 0.0;
    double square = 0.0;
    for (size_t i = 0; i < with.n; i++) {
        cross += (double)with.x[i] * (double)without.x[i];
        square += (double)without.x[i] * (double)without.x[i];
    }
    const double a = cross / square;
    for (size_t i = 0; i < with.n; i++) {
        without.x[i] = (float)(a * (double)without.x[i]);
        with.x[i] -= without.x[i];
    }
    fm_band_meter *const meter = fm_band_meter_create(r.rate_hz);
    const double breath = fm_band_meter_power(meter, with.x, with.n, 100.0, 1000.0);
    const double rest = fm_band_meter_power(meter, without.x, with.n, 100.0, 1000.0);
    fm_band_meter_destroy(meter);
    composed_free(&with);
    composed_free(&without);
    return 10.0 * log10(breath / rest);
}

static void breath_stands_over_the_rest_as_asked(void **state)
{
    (void)state;
    const double levels_db[] = {0.0, 10.0, 20.0};
    for (size_t k = 0; k < 3; k++) {
        fm_recipe r = fm_recipe_default();
        r.breath_snr_db = levels_db[k];
        r.seed = 40 + k;
        composed c = compose_or_fail(&r);
        assert_within(c.truth.breath_snr_db, levels_db[k], 0.01);
        composed_free(&c);
        assert_within(breath_snr_again(r), levels_db[k], 0.3);
        r.noise[FM_COMPOSE_ROOM] = true;
        r.snr_db = 12.0;
        assert_within(breath_snr_again(r), levels_db[k], 0.3);
    }
    fm_recipe nothing_else = breath_alone(15.0);
    nothing_else.breath_snr_db = 10.0;
    assert_non_null(fm_recipe_fault(&nothing_else));
}

/* Mean power of inspirations and of expirations over a recording of breath alone. */
static void phase_power(const fm_recipe *r, double *in, double *ex)
{
    composed c = compose_or_fail(r);
    *in = 0.0;
    *ex = 0.0;
    for (size_t i = 0; i + 1 < c.truth.n_breaths; i++) {
        const double start_s = c.truth.breath_starts_s[i];
        const double turn_s = start_s + r->inspiration_share * length_s(&c.truth, i);
        const double end_s = start_s + length_s(&c.truth, i);
        *in += power_between(&c, r->rate_hz, start_s + 0.05, turn_s);
        *ex += power_between(&c, r->rate_hz, turn_s + 0.05, end_s);
    }
    composed_free(&c);
}

static void expiration_is_as_loud_as_asked(void **state)
{
    (void)state;
    fm_recipe r = breath_alone(15.0);
    r.breath_jitter = 0.0;
    double in = 0.0;
    double ex = 0.0;
    phase_power(&r, &in, &ex);
    const double usual_db = 10.0 * log10(ex / in);
    assert_true(usual_db < -8.0);
    r.expiration_db = -3.0;
    phase_power(&r, &in, &ex);
    assert_within(10.0 * log10(ex / in) - usual_db, 5.0, 0.1);
    r.expiration_db = -(double)INFINITY;
    phase_power(&r, &in, &ex);
    assert_true(in > 0.0 && ex < 1e-6 * in);
}

/* Mean frequency of a stretch by its zero crossings, Hz. */
static double crossing_hz(const fm_recipe *r, bool in)
{
    composed c = compose_or_fail(r);
    double crossings = 0.0;
    double seconds = 0.0;
    for (size_t i = 0; i + 1 < c.truth.n_breaths; i++) {
        const double start_s = c.truth.breath_starts_s[i] + (in ? 0.3 : 1.7);
        const size_t first = (size_t)(start_s * r->rate_hz);
        for (size_t k = first; k < first + (size_t)(0.8 * r->rate_hz); k++) {
            crossings += (c.x[k] < 0.0F) != (c.x[k + 1] < 0.0F) ? 1.0 : 0.0;
        }
        seconds += 0.8;
    }
    composed_free(&c);
    return 0.5 * crossings / seconds;
}

static void expiration_is_the_lower(void **state)
{
    (void)state;
    fm_recipe r = breath_alone(15.0);
    r.breath_jitter = 0.0;
    r.expiration_db = 0.0;
    assert_true(crossing_hz(&r, false) < 0.95 * crossing_hz(&r, true));
    const double usual_hz = crossing_hz(&r, false);
    r.expiration_pitch = 0.5;
    assert_true(crossing_hz(&r, false) < 0.93 * usual_hz);
}

/* Longest less shortest interval over a recording, s. */
static double modulation_s(const fm_recipe *r, double *mean_s)
{
    composed c = compose_or_fail(r);
    double low = (double)INFINITY;
    double high = 0.0;
    for (size_t i = 0; i + 1 < c.truth.n_s1; i++) {
        low = fmin(low, interval_s(&c.truth, i));
        high = fmax(high, interval_s(&c.truth, i));
    }
    *mean_s =
        (c.truth.s1_s[c.truth.n_s1 - 1] - c.truth.s1_s[0]) / (double)(c.truth.n_s1 - 1);
    composed_free(&c);
    return high - low;
}

static void shallow_breathing_moves_the_heart_less(void **state)
{
    (void)state;
    fm_recipe r = fm_recipe_default();
    r.rhythm = FM_COMPOSE_SINUS_ARRHYTHMIA;
    r.rsa_ms = 200.0;
    r.jitter = 0.0;
    r.breath_jitter = 0.0;
    r.breaths_per_min = 8.0;
    double deep_mean_s = 0.0;
    double shallow_mean_s = 0.0;
    assert_within(modulation_s(&r, &deep_mean_s), 0.2, 0.02);
    r.breath_depth = 0.25;
    assert_within(modulation_s(&r, &shallow_mean_s), 0.05, 0.006);
    /* the rate stays what was asked, 72 per minute, within the mean of the modulation */
    assert_within(deep_mean_s, 60.0 / 72.0, 0.02);
    assert_within(shallow_mean_s, 60.0 / 72.0, 0.02);
}

static void crackles_lie_in_inspiration_and_wheezes_in_expiration(void **state)
{
    (void)state;
    fm_recipe r = breath_alone(15.0);
    r.breath_jitter = 0.0;
    r.expiration_db = -20.0;
    double in = 0.0;
    double ex = 0.0;
    phase_power(&r, &in, &ex);
    const double plain = ex / in;
    r.crackles = 20.0;
    phase_power(&r, &in, &ex);
    assert_true(ex / in <
                0.9 * plain); /* more power in inspiration, none in the other */
    r.crackles = 0.0;
    r.wheeze = 1.0;
    phase_power(&r, &in, &ex);
    assert_true(ex / in > 3.0 * plain);
    r.wheeze = 0.5;
    composed c = compose_or_fail(&r);
    size_t loud = 0;
    for (size_t i = 0; i + 1 < c.truth.n_breaths; i++) {
        const double at = c.truth.breath_starts_s[i];
        const double share = power_between(&c, r.rate_hz, at + 1.7, at + 2.6) /
                             power_between(&c, r.rate_hz, at, at + 1.6);
        loud += share > 0.05 ? 1U : 0U;
    }
    assert_true(loud > 3 && loud + 3 < c.truth.n_breaths);
    composed_free(&c);
}

static void without_audible_breath_the_truth_still_knows(void **state)
{
    (void)state;
    fm_recipe r = fm_recipe_default();
    r.breath_db = -(double)INFINITY;
    composed c = compose_or_fail(&r);
    assert_true(isnan(c.truth.breath_snr_db));
    assert_within((double)c.truth.n_breaths, 17.5, 1.5); /* 70 s at 15 a minute */
    composed_free(&c);
}

static void faults_name_the_field(void **state)
{
    (void)state;
    const struct {
        size_t offset;
        double value;
        const char *word;
    } bad[] = {
        {offsetof(fm_recipe, breath_spread), 0.6, "breath_spread"},
        {offsetof(fm_recipe, breath_pause_s), 61.0, "breath_pause_s"},
        {offsetof(fm_recipe, breath_pause_at_s), -1.0, "breath_pause_at_s"},
        {offsetof(fm_recipe, swell_s), (double)NAN, "swell_s"},
        {offsetof(fm_recipe, breath_depth), 0.0, "breath_depth"},
        {offsetof(fm_recipe, inspiration_share), 0.9, "inspiration_share"},
        {offsetof(fm_recipe, expiration_db), 13.0, "expiration_db"},
        {offsetof(fm_recipe, expiration_pitch), 2.0, "expiration_pitch"},
        {offsetof(fm_recipe, expiration_heard), 0.0, "expiration_heard"},
        {offsetof(fm_recipe, crackles), -1.0, "crackles"},
        {offsetof(fm_recipe, wheeze), 1.5, "wheeze"},
        {offsetof(fm_recipe, breath_snr_db), 41.0, "breath_snr_db"},
    };
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        fm_recipe r = fm_recipe_default();
        *(double *)(void *)((char *)&r + bad[i].offset) = bad[i].value;
        const char *const fault = fm_recipe_fault(&r);
        assert_non_null(fault);
        assert_non_null(strstr(fault, bad[i].word));
    }
    assert_string_equal(fm_compose_breathing_word(FM_COMPOSE_WAXING_BREATHING),
                        "waxing");
    assert_string_equal(fm_compose_breathing_word(FM_COMPOSE_BREATHING_COUNT),
                        "unknown");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(even_breaths_have_the_rate_asked),
        cmocka_unit_test(irregular_breaths_spread_and_keep_the_mean),
        cmocka_unit_test(given_lengths_are_used_as_they_are),
        cmocka_unit_test(a_pause_is_silent_and_as_long_as_asked),
        cmocka_unit_test(waxing_breaths_swell_and_fade),
        cmocka_unit_test(breath_stands_over_the_rest_as_asked),
        cmocka_unit_test(expiration_is_as_loud_as_asked),
        cmocka_unit_test(expiration_is_the_lower),
        cmocka_unit_test(shallow_breathing_moves_the_heart_less),
        cmocka_unit_test(crackles_lie_in_inspiration_and_wheezes_in_expiration),
        cmocka_unit_test(without_audible_breath_the_truth_still_knows),
        cmocka_unit_test(faults_name_the_field),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
