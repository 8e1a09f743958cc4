/*
 * How the learner listens: which outputs are refused.
 *   Source:    none; names of outputs are written from memory of what systems say.
 */
#include "src/usecase/listening.h"

#include "tests/support.h"

#include <stdio.h>
#include <string.h>

static void loudspeakers_are_refused_with_the_way_out(void **state)
{
    (void)state;
    const char *const speakers[] = {"Built-in Audio: Speaker", "HDA NVidia: HDMI 0",
                                    "USB Loudspeaker"};
    for (size_t i = 0; i < 3; i++) {
        app_err err = APP_ERR_NONE;
        device d = {0};
        (void)snprintf(d.name, sizeof d.name, "%s", speakers[i]);
        assert_false(listening_output_check(&d, &err));
        assert_int_equal(err.code, APP_USAGE);
        assert_non_null(strstr(err.text, "listen with your own stethoscope"));
        assert_int_equal(err.advice, HINT_STETHOSCOPE);
    }
    app_err err = APP_ERR_NONE;
    device d = {.name = "USB Audio: Headphones"};
    assert_true(listening_output_check(&d, &err));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(loudspeakers_are_refused_with_the_way_out),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
