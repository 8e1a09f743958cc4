/*
 * Rhythms written out by hand: published traces, the rules' limits, gaps, doubtful beats,
 * bad input. Composed rhythms by the thousand are in test_rhythm_composed.c.
 */
#include "rhythm_support.h"

static const fm_finding *finding_of(const fm_rhythm *r, fm_finding_kind kind)
{
    for (size_t i = 0; i < r->n_findings; i++) {
        if (r->findings[i].kind == kind) {
            return &r->findings[i];
        }
    }
    return NULL;
}

static void add_even(series *s, double ms, size_t n)
{
    series_repeat(s, &ms, 1, n);
}

/*
 * Against published traces.
 *   Source:    MSD Manual, legend of the classic 4:3 figure: 1080, 1040, 1920 ms; and the
 *              short-long pairs 500, 1000 ms (bigeminy at 80 a minute).
 *   It says:   a group of four basic intervals with three beats; every second beat early.
 *              Measures: see test_interval_measures.c.
 *   Input:     the groups repeated.
 *   Tolerance: none.
 */
static void published_groups_are_named_by_their_repeat(void **state)
{
    (void)state;
    const double dropped[] = {1080, 1040, 1920};
    series s = series_start(0.4);
    series_repeat(&s, dropped, 3, 10);
    fm_rhythm r = describe(&s);
    assert_int_equal(r.pattern, FM_PATTERN_REGULARLY_IRREGULAR);
    assert_string_equal(r.repeat, "4:3");
    assert_int_equal(r.n_findings, 0);
    assert_int_equal(r.intervals[2].kind, FM_INTERVAL_PAUSE);
    assert_int_equal(r.intervals[3].kind, FM_INTERVAL_EXPECTED);
    assert_false(r.varies_with_breathing);

    const double pairs[] = {500, 1000};
    s = series_start(0.4);
    series_repeat(&s, pairs, 2, 16);
    r = describe(&s);
    assert_int_equal(r.pattern, FM_PATTERN_REGULARLY_IRREGULAR);
    assert_string_equal(r.repeat, "2:2");
    assert_int_equal(r.intervals[0].kind, FM_INTERVAL_EARLY);
    assert_int_equal(r.intervals[1].kind, FM_INTERVAL_AFTER_EARLY);
    assert_within(r.mean_interval_s, 0.75, 1e-9);
    assert_within(r.rmssd_ms, 500.0, 1e-6);
    assert_within(r.pnn50, 1.0, 0.0);
}

/*
 * Groups of every length, each exact, by the table in DEVELOPERS.md: n basic
 * intervals, m beats. A group's shape: even with one early beat and its pause, or even
 * with one dropped beat.
 */
static void groups_of_every_length_are_named(void **state)
{
    (void)state;
    for (int n = 3; n <= 6; n++) {
        series early = series_start(0.2);
        series dropped = series_start(0.2);
        for (int k = 0; k < 40; k++) {
            for (int i = 0; i < n - 2; i++) {
                series_add(&early, 800);
                series_add(&dropped, 830 - 10 * i);
            }
            series_add(&early, 500);
            series_add(&early, 1100);
            series_add(&dropped, 1520);
            if (series_end(&dropped) > 55.0) {
                break;
            }
        }
        const char name_early[] = {(char)('0' + n), ':', (char)('0' + n), '\0'};
        const char name_dropped[] = {(char)('0' + n), ':', (char)('0' + n - 1), '\0'};
        const fm_rhythm e = describe(&early);
        assert_int_equal(e.pattern, FM_PATTERN_REGULARLY_IRREGULAR);
        assert_string_equal(e.repeat, name_early);
        const fm_rhythm d = describe(&dropped);
        assert_int_equal(d.pattern, FM_PATTERN_REGULARLY_IRREGULAR);
        assert_string_equal(d.repeat, name_dropped);
    }
}

/*
 * Against a published rule.
 *   Source:    HRT filter rule, librasch.org/hrt: early by >= 20 % of the mean of the last
 *              five, the next interval >= 20 % longer.
 *   It says:   480 after 800 is early (0.60), 1120 its pause (1.40).
 *   Input:     one such beat in the middle of even ones, at 15.2 s + 0.48.
 *   Tolerance: 1 us in the time.
 */
static void one_early_beat_is_occasionally_irregular(void **state)
{
    (void)state;
    series s = series_start(0.0);
    add_even(&s, 800, 19);
    series_add(&s, 480);
    series_add(&s, 1120);
    add_even(&s, 800, 19);
    const fm_rhythm r = describe(&s);
    assert_int_equal(r.pattern, FM_PATTERN_OCCASIONALLY_IRREGULAR);
    assert_string_equal(r.repeat, "");
    assert_int_equal(r.n_findings, 1);
    assert_int_equal(r.findings[0].kind, FM_FINDING_EARLY_BEATS);
    assert_int_equal(r.findings[0].count, 1);
    assert_within(r.findings[0].times_s[0], 15.68, 1e-6);
    assert_int_equal(r.intervals[18].kind, FM_INTERVAL_EXPECTED);
    assert_int_equal(r.intervals[19].kind, FM_INTERVAL_EARLY);
    assert_int_equal(r.intervals[20].kind, FM_INTERVAL_AFTER_EARLY);
    assert_int_equal(r.intervals[21].kind, FM_INTERVAL_EXPECTED);
}

static void a_pause_is_named_by_the_beat_it_starts_from(void **state)
{
    (void)state;
    series s = series_start(1.0);
    add_even(&s, 900, 10);
    series_add(&s, 1800);
    add_even(&s, 900, 25);
    const fm_rhythm r = describe(&s);
    assert_int_equal(r.pattern, FM_PATTERN_OCCASIONALLY_IRREGULAR);
    assert_int_equal(r.n_findings, 1);
    assert_int_equal(r.findings[0].kind, FM_FINDING_PAUSES);
    assert_within(r.findings[0].times_s[0], 10.0, 1e-9);
    assert_int_equal(r.intervals[10].kind, FM_INTERVAL_PAUSE);
}

/* Alone in the first interval or the last: listed as unsure, no finding; a second event tells that
 * the first was one. */
static void a_lone_event_at_an_edge_is_none(void **state)
{
    (void)state;
    series s = series_start(1.0);
    add_even(&s, 900, 30);
    series_add(&s, 1800);
    fm_rhythm r = describe(&s);
    assert_int_equal(r.pattern, FM_PATTERN_REGULAR);
    assert_int_equal(r.n_findings, 0);
    assert_int_equal(r.intervals[30].kind, FM_INTERVAL_UNSURE);

    s = series_start(1.0);
    series_add(&s, 540);
    series_add(&s, 1260);
    add_even(&s, 900, 30);
    r = describe(&s);
    assert_int_equal(r.pattern, FM_PATTERN_REGULAR);
    assert_int_equal(r.n_findings, 0);
    assert_int_equal(r.intervals[0].kind, FM_INTERVAL_UNSURE);

    s = series_start(1.0);
    add_even(&s, 900, 15);
    series_add(&s, 1800);
    add_even(&s, 900, 15);
    series_add(&s, 1800);
    r = describe(&s);
    assert_int_equal(r.pattern, FM_PATTERN_OCCASIONALLY_IRREGULAR);
    assert_int_equal(r.findings[0].count, 2);
}

/* The table in DEVELOPERS.md: one to five a minute occasional, six and more without
 * repeat not. The spacings never repeat, so that no group is found. */
static void six_early_beats_a_minute_are_no_longer_occasional(void **state)
{
    (void)state;
    const size_t even_before[] = {9, 14, 5, 11, 7, 16, 8, 6};
    for (size_t n_early = 1; n_early <= 8; n_early++) {
        series s = series_start(0.1);
        for (size_t k = 0; k < n_early; k++) {
            add_even(&s, 750, even_before[k] / (n_early > 6 ? 2 : 1));
            series_add(&s, 500);
            series_add(&s, 1000);
        }
        while (series_end(&s) < 59.0) {
            series_add(&s, 750);
        }
        const fm_rhythm r = describe(&s);
        assert_int_equal(r.pattern, n_early <= 5 ? FM_PATTERN_OCCASIONALLY_IRREGULAR
                                                 : FM_PATTERN_IRREGULARLY_IRREGULAR);
        assert_int_equal(r.n_findings, 1);
        assert_int_equal(r.findings[0].count, n_early);
    }
}

/* The same share of early beats in half a minute: two are four a minute, three are six. */
static void events_are_counted_to_the_minute_in_a_short_window(void **state)
{
    (void)state;
    for (size_t n_early = 2; n_early <= 3; n_early++) {
        series s = series_start(0.1);
        for (size_t k = 0; k < n_early; k++) {
            add_even(&s, 800, 6 + 3 * k);
            series_add(&s, 520);
            series_add(&s, 1080);
        }
        while (series_end(&s) < 29.5) {
            series_add(&s, 800);
        }
        const fm_rhythm r = describe(&s);
        assert_int_equal(r.pattern, n_early == 2 ? FM_PATTERN_OCCASIONALLY_IRREGULAR
                                                 : FM_PATTERN_IRREGULARLY_IRREGULAR);
    }
}

static void a_sudden_change_of_rate_is_named_and_timed(void **state)
{
    (void)state;
    series s = series_start(0.0);
    add_even(&s, 900, 30);
    add_even(&s, 600, 50);
    const fm_rhythm r = describe(&s);
    assert_int_equal(r.pattern, FM_PATTERN_UNDETERMINED);
    assert_int_equal(r.n_findings, 1);
    assert_int_equal(r.findings[0].kind, FM_FINDING_RATE_CHANGE);
    assert_int_equal(r.findings[0].count, 1);
    assert_within(r.findings[0].times_s[0], 27.0, 1e-9);
    assert_int_equal(r.intervals[29].kind, FM_INTERVAL_EXPECTED);
    assert_int_equal(r.intervals[30].kind, FM_INTERVAL_EXPECTED);
}

static void a_run_of_fast_beats_is_named_and_timed(void **state)
{
    (void)state;
    for (size_t beats = 3; beats <= 20; beats++) {
        series s = series_start(0.0);
        add_even(&s, 850, 25);
        add_even(&s, 450, beats);
        add_even(&s, 850, 25);
        const fm_rhythm r = describe(&s);
        assert_int_equal(r.pattern, FM_PATTERN_UNDETERMINED);
        const fm_finding *run = finding_of(&r, FM_FINDING_FAST_RUN);
        if (run == NULL) {
            fail_msg("no run of %zu fast beats was found", beats);
            return;
        }
        assert_int_equal(run->count, 1);
        assert_within(run->times_s[0], 25 * 0.85, 1e-9);
        assert_within(fm_rhythm_run_end_s(&r, run->times_s[0]),
                      25 * 0.85 + (double)beats * 0.45, 1e-9);
        assert_true(isnan(fm_rhythm_run_end_s(&r, run->times_s[0] + 0.1)));
        assert_true(isnan(fm_rhythm_run_end_s(&r, (double)NAN)));
        assert_null(finding_of(&r, FM_FINDING_RATE_CHANGE));
        assert_null(finding_of(&r, FM_FINDING_EARLY_BEATS));
    }
}

/* Two early beats in a row are no run: three and more are. */
static void a_couplet_is_two_early_beats(void **state)
{
    (void)state;
    series s = series_start(0.0);
    add_even(&s, 850, 25);
    series_add(&s, 450);
    series_add(&s, 450);
    series_add(&s, 1200);
    add_even(&s, 850, 25);
    const fm_rhythm r = describe(&s);
    assert_int_equal(r.pattern, FM_PATTERN_OCCASIONALLY_IRREGULAR);
    assert_int_equal(r.n_findings, 1);
    assert_int_equal(r.findings[0].kind, FM_FINDING_EARLY_BEATS);
    assert_int_equal(r.findings[0].count, 2);
}

/* The table in DEVELOPERS.md: a drift under 10 % a minute is regular. One well over it is
 * neither regular nor any of the irregular patterns. */
static void a_drift_is_regular_up_to_ten_percent(void **state)
{
    (void)state;
    const double percent[] = {-8, -5, 5, 8, 15, 30, -15, -30};
    for (size_t k = 0; k < 8; k++) {
        series s = series_start(0.0);
        while (series_end(&s) < 59.5) {
            const double t = s.s1_s[s.n - 1];
            series_add(&s, 800.0 / (1.0 + percent[k] / 100.0 * t / MINUTE_S));
        }
        const fm_rhythm r = describe(&s);
        assert_int_equal(r.pattern, fabs(percent[k]) < 10.0 ? FM_PATTERN_REGULAR
                                                            : FM_PATTERN_UNDETERMINED);
        assert_int_equal(r.n_findings, 0);
    }
}

/*
 * Against published limits.
 *   Source:    THEW definitions (thew-project.org): extremes that differ by more than 120
 *              ms; breathing at rest 12 to 20 a minute (common practice, no source).
 *   It says:   a modulation of 160 ms is sinus arrhythmia, one of 80 is not.
 *   Input:     intervals 900 ms with a sinusoid of 12 to 20 breaths a minute.
 *   Tolerance: none; the limit itself is approached to 20 ms in the composed test.
 */
static void a_modulation_by_breathing_is_named_by_its_extremes(void **state)
{
    (void)state;
    for (double per_min = 12.0; per_min <= 20.0; per_min += 1.0) {
        for (double modulation_ms = 80.0; modulation_ms <= 160.0;
             modulation_ms += 80.0) {
            series s = series_start(0.0);
            while (series_end(&s) < 59.0) {
                const double t = s.s1_s[s.n - 1] + 0.45;
                const double turn = 6.28318530717958648 * per_min / 60.0 * t;
                series_add(&s, 900.0 + 0.5 * modulation_ms * sin(turn));
            }
            const fm_rhythm r = describe(&s);
            assert_true(r.varies_with_breathing);
            assert_string_equal(r.repeat, modulation_ms > 120.0 ? "breathing" : "");
            assert_int_equal(r.pattern, modulation_ms > 120.0
                                            ? FM_PATTERN_REGULARLY_IRREGULAR
                                            : FM_PATTERN_REGULAR);
        }
    }
}

/* Flutter at 300 a minute, every second to fourth wave conducted, in no order. */
static void changing_conduction_is_irregularly_irregular(void **state)
{
    (void)state;
    for (uint64_t seed = 1; seed <= 50; seed++) {
        fm_random random = fm_random_init(seed, 0);
        series s = series_start(0.1);
        while (series_end(&s) < 59.0) {
            series_add(&s, 200.0 * floor(fm_random_between(&random, 2.0, 5.0)));
        }
        series_shake(&s, 0.005, &random);
        const fm_rhythm r = describe(&s);
        assert_int_equal(r.pattern, FM_PATTERN_IRREGULARLY_IRREGULAR);
    }
}

/* At 180 a minute a gap of two intervals, 0.67 s, may be a beat not heard: late, no pause.
 * Six and more a minute are irregular all the same. */
static void a_short_gap_is_late_and_no_pause(void **state)
{
    (void)state;
    for (size_t gaps = 1; gaps <= 8; gaps++) {
        series s = series_start(0.0);
        for (size_t k = 0; k < gaps; k++) {
            add_even(&s, 333, 14 + 3 * (k * k % 5));
            series_add(&s, 667);
        }
        while (series_end(&s) < 59.5) {
            series_add(&s, 333);
        }
        const fm_rhythm r = describe(&s);
        assert_int_equal(r.intervals[14].kind, FM_INTERVAL_LATE);
        assert_int_equal(r.n_findings, 0);
        assert_int_equal(r.pattern, gaps <= 5 ? FM_PATTERN_REGULAR
                                              : FM_PATTERN_IRREGULARLY_IRREGULAR);
    }
}

/*
 * Against a closed form.
 *   Source:    independent errors of SD s in the times of a steady heart's beats: the
 *              intervals' correlation with the next is -0.5, and the variance of a sum of
 *              four is 2 s^2, as that of one.
 *   It says:   such a minute is badly timed, not irregular. Nor is it known to be regular.
 *   Input:     150 a minute, errors of 35 ms: RMSSD / mean 0.21, as in fibrillation.
 *   Tolerance: 'irregularly irregular' in at most 2 of 100, 'regular' in none.
 */
static void badly_timed_beats_are_not_called_irregular(void **state)
{
    (void)state;
    int irregular = 0;
    for (uint64_t seed = 1; seed <= 200; seed++) {
        fm_random random = fm_random_init(seed, 0);
        series s = series_start(0.2);
        add_even(&s, 400, 148);
        series_shake(&s, 0.035, &random);
        const fm_rhythm r = describe(&s);
        assert_int_not_equal(r.pattern, FM_PATTERN_REGULAR);
        irregular += r.pattern == FM_PATTERN_IRREGULARLY_IRREGULAR ? 1 : 0;
    }
    assert_true(irregular <= 4);
}

/* Under 20 s or 15 intervals nothing is named, but the measures stand. */
static void too_short_a_window_is_undetermined(void **state)
{
    (void)state;
    series s = series_start(0.1);
    add_even(&s, 1500, 14);
    fm_rhythm r = describe(&s);
    assert_int_equal(r.pattern, FM_PATTERN_UNDETERMINED);
    assert_int_equal(r.n_intervals, 14);
    assert_within(r.mean_interval_s, 1.5, 1e-9);
    series_add(&s, 1500);
    assert_int_equal(describe(&s).pattern, FM_PATTERN_REGULAR);

    s = series_start(0.1);
    add_even(&s, 500, 38);
    fm_rhythm_describe(s.s1_s, NULL, s.n, NULL, 0, 0.0, 19.9, &r);
    assert_int_equal(r.pattern, FM_PATTERN_UNDETERMINED);
    fm_rhythm_describe(s.s1_s, NULL, s.n, NULL, 0, 0.0, 20.0, &r);
    assert_int_equal(r.pattern, FM_PATTERN_REGULAR);

    fm_rhythm_describe(NULL, NULL, 0, NULL, 0, 0.0, 60.0, &r);
    assert_int_equal(r.pattern, FM_PATTERN_UNDETERMINED);
    assert_int_equal(r.n_intervals, 0);
    assert_true(isnan(r.mean_interval_s) && isnan(r.sdnn_ms) && isnan(r.rmssd_ms));
    assert_true(isnan(r.pnn50) && isnan(r.cv) && isnan(r.sd1_ms) && isnan(r.sd2_ms));
}

/* Beats lost in a gap: the interval across it is no pause, and breaks the chain. */
static void no_interval_is_listed_across_a_gap(void **state)
{
    (void)state;
    series s = series_start(0.0);
    add_even(&s, 800, 30);
    series_add(&s, 4000);
    add_even(&s, 800, 35);
    const fm_span gaps[] = {{50.0, 0.0, FM_REASON_GAP},
                            {24.5, 3.0, FM_REASON_FRICTION}};
    fm_rhythm r;
    fm_rhythm_describe(s.s1_s, s.sureness, s.n, gaps, 2, 0.0, 60.0, &r);
    assert_int_equal(r.pattern, FM_PATTERN_REGULAR);
    assert_int_equal(r.n_findings, 0);
    assert_int_equal(r.n_intervals, 65);
    assert_within(r.intervals[30].start_s, 28.0, 1e-9);
    assert_within(r.sdnn_ms, 0.0, 1e-6);
    fm_rhythm_describe(s.s1_s, s.sureness, s.n, NULL, 0, 0.0, 60.0, &r);
    assert_int_equal(r.pattern, FM_PATTERN_OCCASIONALLY_IRREGULAR);
    assert_int_equal(r.n_intervals, 66);
}

/* The last beat before a gap and the first behind it may be badly placed: no early beat, no
 * pause. */
static void what_breaks_the_pattern_beside_a_gap_is_unsure(void **state)
{
    (void)state;
    series s = series_start(0.0);
    add_even(&s, 800, 29);
    series_add(&s, 500);
    series_add(&s, 3200);
    series_add(&s, 1300);
    add_even(&s, 800, 35);
    const fm_span gap = {24.0, 2.5, FM_REASON_GAP};
    fm_rhythm r;
    fm_rhythm_describe(s.s1_s, s.sureness, s.n, &gap, 1, 0.0, 60.0, &r);
    assert_int_equal(r.intervals[29].kind, FM_INTERVAL_UNSURE);
    assert_int_equal(r.intervals[30].kind, FM_INTERVAL_UNSURE);
    assert_int_equal(r.n_findings, 0);
    assert_int_equal(r.pattern, FM_PATTERN_REGULAR);
}

/* A beat added or missed: with low sureness it is doubt, with high sureness a finding. */
static void doubtful_beats_make_no_findings(void **state)
{
    (void)state;
    series s = series_start(0.0);
    add_even(&s, 800, 20);
    series_add(&s, 350);
    const size_t added = s.n - 1;
    series_add(&s, 450);
    add_even(&s, 800, 20);
    series_add(&s, 1600);
    const size_t after_missed = s.n - 1;
    add_even(&s, 800, 20);
    fm_rhythm r = describe(&s);
    assert_int_equal(r.pattern, FM_PATTERN_OCCASIONALLY_IRREGULAR);
    assert_int_equal(r.n_findings, 2);
    s.sureness[added] = 0.1F;
    s.sureness[after_missed] = 0.2F;
    r = describe(&s);
    assert_int_equal(r.pattern, FM_PATTERN_REGULAR);
    assert_int_equal(r.n_findings, 0);
    assert_int_equal(r.intervals[added - 1].kind, FM_INTERVAL_UNSURE);
    assert_int_equal(r.intervals[added].kind, FM_INTERVAL_UNSURE);
    assert_int_equal(r.intervals[after_missed - 1].kind, FM_INTERVAL_UNSURE);
    assert_int_equal(r.intervals[after_missed].kind, FM_INTERVAL_EXPECTED);
    assert_within(r.sdnn_ms, 0.0, 1e-6);
}

static void many_doubtful_intervals_leave_the_pattern_open(void **state)
{
    (void)state;
    series s = series_start(0.0);
    for (int k = 0; k < 14; k++) {
        add_even(&s, 800, 2 + (size_t)(k * k) % 3);
        series_add(&s, 350 + 10 * (k % 3));
        s.sureness[s.n - 1] = 0.1F;
        series_add(&s, 450 - 10 * (k % 3));
    }
    assert_int_equal(describe(&s).pattern, FM_PATTERN_UNDETERMINED);
}

static void bad_times_are_skipped(void **state)
{
    (void)state;
    series s = series_start(0.0);
    add_even(&s, 800, 60);
    const fm_rhythm clean = describe(&s);
    s.s1_s[10] = (double)NAN;
    s.s1_s[20] = (double)INFINITY;
    s.s1_s[30] = s.s1_s[29];
    s.s1_s[40] = s.s1_s[39] - 5.0;
    s.sureness[50] = NAN;
    const fm_rhythm r = describe(&s);
    assert_int_equal(clean.n_intervals, 60);
    assert_int_equal(r.n_intervals, 56);
    for (size_t i = 0; i < r.n_intervals; i++) {
        assert_true(r.intervals[i].length_s > 0.0);
    }
}

/* Anything at all: no crash (under the sanitizers too), and a result within its bounds. */
static void random_input_gives_a_result_within_bounds(void **state)
{
    (void)state;
    fm_random random = fm_random_init(7, 7);
    for (int trial = 0; trial < 500; trial++) {
        series s = {0};
        const size_t n = (size_t)fm_random_between(&random, 0.0, FM_BEATS_MAX + 0.99);
        const double most_s = fm_random_between(&random, 1e-6, 3.0);
        double t = 0.0;
        for (size_t i = 0; i < n; i++) {
            t += most_s * fm_random_uniform(&random);
            s.s1_s[i] = t;
            s.sureness[i] = (float)fm_random_uniform(&random);
        }
        const fm_span gap = {0.3 * t, 0.2 * t, FM_REASON_GAP};
        fm_rhythm r;
        fm_rhythm_describe(s.s1_s, trial % 2 == 0 ? NULL : s.sureness, n, &gap,
                           (size_t)(trial % 3 == 0), 0.0, t + 0.1, &r);
        assert_true(r.pattern < FM_PATTERN_COUNT);
        assert_true(r.n_intervals < (n > 0 ? n : 1));
        assert_true(r.n_findings <= FM_FINDINGS_MAX);
        assert_true(strlen(r.repeat) < FM_REPEAT_TEXT);
        for (size_t i = 0; i < r.n_intervals; i++) {
            assert_true(r.intervals[i].kind < FM_INTERVAL_KIND_COUNT);
        }
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(published_groups_are_named_by_their_repeat),
        cmocka_unit_test(groups_of_every_length_are_named),
        cmocka_unit_test(one_early_beat_is_occasionally_irregular),
        cmocka_unit_test(a_pause_is_named_by_the_beat_it_starts_from),
        cmocka_unit_test(a_lone_event_at_an_edge_is_none),
        cmocka_unit_test(six_early_beats_a_minute_are_no_longer_occasional),
        cmocka_unit_test(events_are_counted_to_the_minute_in_a_short_window),
        cmocka_unit_test(a_sudden_change_of_rate_is_named_and_timed),
        cmocka_unit_test(a_run_of_fast_beats_is_named_and_timed),
        cmocka_unit_test(a_couplet_is_two_early_beats),
        cmocka_unit_test(a_drift_is_regular_up_to_ten_percent),
        cmocka_unit_test(a_modulation_by_breathing_is_named_by_its_extremes),
        cmocka_unit_test(changing_conduction_is_irregularly_irregular),
        cmocka_unit_test(a_short_gap_is_late_and_no_pause),
        cmocka_unit_test(badly_timed_beats_are_not_called_irregular),
        cmocka_unit_test(too_short_a_window_is_undetermined),
        cmocka_unit_test(no_interval_is_listed_across_a_gap),
        cmocka_unit_test(what_breaks_the_pattern_beside_a_gap_is_unsure),
        cmocka_unit_test(doubtful_beats_make_no_findings),
        cmocka_unit_test(many_doubtful_intervals_leave_the_pattern_open),
        cmocka_unit_test(bad_times_are_skipped),
        cmocka_unit_test(random_input_gives_a_result_within_bounds),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
