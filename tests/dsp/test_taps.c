#include "tests/support.h"

#include "dsp/compare/taps.h"

#include <stdlib.h>

#define MAX_N 400

static fm_taps_work work;
static fm_taps taps;
static const fm_window MINUTE = {.start_s = 0.0, .end_s = 60.0, .full_minute = true};

/* A small generator of our own, so that a seed means the same everywhere. */
static uint64_t seed_state;

static double uniform(void)
{
    seed_state = seed_state * 6364136223846793005ULL + 1442695040888963407ULL;
    return (double)(seed_state >> 11) / 9007199254740992.0;
}

static double normal(void)
{
    double sum = 0.0;
    for (int i = 0; i < 12; i++) {
        sum += uniform();
    }
    return sum - 6.0;
}

/** A simulated minute: beats, the taps on them, and what was done to the taps. */
typedef struct minute {
    size_t n_beats;
    double beat_s[MAX_N];
    size_t n_taps;
    double tap_s[MAX_N];
} minute;

static void add_tap(minute *m, double time_s)
{
    size_t k = m->n_taps++;
    for (; k > 0 && m->tap_s[k - 1] > time_s; k--) {
        m->tap_s[k] = m->tap_s[k - 1];
    }
    m->tap_s[k] = time_s;
}

static void steady_beats(minute *m, double rate_per_min, double jitter_s)
{
    m->n_beats = 0;
    m->n_taps = 0;
    double t = 0.37;
    while (t < 60.0 && m->n_beats < MAX_N) {
        m->beat_s[m->n_beats++] = t + jitter_s * normal();
        t += 60.0 / rate_per_min;
    }
}

static bool is_in(size_t k, const size_t *list, size_t n)
{
    for (size_t i = 0; i < n; i++) {
        if (list[i] == k) {
            return true;
        }
    }
    return false;
}

static void tap_all_but(
    minute *m, double lag_s, double sd_s, const size_t *missed, size_t n_missed)
{
    for (size_t i = 0; i < m->n_beats; i++) {
        const double lag = lag_s + sd_s * normal();
        if (!is_in(i, missed, n_missed)) {
            add_tap(m, m->beat_s[i] + lag);
        }
    }
}

static fm_status align_in(const double *beats_s,
                          size_t n_beats,
                          const double *taps_s,
                          size_t n_taps,
                          double delay_s)
{
    const fm_taps_input in = {beats_s, n_beats, taps_s, n_taps, delay_s, MINUTE};
    return fm_taps_align(&in, &work, &taps);
}

static void align(const minute *m)
{
    assert_int_equal(align_in(m->beat_s, m->n_beats, m->tap_s, m->n_taps, 0.0), FM_OK);
}

/*
 * Against simulated taps whose lags, misses and extras are known.
 *   Source:    lag -50..+250 ms and spread 20-40 ms: Aschersleben and Prinz 1995, doi
 *              10.3758/BF03213056 (abstract: 30-50 ms early); Repp 2005 and reactions
 *              150-250 ms late from memory.
 *   It says:   nothing of misses; the beats left out here must be the ones named.
 *   Input:     48-110 per minute, beat jitter 10 ms, seeds below.
 *   Tolerance: none on which beats; lag within 4 standard errors of a median.
 */
static void misses_and_extras_are_exactly_recovered(void **state)
{
    (void)state;
    static const double rates[] = {48.0, 60.0, 72.0, 84.0, 104.0, 110.0};
    static const double lags_s[] = {-0.05, 0.0, 0.05, 0.12, 0.18, 0.25};
    static const double sds_s[] = {0.02, 0.03, 0.04};
    static const size_t missed[] = {12, 30, 31, 40};
    minute m;
    for (uint64_t run = 0; run < 108; run++) {
        seed_state = 1000 + run;
        const double sd_s = sds_s[run / 36];
        const double lag_s = lags_s[run / 6 % 6];
        steady_beats(&m, rates[run % 6], 0.01);
        tap_all_but(&m, lag_s, sd_s, missed, 4);
        const double extra_s = 0.5 * (m.beat_s[20] + m.beat_s[21]) + lag_s;
        add_tap(&m, extra_s);
        align(&m);
        assert_int_equal(taps.n_not_tapped, 4);
        for (size_t i = 0; i < 4; i++) {
            assert_within(taps.not_tapped_s[i], m.beat_s[missed[i]], 1e-12);
        }
        assert_int_equal(taps.n_extra, 1);
        assert_within(taps.extra_s[0], extra_s, 1e-12);
        assert_int_equal(taps.n_matched, m.n_beats - 4);
        assert_true(taps.lag_known);
        const double error_s = 4.0 * 1.2533 * sd_s / sqrt((double)taps.n_matched);
        assert_within(taps.lag_s, lag_s, error_s);
        assert_within(taps.lag_sd_s, sd_s, 0.4 * sd_s);
        assert_false(taps.lost);
    }
}

/*
 * Against a published value.
 *   Source:    Aschersleben and Prinz 1995, doi 10.3758/BF03213056 (abstract).
 *   It says:   taps lead an even click by 30 to 50 ms.
 *   Input:     75 per minute, spread 30 ms, 100 seeds a lead.
 *   Tolerance: the lead is negative and within 4 standard errors; nothing is missed.
 */
static void taps_that_lead_are_not_taken_for_misses(void **state)
{
    (void)state;
    minute m;
    for (uint64_t run = 0; run < 300; run++) {
        seed_state = 200 + run;
        const double lead_s = 0.03 + 0.01 * (double)(run % 3);
        steady_beats(&m, 75.0, 0.0);
        tap_all_but(&m, -lead_s, 0.03, NULL, 0);
        align(&m);
        assert_int_equal(taps.n_not_tapped, 0);
        assert_int_equal(taps.n_extra, 0);
        assert_within(taps.lag_s, -lead_s, 4.0 * 1.2533 * 0.03 / sqrt(75.0));
    }
}

/* Fast rates: two lags a beat apart fit alike, so lags up to half a beat are tried. */
static void fast_rates_are_recovered_for_usual_lags(void **state)
{
    (void)state;
    static const size_t missed[] = {17, 90};
    minute m;
    for (uint64_t run = 0; run < 20; run++) {
        seed_state = 77 + run;
        steady_beats(&m, run % 2 == 0 ? 132.0 : 160.0, 0.005);
        tap_all_but(&m, run % 4 < 2 ? -0.04 : 0.1, 0.02, missed, 2);
        align(&m);
        assert_int_equal(taps.n_not_tapped, 2);
        assert_within(taps.not_tapped_s[0], m.beat_s[17], 1e-12);
        assert_within(taps.not_tapped_s[1], m.beat_s[90], 1e-12);
        assert_int_equal(taps.n_extra, 0);
    }
}

/*
 * Irregular beats: fibrillation-like intervals (uniform 0.4-1.2 s); the taps are
 * reactions, +200 ms with 40 ms spread (from memory).
 */
static void irregular_beats_with_reaction_taps_are_recovered(void **state)
{
    (void)state;
    static const size_t missed[] = {10, 11, 50};
    minute m;
    for (uint64_t run = 0; run < 50; run++) {
        seed_state = 500 + run;
        m.n_beats = 0;
        m.n_taps = 0;
        double t = 0.2;
        while (t < 59.9) {
            m.beat_s[m.n_beats++] = t;
            t += 0.4 + 0.8 * uniform();
        }
        tap_all_but(&m, 0.2, 0.04, missed, 3);
        align(&m);
        assert_int_equal(taps.n_not_tapped, 3);
        for (size_t i = 0; i < 3; i++) {
            assert_within(taps.not_tapped_s[i], m.beat_s[missed[i]], 1e-12);
        }
        assert_int_equal(taps.n_extra, 0);
        assert_false(taps.lost);
    }
}

/* From 30 s on the taps keep a tempo of their own, 9 per minute slower. */
static void a_tempo_of_its_own_is_a_lost_thread(void **state)
{
    (void)state;
    minute m;
    int found = 0;
    for (uint64_t run = 0; run < 40; run++) {
        seed_state = 9000 + run;
        steady_beats(&m, 60.0 + (double)(run % 8) * 5.0, 0.01);
        const double own_s = 60.0 / (60.0 + (double)(run % 8) * 5.0 - 9.0);
        for (size_t i = 0; i < m.n_beats && m.beat_s[i] < 30.0; i++) {
            add_tap(&m, m.beat_s[i] + 0.03 + 0.025 * normal());
        }
        double t = m.tap_s[m.n_taps - 1] + own_s;
        while (t < 60.0) {
            add_tap(&m, t + 0.025 * normal());
            t += own_s;
        }
        align(&m);
        found += taps.lost && taps.lost_from_s > 29.0 && taps.lost_from_s < 34.0;
        assert_within(taps.lag_s, 0.03, 0.05);
    }
    assert_int_equal(found, 40);
}

static void stopping_is_a_lost_thread_from_the_first_beat_not_tapped(void **state)
{
    (void)state;
    minute m;
    seed_state = 4;
    steady_beats(&m, 72.0, 0.01);
    for (size_t i = 0; i < 40; i++) {
        add_tap(&m, m.beat_s[i] - 0.04 + 0.02 * normal());
    }
    align(&m);
    assert_true(taps.lost);
    assert_within(taps.lost_from_s, m.beat_s[40], 1e-12);
    assert_within(taps.lost_until_s, m.beat_s[m.n_beats - 1], 1e-12);
    assert_int_equal(taps.n_not_tapped, m.n_beats - 40);
    assert_within(taps.lag_s, -0.04, 0.02);
}

static void steady_tapping_is_never_called_lost(void **state)
{
    (void)state;
    minute m;
    for (uint64_t run = 0; run < 200; run++) {
        seed_state = 31 + run;
        steady_beats(&m, 45.0 + (double)(run % 10) * 12.0, 0.02);
        size_t missed[3];
        for (size_t i = 0; i < 3; i++) {
            missed[i] = (size_t)(uniform() * (double)m.n_beats);
        }
        tap_all_but(&m, 0.02, 0.035, missed, 3);
        align(&m);
        assert_false(taps.lost);
    }
}

static void every_other_beat_tapped_is_not_a_lost_thread(void **state)
{
    (void)state;
    minute m;
    seed_state = 8;
    steady_beats(&m, 80.0, 0.01);
    for (size_t i = 0; i < m.n_beats; i += 2) {
        add_tap(&m, m.beat_s[i] + 0.02 * normal());
    }
    align(&m);
    assert_int_equal(taps.n_matched, (m.n_beats + 1) / 2);
    assert_int_equal(taps.n_extra, 0);
    assert_false(taps.lost);
}

static void both_sounds_tapped_leaves_one_extra_a_beat(void **state)
{
    (void)state;
    minute m;
    seed_state = 8;
    steady_beats(&m, 66.0, 0.0);
    for (size_t i = 0; i < m.n_beats; i++) {
        add_tap(&m, m.beat_s[i] + 0.015 * normal());
        add_tap(&m, m.beat_s[i] + 0.32 + 0.015 * normal());
    }
    align(&m);
    assert_int_equal(taps.n_matched, m.n_beats);
    assert_int_equal(taps.n_not_tapped, 0);
    assert_true(taps.n_extra >= m.n_beats - 1);
}

/* A known delay of playback is taken off first; the times shown stay as recorded. */
static void a_known_delay_is_taken_off(void **state)
{
    (void)state;
    minute m;
    seed_state = 3;
    steady_beats(&m, 72.0, 0.0);
    tap_all_but(&m, 0.4, 0.02, NULL, 0);
    assert_int_equal(align_in(m.beat_s, m.n_beats, m.tap_s, m.n_taps, 0.35), FM_OK);
    assert_int_equal(taps.n_matched, m.n_beats);
    assert_within(taps.lag_s, 0.05, 0.02);
    assert_within(taps.matched[5].tap_s, m.tap_s[5], 1e-12);
}

static void nothing_tapped_and_nothing_beating_are_not_errors(void **state)
{
    (void)state;
    minute m;
    steady_beats(&m, 72.0, 0.0);
    align(&m);
    assert_int_equal(taps.n_not_tapped, m.n_beats);
    assert_false(taps.lag_known);
    assert_true(isnan(taps.lag_s));
    assert_false(taps.lost);
    assert_int_equal(align_in(NULL, 0, m.beat_s, m.n_beats, 0.0), FM_OK);
    assert_int_equal(taps.n_matched, 0);
    assert_int_equal(taps.n_extra, m.n_beats);
}

/* Taps before and after the window are not extras, beats outside are not missed. */
static void what_is_outside_the_window_is_left_out(void **state)
{
    (void)state;
    minute m;
    seed_state = 5;
    steady_beats(&m, 72.0, 0.0);
    tap_all_but(&m, 0.05, 0.02, NULL, 0);
    const fm_taps_input middle = {
        m.beat_s, m.n_beats, m.tap_s, m.n_taps, 0.0, {.start_s = 20.0, .end_s = 35.0}};
    assert_int_equal(fm_taps_align(&middle, &work, &taps), FM_OK);
    assert_int_equal(taps.n_matched, 18);
    assert_int_equal(taps.n_not_tapped, 0);
    assert_int_equal(taps.n_extra, 0);
}

static void bad_times_are_refused(void **state)
{
    (void)state;
    const double down[] = {2.0, 1.0};
    const double nan_s[] = {1.0, (double)NAN};
    const double fine[] = {1.0, 2.0};
    static double many[FM_TAPS_MAX + 1];
    assert_int_equal(align_in(down, 2, fine, 2, 0.0), FM_ERR_ARG);
    assert_int_equal(align_in(fine, 2, nan_s, 2, 0.0), FM_ERR_ARG);
    assert_int_equal(align_in(fine, 2, fine, 2, 1.5), FM_ERR_ARG);
    for (size_t i = 0; i <= FM_TAPS_MAX; i++) {
        many[i] = (double)i * 0.1;
    }
    assert_int_equal(align_in(fine, 2, many, FM_TAPS_MAX, 0.0), FM_OK);
    assert_int_equal(align_in(fine, 2, many, FM_TAPS_MAX + 1, 0.0), FM_ERR_ARG);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(misses_and_extras_are_exactly_recovered),
        cmocka_unit_test(taps_that_lead_are_not_taken_for_misses),
        cmocka_unit_test(fast_rates_are_recovered_for_usual_lags),
        cmocka_unit_test(irregular_beats_with_reaction_taps_are_recovered),
        cmocka_unit_test(a_tempo_of_its_own_is_a_lost_thread),
        cmocka_unit_test(stopping_is_a_lost_thread_from_the_first_beat_not_tapped),
        cmocka_unit_test(steady_tapping_is_never_called_lost),
        cmocka_unit_test(every_other_beat_tapped_is_not_a_lost_thread),
        cmocka_unit_test(both_sounds_tapped_leaves_one_extra_a_beat),
        cmocka_unit_test(a_known_delay_is_taken_off),
        cmocka_unit_test(nothing_tapped_and_nothing_beating_are_not_errors),
        cmocka_unit_test(what_is_outside_the_window_is_left_out),
        cmocka_unit_test(bad_times_are_refused),
    };
    return cmocka_run_group_tests_name("dsp.taps", tests, NULL, NULL);
}
