/*
 * A learner's respirations beside a second count of the same seconds.
 *   Sources:   verdicts by the rules of the pulse's; Rusconi 1994 for watching and
 *              listening in infants (2.6 per minute awake, 1.8 asleep).
 *   Input:     breath starts by closed form: one every 60 / n s.
 *   Tolerance: none where whole breaths are counted.
 */
#include "tests/support.h"

#include "dsp/compare/compare.h"

#include <string.h>

static fm_breath breath;
static double known[200];
static const fm_known_events KNOWN_BREATHS = {.n = 30, .onsets_s = known};
static fm_compare_input in;
static fm_comparison out;

/* n breaths in the minute from start_s on, the first half a breath after it. */
static void set_breath(int n, double start_s)
{
    memset(&breath, 0, sizeof breath);
    breath.count.status = FM_COUNTED;
    breath.count.window = (fm_window){start_s, start_s + 60.0, true};
    breath.count.rate_per_min = (double)n;
    breath.count.rate_low_per_min = (double)n;
    breath.count.rate_high_per_min = (double)n;
    breath.count.n = (size_t)n;
    for (int i = 0; i < n; i++) {
        breath.count.onsets_s[i] = start_s + ((double)i + 0.5) * 60.0 / (double)n;
    }
}

static int fill(void **state)
{
    (void)state;
    set_breath(16, 0.0);
    in = (fm_compare_input){
        .kind = FM_EVENT_BREATH,
        .manual = {.entered = 16, .seconds = 60, .method = FM_BREATH_LISTENED},
        .count = &breath.count,
        .tolerance_per_min = 2.0};
    return 0;
}

static void compare(int entered, int seconds)
{
    in.manual.entered = entered;
    in.manual.seconds = seconds;
    assert_int_equal(fm_compare(&in, &out), FM_OK);
}

static void a_full_minute_is_compared(void **state)
{
    (void)state;
    const struct {
        int entered;
        fm_verdict verdict;
    } cases[] = {{16, FM_VERDICT_AGREES},
                 {14, FM_VERDICT_AGREES},
                 {18, FM_VERDICT_AGREES},
                 {13, FM_VERDICT_DIFFERS},
                 {19, FM_VERDICT_DIFFERS}};
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        compare(cases[i].entered, 60);
        assert_true(out.reference_known);
        assert_int_equal(out.counted, 16);
        assert_int_equal(out.verdict, cases[i].verdict);
        assert_within(out.difference_per_min, (double)(cases[i].entered - 16), 0.0);
        assert_int_equal(out.no_verdict, FM_NO_VERDICT_NONE);
    }
}

static void half_a_minute_is_compared_with_the_same_half(void **state)
{
    (void)state;
    set_breath(15,
               0.0); /* 8 begin in the first half: 2, 6, ... 30 s is the 8th's edge */
    breath.count.onsets_s[7] = 29.0;
    compare(8, 30);
    assert_int_equal(out.counted, 8);
    assert_within(out.manual_per_min, 16.0, 0.0);
    assert_within(out.per_min, 16.0, 0.0);
    assert_within(out.end_s, 30.0, 0.0);
    assert_int_equal(out.verdict, FM_VERDICT_AGREES);
    assert_true(out.minute_whole);
    assert_within(out.minute_per_min, 15.0, 0.0);
}

static void never_finer_than_the_reference(void **state)
{
    (void)state;
    breath.count.rate_low_per_min = 14.0;
    breath.count.rate_high_per_min = 18.0;
    compare(16, 60);
    assert_int_equal(out.verdict, FM_VERDICT_AGREES);
    compare(19, 60);
    assert_int_equal(out.verdict, FM_VERDICT_TOO_CLOSE);
    compare(21, 60);
    assert_int_equal(out.verdict, FM_VERDICT_DIFFERS);
    breath.count.status = FM_CAUTION;
    compare(21, 60);
    assert_true(out.doubtful);
    assert_int_equal(out.verdict, FM_VERDICT_TOO_CLOSE);
    assert_int_equal(out.slip, FM_SLIP_NONE);
}

static void refused_keeps_the_entry_and_says_no_more(void **state)
{
    (void)state;
    breath.count.status = FM_REFUSED;
    compare(16, 60);
    assert_int_equal(out.verdict, FM_VERDICT_NOT_COMPARABLE);
    assert_int_equal(out.no_verdict, FM_NO_VERDICT_REFUSED);
    assert_false(out.reference_known);
    assert_false(out.minute_known);
    assert_true(isnan(out.per_min) && isnan(out.difference_per_min));
    assert_int_equal(out.n_short, 0);
    assert_int_equal(out.manual.entered, 16);
}

static void both_phases_are_the_slip_of_near_double(void **state)
{
    (void)state;
    const struct {
        int entered;
        fm_slip slip;
    } cases[] = {{32, FM_SLIP_BOTH_PHASES},
                 {29, FM_SLIP_BOTH_PHASES},
                 {35, FM_SLIP_BOTH_PHASES},
                 {28, FM_SLIP_NONE},
                 {8, FM_SLIP_EVERY_OTHER_BREATH},
                 {16, FM_SLIP_NONE},
                 {18, FM_SLIP_NONE}};
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        compare(cases[i].entered, 60);
        assert_int_equal(out.slip, cases[i].slip);
    }
}

static void a_multiplied_short_count_is_named(void **state)
{
    (void)state;
    set_breath(13, 0.0); /* uneven: a pause from 25 s to 45 s */
    const double starts[] = {1.0,  4.5,  8.0,  11.5, 15.0, 18.5, 22.0,
                             45.0, 48.5, 52.0, 55.0, 57.0, 59.0};
    memcpy(breath.count.onsets_s, starts, sizeof starts);
    compare(20, 60); /* five in some quarter of the minute, four times */
    assert_int_equal(out.verdict, FM_VERDICT_DIFFERS);
    assert_int_equal(out.n_short, 2);
    assert_int_equal(out.short_counts[0].n_windows, 46);
    assert_within(out.short_counts[0].max_per_min, 24.0, 0.0); /* from 45 s */
    assert_within(out.short_counts[0].min_per_min, 0.0, 0.0);  /* in the pause */
    assert_int_equal(out.slip, FM_SLIP_SHORT_COUNT);
    compare(19, 60); /* no multiple of two or four */
    assert_int_equal(out.slip, FM_SLIP_NONE);
}

static void listening_explains_a_little_more_in_the_young(void **state)
{
    (void)state;
    set_breath(40, 0.0);
    in.young = true;
    compare(43, 60);
    assert_int_equal(out.verdict, FM_VERDICT_DIFFERS);
    assert_true(out.method_explains);
    assert_int_equal(out.slip, FM_SLIP_NONE);
    compare(44, 60);
    assert_false(out.method_explains);
    compare(37, 60); /* fewer by listening: not explained */
    assert_false(out.method_explains);
    in.manual.method = FM_BREATH_WATCHED;
    compare(37, 60);
    assert_true(out.method_explains);
    compare(43, 60);
    assert_false(out.method_explains);
    in.manual.method = FM_BREATH_NOT_SAID;
    compare(43, 60);
    assert_false(out.method_explains);
    in.manual.method = FM_BREATH_LISTENED;
    in.young = false;
    compare(43, 60);
    assert_false(out.method_explains);
}

static void known_breaths_come_before_the_device(void **state)
{
    (void)state;
    for (int i = 0; i < 30; i++) {
        known[i] = 1.0 + 3.0 * (double)i; /* 20 in the first minute */
    }
    in.known = &KNOWN_BREATHS;
    breath.count.status = FM_REFUSED;
    compare(20, 60);
    assert_true(out.against_truth);
    assert_int_equal(out.counted, 20);
    assert_int_equal(out.verdict, FM_VERDICT_AGREES);
    assert_within(out.low_per_min, 20.0, 0.0);
    assert_within(out.high_per_min, 20.0, 0.0);
    assert_true(out.minute_whole);
    compare(40, 60);
    assert_int_equal(out.slip, FM_SLIP_BOTH_PHASES);
    in.young = true; /* nobody watched these breaths, nobody listened */
    compare(23, 60);
    assert_false(out.method_explains);
}

static void a_breath_at_the_edge_may_count_or_not(void **state)
{
    (void)state;
    for (int i = 0; i < 30; i++) {
        known[i] = 59.9 - 3.0 * 19.0 + 3.0 * (double)i; /* the 20th at 59.9 s */
    }
    in.known = &KNOWN_BREATHS;
    compare(20, 60);
    assert_int_equal(out.counted, 20);
    assert_within(out.low_per_min, 19.0, 0.0);
    assert_within(out.high_per_min, 20.0, 0.0);
    breath.count.window = (fm_window){3.0, 63.0, true}; /* one began at 2.9 s */
    compare(20, 60);
    assert_int_equal(out.counted, 20);
    assert_within(out.low_per_min, 19.0, 0.0);
    assert_within(out.high_per_min, 21.0, 0.0);
}

static void a_short_recording_gives_no_verdict(void **state)
{
    (void)state;
    breath.count.window = (fm_window){0.0, 45.0, false};
    compare(16, 60);
    assert_int_equal(out.no_verdict, FM_NO_VERDICT_TOO_SHORT);
    compare(8, 30);
    assert_int_equal(out.no_verdict, FM_NO_VERDICT_NONE);
    assert_false(out.minute_whole);
    breath.count.rate_low_per_min = (double)NAN;
    compare(8, 30);
    assert_int_equal(out.no_verdict, FM_NO_VERDICT_NO_RATE);
}

static void missing_sound_widens_a_minute_and_ends_half_of_one(void **state)
{
    (void)state;
    breath.count.quality.n_gaps = 1;
    breath.count.quality.gaps[0] = (fm_span){10.0, 5.0, FM_REASON_GAP};
    breath.count.window.full_minute = false;
    breath.count.rate_per_min = 17.0;
    breath.count.rate_low_per_min = 16.5;
    breath.count.rate_high_per_min = 17.5;
    compare(8, 30);
    assert_int_equal(out.no_verdict, FM_NO_VERDICT_GAP);
    compare(16, 60);
    assert_int_equal(out.no_verdict, FM_NO_VERDICT_NONE);
    assert_within(out.low_per_min, 16.0, 0.0);
    assert_within(out.high_per_min, 17.5, 0.0);
    breath.count.quality.gaps[0].length_s = 0.5; /* hides no breath */
    compare(8, 30);
    assert_int_equal(out.no_verdict, FM_NO_VERDICT_NONE);
}

static void taps_are_counted_over_the_window(void **state)
{
    (void)state;
    double taps[20];
    for (int i = 0; i < 20; i++) {
        taps[i] = -5.0 + 4.0 * (double)i; /* -5 to 71 s: 15 in the minute */
    }
    in.tapped = true;
    in.taps_s = taps;
    in.n_taps = 20;
    compare(16, 60);
    assert_int_equal(out.taps, 15);
    compare(8, 30);
    assert_int_equal(out.taps, 7);
    taps[6] = taps[5]; /* two at once are two: no rate is made of gaps */
    compare(16, 60);
    assert_int_equal(out.taps, 15);
}

static void bad_arguments_are_refused(void **state)
{
    (void)state;
    const struct {
        int entered;
        int seconds;
        int method;
        double tolerance;
    } bad[] = {{-1, 60, 0, 2.0},   {151, 60, 0, 2.0},       {76, 30, 0, 2.0},
               {16, 15, 0, 2.0},   {16, 60, 3, 2.0},        {16, 60, 0, 0.0},
               {16, 60, 0, 151.0}, {16, 60, 0, (double)NAN}};
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
        in.manual = (fm_manual){.entered = bad[i].entered,
                                .seconds = bad[i].seconds,
                                .method = (fm_breath_method)bad[i].method};
        in.tolerance_per_min = bad[i].tolerance;
        out.counted = -7;
        assert_int_equal(fm_compare(&in, &out), FM_ERR_ARG);
        assert_int_equal(out.counted, -7);
    }
}

static void no_breath_at_all_can_be_entered(void **state)
{
    (void)state;
    set_breath(6, 0.0);
    compare(0, 60);
    assert_int_equal(out.verdict, FM_VERDICT_DIFFERS);
    assert_int_equal(out.slip, FM_SLIP_NONE);
}

static void every_word_is_there(void **state)
{
    (void)state;
    assert_string_equal(fm_breath_method_word(FM_BREATH_WATCHED), "watched");
    assert_string_equal(fm_breath_method_word(FM_BREATH_METHOD_COUNT), "unknown");
    assert_string_equal(fm_slip_word(FM_SLIP_BOTH_PHASES),
                        "inspiration and expiration counted as two");
    assert_string_equal(fm_slip_word(FM_SLIP_COUNT), "unknown");
}

#define EACH(test) cmocka_unit_test_setup(test, fill)

int main(void)
{
    const struct CMUnitTest tests[] = {
        EACH(a_full_minute_is_compared),
        EACH(half_a_minute_is_compared_with_the_same_half),
        EACH(never_finer_than_the_reference),
        EACH(refused_keeps_the_entry_and_says_no_more),
        EACH(both_phases_are_the_slip_of_near_double),
        EACH(a_multiplied_short_count_is_named),
        EACH(listening_explains_a_little_more_in_the_young),
        EACH(known_breaths_come_before_the_device),
        EACH(a_breath_at_the_edge_may_count_or_not),
        EACH(a_short_recording_gives_no_verdict),
        EACH(missing_sound_widens_a_minute_and_ends_half_of_one),
        EACH(taps_are_counted_over_the_window),
        EACH(bad_arguments_are_refused),
        EACH(no_breath_at_all_can_be_entered),
        EACH(every_word_is_there),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
