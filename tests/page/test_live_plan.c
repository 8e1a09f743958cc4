/*
 * From what the page sends to the plan of a live sitting. The sitting itself is not opened:
 * live_sitting_open is this file's own.
 *   Source:    the page's form (src/page/web/view_count.js) and live_plan_default.
 *   Input:     JSON, as the page sends it and as it does not.
 *   Tolerance: none.
 */
#include "src/page/page_private.h"
#include "src/usecase/live_sitting.h"

#include "tests/support.h"

#include <stdlib.h>
#include <string.h>

static live_plan got;
static int n_opened;

live_sitting *__wrap_live_sitting_open(const live_plan *plan, app_err *err);
live_sitting *__wrap_live_sitting_open(const live_plan *plan, app_err *err)
{
    got = *plan;
    n_opened++;
    (void)app_err_set(err, APP_FAILED, "not opened here");
    return NULL;
}

static page *the_page;

static int make_page(void **state)
{
    (void)state;
    static const page_options options = {.logbook = NULL};
    the_page = calloc(1, sizeof *the_page);
    if (the_page == NULL) {
        return -1;
    }
    the_page->options = &options;
    the_page->live = page_live_create(the_page);
    return the_page->live != NULL ? 0 : -1;
}

static int drop_page(void **state)
{
    (void)state;
    page_live_destroy(the_page->live);
    free(the_page);
    return 0;
}

/* Whether a sitting is begun by that; the status of the answer goes to status. */
static bool begins(const char *json, unsigned *status)
{
    page_request r = {.page = the_page, .listener = &the_page->own};
    r.json = json_loads(json, 0, NULL);
    assert_non_null(r.json);
    n_opened = 0;
    page_live_open(&r);
    *status = r.answer.status;
    bytes_free(&r.answer.body);
    json_decref(r.json);
    return n_opened == 1;
}

static void a_plan_has_its_defaults(void **state)
{
    (void)state;
    unsigned status = 0;
    assert_true(begins("{}", &status));
    assert_true(got.checked && got.pulse && !got.breath && !got.marks && !got.ticks);
    assert_true(!got.monitor && !got.second_examiner && !got.until_stopped);
    assert_int_equal(got.seconds, 60);
    assert_null(got.input);
    assert_int_equal(got.site, FM_SITE_APICAL);
    assert_int_equal(got.method, FM_BREATH_NOT_SAID);
    assert_true(isnan(got.age_months) && isnan(got.tolerance_per_min));
}

static void what_the_page_sends_is_taken(void **state)
{
    (void)state;
    unsigned status = 0;
    assert_true(
        begins("{\"input\":\"alsa:default\",\"seconds\":15,\"breath\":true,\"ticks\":"
               "true,\"headphones\":true,\"site\":\"radial\",\"method\":\"watched\","
               "\"age_months\":3,\"tolerance\":4,\"learner\":\"AB\"}",
               &status));
    assert_string_equal(got.input, "alsa:default");
    assert_int_equal(got.seconds, 15);
    assert_true(got.checked && got.pulse && got.breath && got.ticks && got.monitor);
    assert_int_equal(got.site, FM_SITE_RADIAL);
    assert_int_equal(got.method, FM_BREATH_WATCHED);
    assert_within(got.age_months, 3.0, 0.0);
    assert_within(got.tolerance_per_min, 4.0, 0.0);
    assert_true(begins("{\"open\":true,\"seconds\":30,\"breath\":true}", &status));
    assert_true(!got.checked && got.marks && !got.breath); /* open: no entries */
    assert_int_equal(got.seconds, 30);
    assert_true(begins("{\"breath_only\":true,\"method\":\"listened\"}", &status));
    assert_true(!got.pulse && got.breath);
    assert_int_equal(got.method, FM_BREATH_LISTENED);
}

/* What no form sends is a default, never a number out of range. */
static void what_is_out_of_range_is_not_taken(void **state)
{
    (void)state;
    static const char *const CASES[] = {
        "{\"seconds\":20}",          "{\"seconds\":1e308}",  "{\"seconds\":\"15\"}",
        "{\"seconds\":-60}",         "{\"age_months\":-1}",  "{\"age_months\":1e9}",
        "{\"tolerance\":0}",         "{\"tolerance\":1000}", "{\"site\":\"wrist\"}",
        "{\"method\":\"heard\"}",    "{\"site\":7}",         "{\"method\":[]}",
        "{\"breath\":\"yes\"}",      "{\"ticks\":1}",        "{\"headphones\":null}",
        "{\"age_months\":\"three\"}"};
    for (size_t i = 0; i < sizeof CASES / sizeof CASES[0]; i++) {
        unsigned status = 0;
        assert_true(begins(CASES[i], &status));
        assert_true(got.seconds == 60 && got.checked && got.pulse && !got.breath);
        assert_true(isnan(got.age_months) && isnan(got.tolerance_per_min));
        assert_true(!got.ticks && !got.monitor);
        assert_int_equal(got.site, FM_SITE_APICAL);
        assert_int_equal(got.method, FM_BREATH_NOT_SAID);
    }
}

static void what_may_not_be_begins_nothing(void **state)
{
    (void)state;
    static const char *const CASES[] = {
        "{\"input\":\"file:/etc/passwd\"}", /* recordings have numbers */
        "{\"learner\":\"a name that is far too long to be initials or a nickname at "
        "all\"}"};
    for (size_t i = 0; i < sizeof CASES / sizeof CASES[0]; i++) {
        unsigned status = 0;
        assert_false(begins(CASES[i], &status));
        assert_int_equal(status, MHD_HTTP_BAD_REQUEST);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_plan_has_its_defaults),
        cmocka_unit_test(what_the_page_sends_is_taken),
        cmocka_unit_test(what_is_out_of_range_is_not_taken),
        cmocka_unit_test(what_may_not_be_begins_nothing),
    };
    return cmocka_run_group_tests(tests, make_page, drop_page);
}
