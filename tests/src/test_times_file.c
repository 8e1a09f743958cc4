#include "tests/support.h"

#include "src/document/times_file.h"
#include "src/usecase/document_files.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static times t;
static app_err err;

static bool parse(const char *text, times_kind kind)
{
    times_free(&t);
    err = (app_err)APP_ERR_NONE;
    return times_parse("taps.txt", text, strlen(text), kind, &t, &err);
}

static void taps_are_read_as_written(void **state)
{
    (void)state;
    assert_true(parse("# fullminute.taps/1\n0.5\n 1.25 # a remark\n\n# more\n2e0\n2\n",
                      TIMES_TAPS));
    assert_int_equal(t.n, 4);
    assert_within(t.s[0], 0.5, 0.0);
    assert_within(t.s[1], 1.25, 0.0);
    assert_within(t.s[2], 2.0, 0.0);
    assert_within(t.s[3], 2.0, 0.0);
}

/* Editors elsewhere write a byte order mark and carriage returns. */
static void foreign_line_ends_and_marks_are_allowed(void **state)
{
    (void)state;
    assert_true(parse("\xef\xbb\xbf# fullminute.taps/1\r\n0.5\r\n1.5\r\n", TIMES_TAPS));
    assert_int_equal(t.n, 2);
    assert_within(t.s[1], 1.5, 0.0);
    assert_true(parse("# fullminute.taps/1", TIMES_TAPS)); /* no tap is no error */
    assert_int_equal(t.n, 0);
}

static void intervals_may_go_up_and_down(void **state)
{
    (void)state;
    assert_true(parse("# fullminute.intervals/1\n0.8\n0.5\n1.1\n", TIMES_INTERVALS));
    assert_int_equal(t.n, 3);
    assert_false(parse("# fullminute.intervals/1\n0.8\n0\n", TIMES_INTERVALS));
    assert_non_null(strstr(err.text, "line 3"));
}

static void every_error_names_its_line(void **state)
{
    (void)state;
    static const struct {
        const char *text;
        const char *line;
        const char *says;
    } cases[] = {
        {"0.5\n1.0\n", "line 1", "# fullminute.taps/1"},
        {"# fullminute.taps/2\n0.5\n", "line 1", "# fullminute.taps/1"},
        /*               ^ */
        {"# fullminute.intervals/1\n0.5\n", "line 1", "# fullminute.taps/1"},
        {"# fullminute.taps/1\n0.5\nseventy\n", "line 3", "seventy"},
        /*                          ^ */
        {"# fullminute.taps/1\n0.5 0.7\n", "line 2", "one number"},
        /*                         ^ */
        {"# fullminute.taps/1\n0,5\n", "line 2", "0,5"},
        /*                      ^ */
        {"# fullminute.taps/1\n-0.5\n", "line 2", "negative"},
        {"# fullminute.taps/1\n\n2.0\n1.0\n", "line 4", "back in time"},
        {"# fullminute.taps/1\nnan\n", "line 2", "nan"},
        {"# fullminute.taps/1\ninf\n", "line 2", "inf"},
        {"# fullminute.taps/1\n1e999\n", "line 2", "1e999"},
        {"# fullminute.taps/1\n0x1p3\n", "line 2", "0x1p3"},
        {"# fullminute.taps/1\n1.0\n\xff\xfe\n", "line 3", "??"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        assert_false(parse(cases[i].text, TIMES_TAPS));
        assert_int_equal(err.code, APP_UNREADABLE);
        assert_non_null(strstr(err.text, "taps.txt"));
        assert_non_null(strstr(err.text, cases[i].line));
        assert_non_null(strstr(err.text, cases[i].says));
        assert_int_equal(t.n, 0);
        assert_null(t.s);
    }
}

static void bytes_that_are_no_text_are_refused(void **state)
{
    (void)state;
    static const char zero[] = "# fullminute.taps/1\n1.0\n\0\0\n";
    static char long_line[2000];
    err = (app_err)APP_ERR_NONE;
    assert_false(times_parse("x", zero, sizeof zero - 1, TIMES_TAPS, &t, &err));
    assert_non_null(strstr(err.text, "line 3"));
    memset(long_line, '1', sizeof long_line);
    memcpy(long_line, "# fullminute.taps/1\n", 20);
    assert_false(times_parse("x", long_line, sizeof long_line, TIMES_TAPS, &t, &err));
    assert_non_null(strstr(err.text, "line 2"));
    memset(long_line + 20, '#', sizeof long_line - 20); /* a long comment is fine */
    assert_true(times_parse("x", long_line, sizeof long_line, TIMES_TAPS, &t, &err));
    assert_false(times_parse("x", "", 0, TIMES_TAPS, &t, &err));
    assert_non_null(strstr(err.text, "empty"));
}

static void files_are_read_whole_and_missing_ones_named(void **state)
{
    (void)state;
    char path[] = "/tmp/fullminute-times-XXXXXX";
    const int fd = mkstemp(path);
    assert_true(fd >= 0);
    FILE *const file = fdopen(fd, "w");
    assert_non_null(file);
    (void)fputs("# fullminute.intervals/1\n", file);
    for (int i = 0; i < 50000; i++) {
        (void)fprintf(file, "0.%03d\n", i % 900 + 100);
    }
    assert_int_equal(fclose(file), 0);
    times_free(&t);
    assert_true(times_file_read(path, TIMES_INTERVALS, &t, &err));
    assert_int_equal(t.n, 50000);
    assert_within(t.s[49999], 0.001 * (49999 % 900 + 100), 1e-12);
    times_free(&t);
    (void)unlink(path);
    assert_false(times_file_read(path, TIMES_INTERVALS, &t, &err));
    assert_int_equal(err.code, APP_UNREADABLE);
    assert_non_null(strstr(err.text, path));
    assert_false(times_file_read("/", TIMES_TAPS, &t, &err));
    assert_int_equal(err.code, APP_UNREADABLE);
}

static int clean_up(void **state)
{
    (void)state;
    times_free(&t);
    return 0;
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(taps_are_read_as_written),
        cmocka_unit_test(foreign_line_ends_and_marks_are_allowed),
        cmocka_unit_test(intervals_may_go_up_and_down),
        cmocka_unit_test(every_error_names_its_line),
        cmocka_unit_test(bytes_that_are_no_text_are_refused),
        cmocka_unit_test(files_are_read_whole_and_missing_ones_named),
    };
    return cmocka_run_group_tests_name("src.times_file", tests, NULL, clean_up);
}
