/*
 * A learner's own count as it is given, and what it is asked back by itself alone.
 *   Source: the rules in src/document/own_count.h and src/words/entry_question.h; the limits
 *           are ours, worked out by hand below.
 *   Input:  invented counts.
 */
#include "src/document/entry.h"
#include "src/document/own_count.h"
#include "src/usecase/entry_ask.h"
#include "src/words/entry_question.h"

#include "tests/support.h"

#include <stdio.h>
#include <string.h>

static void running_counts_are_three_that_go_up(void **state)
{
    (void)state;
    static const struct {
        const char *text;
        int at[OWN_RUNNING];
    } RIGHT[] = {{"18,36,53", {18, 36, 53}},
                 {"18,,53", {18, OWN_NOT_NOTED, 53}},
                 {" 18, 36 , 53", {18, 36, 53}},
                 {",,53", {OWN_NOT_NOTED, OWN_NOT_NOTED, 53}},
                 {"18", {18, OWN_NOT_NOTED, OWN_NOT_NOTED}},
                 {"0,0,400", {0, 0, 400}}};
    static const char *const WRONG[] = {"18,36,53,70", "36,18,53", "a,b,c",
                                        "18,36,401",   "-1,2,3",   "18;36;53",
                                        "1.5,2,3"};
    for (size_t i = 0; i < sizeof RIGHT / sizeof RIGHT[0]; i++) {
        app_err err = APP_ERR_NONE;
        int back[OWN_RUNNING];
        char shown[OWN_WORD_BYTES];
        own_words w = own_words_none();
        assert_true(own_running_take(RIGHT[i].text, w.running, &err));
        assert_memory_equal(w.running, RIGHT[i].at, sizeof w.running);
        assert_true(own_words_ran(&w));
        assert_true(own_running_take(own_running_show(w.running, shown), back, &err));
        assert_memory_equal(back, RIGHT[i].at, sizeof back);
        json_t *const json = own_running_json(w.running);
        memset(back, 0, sizeof back);
        assert_true(own_running_from_json(json, back));
        assert_memory_equal(back, RIGHT[i].at, sizeof back);
        json_decref(json);
    }
    for (size_t i = 0; i < sizeof WRONG / sizeof WRONG[0]; i++) {
        app_err err = APP_ERR_NONE;
        own_words w = own_words_none();
        assert_false(own_running_take(WRONG[i], w.running, &err));
        assert_int_equal(err.code, APP_USAGE);
        assert_false(own_words_ran(&w));
    }
    app_err err = APP_ERR_NONE;
    own_words w = own_words_none();
    assert_true(own_running_take("", w.running, &err));
    assert_false(own_words_ran(&w));
}

static void words_are_those_of_their_count(void **state)
{
    (void)state;
    static const struct {
        taking_entry of;
        const char *rhythm, *depth;
        bool may;
    } CASES[] = {{TAKING_PULSE, "regularly irregular", "", true},
                 {TAKING_PULSE, "with pauses", "", false},
                 {TAKING_PULSE, "regular", "deep", false},
                 {TAKING_BREATH, "with pauses", "deep", true},
                 {TAKING_BREATH, "even", "", true},
                 {TAKING_BREATH, "irregular", "", true}, /* as older rows have it */
                 {TAKING_BREATH, "regularly irregular", "", false}};
    for (size_t i = 0; i < sizeof CASES / sizeof CASES[0]; i++) {
        app_err err = APP_ERR_NONE;
        own_words w = own_words_none();
        (void)snprintf(w.rhythm, sizeof w.rhythm, "%s", CASES[i].rhythm);
        (void)snprintf(w.depth, sizeof w.depth, "%s", CASES[i].depth);
        assert_int_equal(own_words_check(&w, CASES[i].of, &err), CASES[i].may);
    }
}

static void a_row_gives_them_back(void **state)
{
    (void)state;
    app_err err = APP_ERR_NONE;
    entry e = entry_none();
    own_words w = own_words_none();
    (void)strcpy(w.rhythm, "uneven");
    (void)strcpy(w.effort, "laboured");
    assert_true(own_running_take("4,,12", w.running, &err));
    entry_put(e.breath_depth, sizeof e.breath_depth, "shallow"); /* said otherwise */
    own_words_put(&w, true, &e);
    assert_string_equal(e.breath_rhythm, "uneven");
    assert_string_equal(e.breath_depth, "shallow");
    assert_string_equal(e.breath_running, "4,,12");
    assert_string_equal(e.rhythm, "");
    const own_words back = own_words_of(&e, true);
    assert_string_equal(back.effort, "laboured");
    assert_memory_equal(back.running, w.running, sizeof w.running);
}

/* ---- What is asked back ---- */

static entry_question asked(taking_entry of, own_count own, int seconds, bool person)
{
    char text[LINES_PARAGRAPH_BYTES];
    const entry_question q = entry_question_of(of, &own, seconds, person, text);
    assert_int_equal(text[0] == '\0', q == ENTRY_NO_QUESTION);
    own.confirmed = true;
    assert_int_equal(entry_question_of(of, &own, seconds, person, text),
                     ENTRY_NO_QUESTION);
    assert_string_equal(text, "");
    return q;
}

/* 30 and 220, 5 and 80 per minute are still met. */
static void a_number_that_is_nearly_never_met_is_asked_back(void **state)
{
    (void)state;
    static const struct {
        taking_entry of;
        int entered, seconds;
        entry_question q;
    } CASES[] = {
        {TAKING_PULSE, 7, 60, ENTRY_IMPROBABLE},
        {TAKING_PULSE, 29, 60, ENTRY_IMPROBABLE},
        {TAKING_PULSE, 30, 60, ENTRY_NO_QUESTION},
        {TAKING_PULSE, 72, 60, ENTRY_NO_QUESTION},
        {TAKING_PULSE, 220, 60, ENTRY_NO_QUESTION},
        {TAKING_PULSE, 221, 60, ENTRY_IMPROBABLE},
        {TAKING_PULSE, 15, 30, ENTRY_NO_QUESTION},
        {TAKING_PULSE, 14, 30, ENTRY_IMPROBABLE},
        {TAKING_PULSE, 72, 15, ENTRY_IMPROBABLE}, /* multiplied already */
        {TAKING_SECOND, 7, 60, ENTRY_IMPROBABLE},
        {TAKING_BREATH, 4, 60, ENTRY_IMPROBABLE},
        {TAKING_BREATH, 5, 60, ENTRY_NO_QUESTION},
        {TAKING_BREATH, 80, 60, ENTRY_NO_QUESTION},
        {TAKING_BREATH, 160, 60, ENTRY_IMPROBABLE},
        {TAKING_BREATH, 0, 60, ENTRY_PERSON_FIRST},
    };
    for (size_t i = 0; i < sizeof CASES / sizeof CASES[0]; i++) {
        assert_int_equal(
            asked(CASES[i].of, own_count_of(CASES[i].entered), CASES[i].seconds, true),
            CASES[i].q);
    }
    assert_int_equal(asked(TAKING_BREATH, own_count_of(0), 60, false),
                     ENTRY_NO_QUESTION);
}

static void who_could_not_count_is_asked_of_the_person(void **state)
{
    (void)state;
    own_count own = own_count_of(0);
    own.could_not = true;
    assert_int_equal(asked(TAKING_PULSE, own, 60, true), ENTRY_PERSON_FIRST);
    assert_int_equal(asked(TAKING_PULSE, own, 60, false), ENTRY_NO_QUESTION);
    json_t *const json = entry_ask_json(TAKING_PULSE, &own, 60, true);
    assert_string_equal(json_string_value(json_object_get(json, "ask")), "person");
    const json_t *const person = json_object_get(json, "person");
    assert_true(json_is_true(json_object_get(person, "now")));
    const char *const text =
        json_string_value(json_array_get(json_object_get(person, "text"), 0));
    assert_non_null(strstr(text, "call for help"));
    json_decref(json);
    assert_null(entry_ask_json(TAKING_PULSE, &own, 60, false));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(running_counts_are_three_that_go_up),
        cmocka_unit_test(words_are_those_of_their_count),
        cmocka_unit_test(a_row_gives_them_back),
        cmocka_unit_test(a_number_that_is_nearly_never_met_is_asked_back),
        cmocka_unit_test(who_could_not_count_is_asked_of_the_person),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
