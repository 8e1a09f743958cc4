#include "tests/support.h"

#include "src/document/rhythm_file.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define FIRST "# fullminute.rhythm/1\n"

static times t;
static app_err err;

static bool parse(const char *text)
{
    times_free(&t);
    err = (app_err)APP_ERR_NONE;
    return rhythm_file_parse("words.txt", text, strlen(text), &t, &err);
}

static void expect(const char *text, size_t n, const double *wanted_s)
{
    assert_true(parse(text));
    assert_int_equal(t.n, n);
    for (size_t i = 0; i < n; i++) {
        assert_within(t.s[i], wanted_s[i], 1e-12);
    }
}

/* By hand: 60 / 75 = 0.8 s; 0.65 of it 0.52, 1.35 of it 1.08; 2 of it 1.6. */
static void every_line_makes_the_intervals_it_says(void **state)
{
    (void)state;
    expect(FIRST "beats 2 at 75\nearly 0.65\npause 2.0 # a remark\ninterval 0.7\n", 6,
           (const double[]){0.8, 0.8, 0.52, 1.08, 1.6, 0.7});
    expect(FIRST "beats 1 at 75\nearly 0.65 then 1.1\n", 3,
           (const double[]){0.8, 0.52, 0.88});
    expect(FIRST "beats 3 from 60 to 120\n", 3,
           (const double[]){1.0, 60.0 / 90.0, 0.5});
}

/* A share is one of the last interval that beats gave, not of a pause or an early one. */
static void shares_are_of_the_last_even_interval(void **state)
{
    (void)state;
    expect(FIRST "beats 1 at 60\npause 2\npause 1.5\nbeats 1 at 120\npause 2\n", 5,
           (const double[]){1.0, 2.0, 1.5, 0.5, 1.0});
}

static void repeats_lie_within_each_other(void **state)
{
    (void)state;
    expect(FIRST "repeat 2\n beats 1 at 60\n repeat 2\n  beats 1 at 120\n end\nend\n",
           6, (const double[]){1.0, 0.5, 0.5, 1.0, 0.5, 0.5});
}

static void foreign_line_ends_and_marks_are_allowed(void **state)
{
    (void)state;
    expect("\xef\xbb\xbf# fullminute.rhythm/1\r\nbeats 1 at 60\r\n", 1,
           (const double[]){1.0});
    expect(FIRST "beats\t1  at 60", 1, (const double[]){1.0});
}

/* The line that is wrong is named, and what it must be. */
static void wrong_lines_are_named(void **state)
{
    (void)state;
    static const struct {
        const char *text;
        const char *said;
    } ROWS[] = {
        {"beats 1 at 60\n", "line 1 must be"},
        {"", "line 1 must be"},
        {FIRST, "no beats"},
        {FIRST "beats 2 at 60\nbeats two at 60\n", "line 3 must be 'beats"},
        {FIRST "beats 2 at 11\n", "line 2 must be 'beats"},
        {FIRST "beats 2 at nan\n", "line 2 must be 'beats"},
        {FIRST "beats 0 at 60\n", "line 2 must be 'beats"},
        {FIRST "beats 2 at 60 to 70 and 80\n", "too many words"},
        {FIRST "early 0.6\n", "line 2 needs an interval"},
        {FIRST "beats 1 at 60\nearly 1.2\n", "line 3 must be 'early"},
        {FIRST "beats 1 at 60\nearly 0.1\n", "not 0.2 to 5 s"},
        {FIRST "beats 1 at 20\npause 2\n", "not 0.2 to 5 s"},
        {FIRST "beats 1 at 60\npause 0.9\n", "line 3 must be 'pause"},
        {FIRST "interval 6\n", "not 0.2 to 5 s"},
        {FIRST "interval inf\n", "line 2"},
        {FIRST "end\n", "line 2 must be 'end'"},
        {FIRST "repeat 2\nend\n", "no beats in it"},
        {FIRST "beats 1 at 60\nrepeat 2\nbeats 1 at 60\n", "line 3 starts a repeat"},
        {FIRST "repeat 1\nrepeat 1\nrepeat 1\nrepeat 1\nrepeat 1\n", "too deep"},
        {FIRST "beats 100000 at 60\nbeats 1 at 60\n", "too many intervals"},
        {FIRST "repeat 9999\nbeats 1000 at 60\nend\n", "too many intervals"},
        {FIRST "sleep 2\n", "must begin with"},
    };
    for (size_t i = 0; i < sizeof ROWS / sizeof ROWS[0]; i++) {
        assert_false(parse(ROWS[i].text));
        assert_int_equal(err.code, APP_UNREADABLE);
        if (strstr(err.text, ROWS[i].said) == NULL) {
            fail_msg("'%s' does not say '%s'", err.text, ROWS[i].said);
        }
        assert_null(t.s);
        assert_int_equal(t.n, 0);
    }
}

static void bytes_that_are_no_text_are_refused(void **state)
{
    (void)state;
    static const char ZERO[] = FIRST "beats 1 at 60\n\0beats 1 at 60\n";
    assert_false(rhythm_file_parse("words.txt", ZERO, sizeof ZERO - 1, &t, &err));
    assert_non_null(strstr(err.text, "not text"));
    static char large[RHYTHM_FILE_BYTES_MAX + 1];
    memset(large, ' ', sizeof large);
    assert_false(rhythm_file_parse("words.txt", large, sizeof large, &t, &err));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_line_makes_the_intervals_it_says),
        cmocka_unit_test(shares_are_of_the_last_even_interval),
        cmocka_unit_test(repeats_lie_within_each_other),
        cmocka_unit_test(foreign_line_ends_and_marks_are_allowed),
        cmocka_unit_test(wrong_lines_are_named),
        cmocka_unit_test(bytes_that_are_no_text_are_refused),
    };
    const int status = cmocka_run_group_tests(tests, NULL, NULL);
    times_free(&t);
    return status;
}
