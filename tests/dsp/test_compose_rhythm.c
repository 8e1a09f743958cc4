/*
 * What the beats of composed recordings do, against published rules.
 *   Sources:   see each test (from memory where it says so).
 *   Input:     composed here, seeds in each test; onsets as measured for the truth.
 *   Tolerance: in each test, from the jitter asked (SD 0.8 % of the interval).
 */
#include "compose_support.h"

static fm_recipe recipe_of(fm_compose_rhythm rhythm, double bpm, uint64_t seed)
{
    fm_recipe r = fm_recipe_default();
    r.rhythm = rhythm;
    r.bpm = bpm;
    r.seed = seed;
    r.breath_db = -(double)INFINITY;
    r.rate_hz = 2000.0;
    return r;
}

static double mean_interval_s(const fm_truth *t)
{
    return (t->s1_s[t->n_s1 - 1] - t->s1_s[0]) / (double)(t->n_s1 - 1);
}

static double rmssd_s(const fm_truth *t)
{
    double sum = 0.0;
    for (size_t i = 0; i + 2 < t->n_s1; i++) {
        const double d = interval_s(t, i + 1) - interval_s(t, i);
        sum += d * d;
    }
    return sqrt(sum / (double)(t->n_s1 - 2));
}

/* Every rhythm over its whole range of rates: intervals between 240 (fibrillation) or 270
 * ms and 2.5 s, ascending onsets inside the recording, S2 between S1s, lists consistent. */
static void every_rhythm_keeps_its_bounds(void **state)
{
    (void)state;
    for (int k = 0; k < FM_COMPOSE_GIVEN; k++) {
        for (unsigned step = 0; step <= 4; step++) {
            double low = 0.0;
            double high = 0.0;
            fm_compose_bpm_range((fm_compose_rhythm)k, &low, &high);
            const double bpm = low + (high - low) * step / 4.0;
            fm_recipe r = recipe_of((fm_compose_rhythm)k, bpm, 100U + step);
            composed c = compose_or_fail(&r);
            const fm_truth *const t = &c.truth;
            const double least = k == FM_COMPOSE_FIBRILLATION ? 0.240 : 0.270;
            for (size_t i = 0; i + 1 < t->n_s1; i++) {
                assert_true(interval_s(t, i) > least - 0.001);
                assert_true(interval_s(t, i) < 2.501);
            }
            assert_true(t->n_s1 >= 30 && t->s1_s[0] >= 0.0);
            assert_true(t->s1_s[t->n_s1 - 1] < r.seconds);
            assert_true(t->n_s2 <= t->n_s1 + 1);
            assert_int_equal(t->n_inaudible_s1, 0);
            assert_true(t->has_radial && t->n_radial <= t->n_s1 + 1);
            composed_free(&c);
        }
    }
}

/* Basic rate = mean rate, but for dropped beats, where n intervals hold n - 1 beats. */
static void the_mean_rate_is_the_one_asked(void **state)
{
    (void)state;
    static const fm_compose_rhythm KINDS[] = {
        FM_COMPOSE_STEADY,   FM_COMPOSE_SINUS_ARRHYTHMIA, FM_COMPOSE_PREMATURE,
        FM_COMPOSE_BIGEMINY, FM_COMPOSE_TRIGEMINY,        FM_COMPOSE_QUADRIGEMINY,
        FM_COMPOSE_DROPPED};
    for (size_t k = 0; k < sizeof KINDS / sizeof KINDS[0]; k++) {
        fm_recipe r = recipe_of(KINDS[k], 75.0, 7 + k);
        r.seconds = 300.0;
        composed c = compose_or_fail(&r);
        const double expected =
            KINDS[k] == FM_COMPOSE_DROPPED ? 75.0 * 3.0 / 4.0 : 75.0;
        assert_within(60.0 / mean_interval_s(&c.truth), expected, 0.6);
        composed_free(&c);
    }
}

/*
 * Source:   Dash, Chon, Raeder, Lu, Ann Biomed Eng 37:1701, 2009 (thresholds as seen in
 *           re-implementations); turning points of a random series, mean (2N-4)/3,
 *           variance (16N-29)/90 (closed form).
 * It says:  RMSSD / mean > 0.1; turning points near those of a random series. The lower
 *           limit 0.54 is the rule's; above, 5 SD over a random series' 2/3.
 */
static void fibrillation_is_as_irregular_as_the_rule_wants(void **state)
{
    (void)state;
    const double rates[] = {40.0, 70.0, 110.0, 150.0, 180.0};
    for (size_t k = 0; k < sizeof rates / sizeof rates[0]; k++) {
        fm_recipe r = recipe_of(FM_COMPOSE_FIBRILLATION, rates[k], 31 + k);
        r.seconds = 240.0;
        composed c = compose_or_fail(&r);
        const fm_truth *const t = &c.truth;
        assert_true(rmssd_s(t) / mean_interval_s(t) > 0.1);
        assert_within(60.0 / mean_interval_s(t), rates[k], 0.08 * rates[k]);
        size_t turns = 0;
        for (size_t i = 1; i + 2 < t->n_s1; i++) {
            const double before = interval_s(t, i) - interval_s(t, i - 1);
            const double after = interval_s(t, i + 1) - interval_s(t, i);
            turns += before * after < 0.0 ? 1 : 0;
        }
        const double n = (double)(t->n_s1 - 1);
        const double ratio = (double)turns / (n - 2.0);
        const double sd = sqrt((16.0 * n - 29.0) / 90.0) / (n - 2.0);
        assert_true(ratio > 0.54 && ratio < 2.0 / 3.0 + 5.0 * sd);
        composed_free(&c);
    }
}

/*
 * Source:   heart rate turbulence filter rule (librasch.org/hrt): a premature beat counts
 *           if its interval is at most 0.80 of the mean of the last five, and the next one
 *           at least 1.20 of it. Full compensatory pause: both together two basic
 *           intervals (from memory).
 */
static void early_beats_are_early_and_compensated(void **state)
{
    (void)state;
    fm_recipe r = recipe_of(FM_COMPOSE_PREMATURE, 70.0, 41);
    r.events_per_min = 5.0;
    r.seconds = 180.0;
    composed c = compose_or_fail(&r);
    const fm_truth *const t = &c.truth;
    assert_int_equal(t->n_findings, 1);
    const fm_finding *const f = &t->findings[0];
    assert_int_equal(f->kind, FM_FINDING_EARLY_BEATS);
    assert_int_equal(f->count, 15);
    size_t found = 0;
    for (size_t i = 5; i + 1 < t->n_s1 - 1; i++) {
        const double mean = (t->s1_s[i] - t->s1_s[i - 5]) / 5.0;
        const double early = interval_s(t, i);
        const double after = interval_s(t, i + 1);
        if (early < 0.9 * mean && interval_s(t, i - 1) > 0.9 * mean) {
            assert_true(early <= 0.80 * mean && after >= 1.20 * mean);
            assert_within(early + after, 2.0 * 60.0 / 70.0, 0.08);
            assert_within(f->times_s[found], t->s1_s[i + 1], 1e-9);
            found++;
        }
    }
    assert_int_equal(found, f->count);
    composed_free(&c);
}

/* A beat at under 0.52 of the interval has no S2 and does not reach the wrist. */
static void very_early_beats_have_no_s2_and_no_wrist_pulse(void **state)
{
    (void)state;
    fm_recipe r = recipe_of(FM_COMPOSE_BIGEMINY, 60.0, 42);
    r.coupling = 0.48;
    r.first_beat_s = 0.5;
    composed c = compose_or_fail(&r);
    const fm_truth *const t = &c.truth;
    assert_within((double)t->n_s2, (double)t->n_s1 / 2.0, 1.0);
    assert_within((double)t->n_radial, (double)t->n_s1 / 2.0, 1.5);
    composed_free(&c);
}

/*
 * Source:   MSD Manual, figure of a 4:3 Wenckebach block: 1080, 1040, 1920 ms.
 * It says:  intervals shorten in the group; the pause is shorter than twice any other.
 *           With a basic interval of 1010 ms (4040 / 4) ours must lie within 2 % of each.
 */
static void a_dropped_group_resembles_the_worked_trace(void **state)
{
    (void)state;
    const double expected[3] = {1.080, 1.040, 1.920};
    fm_recipe r = recipe_of(FM_COMPOSE_DROPPED, 60.0 / 1.010, 43);
    r.jitter = 0.0;
    composed c = compose_or_fail(&r);
    const fm_truth *const t = &c.truth;
    size_t first = 0;
    while (interval_s(t, first) < 1.5) {
        first++;
    }
    first++;
    size_t groups = 0;
    for (size_t i = first; i + 3 < t->n_s1; i += 3) {
        for (size_t k = 0; k < 3; k++) {
            assert_within(interval_s(t, i + k), expected[k], 0.02 * expected[k]);
        }
        assert_true(interval_s(t, i) > interval_s(t, i + 1));
        assert_true(interval_s(t, i + 2) < 2.0 * interval_s(t, i + 1));
        groups++;
    }
    assert_true(groups >= 15);
    composed_free(&c);
}

/* Sinus arrhythmia: the shortest intervals lie in inspiration (thew-project.org), one wave a
 * breath, and the extremes differ by about what was asked. */
static void breathing_shortens_intervals_in_inspiration(void **state)
{
    (void)state;
    fm_recipe r = recipe_of(FM_COMPOSE_SINUS_ARRHYTHMIA, 66.0, 44);
    r.breaths_per_min = 12.0;
    r.seconds = 240.0;
    r.rsa_ms = 200.0;
    composed c = compose_or_fail(&r);
    const fm_truth *const t = &c.truth;
    double with_full = 0.0;
    double with_empty = 0.0;
    size_t n_full = 0;
    size_t n_empty = 0;
    size_t breath = 0;
    for (size_t i = 0; i + 1 < t->n_s1; i++) {
        const double middle = 0.5 * (t->s1_s[i] + t->s1_s[i + 1]);
        while (breath + 1 < t->n_breaths && t->breath_starts_s[breath + 1] <= middle) {
            breath++;
        }
        const double into = middle - t->breath_starts_s[breath];
        if (into > 1.5 && into < 2.5) { /* about the end of inspiration, 2 s of 5 */
            with_full += interval_s(t, i);
            n_full++;
        } else if (into > 4.0 && into < 5.0) {
            with_empty += interval_s(t, i);
            n_empty++;
        }
    }
    assert_true(n_full > 20 && n_empty > 20);
    const double modulation = with_empty / (double)n_empty - with_full / (double)n_full;
    assert_true(modulation > 0.12 && modulation < 0.22);
    composed_free(&c);
}

/* Slow waves alone: the intervals' extremes differ by nearly what was asked and by no more, and
 * they are modulated slowly: 0.04 to 0.15 Hz is the published band (Task Force of the ESC and the NASPE,
 * Circulation 93 (1996) 1043). One wave of about 0.1 Hz is two crossings of the mean in 10 s. */
static void slow_waves_are_slow_and_as_large_as_asked(void **state)
{
    (void)state;
    fm_recipe r = recipe_of(FM_COMPOSE_STEADY, 75.0, 46);
    r.seconds = 240.0;
    r.jitter = 0.0;
    r.rsa_ms = 0.0;
    r.slow_wave_ms = 80.0;
    composed c = compose_or_fail(&r);
    const fm_truth *const t = &c.truth;
    double least = 9.0;
    double most = 0.0;
    int crossings = 0;
    for (size_t i = 0; i + 1 < t->n_s1; i++) {
        least = fmin(least, interval_s(t, i));
        most = fmax(most, interval_s(t, i));
        crossings +=
            i > 0 && (interval_s(t, i) > 0.8) != (interval_s(t, i - 1) > 0.8) ? 1 : 0;
    }
    assert_within(most - least, 0.080, 0.008);
    assert_true(most - least <= 0.080 + 0.001);
    const double per_s = 0.5 * crossings / (t->s1_s[t->n_s1 - 1] - t->s1_s[0]);
    assert_true(per_s > 0.08 && per_s < 0.15);
    assert_int_equal(t->pattern, FM_PATTERN_REGULAR);
    composed_free(&c);
}

static void given_intervals_come_back_to_the_sample(void **state)
{
    (void)state;
    const double given[] = {0.80, 0.81, 0.79, 0.48, 1.12, 0.95};
    fm_recipe r = recipe_of(FM_COMPOSE_GIVEN, 72.0, 45);
    r.intervals_s = given;
    r.n_intervals = 6;
    r.first_beat_s = 1.0;
    composed c = compose_or_fail(&r);
    const fm_truth *const t = &c.truth;
    double at = 1.0;
    for (size_t i = 0; i < t->n_s1; i++) {
        assert_within(t->s1_s[i], at, 0.5 / r.rate_hz + 1e-9);
        at += given[i % 6];
    }
    assert_true(t->n_s1 > 80 && !t->pattern_known);
    composed_free(&c);
}

/* The table of patterns in DEVELOPERS.md. */
static void patterns_follow_the_table(void **state)
{
    (void)state;
    struct {
        fm_compose_rhythm rhythm;
        fm_pattern pattern;
        double events, rsa_ms, drift;
        const char *repeat;
        size_t findings;
        bool breathing;
    } const rows[] = {
        {FM_COMPOSE_STEADY, FM_PATTERN_REGULAR, 4, 20, 6, "", 0, false},
        {FM_COMPOSE_STEADY, FM_PATTERN_REGULAR, 4, 80, 6, "", 0, true},
        {FM_COMPOSE_DRIFT, FM_PATTERN_REGULAR, 4, 20, 9, "", 0, false},
        {FM_COMPOSE_SINUS_ARRHYTHMIA, FM_PATTERN_REGULARLY_IRREGULAR, 4, 220, 6,
         "breathing", 0, true},
        {FM_COMPOSE_BIGEMINY, FM_PATTERN_REGULARLY_IRREGULAR, 4, 20, 6, "2:2", 0,
         false},
        {FM_COMPOSE_TRIGEMINY, FM_PATTERN_REGULARLY_IRREGULAR, 4, 20, 6, "3:3", 0,
         false},
        {FM_COMPOSE_QUADRIGEMINY, FM_PATTERN_REGULARLY_IRREGULAR, 4, 20, 6, "4:4", 0,
         false},
        {FM_COMPOSE_DROPPED, FM_PATTERN_REGULARLY_IRREGULAR, 4, 20, 6, "4:3", 0, false},
        {FM_COMPOSE_PREMATURE, FM_PATTERN_OCCASIONALLY_IRREGULAR, 1, 20, 6, "", 1,
         false},
        {FM_COMPOSE_PREMATURE, FM_PATTERN_OCCASIONALLY_IRREGULAR, 5, 20, 6, "", 1,
         false},
        {FM_COMPOSE_PREMATURE, FM_PATTERN_IRREGULARLY_IRREGULAR, 6, 20, 6, "", 1,
         false},
        {FM_COMPOSE_PAUSES, FM_PATTERN_OCCASIONALLY_IRREGULAR, 3, 20, 6, "", 1, false},
        {FM_COMPOSE_PAUSES, FM_PATTERN_IRREGULARLY_IRREGULAR, 7, 20, 6, "", 1, false},
        {FM_COMPOSE_FIBRILLATION, FM_PATTERN_IRREGULARLY_IRREGULAR, 4, 0, 6, "", 0,
         false},
        {FM_COMPOSE_RATE_CHANGE, FM_PATTERN_UNDETERMINED, 4, 20, 6, "", 1, false},
        {FM_COMPOSE_FAST_RUN, FM_PATTERN_UNDETERMINED, 4, 20, 6, "", 1, false},
    };
    for (size_t k = 0; k < sizeof rows / sizeof rows[0]; k++) {
        for (uint64_t seed = 1; seed <= 3; seed++) {
            fm_recipe r = recipe_of(rows[k].rhythm, 72.0, seed);
            r.events_per_min = rows[k].events;
            r.rsa_ms = rows[k].rsa_ms;
            r.drift_percent_per_min = rows[k].drift;
            composed c = compose_or_fail(&r);
            assert_int_equal(c.truth.pattern, rows[k].pattern);
            assert_string_equal(c.truth.repeat, rows[k].repeat);
            assert_int_equal(c.truth.varies_with_breathing, rows[k].breathing);
            assert_int_equal(c.truth.n_findings, rows[k].findings);
            composed_free(&c);
        }
    }
}

static void a_short_recording_is_undetermined(void **state)
{
    (void)state;
    fm_recipe r = recipe_of(FM_COMPOSE_BIGEMINY, 72.0, 3);
    r.seconds = 19.0;
    composed c = compose_or_fail(&r);
    assert_true(c.truth.pattern_known);
    assert_int_equal(c.truth.pattern, FM_PATTERN_UNDETERMINED);
    assert_string_equal(c.truth.repeat, "");
    composed_free(&c);
}

/* As many breaths as asked, from 6 to 70 a minute; five standard errors of the jitter. */
static void breaths_come_at_their_rate(void **state)
{
    (void)state;
    const double rates[] = {6.0, 12.0, 30.0, 70.0};
    for (size_t k = 0; k < sizeof rates / sizeof rates[0]; k++) {
        fm_recipe r = recipe_of(FM_COMPOSE_STEADY, 72.0, 50 + k);
        r.breaths_per_min = rates[k];
        r.breath_db = -10.0;
        r.seconds = 300.0;
        composed c = compose_or_fail(&r);
        const fm_truth *const t = &c.truth;
        const double n = (double)(t->n_breaths - 1);
        const double mean =
            (t->breath_starts_s[t->n_breaths - 1] - t->breath_starts_s[0]) / n;
        assert_within(mean * rates[k] / 60.0, 1.0, 5.0 * 0.06 / sqrt(n));
        composed_free(&c);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_rhythm_keeps_its_bounds),
        cmocka_unit_test(the_mean_rate_is_the_one_asked),
        cmocka_unit_test(fibrillation_is_as_irregular_as_the_rule_wants),
        cmocka_unit_test(early_beats_are_early_and_compensated),
        cmocka_unit_test(very_early_beats_have_no_s2_and_no_wrist_pulse),
        cmocka_unit_test(a_dropped_group_resembles_the_worked_trace),
        cmocka_unit_test(breathing_shortens_intervals_in_inspiration),
        cmocka_unit_test(slow_waves_are_slow_and_as_large_as_asked),
        cmocka_unit_test(given_intervals_come_back_to_the_sample),
        cmocka_unit_test(patterns_follow_the_table),
        cmocka_unit_test(a_short_recording_is_undetermined),
        cmocka_unit_test(breaths_come_at_their_rate),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
