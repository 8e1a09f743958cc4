/*
 * The list of shown marks: kept only where it is wanted, whole, over nothing.
 *   Source: src/command/demonstrate_log.h.
 *   Input:  three marks, in a folder made here.
 */
#include "tests/support.h"

#include "src/command/demonstrate_log.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static void nothing_is_kept_where_it_is_not_wanted(void **state)
{
    (void)state;
    app_err err = APP_ERR_NONE;
    demonstrate_log l;
    assert_true(demonstrate_log_open(&l, NULL, false, &err));
    demonstrate_log_add(&l, 1.0, false);
    assert_int_equal(l.n, 0);
    assert_true(demonstrate_log_close(&l, &err));
    assert_string_equal(err.text, "");
}

static void every_mark_is_a_line_in_its_order(void **state)
{
    (void)state;
    app_err err = APP_ERR_NONE;
    demonstrate_log l;
    char folder[] = "/tmp/fullminute-shown-XXXXXX";
    char path[64];
    char text[512] = "";
    (void)snprintf(path, sizeof path, "%s/shown.tsv", mkdtemp(folder));
    assert_true(demonstrate_log_open(&l, path, false, &err));
    for (int i = 0; i < 3; i++) {
        demonstrate_log_add(&l, 0.5 + i, i % 2 == 1);
    }
    assert_true(demonstrate_log_close(&l, &err));
    FILE *const f = fopen(path, "r");
    assert_non_null(f);
    text[fread(text, 1, sizeof text - 1, f)] = '\0';
    (void)fclose(f);
    double shown_s[3];
    double at_s[3];
    char mark[3][4];
    /* NOLINTNEXTLINE(cert-err34-c): numbers of our own, and held to what they are below */
    assert_int_equal(
        sscanf(text,
               "shown_monotonic_s\tat_s\tmark\n%lf\t%lf\t%3s\n%lf\t%lf\t%3s\n"
               "%lf\t%lf\t%3s\n",
               &shown_s[0], &at_s[0], mark[0], &shown_s[1], &at_s[1], mark[1],
               &shown_s[2], &at_s[2], mark[2]),
        9);
    assert_true(shown_s[0] <= shown_s[1] && shown_s[1] <= shown_s[2]);
    assert_within(at_s[2], 2.5, 1e-9);
    assert_string_equal(mark[1], "S2");
    assert_string_equal(mark[2], "S1");
    assert_false(demonstrate_log_open(&l, path, false, &err)); /* it is there already */
    assert_int_equal(err.code, APP_USAGE);
    assert_int_equal(unlink(path), 0);
    assert_int_equal(rmdir(folder), 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(nothing_is_kept_where_it_is_not_wanted),
        cmocka_unit_test(every_mark_is_a_line_in_its_order),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
