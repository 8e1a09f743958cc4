/* An input's name: which one is a file. Listening itself is in tests/live and tests/src/test_tap_test.c. */
#include "tests/support.h"

#include "src/usecase/input_meter.h"

static void only_what_begins_with_file_is_one(void **state)
{
    (void)state;
    assert_null(input_meter_file(NULL));
    assert_null(input_meter_file(""));
    assert_null(input_meter_file("file"));
    assert_null(input_meter_file("USB microphone"));
    assert_string_equal(input_meter_file("file:a.wav"), "a.wav");
    assert_string_equal(input_meter_file("file:"), "");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(only_what_begins_with_file_is_one)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
