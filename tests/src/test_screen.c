/*
 * A screen redrawn in place: what has changed is written, what has not is not.
 *   Source: ECMA-48 (5th edition, 1991): CUP 'ESC [ H', EL 'ESC [ K', ED 'ESC [ J'.
 *   Input:  texts of two lines, on a file in the place of a terminal.
 */
#include "tests/support.h"

#include "src/command/screen.h"

#include <stdlib.h>
#include <string.h>

/* What was written since the last call. */
static const char *written(FILE *f)
{
    static char text[512];
    static long from;
    (void)fflush(f);
    assert_int_equal(fseek(f, from, SEEK_SET), 0);
    text[fread(text, 1, sizeof text - 1, f)] = '\0';
    from = ftell(f);
    return text;
}

static void only_what_has_changed_is_drawn(void **state)
{
    (void)state;
    screen s = {.to = tmpfile(), .kept = -1};
    assert_non_null(s.to);
    screen_draw(&s, "one\ntwo\n");
    assert_string_equal(written(s.to), "\033[Hone\033[K\ntwo\033[K\n\033[J");
    screen_draw(&s, "one\ntwo\n");
    assert_string_equal(written(s.to), "");
    screen_draw(&s, "one\nthree\n");
    assert_string_equal(written(s.to), "\033[Hone\033[K\nthree\033[K\n\033[J");
    screen_draw(&s, "");
    assert_string_equal(written(s.to), "\033[H\033[J");
    screen_close(&s);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(only_what_has_changed_is_drawn)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
