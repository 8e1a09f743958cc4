/* The evaluation's own arithmetic: matching beats, scores. Its statistics are
 * dsp/compare/agreement, tested in tests/dsp/test_agreement.c. */
#include "ecg_breath.h"
#include "match.h"
#include "score.h"
#include "tests/support.h"

#include "dsp/signal/random.h"

static void match_gives_each_found_beat_one_truth(void **state)
{
    (void)state;
    const double truth[] = {1.0, 2.0, 3.0, 4.0};
    const double found[] = {1.04, 1.05, 2.5, 3.05, 4.2};
    assert_int_equal(match_times(truth, 4, found, 5, 0.0, 0.060), 2);
    assert_int_equal(match_times(truth, 4, found, 5, 0.0, 0.150), 2);
    assert_int_equal(match_times(truth, 4, found, 5, 0.1, 0.150), 3);
    assert_int_equal(match_times(truth, 0, found, 5, 0.0, 0.060), 0);
}

static void match_takes_a_shifted_train_only_with_its_lag(void **state)
{
    (void)state;
    double truth[50];
    double found[50];
    for (int i = 0; i < 50; i++) {
        truth[i] = 0.8 * (double)i;
        found[i] = truth[i] + 0.080;
    }
    assert_int_equal(match_times(truth, 50, found, 50, 0.0, 0.060), 0);
    assert_int_equal(match_times(truth, 50, found, 50, 0.080, 0.060), 50);
    assert_within(median_lag(truth, 50, found, 50), 0.080, 1e-12);
}

static void rate_of_counts_intervals_not_beats(void **state)
{
    (void)state;
    const double beats[] = {0.5, 1.5, 2.5, 3.5};
    assert_within(rate_of(beats, 4), 60.0, 1e-12);
    assert_true(isnan(rate_of(beats, 1)));
}

static void an_inaudible_beat_is_neither_missed_nor_extra(void **state)
{
    (void)state;
    const bool inaudible[] = {false, true, false, true};
    double truth[] = {1.0, 2.0, 3.0, 4.0};
    double found[] = {1.0, 2.05, 3.0, 3.6};
    size_t n_truth = 4;
    size_t n_found = 4;
    leave_out_inaudible(truth, &n_truth, inaudible, found, &n_found);
    assert_int_equal(n_truth, 2);
    assert_within(truth[1], 3.0, 0.0);
    assert_int_equal(n_found, 3); /* 2.05 stood for the silent one; 3.6 is an extra */
    assert_within(found[2], 3.6, 0.0);
}

/* A refused minute misses all its beats in what is delivered, and none in what is decoded. */
static void a_refusal_counts_as_missed_only_where_delivered(void **state)
{
    (void)state;
    tally t = {0};
    scored s = {.status = FM_REFUSED, .n_truth = 10, .n_found = 10, .error = 0.0};
    s.hits[LAG_SET][0] = 10;
    assert_true(tally_add(&t, &s));
    s.status = FM_COUNTED;
    s.error = 5.0;
    assert_true(tally_add(&t, &s));
    assert_int_equal(t.hits[LAG_SET][0], 20);
    assert_int_equal(t.hits_delivered[LAG_SET][0], 10);
    assert_int_equal(t.found_delivered, 10);
    assert_int_equal(t.within[2], 1);
    assert_int_equal(t.delivered3, 0);
    assert_int_equal(t.counted_wrong, 1);
    s.error = (double)INFINITY; /* no rate at all is wrong too */
    assert_true(tally_add(&t, &s));
    assert_int_equal(t.counted_wrong, 2);
    tally_free(&t);
}

/* Beats whose intervals are modulated at a rate, and by chance; peaks of the ECG would be such. */
static size_t beats_modulated(double modulation_hz,
                              double modulation_s,
                              double chance_s,
                              double *r_s)
{
    fm_random random = fm_random_init(21, 22);
    size_t n = 0;
    for (double t = 0.4; t < 40.0; n++) {
        r_s[n] = t;
        t += 0.85 +
             modulation_s * sin(2.0 * 3.14159265358979323846 * modulation_hz * t) +
             chance_s * fm_random_normal(&random);
    }
    return n;
}

/* 15 a minute within the step looked at; nothing of chance, and nothing of waves at 0.1 Hz,
 * which lie under breathing's band (Circulation 93 (1996) 1043). */
static void the_ecg_tells_breathing_from_chance_and_slow_waves(void **state)
{
    (void)state;
    double r_s[64];
    size_t n = beats_modulated(0.25, 0.04, 0.012, r_s);
    assert_within(ecg_breath_rate(r_s, n), 15.0, 0.3);
    n = beats_modulated(0.25, 0.0, 0.02, r_s);
    assert_true(isnan(ecg_breath_rate(r_s, n)));
    n = beats_modulated(0.1, 0.04, 0.012, r_s);
    assert_true(isnan(ecg_breath_rate(r_s, n)));
    n = beats_modulated(0.25, 0.25, 0.0, r_s); /* too uneven to tell */
    assert_true(isnan(ecg_breath_rate(r_s, n)));
    assert_true(isnan(ecg_breath_rate(r_s, 5)));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(match_gives_each_found_beat_one_truth),
        cmocka_unit_test(match_takes_a_shifted_train_only_with_its_lag),
        cmocka_unit_test(rate_of_counts_intervals_not_beats),
        cmocka_unit_test(an_inaudible_beat_is_neither_missed_nor_extra),
        cmocka_unit_test(the_ecg_tells_breathing_from_chance_and_slow_waves),
        cmocka_unit_test(a_refusal_counts_as_missed_only_where_delivered),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
