#include "tests/src/chart_support.h"

#include "src/picture/chart_interval_strip.h"
#include "src/picture/chart_marks.h"

static char *draw(const fm_count *c, unsigned *marks)
{
    svg s = {0};
    svg_begin(&s, CHART_WIDTH, chart_interval_strip_height(&c->heart.count.window),
              "Interval strip", "Invented data.");
    const unsigned drawn = chart_interval_strip_draw(&s, 0.0, 0.0, c);
    svg_end(&s);
    if (marks != NULL) {
        *marks = drawn;
    }
    char *text = svg_take(&s, NULL);
    assert_non_null(text);
    return text;
}

static unsigned check(const fm_count *c, const char *golden)
{
    unsigned marks = 0;
    char *text = draw(c, &marks);
    assert_golden(golden, text);
    free(text);
    return marks;
}

#define ARROW_END  "Z\" fill=\"" SVG_ORANGE "\"/>"
#define BARS_END   "stroke=\"" SVG_ORANGE "\" stroke-width=\"2.4\"/>"
#define BAR_STROKE "stroke=\"#000000\" stroke-width=\"3\"/>"

/*
 * Closed form: in one row a bar is as wide as its interval lasts and stands as high
 * above zero as it is long, both in proportion. Checked between two intervals, so that
 * no scale of the chart is known here: 0.6 s and 1.2 s.
 *   Tolerance: 0.03 units of two rounded ends; 1.4 units are left blank at each bar.
 */
static void bars_are_in_proportion(void **state)
{
    (void)state;
    fm_count *c = minute_create(0.0, 30.0);
    minute_add_beat(c, 2.0, 0.9F);
    minute_add_beat(c, 2.6, 0.9F);
    minute_add_beat(c, 3.8, 0.9F);
    minute_finish(c);
    char *text = draw(c, NULL);
    const char *at = strstr(text, BAR_STROKE);
    assert_non_null(at);
    while (strncmp(at, "<path d=\"", 9) != 0) {
        at--;
    }
    at += 9;
    double x[4];
    double y[4];
    for (size_t i = 0; i < 4; i++) {
        char *next = NULL;
        x[i] = strtod(at + 1, &next);
        y[i] = strtod(next, &next);
        at = next;
    }
    const double blank = 1.4;
    assert_within((x[3] - x[2] + blank) / (x[1] - x[0] + blank), 2.0, 0.01);
    assert_within(y[0], y[1], 1e-9);
    assert_within(y[2], y[3], 1e-9);
    /* zero is as far below the short bar as the long bar is above it */
    const double zero = y[0] + (y[0] - y[2]);
    char wanted[64];
    char number[SVG_NUMBER_BYTES];
    (void)snprintf(wanted, sizeof wanted, "M38 %sL", svg_number_text(number, zero, 1));
    assert_true(occurrences(text, wanted) == 1); /* the line drawn at zero */
    free(text);
    free(c);
}

static void the_median_is_named(void **state)
{
    (void)state;
    fm_count *c = minute_create(0.0, 30.0);
    const double beats[] = {1.0, 1.8, 2.7, 4.2, 5.2}; /* 0.8 0.9 1.5 1.0: median 0.95 */
    for (size_t i = 0; i < 5; i++) {
        minute_add_beat(c, beats[i], 0.9F);
    }
    minute_finish(c);
    char *text = draw(c, NULL);
    assert_int_equal(occurrences(text, ">median 0.95 s</text>"), 1);
    free(text);
    free(c);
}

static void steady(void **state)
{
    (void)state;
    fm_count *c = minute_steady();
    assert_int_equal(check(c, "chart-intervals-steady.svg"), CHART_SURENESS);
    free(c);
}

static void irregular(void **state)
{
    (void)state;
    fm_count *c = minute_irregular();
    assert_int_equal(check(c, "chart-intervals-irregular.svg"),
                     CHART_EARLY | CHART_AFTER_EARLY | CHART_LATE | CHART_PAUSE |
                         CHART_SURENESS);
    char *text = draw(c, NULL);
    assert_int_equal(occurrences(text, ARROW_END),
                     3 + 1); /* early three times, late once */
    assert_int_equal(occurrences(text, BARS_END), 1);
    free(text);
    free(c);
}

static void no_shape_is_lost_where_they_crowd(void **state)
{
    (void)state;
    fm_count *c = minute_crowded();
    size_t early = 0;
    size_t late = 0;
    for (size_t i = 0; i < c->rhythm.n_intervals; i++) {
        early += c->rhythm.intervals[i].kind == FM_INTERVAL_EARLY;
        late += c->rhythm.intervals[i].kind == FM_INTERVAL_LATE;
    }
    assert_true(early > 20 && late > 20);
    char *text = draw(c, NULL);
    assert_int_equal(occurrences(text, ARROW_END), early + late);
    free(text);
    free(c);
}

static void without_a_basic_interval_there_is_no_shape(void **state)
{
    (void)state;
    fm_count *c = minute_crowded();
    c->rhythm.pattern = FM_PATTERN_IRREGULARLY_IRREGULAR;
    char *text = draw(c, NULL);
    assert_int_equal(occurrences(text, SVG_ORANGE), 0);
    free(text);
    free(c);
}

static void no_data(void **state)
{
    (void)state;
    fm_count *c = minute_create(0.0, 60.0);
    minute_finish(c);
    assert_int_equal(check(c, "chart-intervals-none.svg"), 0);
    free(c);
}

static void one_beat_has_no_interval(void **state)
{
    (void)state;
    fm_count *c = minute_create(0.0, 20.0);
    minute_add_beat(c, 7.5, 0.9F);
    minute_finish(c);
    assert_int_equal(check(c, "chart-intervals-one.svg"), CHART_SURENESS);
    char *text = draw(c, NULL);
    assert_int_equal(occurrences(text, "median"), 0);
    free(text);
    free(c);
}

static void what_is_not_a_number_is_not_drawn(void **state)
{
    (void)state;
    const double nan = (double)NAN;
    fm_count *c = minute_create(0.0, 60.0);
    minute_add_beat(c, 1.0, 0.9F);
    minute_add_beat(c, nan, 0.9F);
    minute_add_beat(c, 2.0, NAN);
    c->rhythm.n_intervals = 4;
    c->rhythm.intervals[0] = (fm_interval){nan, 1.0, FM_INTERVAL_EARLY};
    c->rhythm.intervals[1] = (fm_interval){1.0, nan, FM_INTERVAL_LATE};
    c->rhythm.intervals[2] = (fm_interval){1.0, 1.0, FM_INTERVAL_EXPECTED};
    c->rhythm.intervals[3] = (fm_interval){2.0, -1.0, FM_INTERVAL_PAUSE};
    assert_int_equal(check(c, "chart-intervals-nan.svg"), CHART_SURENESS);
    char *text = draw(c, NULL);
    assert_int_equal(occurrences(text, "nan"), 0);
    assert_int_equal(occurrences(text, "?"), 0);
    assert_int_equal(occurrences(text, "median 1 s"), 1);
    free(text);
    free(c);
}

static void refused_shows_no_interval(void **state)
{
    (void)state;
    fm_count *c = minute_refused();
    assert_int_equal(check(c, "chart-intervals-refused.svg"), CHART_UNUSABLE);
    char *text = draw(c, NULL);
    assert_int_equal(occurrences(text, BAR_STROKE), 0);
    assert_int_equal(occurrences(text, "median"), 0);
    free(text);
    free(c);
}

static void a_gap_is_a_gap(void **state)
{
    (void)state;
    fm_count *c = minute_with_gap();
    assert_int_equal(check(c, "chart-intervals-gap.svg"),
                     CHART_GAP | CHART_UNUSABLE | CHART_SURENESS);
    free(c);
}

static void an_unsure_interval_is_broken_not_only_coloured(void **state)
{
    (void)state;
    fm_count *c = minute_steady();
    c->rhythm.intervals[10].kind = FM_INTERVAL_UNSURE;
    unsigned marks = 0;
    char *text = draw(c, &marks);
    assert_int_equal(marks, CHART_INTERVAL_UNSURE | CHART_SURENESS);
    assert_int_equal(occurrences(text, "stroke-dasharray=\"2.5 2\""), 1);
    free(text);
    free(c);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(bars_are_in_proportion),
        cmocka_unit_test(the_median_is_named),
        cmocka_unit_test(steady),
        cmocka_unit_test(irregular),
        cmocka_unit_test(no_shape_is_lost_where_they_crowd),
        cmocka_unit_test(without_a_basic_interval_there_is_no_shape),
        cmocka_unit_test(no_data),
        cmocka_unit_test(one_beat_has_no_interval),
        cmocka_unit_test(what_is_not_a_number_is_not_drawn),
        cmocka_unit_test(refused_shows_no_interval),
        cmocka_unit_test(a_gap_is_a_gap),
        cmocka_unit_test(an_unsure_interval_is_broken_not_only_coloured),
    };
    return cmocka_run_group_tests_name("src.chart_interval_strip", tests, NULL, NULL);
}
