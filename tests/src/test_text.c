/* Numbers from text, and the nearest word to a mistyped one. */
#include "tests/support.h"

#include "src/base/text.h"

#include <stdlib.h>

static void reads_decimal_numbers_whole(void **state)
{
    (void)state;
    static const struct {
        const char *text;
        double value;
    } good[] = {
        {"0", 0.0},  {"72", 72.0}, {"-5", -5.0},    {"+3", 3.0},      {"0.25", 0.25},
        {".5", 0.5}, {"7.", 7.0},  {"1e3", 1000.0}, {"1.5E-1", 0.15}, {"007", 7.0},
    };
    for (size_t i = 0; i < sizeof good / sizeof *good; i++) {
        double value = -1.0;
        assert_true(text_to_double(good[i].text, &value));
        assert_within(value, good[i].value, 1e-15);
    }
}

static void turns_everything_else_away(void **state)
{
    (void)state;
    static const char *const bad[] = {
        "",     " ",  "seventy", "1 2", " 1", "1 ",  "1,5", "0x10", "nan",   "inf",
        "-inf", "1e", "1e+",     ".",   "-",  "+-1", "--1", "1..2", "1e5.5", "1e999",
    };
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
        double value = 42.0;
        assert_false(text_to_double(bad[i], &value));
        assert_within(value, 42.0, 0.0);
    }
    double value = 0.0;
    assert_false(text_to_double(NULL, &value));
}

static void reads_whole_numbers_that_fit(void **state)
{
    (void)state;
    long value = 0;
    assert_true(text_to_long("-12", &value));
    assert_int_equal(value, -12);
    assert_false(text_to_long("12.0", &value));
    assert_false(text_to_long("99999999999999999999", &value));
    assert_false(text_to_long("", &value));
    assert_false(text_to_long("-", &value));
    assert_int_equal(value, -12);
}

/*
 * Against worked examples.
 *   Source:    optimal string alignment distance by hand: one change, one left out, one
 *              too many, one swap of neighbours; kitten to sitting is 3 (Wagner and
 *              Fischer's edit distance, from memory).
 *   Tolerance: none.
 */
static void counts_the_slips_of_typing(void **state)
{
    (void)state;
    assert_int_equal(text_distance("count", "count"), 0);
    assert_int_equal(text_distance("count", "cuont"), 1);
    assert_int_equal(text_distance("count", "cont"), 1);
    assert_int_equal(text_distance("count", "countt"), 1);
    assert_int_equal(text_distance("kitten", "sitting"), 3);
    assert_int_equal(text_distance("", "abc"), 3);
    assert_true(text_distance("a", "a long text of more than thirty-two bytes") > 30);
}

static void offers_only_what_is_near(void **state)
{
    (void)state;
    text_nearest nearest = {"cuont", NULL, 0};
    text_nearest_offer(&nearest, "check");
    assert_null(nearest.word);
    text_nearest_offer(&nearest, "count");
    text_nearest_offer(&nearest, "compose");
    assert_string_equal(nearest.word, "count");
}

/* What text_print_clean prints, to be freed. */
static char *cleaned(const char *text)
{
    char *out = NULL;
    size_t n = 0;
    FILE *const to = open_memstream(&out, &n);
    assert_non_null(to);
    text_print_clean(text, to);
    assert_int_equal(fclose(to), 0);
    return out;
}

/* Each stands before "mx", which must come out whole behind it. */
static void what_is_not_to_be_shown_becomes_a_mark(void **state)
{
    (void)state;
    static const char *const bad[] = {
        "\x9b",         /* control sequence introducer, one byte */
        "\xc2\x9b",     /* the same as UTF-8 */
        "\xe2\x80\xae", /* from right to left */
        "\xe2\x81\xa6", /* isolate */
        "\xe2\x80\x8b", /* space of no width */
        "\xef\xbb\xbf", /* byte order mark */
        "\xff",         /* no UTF-8 */
        "\x80",         /* a following byte alone */
    };
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
        char text[16];
        (void)snprintf(text, sizeof text, "%smx", bad[i]);
        char *const out = cleaned(text);
        assert_string_equal(out, "?mx");
        free(out);
    }
    static const char *const pairs[][2] = {
        {"\xc0\xaf/", "\?\?/"},                        /* longer than it need be */
        {"\xe0\x80\xaf/", "\?\?\?/"},                  /* the same */
        {"\xed\xa0\x80.", "\?\?\?."},                  /* half a pair */
        {"\xf4\x90\x80\x80.", "\?\?\?\?."},            /* past the last character */
        {"\xe2\x80", "\?\?"},                          /* ends inside */
        {"S\xc3\xb6ren \xe5\xbf\x83 \xf0\x9f\xab\x80", /* these are text */
         "S\xc3\xb6ren \xe5\xbf\x83 \xf0\x9f\xab\x80"},
    };
    for (size_t i = 0; i < sizeof pairs / sizeof *pairs; i++) {
        char *const out = cleaned(pairs[i][0]);
        assert_string_equal(out, pairs[i][1]);
        free(out);
    }
}

static void names_cannot_move_the_cursor(void **state)
{
    (void)state;
    char *const text = cleaned("a\x1b[2J\n\x7f h\xc3\xb6r.wav");
    assert_string_equal(text, "a?[2J?? h\xc3\xb6r.wav");
    free(text);
}

static void a_line_ends_at_a_blank_that_fits(void **state)
{
    (void)state;
    static const struct {
        const char *text;
        size_t width, length;
    } CASES[] = {{"", 5, 0},
                 {"one", 5, 3},
                 {"one two", 7, 7},
                 {"one two", 6, 3},
                 {"one two", 3, 3},
                 {"one two", 2, 3},
                 {"longword two", 4, 8},
                 {"a b c d", 5, 5}};
    for (size_t i = 0; i < sizeof CASES / sizeof CASES[0]; i++) {
        assert_int_equal(text_line(CASES[i].text, CASES[i].width), CASES[i].length);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_line_ends_at_a_blank_that_fits),
        cmocka_unit_test(reads_decimal_numbers_whole),
        cmocka_unit_test(turns_everything_else_away),
        cmocka_unit_test(reads_whole_numbers_that_fit),
        cmocka_unit_test(counts_the_slips_of_typing),
        cmocka_unit_test(offers_only_what_is_near),
        cmocka_unit_test(names_cannot_move_the_cursor),
        cmocka_unit_test(what_is_not_to_be_shown_becomes_a_mark),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
