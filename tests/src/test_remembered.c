/*
 * The remembered chest piece and tap delay, as a live sitting takes them.
 *   Source: the rules in src/usecase/remembered.h.
 *   Input:  settings written here by the settings' own writer; a list of two devices.
 */
#include "src/usecase/remembered.h"

#include "tests/support.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static char folder[] = "/tmp/fullminute-remembered-XXXXXX";

static settings *load(void)
{
    app_err err = APP_ERR_NONE;
    settings *const s = settings_load(&err);
    assert_non_null(s);
    return s;
}

static void the_remembered_input_is_taken_and_none_in_its_place(void **state)
{
    (void)state;
    device list[2] = {{.key = "alsa:laptop", .name = "laptop", .inputs = 2},
                      {.key = "alsa:chest piece", .name = "chest piece", .inputs = 1}};
    devices d = {.list = list, .n = 2};
    app_err err = APP_ERR_NONE;
    bool known = true;
    settings *const s = load();
    assert_null(remembered_input(s, &d, &known, &err));
    assert_false(known);
    assert_string_equal(err.text, "");
    assert_true(settings_set_text(s, SETTINGS_INPUT, "alsa:chest piece"));
    assert_ptr_equal(remembered_input(s, &d, &known, &err), &list[1]);
    assert_true(known);
    d.n = 1;
    assert_null(remembered_input(s, &d, &known, &err));
    assert_true(known);
    assert_int_equal(err.code, APP_USAGE);
    assert_non_null(strstr(err.text, "chest piece is not here"));
    settings_free(s);
}

static void a_tap_delay_is_that_of_its_input(void **state)
{
    (void)state;
    settings *const s = load();
    assert_true(settings_set_number_of(s, SETTINGS_TAP_DELAY_S, "alsa:a", 0.08));
    assert_within(remembered_tap_delay_s(s, "alsa:a"), 0.08, 1e-12);
    assert_within(remembered_tap_delay_s(s, "alsa:b"), 0.0, 0.0);
    settings_free(s);
}

static int own_home(void **state)
{
    (void)state;
    return mkdtemp(folder) != NULL ? setenv("XDG_CONFIG_HOME", folder, 1) : -1;
}

static int no_home(void **state)
{
    (void)state;
    return rmdir(folder);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_remembered_input_is_taken_and_none_in_its_place),
        cmocka_unit_test(a_tap_delay_is_that_of_its_input),
    };
    return cmocka_run_group_tests(tests, own_home, no_home);
}
