/*
 * What stands above every number.
 *   Source:    the limits of dsp/compare/act_now.h (their own test has every edge).
 *   Input:     0, 3, 36 respirations and a pulse of 131 and 40 in adults, 55 respirations at
 *              3 months.
 *   Tolerance: none; sentences are compared.
 */
#include "tests/src/check_support.h"

#include "src/document/check_view.h"
#include "src/words/person_first.h"
#include "src/words/said.h"

static char all[8192];

/* Everything said, one sentence group a line. */
static const char *said(const person_first *p)
{
    char one[LINES_PARAGRAPH_BYTES];
    all[0] = '\0';
    for (int n = 0; person_first_say(p, n, one)[0] != '\0'; n++) {
        (void)snprintf(all + strlen(all), sizeof all - strlen(all), "%s\n", one);
    }
    return all;
}

static void expect(const person_first *p, const char *words, bool wanted)
{
    if ((strstr(said(p), words) != NULL) != wanted) {
        fail_msg("'%s' %s in:\n%s", words, wanted ? "is not" : "is", all);
    }
}

static void the_signs_stand_above_any_number_of_a_person(void **state)
{
    (void)state;
    person_first p = person_first_none();
    expect(&p, "No answer and no normal breathing, or only gasps: call for help", true);
    expect(&p, "begin resuscitation as trained; do not count again", true);
    expect(&p, "Struggling to breathe, blue or grey, drowsy", true);
    expect(&p, "In an infant", false);
    assert_false(person_first_is_reached(&p));
    p.own_breaths = 16.0;
    p.own_pulse = 72.0;
    expect(&p, "tell the nurse now", false);
    expect(&p, "safe", false);
    p.composed = true;
    assert_string_equal(said(&p), "");
}

static void adults_at_the_line_are_told_at_once(void **state)
{
    (void)state;
    const struct {
        double pulse, breaths;
        const char *words;
    } rows[] = {
        {(double)NAN, 3.0,
         "3 respirations a minute is at the line to act on, 8 or fewer"},
        {(double)NAN, 36.0,
         "36 respirations a minute is at the line to act on, 25 or more"},
        {131.0, (double)NAN,
         "131 beats a minute is at the line to act on, 131 or more"},
        {40.0, 16.0, "40 beats a minute is at the line to act on, 40 or fewer"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        person_first p = person_first_none();
        p.own_pulse = rows[i].pulse;
        p.own_breaths = rows[i].breaths;
        assert_true(person_first_is_reached(&p));
        expect(&p, rows[i].words, true);
        expect(&p,
               "(national early-warning score of 2017; 16 years and over, not in "
               "pregnancy): tell the nurse now, however well the person looks, then "
               "count a full minute.",
               true);
        p.composed = true;
        expect(&p, "If this were a person: ", true);
        expect(&p, "The person first", false);
    }
}

static void none_is_asked_about(void **state)
{
    (void)state;
    person_first p = person_first_none();
    p.own_breaths = 0.0;
    expect(
        &p,
        "0 respirations: none seen for a whole minute, or could you not count? None: "
        "call for help, look for an answer and for breathing, and with neither begin "
        "resuscitation as trained. Not counted is "
        "an answer of its own, and never 0.",
        true);
    p.own_breaths = (double)NAN;
    p.own_pulse = 0.0;
    expect(&p, "0 beats: none felt or heard for a whole minute", true);
}

static void the_worse_of_both_numbers_is_told(void **state)
{
    (void)state;
    person_first p = person_first_none();
    p.own_breaths = 16.0;
    p.second_breaths = 30.0;
    expect(&p, "30 respirations a minute", true);
    p.own_breaths = 30.0;
    p.second_breaths = 16.0;
    expect(&p, "30 respirations a minute", true);
    p.second_breaths = 0.0;
    expect(&p, "0 respirations: none seen", true);
    p.second_breaths = 60.0; /* both at the line: the one that lies farther beyond it */
    expect(&p, "60 respirations a minute", true);
    expect(&p, "30 respirations a minute", false);
    p.own_breaths = 3.0;
    p.second_breaths = 26.0;
    expect(&p, "3 respirations a minute is at the line to act on, 8 or fewer", true);
    expect(&p, "26 respirations a minute", false);
}

/* 55 at 3 months: WHO's limit is 50, whatever the second count says. */
static void infants_have_their_own_signs_and_line(void **state)
{
    (void)state;
    person_first p = person_first_none();
    p.age_months = 3.0;
    p.own_breaths = 55.0;
    p.second_breaths = 38.0;
    p.own_pulse = 220.0;
    expect(&p, "In an infant: grunting, the chest drawing in, flaring nostrils", true);
    expect(&p, "a pause in breathing of 20 s, or any pause with a change of colour",
           true);
    expect(&p, "Short pauses in young infants can be normal.", true);
    expect(&p,
           "55 respirations a minute is at the line to act on, 50 or more (WHO, fast",
           true);
    expect(&p, "For the pulse no published line to act on is used at this age", true);
    expect(&p, "early-warning", false);
    p.age_months = 100.0;
    expect(&p, "No published line to act on is used at this age: go by the signs",
           true);
    expect(&p, "In an infant", false);
}

/* In the comparison it stands first, refused or not, and of what is sealed only the
 * learner's number is held to the line. */
static void it_stands_above_the_comparison(void **state)
{
    (void)state;
    start(140.0, 60.0);
    compare(72, 60, FM_SITE_APICAL);
    assert_int_equal(strncmp(text, "The person first.", 17), 0);
    assert_says("140 beats a minute is at the line to act on, 131 or more");
    assert_true(strstr(unwrapped(), "tell the nurse now") <
                strstr(unwrapped(), "you 72, fullminute"));
    assert_says("Next: look at the person, as said above; counting comes after.");
    start(140.0, 60.0);
    count.heart.count.status = FM_REFUSED;
    compare(72, 60, FM_SITE_APICAL);
    assert_says("The person first.");
    assert_silent_on("the line to act on");
    compare(38, 60, FM_SITE_APICAL);
    assert_says("38 beats a minute is at the line to act on, 40 or fewer");
    assert_silent_on("before anyone acts");
    json_t *const d = said_check(&view);
    const json_t *const first = json_object_get(d, "person_first");
    assert_true(json_is_true(json_object_get(first, "act_now")));
    assert_int_equal(json_array_size(json_object_get(first, "text")), 2);
    json_decref(d);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_signs_stand_above_any_number_of_a_person),
        cmocka_unit_test(adults_at_the_line_are_told_at_once),
        cmocka_unit_test(none_is_asked_about),
        cmocka_unit_test(the_worse_of_both_numbers_is_told),
        cmocka_unit_test(infants_have_their_own_signs_and_line),
        cmocka_unit_test(it_stands_above_the_comparison),
    };
    return cmocka_run_group_tests(tests, NULL, clean_up);
}
