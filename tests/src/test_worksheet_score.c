/*
 * A class's answers beside a key: what each looks like, sums per student and per item.
 *   Source: the rules in src/usecase/worksheet_score.h; bias and limits of agreement by
 *           Bland and Altman, Lancet 1986; 1:307, worked by hand below.
 *   Input:  an invented key and invented answers.
 */
#include "src/usecase/worksheet_score.h"

#include "tests/support.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static worksheet_item items[3];
static const worksheet_key KEY = {.n = 3, .items = items};

static int make_key(void **state)
{
    (void)state;
    items[0] = (worksheet_item){.item = "item-01",
                                .pattern = "regular",
                                .beats = 72,
                                .breaths = 16,
                                .by_15_s = {72, 76},
                                .by_30_s = {72, 74}};
    items[1] = (worksheet_item){.item = "item-02",
                                .pattern = "irregularly irregular",
                                .beats = 90,
                                .breaths = WORKSHEET_UNKNOWN,
                                .by_15_s = {72, 116},
                                .by_30_s = {82, 98}};
    items[2] = (worksheet_item){.item = "item-03",
                                .pattern = "occasionally irregular",
                                .beats = 76,
                                .early = 6,
                                .breaths = WORKSHEET_UNKNOWN,
                                .by_15_s = {72, 80},
                                .by_30_s = {74, 78}};
    return 0;
}

static void each_slip_is_named(void **state)
{
    (void)state;
    const worksheet_item *const a = &items[0];
    const worksheet_item *const b = &items[1];
    const worksheet_item *const c = &items[2];
    assert_int_equal(worksheet_slip_of(a, 72, 60, false, 4), WORKSHEET_RIGHT);
    assert_int_equal(worksheet_slip_of(a, 68, 60, false, 4), WORKSHEET_RIGHT);
    assert_int_equal(worksheet_slip_of(a, 67, 60, false, 4), WORKSHEET_LOST);
    assert_int_equal(worksheet_slip_of(a, 67, 60, true, 4), WORKSHEET_FIRST_BEAT);
    assert_int_equal(worksheet_slip_of(a, 140, 60, false, 4), WORKSHEET_BOTH_SOUNDS);
    assert_int_equal(worksheet_slip_of(a, 37, 60, false, 4), WORKSHEET_EVERY_OTHER);
    assert_int_equal(worksheet_slip_of(b, 28, 15, false, 4), WORKSHEET_SHORT_COUNT);
    assert_int_equal(worksheet_slip_of(b, 42, 30, false, 4), WORKSHEET_SHORT_COUNT);
    assert_int_equal(worksheet_slip_of(b, 84, 60, false, 4), WORKSHEET_LOST);
    assert_int_equal(worksheet_slip_of(c, 70, 60, false, 4), WORKSHEET_EARLY_MISSED);
    assert_int_equal(worksheet_slip_of(c, 64, 60, false, 4), WORKSHEET_LOST);
}

static bool score(const char *text, worksheet_scores *s, app_err *err)
{
    char copy[1024] = "";
    memcpy(copy, text, strlen(text));
    return worksheet_score(&KEY, "a.csv", copy, strlen(text), 4.0, s, err);
}

/* Seat 1: differences 0, -6 and +2: bias -4/3, sd sqrt(((4/3)^2 + (14/3)^2 + (10/3)^2)/2). */
static void a_class_is_summed_up(void **state)
{
    (void)state;
    app_err err = APP_ERR_NONE;
    worksheet_scores s;
    assert_true(score("student,item,manual_beats,seconds,convention,rhythm,breaths\n"
                      "1,item-01,72,60,clock,regular,15\r\n"
                      "1,item-02,21,15,clock,regular,\n"
                      "1,item-03,78,60,,occasionally irregular,\n"
                      "\n"
                      "2,item-01,144,60,,irregularly irregular,20\n"
                      "2,item-02,90,,,regularly irregular,\n",
                      &s, &err));
    assert_int_equal(s.n_students, 2);
    assert_int_equal(s.n_answers, 5);
    const worksheet_row *const one = &s.students[0];
    assert_int_equal(one->n, 3);
    assert_int_equal(one->within, 2);
    assert_within(one->agreement.bias, -4.0 / 3.0, 1e-9);
    const double sd = sqrt((16.0 + 196.0 + 100.0) / 9.0 / 2.0);
    assert_within(one->agreement.sd, sd, 1e-9);
    assert_within(one->agreement.limits.high, -4.0 / 3.0 + 1.959963984540054 * sd,
                  1e-9);
    assert_int_equal(one->said, 3);
    assert_int_equal(one->same_word, 2);
    assert_int_equal(one->missed, 1);
    assert_int_equal(one->slips[WORKSHEET_SHORT_COUNT], 1);
    assert_int_equal(one->breaths_n, 1);
    assert_int_equal(one->breaths_within, 1);
    const worksheet_row *const two = &s.students[1];
    assert_int_equal(two->slips[WORKSHEET_BOTH_SOUNDS], 1);
    assert_int_equal(two->breaths_within, 0);
    assert_int_equal(s.answers[3].heard, WORKSHEET_HEARD_TOO_MUCH);
    assert_int_equal(s.answers[4].heard, WORKSHEET_OTHER_WORD);
    assert_int_equal(s.items[0].n, 2);
    assert_within(s.items[0].agreement.bias, 36.0, 1e-9);
    assert_int_equal(s.items[2].n, 1);
    worksheet_scores_free(&s);
}

static void bad_answers_say_where(void **state)
{
    (void)state;
    static const char *const bad[] = {
        "",
        "student,item\n1,item-01\n",
        "student,item,manual_beats,mood\n1,item-01,72,good\n",
        "student,item,manual_beats\n1,item-09,72\n",
        "student,item,manual_beats\n1,item-01,about 72\n",
        "student,item,manual_beats\n1,item-01,-3\n",
        "student,item,manual_beats,seconds\n1,item-01,72,20\n",
        "student,item,manual_beats,rhythm\n1,item-01,72,wobbly\n",
        "student,item,manual_beats\n1,item-01,72\n1,item-01,73\n",
        "student,item,manual_beats\n,item-01,72\n",
        "student,item,manual_beats\n\x1b[2J,item-01,72\n",
        "student,item,manual_beats\n1,item-01\n",
    };
    static const char *const where[] = {"no answer", "no column",        "mood",
                                        "item",      "record 2: 'about", "record 2",
                                        "seconds",   "rhythm",           "record 3",
                                        "student",   "student",          "record 2"};
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        app_err err = APP_ERR_NONE;
        worksheet_scores s;
        assert_false(score(bad[i], &s, &err));
        assert_int_equal(err.code, APP_UNREADABLE);
        assert_non_null(strstr(err.text, where[i]));
        worksheet_scores_free(&s);
    }
}

/* An answer, not within, and in no sum; its respirations are scored. */
static void a_blank_is_could_not_count(void **state)
{
    (void)state;
    app_err err = APP_ERR_NONE;
    worksheet_scores s;
    bytes csv = BYTES_NONE;
    assert_true(score("student,item,manual_beats,seconds,rhythm,breaths\n"
                      "1,item-01,,60,,17\n"
                      "1,item-02,90,60,,\n"
                      "2,item-01,72,60,,20\n"
                      ",,,,,\n",
                      &s, &err));
    assert_int_equal(s.n_answers, 3);
    const worksheet_row *const one = &s.students[0];
    assert_int_equal(one->n, 2);
    assert_int_equal(one->within, 1);
    assert_int_equal(one->slips[WORKSHEET_COULD_NOT], 1);
    assert_int_equal(one->agreement.n, 1);
    assert_within(one->agreement.bias, 0.0, 1e-9);
    assert_int_equal(one->breaths_n, 1);
    assert_int_equal(one->breaths_within, 1);
    assert_int_equal(s.students[1].breaths_within, 0);
    worksheet_scores_csv(&KEY, &s, &csv);
    assert_non_null(
        strstr(csv.data, "1,item-01,,72,,no,could not count,,17,16,yes\r\n"));
    assert_non_null(
        strstr(csv.data, "2,item-01,72.0,72,0.0,yes,within the tolerance,,20,16,no"));
    assert_non_null(strstr(csv.data, "within the tolerance,,,,\r\n")); /* not said */
    json_t *const json = worksheet_scores_document(&KEY, &s);
    const json_t *const first = json_array_get(json_object_get(json, "answers"), 0);
    assert_true(json_is_null(json_object_get(first, "per_min")));
    assert_int_equal(json_integer_value(json_object_get(first, "breaths_difference")),
                     1);
    assert_true(json_is_true(json_object_get(first, "breaths_within")));
    const json_t *const second = json_array_get(json_object_get(json, "answers"), 1);
    assert_true(json_is_null(json_object_get(second, "breaths_within")));
    json_decref(json);
    bytes_free(&csv);
    worksheet_scores_free(&s);
}

static void semicolons_and_tabs_part_as_commas_do(void **state)
{
    (void)state;
    static const char *const texts[] = {
        "student;item;manual_beats;breaths\n1;item-01;72;16\n2;\"item-01\";;\n;;;\n",
        "student\titem\tmanual_beats\tbreaths\r\n1\titem-01\t72\t16\r\n2\titem-"
        "01\t\t\r\n"};
    for (size_t i = 0; i < sizeof texts / sizeof texts[0]; i++) {
        app_err err = APP_ERR_NONE;
        worksheet_scores s;
        assert_true(score(texts[i], &s, &err));
        assert_int_equal(s.n_answers, 2);
        assert_int_equal(s.students[0].within, 1);
        assert_int_equal(s.students[0].breaths_within, 1);
        assert_int_equal(s.students[1].slips[WORKSHEET_COULD_NOT], 1);
        worksheet_scores_free(&s);
    }
}

static void a_key_comes_back(void **state)
{
    (void)state;
    app_err err = APP_ERR_NONE;
    worksheet_key k;
    char *const text = worksheet_key_format(&KEY);
    assert_non_null(text);
    assert_true(worksheet_key_parse(text, strlen(text), &k, &err));
    assert_int_equal(k.n, 3);
    assert_string_equal(k.items[1].pattern, "irregularly irregular");
    assert_int_equal(k.items[1].breaths, WORKSHEET_UNKNOWN);
    assert_int_equal(k.items[1].by_15_s.high_per_min, 116);
    worksheet_key_free(&k);
    assert_false(worksheet_key_parse(text, strlen(text) - 3, &k, &err));
    assert_int_equal(err.code, APP_UNREADABLE);
    free(text);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(each_slip_is_named),
        cmocka_unit_test(a_class_is_summed_up),
        cmocka_unit_test(bad_answers_say_where),
        cmocka_unit_test(a_key_comes_back),
        cmocka_unit_test(a_blank_is_could_not_count),
        cmocka_unit_test(semicolons_and_tabs_part_as_commas_do),
    };
    return cmocka_run_group_tests(tests, make_key, NULL);
}
