/* A part of a document that failed once stays failed, and nothing of it is kept. */
#include "tests/support.h"

#include "src/document/document_parts.h"

static void members_keep_their_order(void **state)
{
    (void)state;
    document_part part = document_start();
    document_put(&part, "b", json_integer(1));
    document_put(&part, "a", json_null());
    json_t *const object = document_end(&part);
    assert_non_null(object);
    char *const text = json_dumps(object, 0);
    assert_string_equal(text, "{\"b\": 1, \"a\": null}");
    free(text);
    json_decref(object);
}

static void a_value_that_failed_fails_the_whole(void **state)
{
    (void)state;
    document_part part = document_start();
    json_t *const after = json_integer(2);
    document_put(&part, "a", json_integer(1));
    document_put(&part, "b", NULL);
    document_put(&part, "c", json_incref(after)); /* taken over and let go */
    assert_int_equal(after->refcount, 1);
    json_decref(after);
    assert_null(document_end(&part));
    assert_null(part.object);
}

static void an_item_that_failed_fails_the_list(void **state)
{
    (void)state;
    json_t *array = document_append(json_array(), NULL);
    assert_null(array);
    json_t *const after = json_integer(2);
    array = document_append(array, json_incref(after));
    assert_null(array);
    assert_int_equal(after->refcount, 1);
    json_decref(after);
}

static void times_are_rounded_to_a_millisecond(void **state)
{
    (void)state;
    const double times_s[] = {0.5, 1.23456, (double)NAN};
    json_t *const array = document_times(times_s, 3);
    assert_int_equal(json_array_size(array), 3);
    assert_within(json_number_value(json_array_get(array, 1)), 1.235, 1e-12);
    assert_true(json_is_null(json_array_get(array, 2)));
    json_decref(array);
}

static void findings_name_no_more_times_than_are_kept(void **state)
{
    (void)state;
    const fm_finding many = {.kind = FM_FINDING_PAUSES, .count = FM_FINDING_TIMES + 3};
    json_t *const array = document_findings(&many, 1);
    const json_t *const only = json_array_get(array, 0);
    assert_string_equal(json_string_value(json_object_get(only, "kind")), "pauses");
    assert_int_equal(json_integer_value(json_object_get(only, "count")),
                     FM_FINDING_TIMES + 3);
    assert_int_equal(json_array_size(json_object_get(only, "times_s")),
                     FM_FINDING_TIMES);
    json_decref(array);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(members_keep_their_order),
        cmocka_unit_test(a_value_that_failed_fails_the_whole),
        cmocka_unit_test(an_item_that_failed_fails_the_list),
        cmocka_unit_test(times_are_rounded_to_a_millisecond),
        cmocka_unit_test(findings_name_no_more_times_than_are_kept),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
