#include "tests/src/chart_support.h"

#include "src/picture/chart_plots.h"

enum {
    POINTS = 9
};

/* A learner's counts on one day, or on several; the ninth as it is given. */
static char *progress_drawn(bool one_day, double ninth, const char *golden)
{
    progress_point points[POINTS] = {0};
    for (size_t i = 0; i < POINTS; i++) {
        (void)snprintf(points[i].utc, sizeof points[i].utc, "2026-03-%02uT%02u:05:00Z",
                       one_day ? 4U : 4U + (unsigned)i, 9U + (unsigned)i);
        points[i].difference_per_min = i == POINTS - 1 ? ninth : 3.0 * wobble(i);
        points[i].uneven = i % 4 == 1;
    }
    const progress p = {.within_per_min = 4.0, .n_points = POINTS, .points = points};
    svg s = {0};
    chart_progress_draw(&s, &p);
    char *const text = svg_take(&s, NULL);
    assert_non_null(text);
    if (golden != NULL) {
        assert_golden(golden, text);
    }
    return text;
}

static void a_plot_of_one_day_has_its_times(void **state)
{
    (void)state;
    char *text = progress_drawn(true, 2.0, "plot-progress-day.svg");
    assert_int_equal(occurrences(text, ">2026-03-04, 09:05 UTC<"), 1);
    assert_int_equal(occurrences(text, ">17:05 UTC<"), 1);
    assert_int_equal(occurrences(text, "2026-03-04"), 1);
    free(text);
    text = progress_drawn(false, 2.0, NULL);
    assert_int_equal(occurrences(text, ">2026-03-04<"), 1);
    assert_int_equal(occurrences(text, ">2026-03-12<"), 1);
    assert_int_equal(occurrences(text, "UTC"), 0);
    free(text);
}

/* A count 43 off: no dot at the edge, but an arrow with its number, and the legend says so. */
static void a_difference_beyond_the_scale_is_an_arrow_with_its_number(void **state)
{
    (void)state;
    char *text = progress_drawn(false, 2.0, NULL);
    const size_t dots = occurrences(text, "<circle");
    assert_int_equal(occurrences(text, "beyond the scale"), 0);
    free(text);
    text = progress_drawn(false, -43.0, "plot-progress-beyond.svg");
    assert_int_equal(occurrences(text, "<circle"), dots - 1);
    assert_int_equal(occurrences(text, ">-43<"), 1);
    assert_int_equal(occurrences(text, "beyond the scale"), 1);
    free(text);
}

static char *differences_drawn(size_t n, const char *golden)
{
    double mine[] = {70.0, 84.0, 80.0, 61.0, 96.0};
    double second[] = {72.0, 81.0, 80.0, 66.0, 95.0};
    const summary_pairs pairs = {.measured = {mine, n, n},
                                 .truth = {second, n, n},
                                 .agreement = fm_agreement_of(mine, second, n)};
    svg s = {0};
    chart_differences_draw(&s, "Agreement", &pairs);
    char *const text = svg_take(&s, NULL);
    assert_non_null(text);
    assert_golden(golden, text);
    return text;
}

static void limits_of_agreement_need_three_pairs(void **state)
{
    (void)state;
    char *text = differences_drawn(2, "plot-differences-two.svg");
    assert_int_equal(occurrences(text, "limit"), 0);
    assert_int_equal(occurrences(text, ">bias "), 1);
    free(text);
    text = differences_drawn(5, "plot-differences-five.svg");
    assert_int_equal(occurrences(text, ">limit "), 2);
    assert_int_equal(occurrences(text, "limits of agreement"), 1); /* in words, too */
    free(text);
}

/* The last dot, at the scale's very end, is whole: its radius off the axes. */
static void every_dot_is_whole(void **state)
{
    (void)state;
    char *const text = differences_drawn(2, "plot-differences-two.svg");
    size_t n = 0;
    for (const char *at = strstr(text, "<circle"); at != NULL; n++) {
        const double x = strtod(strstr(at, "cx=\"") + 4, NULL);
        const double y = strtod(strstr(at, "cy=\"") + 4, NULL);
        assert_true(x >= 44.0 + 3.0 && x <= 480.0 - 92.0 - 3.0);
        assert_true(y >= 40.0 + 3.0 && y <= 230.0 - 3.0);
        at = strstr(at + 1, "<circle");
    }
    assert_int_equal(n, 2);
    free(text);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_plot_of_one_day_has_its_times),
        cmocka_unit_test(a_difference_beyond_the_scale_is_an_arrow_with_its_number),
        cmocka_unit_test(limits_of_agreement_need_three_pairs),
        cmocka_unit_test(every_dot_is_whole),
    };
    return cmocka_run_group_tests_name("src.chart_plots", tests, NULL, NULL);
}
