/* Numbers in the place of names. */
#include "src/usecase/blind.h"
#include "tests/support.h"

#include <string.h>

static void a_number_is_of_the_name_alone(void **state)
{
    (void)state;
    char name[BLIND_NAME_BYTES];
    const int number = blind_number("recordings/bigeminy.flac");
    assert_in_range(number, 10000, 99999);
    assert_int_equal(blind_number("/elsewhere/bigeminy.wav"), number);
    assert_int_equal(blind_number("bigeminy"), number);
    assert_int_not_equal(blind_number("bigeminy2.flac"), number);
    assert_in_range(blind_number(".flac"), 10000, 99999);
    assert_string_equal(blind_name("bigeminy.flac", name), "Recording 59650");
}

static void the_one_of_a_number_is_found_or_said_to_be_missing(void **state)
{
    (void)state;
    const char *const paths[] = {"a/steady-072.flac", "a/bigeminy.flac",
                                 "b/bigeminy.flac"};
    const int number = blind_number("bigeminy.flac");
    app_err err = APP_ERR_NONE;
    assert_int_equal(blind_find(paths, 2, number, &err), 1);
    assert_int_equal(err.code, APP_DONE);
    assert_int_equal(blind_find(paths, 1, number, &err), -1);
    assert_non_null(strstr(err.text, "check the number"));
    err = (app_err)APP_ERR_NONE;
    assert_int_equal(blind_find(paths, 3, number, &err), -1);
    assert_non_null(strstr(err.text, "more than one"));
    assert_int_equal(err.code, APP_USAGE);
}

static void any_one_is_within(void **state)
{
    (void)state;
    for (int i = 0; i < 200; i++) {
        assert_in_range(blind_any(3), 0, 2);
        assert_int_equal(blind_any(1), 0);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_number_is_of_the_name_alone),
        cmocka_unit_test(the_one_of_a_number_is_found_or_said_to_be_missing),
        cmocka_unit_test(any_one_is_within),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
