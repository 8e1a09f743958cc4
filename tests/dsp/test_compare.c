#include "tests/support.h"

#include "dsp/compare/compare.h"

#include <math.h>
#include <string.h>

static fm_count count;
static fm_comparison result;

/* A device's count of [0, length_s) with beats every interval_s from first_s. */
static void make_count(double first_s, double interval_s, double length_s, double doubt)
{
    memset(&count, 0, sizeof count);
    count.heart.count.window = (fm_window){0.0, length_s, length_s >= 60.0};
    fm_heart *h = &count.heart;
    h->count.status = FM_COUNTED;
    double t = first_s;
    while (t < length_s && h->count.n < FM_BEATS_MAX) {
        h->count.onsets_s[h->count.n++] = t;
        t += interval_s;
    }
    h->count.rate_per_min = length_s >= 60.0 ? (double)h->count.n : 60.0 / interval_s;
    h->count.rate_low_per_min = h->count.rate_per_min - doubt;
    h->count.rate_high_per_min = h->count.rate_per_min + doubt;
}

static fm_compare_input minute_input(int entered)
{
    return (fm_compare_input){
        .manual = {.entered = entered,
                   .seconds = 60,
                   .convention = FM_CONVENTION_CLOCK,
                   .site = FM_SITE_APICAL},
        .count = &count.heart.count,
        .tolerance_per_min = FM_TOLERANCE_EXAMPLE_PER_MIN,
    };
}

static void compare(const fm_compare_input *in)
{
    assert_int_equal(fm_compare(in, &result), FM_OK);
}

/*
 * Against the definition, by brute force: 'agrees' when every rate the reference allows
 * is within the tolerance, 'differs' when none is. In whole tenths, so that the sweep
 * lands on every boundary.
 */
static void verdict_follows_the_definition_at_every_boundary(void **state)
{
    (void)state;
    for (int low = 680; low <= 740; low += 5) {
        for (int width = 0; width <= 90; width += 5) {
            for (int tolerance = 10; tolerance <= 60; tolerance += 5) {
                for (int manual = 580; manual <= 860; manual += 1) {
                    int within = 0;
                    for (int x = low; x <= low + width; x++) {
                        within += manual - x <= tolerance && x - manual <= tolerance;
                    }
                    const fm_verdict expected = within == width + 1 ? FM_VERDICT_AGREES
                                                : within == 0       ? FM_VERDICT_DIFFERS
                                                              : FM_VERDICT_TOO_CLOSE;
                    const double m = (double)manual / 10.0;
                    const double l = (double)low / 10.0;
                    const double h = (double)(low + width) / 10.0;
                    const double t = (double)tolerance / 10.0;
                    assert_int_equal(fm_compare_verdict(m, l, h, t, false), expected);
                    const fm_verdict doubtful = expected == FM_VERDICT_DIFFERS
                                                    ? FM_VERDICT_TOO_CLOSE
                                                    : expected;
                    assert_int_equal(fm_compare_verdict(m, l, h, t, true), doubtful);
                }
            }
        }
    }
}

static void verdict_needs_numbers(void **state)
{
    (void)state;
    const double nan = (double)NAN;
    assert_int_equal(fm_compare_verdict(nan, 70, 72, 4, false),
                     FM_VERDICT_NOT_COMPARABLE);
    assert_int_equal(fm_compare_verdict(70, nan, 72, 4, false),
                     FM_VERDICT_NOT_COMPARABLE);
    assert_int_equal(fm_compare_verdict(70, 70, nan, 4, false),
                     FM_VERDICT_NOT_COMPARABLE);
    assert_int_equal(fm_compare_verdict(70, 70, 72, 0, false),
                     FM_VERDICT_NOT_COMPARABLE);
    assert_int_equal(fm_compare_verdict(70, 70, 72, nan, false),
                     FM_VERDICT_NOT_COMPARABLE);
}

static void a_clean_minute_is_compared_beat_for_beat(void **state)
{
    (void)state;
    make_count(0.2, 60.0 / 72.0, 60.0, 0.4);
    for (int entered = 50; entered < 100; entered++) {
        const fm_compare_input in = minute_input(entered);
        compare(&in);
        const int off = entered - 72;
        assert_int_equal(result.counted, 72);
        assert_within(result.difference_per_min, (double)off, 1e-12);
        assert_within(result.low_per_min, 72.0, 1e-12); /* 0.4 is no whole beat */
        assert_within(result.high_per_min, 72.0, 1e-12);
        assert_int_equal(result.verdict, off >= -4 && off <= 4 ? FM_VERDICT_AGREES
                                                               : FM_VERDICT_DIFFERS);
    }
}

/* The example of the design: 69-73 against 68, tolerance 4. */
static void a_recording_that_fixes_less_says_too_close_to_call(void **state)
{
    (void)state;
    make_count(0.2, 60.0 / 71.0, 60.0, 2.0);
    const fm_compare_input in = minute_input(68);
    compare(&in);
    assert_within(result.low_per_min, 69.0, 1e-12);
    assert_within(result.high_per_min, 73.0, 1e-12);
    assert_int_equal(result.verdict, FM_VERDICT_TOO_CLOSE);
}

static void caution_never_differs_and_never_names_a_slip(void **state)
{
    (void)state;
    make_count(0.2, 60.0 / 72.0, 60.0, 0.4);
    count.heart.count.status = FM_CAUTION;
    for (int entered = 1; entered <= 300; entered++) {
        const fm_compare_input in = minute_input(entered);
        compare(&in);
        assert_int_not_equal(result.verdict, FM_VERDICT_DIFFERS);
        assert_int_equal(result.slip, FM_SLIP_NONE);
        assert_true(result.doubtful);
    }
}

static void refused_keeps_the_count_and_gives_no_verdict(void **state)
{
    (void)state;
    make_count(0.2, 60.0 / 72.0, 60.0, 0.4);
    count.heart.count.status = FM_REFUSED;
    count.heart.count.rate_per_min = (double)NAN;
    const fm_compare_input in = minute_input(72);
    compare(&in);
    assert_int_equal(result.verdict, FM_VERDICT_NOT_COMPARABLE);
    assert_int_equal(result.no_verdict, FM_NO_VERDICT_REFUSED);
    assert_int_equal(result.manual.entered, 72);
    assert_false(result.reference_known);
    assert_false(result.minute_known);
    assert_true(isnan(result.per_min) && isnan(result.difference_per_min));
    assert_int_equal(result.n_short, 0);
    assert_int_equal(result.slip, FM_SLIP_NONE);
}

static void short_counts_are_compared_with_the_same_seconds(void **state)
{
    (void)state;
    /* 15 s at 60 per minute, then 45 s at 90: the same seconds say 60, the minute 83. */
    make_count(0.5, 1.0, 60.0, 0.0);
    fm_heart *h = &count.heart;
    h->count.n = 15;
    double t = 15.5;
    while (t < 60.0) {
        h->count.onsets_s[h->count.n++] = t;
        t += 60.0 / 90.0;
    }
    h->count.rate_per_min = h->count.rate_low_per_min = h->count.rate_high_per_min =
        (double)h->count.n;
    fm_compare_input in = minute_input(15);
    in.manual.seconds = 15;
    compare(&in);
    assert_int_equal(result.counted, 15);
    assert_within(result.manual_per_min, 60.0, 1e-12);
    assert_within(result.difference_per_min, 0.0, 1e-12);
    assert_int_equal(result.verdict, FM_VERDICT_AGREES);
    assert_true(result.minute_known);
    assert_within(result.minute_per_min, (double)h->count.n, 1e-12);
    assert_true(result.minute_per_min > 80.0);
    assert_int_equal(result.n_short, 2);
    in.manual.entered = 16; /* one beat of 15 s is 4 per minute: at the limit */
    compare(&in);
    assert_int_equal(result.verdict, FM_VERDICT_AGREES);
    in.manual.entered = 17;
    compare(&in);
    assert_int_equal(result.verdict, FM_VERDICT_DIFFERS);
    assert_int_equal(result.slip, FM_SLIP_NONE);
}

static void doubtful_beats_may_all_lie_in_the_short_window(void **state)
{
    (void)state;
    make_count(0.2, 60.0 / 72.0, 60.0, 1.0);
    fm_compare_input in = minute_input(18);
    in.manual.seconds = 15;
    compare(&in);
    assert_within(result.low_per_min, 68.0, 1e-12);
    assert_within(result.high_per_min, 76.0, 1e-12);
    assert_int_equal(result.verdict, FM_VERDICT_AGREES);
    in.manual.entered = 17;
    compare(&in);
    assert_int_equal(result.verdict, FM_VERDICT_TOO_CLOSE);
}

static void seconds_the_recording_does_not_cover_have_no_verdict(void **state)
{
    (void)state;
    make_count(0.2, 60.0 / 72.0, 40.0, 0.4);
    fm_compare_input in = minute_input(72);
    compare(&in);
    assert_int_equal(result.no_verdict, FM_NO_VERDICT_TOO_SHORT);
    assert_int_equal(result.verdict, FM_VERDICT_NOT_COMPARABLE);
    in.manual.entered = 36;
    in.manual.seconds = 30;
    compare(&in);
    assert_int_equal(result.verdict, FM_VERDICT_AGREES);
}

static void a_count_without_a_rate_has_no_verdict(void **state)
{
    (void)state;
    make_count(0.2, 60.0 / 72.0, 60.0, 0.4);
    count.heart.count.rate_low_per_min = (double)NAN;
    count.heart.count.rate_high_per_min = (double)NAN;
    const fm_compare_input in = minute_input(72);
    compare(&in);
    assert_int_equal(result.no_verdict, FM_NO_VERDICT_NO_RATE);
    assert_int_equal(result.verdict, FM_VERDICT_NOT_COMPARABLE);
    assert_false(result.reference_known);
}

static void a_gap_widens_a_minute_and_stops_a_short_count(void **state)
{
    (void)state;
    make_count(0.2, 60.0 / 72.0, 60.0, 0.4);
    count.heart.count.window.full_minute = false;
    count.heart.count.quality.n_unusable = 1;
    count.heart.count.quality.unusable[0] = (fm_span){5.0, 5.0, FM_REASON_FRICTION};
    fm_heart *h = &count.heart;
    memmove(h->count.onsets_s + 6, h->count.onsets_s + 12,
            (h->count.n - 12) * sizeof h->count.onsets_s[0]);
    h->count.n -= 6;
    h->count.rate_per_min = 72.0;
    h->count.rate_low_per_min = 71.6;
    h->count.rate_high_per_min = 72.4;
    fm_compare_input in = minute_input(66);
    compare(&in);
    assert_within(result.low_per_min, 66.0, 1e-12);
    assert_within(result.high_per_min, 72.4, 1e-12);
    assert_int_equal(result.verdict, FM_VERDICT_TOO_CLOSE);
    in.manual.entered = 90;
    compare(&in);
    assert_int_equal(result.verdict, FM_VERDICT_DIFFERS);
    in.manual = (fm_manual){
        18, 15, FM_CONVENTION_CLOCK, FM_SITE_APICAL, FM_BREATH_NOT_SAID, false};
    compare(&in);
    assert_int_equal(result.no_verdict, FM_NO_VERDICT_GAP);
}

/* Every rate and start phase: the named convention must really give what was entered. */
static void the_other_convention_is_named_when_it_explains_exactly_one(void **state)
{
    (void)state;
    int zeros = 0;
    int ones = 0;
    for (int rate = 45; rate <= 150; rate += 3) {
        for (int phase = 0; phase < 10; phase++) {
            const double interval_s = 60.0 / ((double)rate + 0.1 * (double)(rate % 10));
            const double first_s = interval_s * ((double)phase + 0.5) / 10.0;
            make_count(first_s, interval_s, 60.0, 0.0);
            const int n = (int)count.heart.count.n;
            const int one = (int)ceil(60.0 / interval_s - 1e-9);
            for (int off = -2; off <= 2; off++) {
                const fm_compare_input in = minute_input(n + off);
                compare(&in);
                const bool zero_fits = off == -1 && n + off == one - 1;
                const bool one_fits = off == 1 && n + off == one;
                assert_int_equal(result.convention_explains, zero_fits || one_fits);
                if (result.convention_explains) {
                    assert_int_equal(result.explaining,
                                     off == 1 ? FM_CONVENTION_ONE : FM_CONVENTION_ZERO);
                    ones += off == 1;
                    zeros += off == -1;
                }
            }
        }
    }
    assert_int_equal(zeros + ones, 360); /* a clock minute meets one of the two */
    assert_true(zeros > 100 && ones > 50);
    make_count(0.0, 60.0 / 72.0, 60.0, 0.0);
    fm_compare_input in = minute_input(71);
    in.manual.convention = FM_CONVENTION_ONE;
    compare(&in);
    assert_true(result.convention_explains);
    assert_int_equal(result.explaining, FM_CONVENTION_ZERO);
    in.manual.convention = FM_CONVENTION_ZERO;
    in.manual.entered = 72;
    compare(&in);
    assert_int_equal(result.counted, 71);
    assert_true(result.convention_explains);
    assert_int_equal(result.explaining, FM_CONVENTION_ONE);
}

static fm_slip slip_of(int entered, fm_site site, const fm_taps *taps)
{
    fm_compare_input in = minute_input(entered);
    in.manual.site = site;
    in.taps = taps;
    compare(&in);
    return result.slip;
}

static void slips_are_named_only_where_they_fit(void **state)
{
    (void)state;
    make_count(0.2, 60.0 / 72.0, 60.0, 0.0);
    assert_int_equal(slip_of(144, FM_SITE_APICAL, NULL), FM_SLIP_BOTH_SOUNDS);
    assert_int_equal(slip_of(130, FM_SITE_APICAL, NULL), FM_SLIP_BOTH_SOUNDS);
    assert_int_equal(slip_of(129, FM_SITE_APICAL, NULL), FM_SLIP_NONE);
    assert_int_equal(slip_of(158, FM_SITE_APICAL, NULL), FM_SLIP_BOTH_SOUNDS);
    assert_int_equal(slip_of(159, FM_SITE_APICAL, NULL), FM_SLIP_NONE);
    assert_int_equal(slip_of(36, FM_SITE_APICAL, NULL), FM_SLIP_EVERY_OTHER);
    assert_int_equal(slip_of(33, FM_SITE_APICAL, NULL), FM_SLIP_EVERY_OTHER);
    assert_int_equal(slip_of(32, FM_SITE_APICAL, NULL), FM_SLIP_NONE);
    assert_int_equal(slip_of(39, FM_SITE_APICAL, NULL), FM_SLIP_EVERY_OTHER);
    assert_int_equal(slip_of(40, FM_SITE_APICAL, NULL), FM_SLIP_NONE);
    assert_int_equal(slip_of(60, FM_SITE_APICAL, NULL), FM_SLIP_NONE);
    fm_taps lost = {.lost = true, .lost_from_s = 31.0, .lost_until_s = 59.0};
    assert_int_equal(slip_of(60, FM_SITE_APICAL, &lost), FM_SLIP_LOST_THREAD);
    assert_int_equal(slip_of(71, FM_SITE_APICAL, &lost), FM_SLIP_NONE); /* agrees */
}

static void an_uneven_minute_can_explain_a_multiplied_short_count(void **state)
{
    (void)state;
    make_count(0.5, 1.0, 60.0, 0.0);
    fm_heart *h = &count.heart;
    h->count.n = 30;
    double t = 30.4;
    while (t < 60.0) {
        h->count.onsets_s[h->count.n++] = t;
        t += 0.5;
    }
    h->count.rate_per_min = h->count.rate_low_per_min = h->count.rate_high_per_min =
        (double)h->count.n; /* 90 */
    assert_int_equal(slip_of(60, FM_SITE_APICAL, NULL), FM_SLIP_SHORT_COUNT);
    assert_int_equal(slip_of(62, FM_SITE_APICAL, NULL), FM_SLIP_SHORT_COUNT);
    assert_int_equal(slip_of(61, FM_SITE_APICAL, NULL), FM_SLIP_NONE);
    assert_int_equal(slip_of(58, FM_SITE_APICAL, NULL), FM_SLIP_NONE);
}

static void fewer_at_the_wrist_is_never_a_slip(void **state)
{
    (void)state;
    make_count(0.2, 60.0 / 72.0, 60.0, 0.0);
    fm_taps lost = {.lost = true};
    for (int entered = 1; entered < 72; entered++) {
        assert_int_equal(slip_of(entered, FM_SITE_RADIAL, &lost), FM_SLIP_NONE);
        assert_true(result.fewer_at_wrist);
        assert_int_equal(result.verdict, FM_VERDICT_NOT_COMPARABLE);
        assert_int_equal(result.no_verdict, FM_NO_VERDICT_WRIST);
    }
    assert_int_equal(slip_of(72, FM_SITE_RADIAL, NULL), FM_SLIP_NONE);
    assert_false(result.fewer_at_wrist);
    assert_int_equal(slip_of(144, FM_SITE_RADIAL, NULL),
                     FM_SLIP_NONE); /* no S2 there */
    assert_int_equal(slip_of(60, FM_SITE_APICAL, NULL), FM_SLIP_NONE);
    assert_false(result.fewer_at_wrist);
}

/* 72 beats, of which every 18th sends no pulse: 68 arrive, 0.2 s late. */
static void a_known_wrist_judges_a_count_made_there(void **state)
{
    (void)state;
    static double s1_s[80];
    static double wrist_s[80];
    size_t n_wrist = 0;
    make_count(0.3, 60.0 / 72.0, 60.0, 1.0);
    for (size_t i = 0; i < 80; i++) {
        s1_s[i] = 0.3 + (double)i * 60.0 / 72.0;
        if (i % 18 != 5) {
            wrist_s[n_wrist++] = s1_s[i] + 0.2;
        }
    }
    const fm_known_events known = {.n = 80,
                                   .onsets_s = s1_s,
                                   .has_wrist = true,
                                   .n_wrist = n_wrist,
                                   .wrist_s = wrist_s};
    fm_compare_input in = minute_input(68);
    in.known = &known;
    in.tolerance_per_min = 2.0;
    in.manual.site = FM_SITE_RADIAL;
    compare(&in);
    assert_true(result.at_wrist);
    assert_int_equal(result.counted, 68);
    assert_int_equal(result.apex_beats, 72);
    assert_int_equal(result.verdict, FM_VERDICT_AGREES);
    assert_within(result.difference_per_min, 0.0, 1e-9);
    in.manual.entered = 72; /* right at the apex, not at the wrist */
    compare(&in);
    assert_int_equal(result.verdict, FM_VERDICT_DIFFERS);
    assert_int_equal(result.slip, FM_SLIP_NONE);
    assert_false(result.more_at_wrist);
    in.manual.entered = 60;
    compare(&in);
    assert_int_equal(result.verdict, FM_VERDICT_DIFFERS);
    assert_false(result.fewer_at_wrist);
    in.manual.entered = 73;
    compare(&in);
    assert_true(result.more_at_wrist);
    in.manual = (fm_manual){
        17, 15, FM_CONVENTION_CLOCK, FM_SITE_RADIAL, FM_BREATH_NOT_SAID, false};
    compare(&in);
    assert_int_equal(result.counted, 17);
    assert_int_equal(result.apex_beats, 18);
    in.manual = (fm_manual){
        68, 60, FM_CONVENTION_CLOCK, FM_SITE_APICAL, FM_BREATH_NOT_SAID, false};
    compare(&in);
    assert_false(result.at_wrist);
    assert_int_equal(result.counted, 72);
}

static void known_beats_are_judged_against_and_inaudible_ones_widen(void **state)
{
    (void)state;
    make_count(0.2, 60.0 / 72.0, 60.0, 3.0);
    count.heart.count.status = FM_CAUTION;
    static double s1_s[80];
    for (size_t i = 0; i < 80; i++) {
        s1_s[i] = 0.2 + (double)i * 60.0 / 74.0;
    }
    static const size_t unheard[] = {10, 20, 79};
    fm_known_events known = {.n = 80, .onsets_s = s1_s, .inaudible = unheard};
    fm_compare_input in = minute_input(69);
    in.known = &known;
    compare(&in);
    assert_true(result.against_truth);
    assert_false(result.doubtful);
    assert_int_equal(result.counted, 74);
    assert_within(result.low_per_min, 74.0, 1e-12);
    assert_int_equal(result.verdict, FM_VERDICT_DIFFERS);
    known.n_inaudible = 3; /* the third lies after the minute */
    compare(&in);
    assert_within(result.low_per_min, 72.0, 1e-12);
    assert_within(result.high_per_min, 74.0, 1e-12);
    assert_int_equal(result.verdict, FM_VERDICT_TOO_CLOSE);
    assert_within(result.minute_low_per_min, 72.0, 1e-12);
    assert_within(result.minute_per_min, 74.0, 1e-12);
}

/* The device hears the first beat late or early; the known one is still the first. */
static void a_window_on_a_beat_starts_on_the_known_beat(void **state)
{
    (void)state;
    static double s1_s[90];
    for (size_t i = 0; i < 90; i++) {
        s1_s[i] = 0.5 + (double)i * 60.0 / 74.0;
    }
    const fm_known_events known = {.n = 90, .onsets_s = s1_s};
    for (int late_ms = -60; late_ms <= 60; late_ms += 5) {
        make_count(0.5, 60.0 / 74.0, 60.0, 0.3);
        const double start_s = 0.49 + 0.001 * (double)late_ms;
        count.heart.count.window = (fm_window){start_s, start_s + 60.0, true};
        fm_compare_input in = minute_input(74);
        in.manual.convention = FM_CONVENTION_ONE;
        in.known = &known;
        compare(&in);
        assert_int_equal(result.no_verdict, FM_NO_VERDICT_NONE);
        assert_within(result.start_s, 0.5, 1e-12);
        assert_int_equal(result.counted, 74);
        assert_true(result.minute_whole);
        assert_within(result.minute_per_min, 74.0, 1e-12);
    }
}

static void arguments_out_of_range_are_refused(void **state)
{
    (void)state;
    make_count(0.2, 60.0 / 72.0, 60.0, 0.0);
    static const int bad_entries[] = {-5, 0, 401, 4000};
    for (size_t i = 0; i < 4; i++) {
        const fm_compare_input in = minute_input(bad_entries[i]);
        assert_int_equal(fm_compare(&in, &result), FM_ERR_ARG);
    }
    static const int bad_seconds[] = {-15, 0, 10, 14, 20, 59, 61};
    for (size_t i = 0; i < 7; i++) {
        fm_compare_input in = minute_input(18);
        in.manual.seconds = bad_seconds[i];
        assert_int_equal(fm_compare(&in, &result), FM_ERR_ARG);
    }
    fm_compare_input in = minute_input(101); /* 404 a minute */
    in.manual.seconds = 15;
    assert_int_equal(fm_compare(&in, &result), FM_ERR_ARG);
    in = minute_input(72);
    in.tolerance_per_min = (double)NAN;
    assert_int_equal(fm_compare(&in, &result), FM_ERR_ARG);
    in.tolerance_per_min = 0.0;
    assert_int_equal(fm_compare(&in, &result), FM_ERR_ARG);
    in.tolerance_per_min = 4.0;
    in.manual.convention = FM_CONVENTION_COUNT;
    assert_int_equal(fm_compare(&in, &result), FM_ERR_ARG);
}

static void every_word_is_its_own(void **state)
{
    (void)state;
    for (int i = 0; i < FM_VERDICT_COUNT; i++) {
        assert_string_not_equal(fm_verdict_word((fm_verdict)i), "unknown");
    }
    for (int i = 0; i < FM_SLIP_COUNT; i++) {
        assert_string_not_equal(fm_slip_word((fm_slip)i), "unknown");
    }
    for (int i = 0; i < FM_NO_VERDICT_COUNT; i++) {
        assert_string_not_equal(fm_no_verdict_word((fm_no_verdict)i), "unknown");
    }
    for (int i = 0; i < FM_CONVENTION_COUNT; i++) {
        assert_string_not_equal(fm_convention_word((fm_convention)i), "unknown");
    }
    assert_string_equal(fm_site_word(FM_SITE_RADIAL), "radial");
    assert_string_equal(fm_verdict_word(FM_VERDICT_TOO_CLOSE), "too close to call");
    assert_string_equal(fm_verdict_word(FM_VERDICT_COUNT), "unknown");
}

/* No number is compared; whether it could be counted is the device's status alone. */
static void a_count_that_could_not_be_made_is_an_answer(void **state)
{
    (void)state;
    static const struct {
        fm_outcome status;
        fm_verdict right;
    } CASES[] = {{FM_COUNTED, FM_VERDICT_DIFFERS},
                 {FM_CAUTION, FM_VERDICT_TOO_CLOSE},
                 {FM_REFUSED, FM_VERDICT_AGREES}};
    for (size_t i = 0; i < sizeof CASES / sizeof CASES[0]; i++) {
        make_count(0.4, 60.0 / 72.0, 60.0, 0.0);
        count.heart.count.status = CASES[i].status;
        fm_compare_input in = minute_input(0);
        fm_comparison ignored;
        assert_int_equal(fm_compare(&in, &ignored), FM_ERR_ARG); /* 0 is no pulse */
        in.manual.could_not = true;
        compare(&in);
        assert_int_equal(result.could_not, CASES[i].right);
        assert_int_equal(result.verdict, FM_VERDICT_NOT_COMPARABLE);
        assert_int_equal(result.no_verdict, FM_NO_VERDICT_COULD_NOT);
        assert_int_equal(result.slip, FM_SLIP_NONE);
        assert_true(isnan(result.manual_per_min) && isnan(result.difference_per_min));
        assert_int_equal(result.counted, CASES[i].status == FM_REFUSED ? 0 : 72);
        in.manual.entered = 70; /* not both */
        assert_int_equal(fm_compare(&in, &ignored), FM_ERR_ARG);
    }
    make_count(0.4, 60.0 / 72.0, 20.0, 0.0); /* too short to say either */
    fm_compare_input in = minute_input(0);
    in.manual.could_not = true;
    compare(&in);
    assert_int_equal(result.could_not, FM_VERDICT_NOT_COMPARABLE);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_count_that_could_not_be_made_is_an_answer),
        cmocka_unit_test(verdict_follows_the_definition_at_every_boundary),
        cmocka_unit_test(verdict_needs_numbers),
        cmocka_unit_test(a_clean_minute_is_compared_beat_for_beat),
        cmocka_unit_test(a_recording_that_fixes_less_says_too_close_to_call),
        cmocka_unit_test(caution_never_differs_and_never_names_a_slip),
        cmocka_unit_test(refused_keeps_the_count_and_gives_no_verdict),
        cmocka_unit_test(short_counts_are_compared_with_the_same_seconds),
        cmocka_unit_test(doubtful_beats_may_all_lie_in_the_short_window),
        cmocka_unit_test(seconds_the_recording_does_not_cover_have_no_verdict),
        cmocka_unit_test(a_count_without_a_rate_has_no_verdict),
        cmocka_unit_test(a_gap_widens_a_minute_and_stops_a_short_count),
        cmocka_unit_test(the_other_convention_is_named_when_it_explains_exactly_one),
        cmocka_unit_test(slips_are_named_only_where_they_fit),
        cmocka_unit_test(an_uneven_minute_can_explain_a_multiplied_short_count),
        cmocka_unit_test(fewer_at_the_wrist_is_never_a_slip),
        cmocka_unit_test(a_known_wrist_judges_a_count_made_there),
        cmocka_unit_test(known_beats_are_judged_against_and_inaudible_ones_widen),
        cmocka_unit_test(a_window_on_a_beat_starts_on_the_known_beat),
        cmocka_unit_test(arguments_out_of_range_are_refused),
        cmocka_unit_test(every_word_is_its_own),
    };
    return cmocka_run_group_tests_name("dsp.compare", tests, NULL, NULL);
}
