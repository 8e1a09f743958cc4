#include "tests/support.h"

#include "dsp/compare/compare.h"

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

static double mean_bias(int seconds, fm_convention convention, double *worst)
{
    static double s1_s[FM_BEATS_MAX];
    enum {
        RUNS = 40000
    };
    double sum = 0.0;
    *worst = 0.0;
    for (int run = 0; run < RUNS; run++) {
        const double rate = 50.0 + 100.0 * uniform();
        const double interval_s = 60.0 / rate;
        const double start_s =
            convention == FM_CONVENTION_CLOCK ? interval_s * uniform() : 0.0;
        size_t n = 0;
        double t = 0.0;
        while (t < start_s + (double)seconds + 3.0) {
            s1_s[n++] = t;
            t += interval_s;
        }
        const int beats =
            fm_compare_beats_in(s1_s, n, start_s, (double)seconds, convention);
        const double error = (double)beats * 60.0 / (double)seconds - rate;
        sum += error;
        *worst = fmax(*worst, fabs(error));
    }
    return sum / (double)RUNS;
}

/*
 * Against a closed form that a published experiment agrees with.
 *   Source:    Hwu, Coates and Lin, J Clin Nurs 2000;9:146 (abstract): counting from
 *              'zero' gave the larger mean difference, from 'one' none that mattered.
 *   It says:   closed form for a clock started on a beat: 'zero' is off by -30/T on
 *              average, 'one' by +30/T, a random start by 0, never more than 60/T.
 *   Input:     50-150 per minute, even, 40000 starts, seed 1.
 *   Tolerance: 0.06 per minute: 4 standard errors at T = 15 (SD at most 2/sqrt(40000)),
 *              doubled for the unequal spread of fractions over the rates.
 */
static void first_beat_conventions_have_their_known_bias(void **state)
{
    (void)state;
    static const int lengths[] = {10, 15, 30, 60};
    seed_state = 1;
    for (size_t i = 0; i < 4; i++) {
        const double t = (double)lengths[i];
        double worst = 0.0;
        assert_within(mean_bias(lengths[i], FM_CONVENTION_ZERO, &worst), -30.0 / t,
                      0.06);
        assert_true(worst <= 60.0 / t + 1e-9);
        assert_within(mean_bias(lengths[i], FM_CONVENTION_ONE, &worst), 30.0 / t, 0.06);
        assert_true(worst <= 60.0 / t + 1e-9);
        assert_within(mean_bias(lengths[i], FM_CONVENTION_CLOCK, &worst), 0.0, 0.06);
        assert_true(worst <= 60.0 / t + 1e-9);
        assert_true(worst > 0.9 * 60.0 / t); /* the resolution: 6, 4, 2, 1 per minute */
    }
}

/*
 * Against a published value, in its order of size only.
 *   Source:    Kobayashi, Ergonomics 2013;56:1940 (abstract): beats of 70 men, 15 s
 *              counts against the 60 s rate.
 *   It says:   mean absolute error 1.80-1.89 per minute.
 *   Input:     70 simulated men, 55-80 per minute, intervals varying with breathing
 *              (0.25 Hz) and slowly (0.1 Hz), SDNN about 50 ms; seed 2.
 *   Tolerance: 1.3 (an even rhythm's own value, 4/3) to 2.4: their beats are not ours.
 */
static void fifteen_second_counts_err_as_much_as_published(void **state)
{
    (void)state;
    static double s1_s[FM_BEATS_MAX];
    double sum = 0.0;
    size_t n_counts = 0;
    seed_state = 2;
    for (int man = 0; man < 70; man++) {
        const double mean_s = 60.0 / (55.0 + 25.0 * uniform());
        const double phase = 6.28 * uniform();
        double t = uniform();
        size_t n = 0;
        while (t < 60.0) {
            s1_s[n++] = t;
            t += mean_s + 0.045 * sin(1.571 * t + phase) +
                 0.05 * sin(0.628 * t + 2.0 * phase) + 0.015 * normal();
        }
        const double minute = (double)n;
        for (int k = 0; k < 46; k++) {
            const int beats =
                fm_compare_beats_in(s1_s, n, (double)k, 15.0, FM_CONVENTION_CLOCK);
            sum += fabs((double)beats * 4.0 - minute);
            n_counts++;
        }
    }
    const double mean_error = sum / (double)n_counts;
    assert_true(mean_error > 1.3);
    assert_true(mean_error < 2.4);
}

/* Spread of counts of T s, multiplied up, about the count of their own minute. */
static double fibrillation_spread(int seconds)
{
    static double s1_s[FM_BEATS_MAX];
    double squares = 0.0;
    size_t n_counts = 0;
    for (int minute = 0; minute < 400; minute++) {
        const double mean_s = 60.0 / (65.0 + 40.0 * uniform());
        double t = mean_s * uniform();
        size_t n = 0;
        while (t < 60.0) {
            s1_s[n++] = t;
            t += fmax(mean_s * (1.0 + 0.22 * normal()), 0.3);
        }
        for (int k = 0; k + seconds <= 60; k += seconds) {
            const int beats = fm_compare_beats_in(s1_s, n, (double)k, (double)seconds,
                                                  FM_CONVENTION_CLOCK);
            const double off = (double)beats * 60.0 / (double)seconds - (double)n;
            squares += off * off;
            n_counts++;
        }
    }
    return sqrt(squares / (double)n_counts);
}

/*
 * Against published limits of agreement, in their order of size only.
 *   Source:    Shuai et al., Int J Cardiol 2016;215:175 (abstract): fibrillation, short
 *              counts against the 60 s count of the electrocardiogram.
 *   It says:   10 s x 6: -11.0..16.0, a standard deviation of 27/3.92 = 6.9 per minute;
 *              30 s x 2: -4.5..5.2, 2.5 per minute.
 *   Input:     400 simulated minutes, 65-105 per minute, independent intervals with a
 *              coefficient of variation of 0.22, seed 3.
 *   Tolerance: half to one and a half times: their patients' intervals are not ours.
 */
static void fibrillation_spreads_short_counts_as_published(void **state)
{
    (void)state;
    seed_state = 3;
    const double ten_s = fibrillation_spread(10);
    const double thirty_s = fibrillation_spread(30);
    assert_within(ten_s, 6.9, 0.5 * 6.9);
    assert_within(thirty_s, 2.5, 0.5 * 2.5);
    assert_true(ten_s > 2.0 * thirty_s);
}

/*
 * Against hand-countable series.
 *   Source:    bigeminy 500/1000 ms is 80 per minute; the 4:3 group 1080/1040/1920 ms
 *              (a published trace) is 44.55 per minute: closed forms.
 *   It says:   15 s is ten whole pairs of the bigeminy: every window says 80 exactly.
 *              In the 4:3 group the windows disagree; counted again here in whole ms.
 */
static void short_counts_of_grouped_rhythms_match_a_count_by_hand(void **state)
{
    (void)state;
    static double s1_s[FM_BEATS_MAX];
    static long s1_ms[FM_BEATS_MAX];
    static const long pair_ms[] = {500, 1000};
    static const long group_ms[] = {1080, 1040, 1920};
    size_t n = 0;
    for (long t = 100; t < 60000; t += pair_ms[(n - 1) % 2]) {
        s1_s[n++] = (double)t / 1000.0;
    }
    for (int seconds = 15; seconds <= 30; seconds += 15) {
        const fm_short_count w =
            fm_compare_short_counts(s1_s, n, 0.0, 60.0, seconds, NULL);
        assert_int_equal(w.n_windows, 61 - seconds);
        assert_within(w.min_per_min, 80.0, 1e-12);
        assert_within(w.max_per_min, 80.0, 1e-12);
        assert_within(w.mean_per_min, 80.0, 1e-12);
    }
    n = 0;
    for (long t = 100; t < 60000; t += group_ms[(n - 1) % 3]) {
        s1_ms[n] = t;
        s1_s[n++] = (double)t / 1000.0;
    }
    long low = 1000;
    long high = 0;
    long sum = 0;
    for (long from = 0; from <= 45000; from += 1000) {
        long beats = 0;
        for (size_t i = 0; i < n; i++) {
            beats += s1_ms[i] >= from && s1_ms[i] < from + 15000;
        }
        low = beats < low ? beats : low;
        high = beats > high ? beats : high;
        sum += beats;
    }
    const fm_short_count w = fm_compare_short_counts(s1_s, n, 0.0, 60.0, 15, NULL);
    assert_true(low < high);
    assert_within(w.min_per_min, 4.0 * (double)low, 1e-12);
    assert_within(w.max_per_min, 4.0 * (double)high, 1e-12);
    assert_within(w.mean_per_min, 4.0 * (double)sum / 46.0, 1e-9);
    assert_int_equal(fm_compare_short_counts(s1_s, n, 0.0, 14.9, 15, NULL).n_windows,
                     0);
}

static void short_counts_leave_gaps_out(void **state)
{
    (void)state;
    static fm_quality quality;
    static double s1_s[60];
    for (size_t i = 0; i < 60; i++) {
        s1_s[i] = 0.2 + (double)i;
    }
    quality.n_gaps = 1;
    quality.gaps[0] = (fm_span){30.0, 2.0, FM_REASON_GAP};
    const fm_short_count w = fm_compare_short_counts(s1_s, 60, 0.0, 60.0, 15, &quality);
    assert_int_equal(w.n_windows, 16 + 14); /* starts 0..15 and 32..45 */
    quality.gaps[0].length_s = 0.5;         /* shorter than a beat: no gap */
    assert_int_equal(
        fm_compare_short_counts(s1_s, 60, 0.0, 60.0, 15, &quality).n_windows, 46);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(first_beat_conventions_have_their_known_bias),
        cmocka_unit_test(fifteen_second_counts_err_as_much_as_published),
        cmocka_unit_test(fibrillation_spreads_short_counts_as_published),
        cmocka_unit_test(short_counts_of_grouped_rhythms_match_a_count_by_hand),
        cmocka_unit_test(short_counts_leave_gaps_out),
    };
    return cmocka_run_group_tests_name("dsp.compare_short", tests, NULL, NULL);
}
