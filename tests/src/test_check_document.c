/* The comparison as a document: the contract's members, nulls for what is not known. */
#include "src/document/document_parts.h"
#include "src/words/said.h"
#include "tests/src/check_support.h"

static json_t *document(void)
{
    json_t *const d = said_check(&view);
    assert_non_null(d);
    return d;
}

static void the_document_holds_the_contract(void **state)
{
    (void)state;
    static const char *const members[] = {
        "schema",    "count", "manual", "difference",   "verdict",
        "tolerance", "slip",  "taps",   "short_counts", "reference"};
    start(72.0, 60.0);
    compare(144, 60, FM_SITE_APICAL);
    json_t *const d = document();
    for (size_t i = 0; i < sizeof members / sizeof members[0]; i++) {
        assert_non_null(json_object_get(d, members[i]));
    }
    assert_string_equal(json_string_value(json_object_get(d, "schema")),
                        "fullminute.check/1");
    assert_string_equal(json_string_value(json_object_get(d, "verdict")), "differs");
    const json_t *const manual = json_object_get(d, "manual");
    assert_int_equal(json_integer_value(json_object_get(manual, "entered")), 144);
    assert_int_equal(json_integer_value(json_object_get(manual, "seconds")), 60);
    assert_string_equal(json_string_value(json_object_get(manual, "convention")),
                        "clock");
    assert_string_equal(json_string_value(json_object_get(manual, "site")), "apical");
    assert_within(json_number_value(json_object_get(d, "difference")), 72.0, 1e-12);
    const json_t *const slip = json_object_get(d, "slip");
    assert_string_equal(json_string_value(json_object_get(slip, "kind")),
                        "both sounds counted");
    assert_true(json_is_null(json_object_get(d, "taps")));
    assert_int_equal(json_array_size(json_object_get(d, "short_counts")), 2);
    const json_t *const reference = json_object_get(d, "reference");
    const json_t *const limits = json_object_get(reference, "range");
    assert_within(json_number_value(json_array_get(limits, 0)), 60.0, 0.0);
    assert_within(json_number_value(json_array_get(limits, 1)), 100.0, 0.0);
    assert_string_equal(json_string_value(json_object_get(reference, "source")),
                        "common practice, no source");
    json_decref(d);
}

static void a_refused_document_has_the_entry_and_nulls(void **state)
{
    (void)state;
    start(73.0, 60.0);
    count.heart.count.status = FM_REFUSED;
    count.heart.count.reason = FM_REASON_TOO_QUIET;
    compare(70, 60, FM_SITE_APICAL);
    json_t *const d = document();
    assert_string_equal(json_string_value(json_object_get(d, "verdict")),
                        "not comparable");
    assert_string_equal(json_string_value(json_object_get(d, "no_verdict")), "refused");
    assert_true(json_is_null(json_object_get(d, "difference")));
    assert_true(json_is_null(json_object_get(d, "slip")));
    const json_t *const manual = json_object_get(d, "manual");
    assert_int_equal(json_integer_value(json_object_get(manual, "entered")), 70);
    const json_t *const same = json_object_get(d, "same_seconds");
    assert_true(json_is_null(json_object_get(same, "beats")));
    assert_int_equal(json_array_size(json_object_get(d, "short_counts")), 0);
    char *const bytes = document_format(d);
    assert_non_null(bytes);
    assert_null(strstr(bytes, "73"));
    free(bytes);
    json_decref(d);
}

static void times_are_to_the_millisecond_and_rates_to_a_tenth(void **state)
{
    (void)state;
    start(72.0, 60.0);
    memset(&taps, 0, sizeof taps);
    taps.n_matched = 71;
    taps.lag_s = 0.0123456;
    taps.lag_sd_s = (double)NAN;
    taps.lost_from_s = (double)NAN;
    taps.lost_until_s = (double)NAN;
    taps.n_not_tapped = 1;
    taps.not_tapped_s[0] = 16.0006;
    view.taps = &taps;
    compare(71, 60, FM_SITE_APICAL);
    json_t *const d = document();
    char *const bytes = document_format(d);
    assert_non_null(strstr(bytes, "\"lag_s\": 0.012,"));
    assert_non_null(strstr(bytes, "\"lag_sd_s\": null"));
    assert_non_null(strstr(bytes, "\"not_tapped_s\": [16.001]"));
    assert_non_null(strstr(bytes, "\"lost_from_s\": null"));
    assert_null(strstr(bytes, "nan"));
    free(bytes);
    json_decref(d);
}

/* Respirations nobody entered stay sealed, as a pulse does. */
static void what_nobody_entered_stays_sealed(void **state)
{
    (void)state;
    start(72.0, 60.0);
    count.breath.count.status = FM_COUNTED;
    count.breath.count.n = 17;
    count.breath.count.rate_per_min = 17.0;
    compare(72, 60, FM_SITE_APICAL);
    json_t *const d = document();
    const json_t *const counted = json_object_get(d, "count");
    assert_true(json_is_null(json_object_get(counted, "breath")));
    assert_true(json_is_object(json_object_get(counted, "heart")));
    json_decref(d);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_document_holds_the_contract),
        cmocka_unit_test(a_refused_document_has_the_entry_and_nulls),
        cmocka_unit_test(times_are_to_the_millisecond_and_rates_to_a_tenth),
        cmocka_unit_test(what_nobody_entered_stays_sealed),
    };
    return cmocka_run_group_tests_name("src.check_document", tests, NULL, clean_up);
}
