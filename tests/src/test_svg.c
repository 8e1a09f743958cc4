#include "tests/src/chart_support.h"

static char *taken(svg *s)
{
    char *text = svg_take(s, NULL);
    assert_non_null(text);
    return text;
}

static void numbers_are_short_and_in_the_c_locale(void **state)
{
    (void)state;
    static const struct {
        double v;
        int decimals;
        const char *text;
    } cases[] = {
        {0.0, 2, "0"},
        {-0.0, 2, "0"},
        {-0.004, 2, "0"},
        {-0.005001, 2, "-0.01"},
        {1.5, 2, "1.5"},
        {12.34567, 2, "12.35"},
        {12.0, 6, "12"},
        {0.05, 2, "0.05"},
        {-7.25, 2, "-7.25"},
        {99.996, 2, "100"},
        {2.5, 0, "3"},
        {86395.0, 0, "86395"},
        {1e9, 2, "?"},
        {(double)NAN, 2, "?"},
        {-(double)INFINITY, 2, "?"},
        {999999999.25, 6, "999999999.25"},
    };
    char out[SVG_NUMBER_BYTES];
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        assert_string_equal(svg_number_text(out, cases[i].v, cases[i].decimals),
                            cases[i].text);
    }
}

static void text_is_escaped_and_kept_utf8(void **state)
{
    (void)state;
    svg s = {0};
    svg_escaped(&s, "a<b & \"c\">d");
    svg_escaped(&s, "|\xC3\xA9\xE2\x82\xAC|");         /* e acute, euro sign */
    svg_escaped(&s, "\x01\x7F|");                      /* controls */
    svg_escaped(&s, "\xC3(\xFF\xC0\x80\xED\xA0\x80|"); /* broken, overlong, surrogate */
    svg_escaped(&s, "\xE2\x82");                       /* cut off */
    svg_escaped(&s, "|\xEF\xBF\xBE\xEF\xBF\xBF|"); /* U+FFFE, U+FFFF: XML 1.0, 2.2 */
    svg_escaped(&s, "\xE2\xBF\xBE\xEF\xBE\xBE");   /* U+2FFE, U+FFBE are characters */
    svg_escaped(&s, NULL);
    char *text = taken(&s);
    assert_string_equal(text, "a&lt;b &amp; &quot;c&quot;&gt;d|\xC3\xA9\xE2\x82\xAC|"
                              "\xEF\xBF\xBD\xEF\xBF\xBD|"
                              "\xEF\xBF\xBD(\xEF\xBF\xBD\xEF\xBF\xBD\xEF\xBF\xBD"
                              "\xEF\xBF\xBD\xEF\xBF\xBD\xEF\xBF\xBD|"
                              "\xEF\xBF\xBD\xEF\xBF\xBD"
                              "|\xEF\xBF\xBD\xEF\xBF\xBD\xEF\xBF\xBD"
                              "\xEF\xBF\xBD\xEF\xBF\xBD\xEF\xBF\xBD|"
                              "\xE2\xBF\xBE\xEF\xBE\xBE");
    free(text);
}

static void what_is_not_finite_is_left_out(void **state)
{
    (void)state;
    const double nan = (double)NAN;
    const svg_stroke line = {SVG_INK, 1.0, NULL};
    svg s = {0};
    svg_path(&s);
    svg_segment(&s, 0.0, nan, 1.0, 1.0);
    svg_move(&s, nan, 0.0);
    svg_draw(&s, 0.0, (double)INFINITY);
    svg_arc(&s, 0.0, 0.0, nan, 0.0, 90.0);
    svg_arc(&s, 0.0, 0.0, 10.0, 0.0, nan);
    svg_arc(&s, 0.0, 0.0, 10.0, 90.0, 90.0);
    svg_path_end(&s, line);
    svg_circle(&s, nan, 0.0, 1.0, line);
    svg_rect(&s, 0.0, 0.0, nan, 1.0, SVG_INK);
    svg_rect(&s, 0.0, 0.0, 0.0, 1.0, SVG_INK);
    svg_text(&s, 0.0, nan, (svg_type){12.0, SVG_INK, SVG_START, false}, "x");
    svg_text(&s, 0.0, 0.0, (svg_type){12.0, SVG_INK, SVG_START, false}, "");
    svg_hatch(&s, 0.0, 0.0, nan, 10.0, false);
    char *text = taken(&s);
    assert_string_equal(text, "");
    free(text);
}

/*
 * Closed form: a clock hand. 0 degrees is up, 90 to the right, y grows downward.
 */
static void angles_run_like_a_clock(void **state)
{
    (void)state;
    const svg_point up = svg_polar(100.0, 50.0, 10.0, 0.0);
    const svg_point right = svg_polar(100.0, 50.0, 10.0, 90.0);
    const svg_point four = svg_polar(0.0, 0.0, 2.0, 120.0);
    assert_within(up.x, 100.0, 1e-12);
    assert_within(up.y, 40.0, 1e-12);
    assert_within(right.x, 110.0, 1e-12);
    assert_within(right.y, 50.0, 1e-12);
    assert_within(four.x, sqrt(3.0), 1e-12);
    assert_within(four.y, 1.0, 1e-12);
}

static void a_whole_turn_is_two_arcs(void **state)
{
    (void)state;
    svg s = {0};
    svg_path(&s);
    svg_arc(&s, 0.0, 0.0, 10.0, 0.0, 360.0);
    svg_path_end(&s, (svg_stroke){SVG_INK, 1.0, NULL});
    char *text = taken(&s);
    assert_string_equal(text,
                        "<path d=\"M0 -10A10 10 0 0 1 0 10A10 10 0 0 1 0 -10\" "
                        "fill=\"none\" stroke=\"#000000\" stroke-width=\"1\"/>\n");
    free(text);
}

static void lines_break_at_spaces_and_fit(void **state)
{
    (void)state;
    const svg_type type = {10.0, SVG_INK, SVG_START, false};
    svg s = {0};
    const double y =
        svg_text_block(&s, 5.0, 20.0, 60.0, type, "one two three 1234\xC2\xA0s");
    char *text = taken(&s);
    assert_string_equal(
        text,
        "<text x=\"5\" y=\"20\" font-size=\"10\" fill=\"#000000\">one two</text>\n"
        "<text x=\"5\" y=\"33.5\" font-size=\"10\" fill=\"#000000\">three</text>\n"
        "<text x=\"5\" y=\"47\" font-size=\"10\" "
        "fill=\"#000000\">1234\xC2\xA0s</text>\n");
    assert_within(y, 20.0 + 3.0 * 13.5, 1e-9);
    free(text);
}

static void a_word_wider_than_the_line_is_cut_between_characters(void **state)
{
    (void)state;
    const svg_type type = {10.0, SVG_INK, SVG_START, false};
    char word[600];
    for (size_t i = 0; i + 1 < sizeof word; i += 2) {
        word[i] = '\xC3';
        word[i + 1] = '\xA9';
    }
    word[sizeof word - 2] = '\0';
    svg s = {0};
    svg_text_block(&s, 0.0, 0.0, 100.0, type, word);
    char *text = taken(&s);
    assert_int_equal(occurrences(text, "\xC3\xA9"), strlen(word) / 2);
    assert_int_equal(occurrences(text, "\xEF\xBF\xBD"), 0); /* no half character */
    assert_true(occurrences(text, "<text") >= 29);
    free(text);
}

/* Every end of a stroke lies on or in the rectangle. */
static void hatching_stays_inside(void **state)
{
    (void)state;
    static const double widths[] = {0.3, 2.0, 7.0, 40.0};
    for (size_t i = 0; i < sizeof widths / sizeof widths[0]; i++) {
        svg s = {0};
        svg_hatch(&s, 10.0, 20.0, widths[i], 30.0, false);
        char *text = taken(&s);
        size_t n = 0;
        for (char *p = text; (p = strpbrk(p, "ML")) != NULL; p++) {
            char *next = NULL;
            const double x = strtod(p + 1, &next);
            const double y = strtod(next, NULL);
            assert_true(x >= 10.0 - 0.006 && x <= 10.0 + widths[i] + 0.006);
            assert_true(y >= 20.0 - 0.006 && y <= 50.0 + 0.006);
            n++;
        }
        assert_true(n >= 2 && n % 2 == 0);
        free(text);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(numbers_are_short_and_in_the_c_locale),
        cmocka_unit_test(text_is_escaped_and_kept_utf8),
        cmocka_unit_test(what_is_not_finite_is_left_out),
        cmocka_unit_test(angles_run_like_a_clock),
        cmocka_unit_test(a_whole_turn_is_two_arcs),
        cmocka_unit_test(lines_break_at_spaces_and_fit),
        cmocka_unit_test(a_word_wider_than_the_line_is_cut_between_characters),
        cmocka_unit_test(hatching_stays_inside),
    };
    return cmocka_run_group_tests_name("src.svg", tests, NULL, NULL);
}
