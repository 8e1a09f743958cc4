/*
 * Respirations of a checked count, from the files on.
 *   Input: recordings/quiet-breathing.flac, 14 respirations and 66 beats in its first
 *          minute by its truth; a result made here where the device's count matters.
 */
#include "tests/support.h"

#include "src/usecase/checked_count.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static const char RECORDING[] = RECORDINGS_DIR "/quiet-breathing.flac";
static char taps_path[] = "/tmp/fullminute-breaths-XXXXXX";
static app_err err;

static int make_file(void **state)
{
    (void)state;
    const int fd = mkstemp(taps_path);
    return fd < 0 ? -1 : close(fd);
}

static int remove_file(void **state)
{
    (void)state;
    return unlink(taps_path);
}

static void write_taps(double first_s, double gap_s, int n)
{
    FILE *const file = fopen(taps_path, "w");
    assert_non_null(file);
    (void)fputs("# fullminute.taps/1\n", file);
    for (int i = 0; i < n; i++) {
        (void)fprintf(file, "%.3f\n", first_s + gap_s * (double)i);
    }
    assert_int_equal(fclose(file), 0);
}

static check_request request_of(int entered)
{
    check_request request = check_request_default(RECORDING);
    request.pulse.asked = false;
    request.breaths.asked = true;
    request.breaths.manual.entered = entered;
    err = (app_err)APP_ERR_NONE;
    return request;
}

static void known_breaths_judge(void **state)
{
    (void)state;
    const check_request request = request_of(15);
    checked_count *const c = checked_count_make(&request, &err);
    assert_non_null(c);
    const check_view *const v = checked_count_view(c);
    assert_null(v->comparison);
    assert_non_null(v->breaths);
    assert_true(v->breaths->comparison->against_truth);
    assert_int_equal(v->breaths->comparison->counted, 14);
    assert_within(v->breaths->comparison->difference_per_min, 1.0, 0.0);
    assert_int_equal(v->breaths->comparison->verdict, FM_VERDICT_AGREES);
    assert_string_equal(v->breaths->range->age_band, "adult");
    checked_count_free(c);
}

static void the_pulse_beside_them_is_compared_as_before(void **state)
{
    (void)state;
    check_request request = request_of(14);
    request.pulse.asked = true;
    request.pulse.manual.entered = 66;
    checked_count *const both = checked_count_make(&request, &err);
    assert_non_null(both);
    request.breaths.asked = false;
    checked_count *const alone = checked_count_make(&request, &err);
    assert_non_null(alone);
    assert_null(checked_count_view(alone)->breaths);
    const fm_comparison *const a = checked_count_view(both)->comparison;
    const fm_comparison *const b = checked_count_view(alone)->comparison;
    assert_int_equal(a->verdict, b->verdict);
    assert_int_equal(a->counted, b->counted);
    assert_int_equal(a->counted, 66);
    assert_within(a->difference_per_min, b->difference_per_min, 0.0);
    assert_within(a->minute_per_min, b->minute_per_min, 0.0);
    assert_int_equal(a->n_short, b->n_short);
    checked_count_free(both);
    checked_count_free(alone);
}

static void taps_alone_are_the_count(void **state)
{
    (void)state;
    write_taps(2.0, 4.0, 17); /* 2 to 66 s: 15 in the minute */
    check_request request = request_of(CHECK_BY_TAPS);
    request.breaths.taps_path = taps_path;
    checked_count *c = checked_count_make(&request, &err);
    assert_non_null(c);
    const check_breaths *b = checked_count_view(c)->breaths;
    assert_int_equal(b->comparison->manual.entered, 15);
    assert_int_equal(b->comparison->taps, 15);
    assert_true(b->counted_taps);
    checked_count_free(c);
    request.breaths.manual.seconds = 30;
    c = checked_count_make(&request, &err);
    assert_non_null(c);
    b = checked_count_view(c)->breaths;
    assert_int_equal(b->comparison->manual.entered, 7);
    assert_within(b->comparison->manual_per_min, 14.0, 0.0);
    checked_count_free(c);
    write_taps(62.0, 1.0, 3);
    assert_null(checked_count_make(&request, &err));
    assert_int_equal(err.code, APP_USAGE);
    assert_non_null(strstr(err.text, "no tap in the 30 s"));
    write_taps(0.0, 0.05, 400);
    assert_null(checked_count_make(&request, &err));
    assert_int_equal(err.code, APP_UNREADABLE);
}

static void counts_nobody_can_have_are_refused_before_the_work(void **state)
{
    (void)state;
    check_request request = request_of(151);
    request.analyse.path = "no-such-file.wav";
    assert_null(checked_count_make(&request, &err));
    assert_int_equal(err.code, APP_USAGE);
    assert_non_null(strstr(err.text, "151 per minute"));
    request = request_of(80);
    request.breaths.manual.seconds = 30;
    assert_null(checked_count_make(&request, &err));
    assert_non_null(strstr(err.text, "160 per minute"));
}

static void the_infant_is_known_by_age(void **state)
{
    (void)state;
    check_request request = request_of(14);
    request.analyse.age_known = true;
    request.analyse.age_months = 4.0;
    checked_count *const c = checked_count_make(&request, &err);
    assert_non_null(c);
    assert_true(checked_count_view(c)->breaths->range->infant);
    assert_within(checked_count_view(c)->age_months, 4.0, 0.0);
    checked_count_free(c);
}

static checked_count *made;

/* What comes of a result made here; until the next call. */
static const check_breaths *breaths_of(const check_request *request,
                                       const analysed *result,
                                       const fm_truth *truth)
{
    checked_count_free(made);
    made = checked_count_open(request, &err);
    assert_non_null(made);
    assert_true(checked_count_judge(made, result, truth, &err));
    return checked_count_view(made)->breaths;
}

/* Refused by the device: known breaths judge if somebody could hear them. */
static void unheard_breaths_are_no_judge_of_a_refusal(void **state)
{
    (void)state;
    analysed *const result = calloc(1, sizeof *result);
    assert_non_null(result);
    result->count.breath.count.status = FM_REFUSED;
    result->count.breath.count.window = (fm_window){0.0, 60.0, true};
    double starts[] = {1.0, 11.0, 21.0, 31.0, 41.0, 51.0};
    fm_truth truth = {
        .n_breaths = 6, .breath_starts_s = starts, .breath_snr_db = (double)NAN};
    const check_request request = request_of(6);
    const check_breaths *b = breaths_of(&request, result, &truth);
    assert_int_equal(b->comparison->no_verdict, FM_NO_VERDICT_REFUSED);
    assert_int_equal(b->n_starts, 0);
    truth.breath_snr_db = -5.0;
    b = breaths_of(&request, result, &truth);
    assert_int_equal(b->comparison->verdict, FM_VERDICT_AGREES);
    assert_int_equal(b->n_starts, 6);
    truth.breath_snr_db = (double)NAN;
    result->count.breath.count.status = FM_COUNTED;
    b = breaths_of(&request, result, &truth);
    assert_true(b->comparison->against_truth);
    free(result);
    checked_count_free(made);
    made = NULL;
}

/* Where the truth knows how the breathing went it says so; else what was heard, and never
 * a pause shorter than is named at the age. */
static void known_pauses_go_before_heard_ones(void **state)
{
    (void)state;
    analysed *const result = calloc(1, sizeof *result);
    assert_non_null(result);
    fm_breath *const heard = &result->count.breath;
    heard->count.status = FM_COUNTED;
    heard->count.window = (fm_window){0.0, 60.0, true};
    heard->pattern = FM_BREATH_PATTERN_WITH_PAUSES;
    heard->n_pauses = 1;
    heard->pauses[0] = (fm_breath_pause){27.5, 41.0};
    double starts[] = {1.0, 11.0, 41.575, 51.0};
    fm_breath_pause known[] = {{27.575, 41.575}, {62.0, 80.0}};
    fm_truth truth = {.n_breaths = 4, .breath_starts_s = starts};
    check_request request = request_of(4);
    request.use_truth = false; /* but what is handed over */
    const check_breaths *b = breaths_of(&request, result, &truth);
    assert_false(b->breathing_known); /* an older document */
    assert_int_equal(b->n_pauses, 1);
    assert_within(b->pauses[0].start_s, 27.5, 0.0);
    truth.breathing_known = true;
    truth.breath_pattern = FM_BREATH_PATTERN_WITH_PAUSES;
    truth.n_breath_pauses = 2; /* the second lies behind the window */
    truth.breath_pauses = known;
    b = breaths_of(&request, result, &truth);
    assert_true(b->breathing_known);
    assert_int_equal(b->n_pauses, 1);
    assert_within(b->pauses[0].start_s, 27.575, 0.0);
    assert_int_equal(b->pattern, FM_BREATH_PATTERN_WITH_PAUSES);
    request.analyse.age_known = true;
    request.analyse.age_months = 3.0;
    b = breaths_of(&request, result, NULL);
    assert_int_equal(b->n_pauses, 0);
    assert_int_equal(b->pattern, FM_BREATH_PATTERN_UNEVEN);
    free(result);
    checked_count_free(made);
    made = NULL;
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(known_breaths_judge),
        cmocka_unit_test(the_pulse_beside_them_is_compared_as_before),
        cmocka_unit_test(taps_alone_are_the_count),
        cmocka_unit_test(counts_nobody_can_have_are_refused_before_the_work),
        cmocka_unit_test(the_infant_is_known_by_age),
        cmocka_unit_test(known_pauses_go_before_heard_ones),
        cmocka_unit_test(unheard_breaths_are_no_judge_of_a_refusal),
    };
    return cmocka_run_group_tests_name("src.checked_breaths", tests, make_file,
                                       remove_file);
}
