#include "src/base/bytes.h"
#include "tests/support.h"

#include <stdint.h>
#include <stdlib.h>
#include <string.h>

static void what_was_added_is_taken_with_its_end_mark(void **state)
{
    (void)state;
    bytes b = BYTES_NONE;
    bytes_add_text(&b, "of ");
    for (int i = 0; i < 200; i++) {
        const char digit[] = {(char)('0' + i % 10), ',', '\0'};
        bytes_add_text(&b, digit);
    }
    bytes_add(&b, "\0x", 2);
    size_t n = 0;
    char *const text = bytes_take(&b, &n);
    assert_non_null(text);
    assert_int_equal(n, 3 + 400 + 2);
    assert_memory_equal(text, "of 0,1,2,", 9);
    assert_memory_equal(text + n - 2, "\0x", 3);
    assert_null(b.data);
    free(text);
}

static void nothing_is_an_empty_text(void **state)
{
    (void)state;
    bytes b = BYTES_NONE;
    char *const text = bytes_take(&b, NULL);
    assert_non_null(text);
    assert_string_equal(text, "");
    free(text);
}

static void a_failure_stays_to_the_end(void **state)
{
    (void)state;
    bytes b = BYTES_NONE;
    bytes_add_text(&b, "some");
    bytes_add(&b, "", SIZE_MAX);
    bytes_add_text(&b, "more");
    assert_true(b.failed);
    assert_null(bytes_take(&b, NULL));
    assert_null(b.data);
}

static void a_list_doubles_and_keeps_what_it_holds(void **state)
{
    (void)state;
    size_t room = 0;
    int *list = NULL;
    for (int i = 0; i < 1000; i++) {
        int *const more = list_with_room(list, (size_t)i + 1, &room, sizeof *list);
        assert_non_null(more);
        list = more;
        list[i] = i;
        assert_true(room > (size_t)i && room < 2 * ((size_t)i + 64));
    }
    for (int i = 0; i < 1000; i++) {
        assert_int_equal(list[i], i);
    }
    const size_t kept = room;
    assert_null(list_with_room(list, SIZE_MAX, &room, sizeof *list));
    assert_int_equal(room, kept);
    free(list);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(what_was_added_is_taken_with_its_end_mark),
        cmocka_unit_test(nothing_is_an_empty_text),
        cmocka_unit_test(a_failure_stays_to_the_end),
        cmocka_unit_test(a_list_doubles_and_keeps_what_it_holds),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
