#include "tests/src/chart_support.h"

#include "src/picture/chart_marks.h"
#include "src/picture/chart_minute_dial.h"

static char *draw(const chart_minute_dial *dial, unsigned *marks)
{
    svg s = {0};
    const double height = chart_minute_dial_height(dial);
    svg_begin(&s, CHART_WIDTH, height, "Minute dial", "Invented data.");
    const unsigned drawn = chart_minute_dial_draw(&s, 0.0, 0.0, dial);
    svg_end(&s);
    if (marks != NULL) {
        *marks = drawn;
    }
    char *text = svg_take(&s, NULL);
    assert_non_null(text);
    return text;
}

static unsigned check(const chart_minute_dial *dial, const char *golden)
{
    unsigned marks = 0;
    char *text = draw(dial, &marks);
    assert_golden(golden, text);
    free(text);
    return marks;
}

/* The path drawn with this stroke; its text runs to the next quote. */
static const char *path_with(const char *text, const char *stroke)
{
    const char *at = strstr(text, stroke);
    while (at != NULL && at > text && strncmp(at, "<path d=\"", 9) != 0) {
        at--;
    }
    return at == NULL || at == text ? NULL : at + 9;
}

static size_t segments(const char *path)
{
    size_t n = 0;
    assert_non_null(path);
    for (; *path != '"'; path++) {
        n += *path == 'M';
    }
    return n;
}

#define BEAT_STROKE    "stroke=\"#000000\" stroke-width=\"2.2\""
#define BRACKET_STROKE "stroke=\"#000000\" stroke-width=\"1.6\"/>"
#define DIAL_OF(c)     ((const chart_minute_dial){.count = (c)})
#define HATCH_STROKE   "stroke=\"#8c8c8c\" stroke-width=\"0.9\""
#define TAP_STROKE     "stroke=\"#0072b2\" stroke-width=\"2.2\""

/*
 * Closed form: a tick at angle a of a minute that starts at the top stands for
 * start + 60 a / 360 seconds.
 *   Input:     the invented minutes.
 *   Tolerance: 2 ms: 0.01 units at 160 units from the centre are 0.5 ms, twice.
 */
static void ticks_stand_where_the_beats_are(void **state)
{
    (void)state;
    fm_count *minutes[] = {minute_steady(), minute_irregular(), minute_with_gap()};
    for (size_t k = 0; k < sizeof minutes / sizeof minutes[0]; k++) {
        fm_count *c = minutes[k];
        for (size_t i = 0; i < c->heart.count.n; i++) {
            c->heart.s1_sureness[i] = 0.9F;
        }
        const chart_minute_dial dial = {.count = c};
        const double cy = chart_minute_dial_height(&dial) / 2.0;
        char *text = draw(&dial, NULL);
        const char *path = path_with(text, BEAT_STROKE);
        assert_non_null(path);
        size_t n = 0;
        for (; *path == 'M'; n++) {
            char *next = NULL;
            const double x0 = strtod(path + 1, &next) - CHART_WIDTH / 2.0;
            const double y0 = strtod(next, &next) - cy;
            assert_int_equal(*next, 'L');
            const double x1 = strtod(next + 1, &next) - CHART_WIDTH / 2.0;
            const double y1 = strtod(next, &next) - cy;
            path = next;
            double turn = atan2(x0, -y0) / (2.0 * 3.14159265358979323846);
            turn += turn < 0.0 ? 1.0 : 0.0;
            assert_within(c->heart.count.window.start_s + 60.0 * turn,
                          c->heart.count.onsets_s[n], 2e-3);
            assert_true(hypot(x1, y1) > hypot(x0, y0) + 10.0); /* outward */
        }
        assert_int_equal(n, c->heart.count.n);
        free(text);
        free(c);
    }
}

static void steady_is_an_even_comb(void **state)
{
    (void)state;
    fm_count *c = minute_steady();
    const chart_minute_dial dial = {.count = c};
    assert_int_equal(check(&dial, "chart-dial-steady.svg"), CHART_BEAT);
    free(c);
}

static void uneven_intervals_carry_bracket_and_word(void **state)
{
    (void)state;
    fm_count *c = minute_irregular();
    const chart_minute_dial dial = {.count = c};
    assert_int_equal(check(&dial, "chart-dial-irregular.svg"),
                     CHART_BEAT | CHART_BEAT_UNSURE); /* a word needs no legend */
    char *text = draw(&dial, NULL);
    assert_int_equal(occurrences(text, ">early</text>"), 3);
    assert_int_equal(occurrences(text, ">late</text>"), 1);
    assert_int_equal(occurrences(text, ">pause</text>"), 1);
    assert_int_equal(occurrences(text, BRACKET_STROKE),
                     5); /* early with what follows it */
    free(text);
    free(c);
}

/* Every second beat early, all through; and twelve fast beats in an even minute. */
static void a_run_has_one_bracket_and_one_word(void **state)
{
    (void)state;
    fm_count *c = minute_steady();
    for (size_t i = 0; i < 70; i++) {
        c->rhythm.intervals[i].kind =
            i % 2 == 0 ? FM_INTERVAL_EARLY : FM_INTERVAL_AFTER_EARLY;
    }
    const chart_minute_dial dial = {.count = c};
    char *text = draw(&dial, NULL);
    assert_int_equal(occurrences(text, BRACKET_STROKE), 1);
    assert_int_equal(occurrences(text, ">35</text>"), 1 + 1); /* and the scale's 35 s */
    assert_int_equal(occurrences(text, ">early</text>"), 1);
    free(text);
    free(c);
    c = minute_create(0.0, 60.0);
    double t_s = 0.3;
    for (size_t i = 0; t_s < 60.0; i++) {
        minute_add_beat(c, t_s, 0.9F);
        t_s += i >= 20 && i < 32 ? 0.45 : 0.8;
    }
    minute_finish(c);
    c->rhythm.n_findings = 1;
    c->rhythm.findings[0] = (fm_finding){.kind = FM_FINDING_FAST_RUN,
                                         .count = 1,
                                         .times_s = {c->heart.count.onsets_s[20]}};
    text = draw(&DIAL_OF(c), NULL);
    assert_int_equal(occurrences(text, BRACKET_STROKE), 1);
    assert_int_equal(occurrences(text, ">fast</text>"), 1);
    c->rhythm.findings[0].times_s[0] += 0.1; /* no run begins there */
    free(text);
    text = draw(&DIAL_OF(c), NULL);
    assert_int_equal(occurrences(text, BRACKET_STROKE), 0);
    free(text);
    free(c);
}

static void many_brackets_carry_shapes_and_no_letter(void **state)
{
    (void)state;
    fm_count *c = minute_crowded();
    unsigned marks = 0;
    char *text = draw(&DIAL_OF(c), &marks);
    assert_int_equal(marks & (CHART_EARLY | CHART_LATE), CHART_EARLY | CHART_LATE);
    assert_true(occurrences(text, "fill=\"" SVG_ORANGE "\"") > 20);
    assert_int_equal(occurrences(text, ">E</text>") + occurrences(text, ">L</text>"),
                     0);
    free(text);
    free(c);
}

static void taps_hang_inward_and_what_is_missing_is_marked(void **state)
{
    (void)state;
    fm_count *c = minute_irregular();
    fm_taps *t = taps_on(c);
    const chart_minute_dial dial = {.count = c, .taps = t};
    const unsigned marks = check(&dial, "chart-dial-taps.svg");
    const unsigned wanted = CHART_TAP | CHART_NOT_TAPPED | CHART_EXTRA_TAP;
    assert_int_equal(marks & wanted, wanted);
    char *text = draw(&dial, NULL);
    assert_int_equal(segments(path_with(text, TAP_STROKE)), t->n_matched + t->n_extra);
    assert_int_equal(occurrences(text, "<circle"), t->n_not_tapped);
    free(text);
    free(t);
    free(c);
}

static void a_tap_after_the_end_is_still_joined_to_its_beat(void **state)
{
    (void)state;
    fm_count *c = minute_create(0.0, 60.0);
    minute_add_beat(c, 59.9, 0.9F);
    fm_taps *t = calloc(1, sizeof *t);
    assert_non_null(t);
    t->n_matched = 1;
    t->matched[0] = (fm_tap_pair){59.9, 60.15};
    const chart_minute_dial dial = {.count = c, .taps = t};
    char *text = draw(&dial, NULL);
    const char *path = path_with(text, TAP_STROKE);
    assert_non_null(path);
    /* 0.15 s past the top is 0.9 degrees to the right of the middle */
    const double x = strtod(path + 1, NULL) - CHART_WIDTH / 2.0;
    assert_within(x, (160.0 - 15.0) * sin(0.9 / 57.29577951308232), 0.01);
    free(text);
    free(t);
    free(c);
}

static void nothing_to_draw(void **state)
{
    (void)state;
    fm_count *c = minute_create(0.0, 60.0);
    minute_finish(c);
    const chart_minute_dial dial = {.count = c};
    assert_int_equal(check(&dial, "chart-dial-none.svg"), 0);
    free(c);
}

static void one_beat(void **state)
{
    (void)state;
    fm_count *c = minute_create(0.0, 20.0);
    minute_add_beat(c, 7.5, 0.9F);
    minute_finish(c);
    const chart_minute_dial dial = {.count = c};
    assert_int_equal(check(&dial, "chart-dial-one.svg"),
                     CHART_BEAT | CHART_NOT_COUNTED);
    free(c);
}

static void what_is_not_a_number_is_not_drawn(void **state)
{
    (void)state;
    const double nan = (double)NAN;
    const double breaths[] = {nan, 3.0, (double)INFINITY};
    fm_count *c = minute_create(0.0, 60.0);
    minute_add_beat(c, 1.0, 0.9F);
    minute_add_beat(c, nan, 0.9F);
    minute_add_beat(c, 3.0, NAN); /* sureness not known: drawn as less sure */
    minute_add_beat(c, 61.0, 0.9F);
    c->rhythm.n_intervals = 3;
    c->rhythm.intervals[0] = (fm_interval){nan, 1.0, FM_INTERVAL_EARLY};
    c->rhythm.intervals[1] = (fm_interval){1.0, nan, FM_INTERVAL_LATE};
    c->rhythm.intervals[2] = (fm_interval){1.0, 2.0, FM_INTERVAL_PAUSE};
    c->heart.count.quality.n_gaps = 2;
    c->heart.count.quality.gaps[0] = (fm_span){nan, 2.0, FM_REASON_GAP};
    c->heart.count.quality.gaps[1] = (fm_span){10.0, nan, FM_REASON_GAP};
    const chart_minute_dial dial = {.count = c, .n_breaths = 3, .breath_s = breaths};
    const unsigned marks = check(&dial, "chart-dial-nan.svg");
    assert_int_equal(marks, CHART_BEAT | CHART_BEAT_UNSURE | CHART_BREATH);
    char *text = draw(&dial, NULL);
    assert_int_equal(occurrences(text, "nan"), 0);
    assert_int_equal(occurrences(text, "inf"), 0);
    assert_int_equal(occurrences(text, "?"), 0);
    free(text);
    free(c);
}

static void a_window_that_is_no_window_draws_nothing(void **state)
{
    (void)state;
    const double windows[][2] = {{5.0, 5.0}, {5.0, 4.0}, {(double)NAN, 60.0}};
    for (size_t i = 0; i < 3; i++) {
        fm_count *c = minute_create(windows[i][0], windows[i][1]);
        minute_add_beat(c, 5.0, 0.9F);
        const chart_minute_dial dial = {.count = c};
        unsigned marks = 1;
        char *text = draw(&dial, &marks);
        assert_int_equal(marks, 0);
        assert_int_equal(occurrences(text, "<path"), 0);
        free(text);
        free(c);
    }
}

static void refused_has_a_scale_and_no_tick(void **state)
{
    (void)state;
    fm_count *c = minute_refused();
    c->rhythm.intervals[4].kind = FM_INTERVAL_EARLY;
    fm_taps *t = taps_on(c);
    const chart_minute_dial dial = {.count = c, .taps = t};
    assert_int_equal(check(&dial, "chart-dial-refused.svg"), CHART_UNUSABLE);
    char *text = draw(&dial, NULL);
    assert_null(path_with(text, BEAT_STROKE));
    assert_null(path_with(text, TAP_STROKE));
    /* all of it is hatched, not only the stretch it is refused for */
    assert_int_equal(occurrences(text, ">usable</text>"), 1);
    assert_true(segments(path_with(text, HATCH_STROKE)) > 170);
    free(text);
    /* taps on the known beats of a composed recording give nothing away */
    const chart_minute_dial known = {.count = c, .taps = t, .taps_on_known = true};
    text = draw(&known, NULL);
    assert_null(path_with(text, BEAT_STROKE));
    assert_non_null(path_with(text, TAP_STROKE));
    free(text);
    free(t);
    free(c);
}

static void short_window_with_a_gap_is_numbered_from_its_start(void **state)
{
    (void)state;
    fm_count *c = minute_with_gap();
    const chart_minute_dial dial = {.count = c};
    const unsigned marks = check(&dial, "chart-dial-gap.svg");
    const unsigned wanted = CHART_GAP | CHART_UNUSABLE | CHART_NOT_COUNTED;
    assert_int_equal(marks & wanted, wanted);
    char *text = draw(&dial, NULL);
    assert_int_equal(occurrences(text, ">120 s</text>"), 1);
    assert_int_equal(occurrences(text, ">audio</text>"), 1);
    assert_int_equal(occurrences(text, ">usable</text>"), 1);
    assert_int_equal(occurrences(text, ">not counted</text>"), 1);
    assert_int_equal(occurrences(text, "stroke-dasharray=\"4 4\""),
                     1); /* the ring's rest */
    assert_int_equal(occurrences(text, ">165</text>"), 1);
    assert_int_equal(occurrences(text, ">170</text>"), 0); /* not counted: no number */
    free(text);
    free(c);
}

/* The quiet is a closed band with its seconds, whatever became of the heart. */
static void a_stretch_without_a_breath_is_drawn_and_labelled(void **state)
{
    (void)state;
    fm_count *const c = minute_steady();
    fm_count *const refused = minute_refused();
    const double breaths_s[] = {2.0,  6.1,  10.0, 14.2, 18.1,
                                22.0, 41.0, 45.0, 49.1, 53.0};
    const fm_breath_pause pauses[] = {{26.2, 41.0}, {-3.0, 1.0}};
    chart_minute_dial dial = {.count = c,
                              .n_breaths = 10,
                              .breath_s = breaths_s,
                              .n_pauses = 1,
                              .pauses = pauses};
    assert_int_equal(check(&dial, "chart-dial-pause.svg"),
                     CHART_BEAT | CHART_BREATH | CHART_BREATH_PAUSE);
    char *text = draw(&dial, NULL);
    assert_non_null(strstr(text, ">26-41 s<"));
    free(text);
    dial.pauses_known = true;
    dial.n_pauses = 2; /* the second reaches over the window's start */
    dial.count = refused;
    unsigned marks = 0;
    text = draw(&dial, &marks);
    assert_true((marks & CHART_KNOWN_BREATH_PAUSE) != 0);
    assert_true((marks & (CHART_BREATH_PAUSE | CHART_BEAT)) == 0);
    assert_non_null(strstr(text, ">-3-1 s<"));
    free(text);
    const fm_breath_pause none[] = {{(double)NAN, 5.0}, {70.0, 90.0}, {9.0, 9.0}};
    dial.pauses = none;
    dial.n_pauses = 3;
    text = draw(&dial, &marks);
    assert_true((marks & CHART_KNOWN_BREATH_PAUSE) == 0);
    free(text);
    free(refused);
    free(c);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(ticks_stand_where_the_beats_are),
        cmocka_unit_test(steady_is_an_even_comb),
        cmocka_unit_test(uneven_intervals_carry_bracket_and_word),
        cmocka_unit_test(a_run_has_one_bracket_and_one_word),
        cmocka_unit_test(many_brackets_carry_shapes_and_no_letter),
        cmocka_unit_test(taps_hang_inward_and_what_is_missing_is_marked),
        cmocka_unit_test(a_tap_after_the_end_is_still_joined_to_its_beat),
        cmocka_unit_test(a_stretch_without_a_breath_is_drawn_and_labelled),
        cmocka_unit_test(nothing_to_draw),
        cmocka_unit_test(one_beat),
        cmocka_unit_test(what_is_not_a_number_is_not_drawn),
        cmocka_unit_test(a_window_that_is_no_window_draws_nothing),
        cmocka_unit_test(refused_has_a_scale_and_no_tick),
        cmocka_unit_test(short_window_with_a_gap_is_numbered_from_its_start),
    };
    return cmocka_run_group_tests_name("src.chart_minute_dial", tests, NULL, NULL);
}
