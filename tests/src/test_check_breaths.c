/* Respirations compared, in words and as a document: never finer than the reference, the
 * pulse sealed where it was not entered. */
#include "tests/support.h"

#include "src/document/check_document.h"
#include "src/document/check_view.h"
#include "src/document/document_parts.h"
#include "src/words/check_text.h"
#include "src/words/said.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static fm_count count;
static fm_comparison comparison;
static fm_reference_range range;
static fm_reference_range pulse_range;
static check_breaths breaths;
static check_view view;
static count_source source;
static fm_compare_input in;
static char *text;

static int fill(void **state)
{
    (void)state;
    memset(&count, 0, sizeof count);
    count.heart.count.window = (fm_window){0.0, 60.0, true};
    count.heart.count.status = FM_COUNTED;
    count.heart.count.n = 97; /* a number that may not be told */
    count.heart.count.rate_per_min = 97.0;
    count.heart.count.n = 1;
    count.heart.count.onsets_s[0] = 97.97;
    count.rhythm.pattern = FM_PATTERN_IRREGULARLY_IRREGULAR;
    fm_breath *const b = &count.breath;
    b->count.status = FM_COUNTED;
    b->count.window = count.heart.count.window;
    b->count.n = 16;
    b->count.rate_per_min = 16.0;
    b->count.rate_low_per_min = 16.0;
    b->count.rate_high_per_min = 16.0;
    b->count.n = 16;
    for (size_t i = 0; i < 16; i++) {
        b->count.onsets_s[i] = 1.0 + 3.75 * (double)i;
    }
    source = (count_source){.name = "a.wav",
                            .duration_s = 61.0,
                            .rate_hz = 4000.0,
                            .channels = 1,
                            .channel = 1};
    breaths = (check_breaths){.comparison = &comparison, .range = &range};
    view = (check_view){
        .source = &source, .count = &count, .breaths = &breaths, .range = &pulse_range};
    in = (fm_compare_input){.manual = {.seconds = 60},
                            .kind = FM_EVENT_BREATH,
                            .count = &b->count,
                            .tolerance_per_min = 2.0};
    assert_int_equal(
        fm_reference_range_find(FM_EVENT_BEAT, FM_AGE_ADULT_MONTHS, &pulse_range),
        FM_OK);
    return 0;
}

/* Line ends as blanks, so that a sentence is found wherever it wraps. */
static void flatten(char *words)
{
    size_t n = 0;
    assert_non_null(words);
    for (const char *c = words; *c != '\0'; c++) {
        const char now = (char)(*c == '\n' ? ' ' : *c);
        if (now != ' ' || n == 0 || words[n - 1] != ' ') {
            words[n++] = now;
        }
    }
    words[n] = '\0';
}

static void compare(int entered, int seconds)
{
    in.manual.entered = entered;
    in.manual.seconds = seconds;
    assert_int_equal(fm_compare(&in, &comparison), FM_OK);
    assert_int_equal(
        fm_reference_range_find(FM_EVENT_BREATH,
                                view.age_known ? view.age_months : FM_AGE_ADULT_MONTHS,
                                &range),
        FM_OK);
    free(text);
    text = check_text_format(&view);
    if (text == NULL) {
        fail_msg("no memory for the text");
        return;
    }
    for (const char *line = text; line != NULL && *line != '\0';) {
        const char *const end = strchr(line, '\n');
        assert_non_null(end);
        assert_true(end - line <= 80);
        line = end + 1;
    }
    flatten(text);
}

static void says(const char *words)
{
    if (strstr(text, words) == NULL) {
        fail_msg("'%s' is not in:\n%s", words, text);
    }
}

static void silent_on(const char *words)
{
    if (strstr(text, words) != NULL) {
        fail_msg("'%s' is in:\n%s", words, text);
    }
}

static void set_age(double months)
{
    view.age_known = true;
    view.age_months = months;
}

/* The device's minute, everywhere the same rate. */
static void set_rate(double per_min)
{
    count.breath.count.rate_per_min = per_min;
    count.breath.count.rate_low_per_min = per_min;
    count.breath.count.rate_high_per_min = per_min;
}

static void alone_they_leave_the_pulse_sealed(void **state)
{
    (void)state;
    compare(15, 60);
    says("Respirations in the full minute: you 15, fullminute 16.");
    says("1 per minute fewer than fullminute's count.");
    says("count the pulse of the same recording.");
    says("not a medical device");
    silent_on("97");
    silent_on("irregular");
    json_t *const d = said_check(&view);
    assert_non_null(d);
    char *const written = document_format(d);
    assert_null(strstr(written, "97"));
    assert_null(strstr(written, "irregular"));
    assert_non_null(strstr(written, "\"heart\": null"));
    assert_non_null(strstr(written, "\"no_verdict\": \"pulse not entered\""));
    free(written);
    json_decref(d);
}

static void without_a_limit_nothing_passes_or_fails(void **state)
{
    (void)state;
    compare(19, 60);
    says("More than the example limit, 2 per minute.");
    silent_on("Differs");
    silent_on("Agrees");
    breaths.tolerance_set = true;
    compare(19, 60);
    says("Differs: more than your instructor's limit, 2 per minute.");
    compare(18, 60);
    says("Agrees: within your instructor's limit, 2 per minute.");
}

static void a_range_makes_it_too_close(void **state)
{
    (void)state;
    count.breath.count.rate_low_per_min = 14.0;
    count.breath.count.rate_high_per_min = 18.0;
    compare(19, 60);
    says("This recording can only tell 14 to 18 per minute: yours, 19, is "
         "1 to "
         "5 more.");
    count.breath.count.status = FM_CAUTION;
    count.breath.count.reason = FM_REASON_ESTIMATORS_DISAGREE;
    compare(30, 60);
    says("in doubt");
    says("fullminute is in doubt: the signs of breathing disagree.");
}

static void double_is_both_phases(void **state)
{
    (void)state;
    compare(32, 60);
    says(
        "perhaps inspiration and expiration were counted as two. One rise and one fall "
        "of the chest is one respiration.");
    compare(8, 60);
    says("perhaps every other breath was counted");
    says("One rise and one fall of the chest is one respiration, counted for");
}

static void a_half_minute_is_told_as_one(void **state)
{
    (void)state;
    compare(8, 30);
    says("Respirations in 30 s: you 8, fullminute 8; per minute 16 and 16.");
    says("counted for a full minute.");
}

static void refusal_keeps_the_count_and_shows_no_other_number(void **state)
{
    (void)state;
    count.breath.count.status = FM_REFUSED;
    count.breath.count.reason = FM_REASON_NO_BREATH_CUE;
    compare(15, 60);
    says("you 15. Not compared: fullminute could not count the respirations, which "
         "does not "
         "mean that all is well. Your 15 stands alone: count again by hand");
    says("Not counted: no breathing could be made out. Watch the chest");
    says("Yours, 15 per minute, is within 12-20");
    silent_on("fewer than");
    silent_on(" 16");
    compare(24, 60);
    says("Yours, 24 per minute, is above 12-20");
    says("Outside the range. Watch the chest and count");
}

static void watching_and_listening_differ_in_infants(void **state)
{
    (void)state;
    set_age(5.0);
    in.young = true;
    in.manual.method = FM_BREATH_LISTENED;
    compare(19, 60);
    says("you 19 by listening");
    says("Not called a slip: in infants, and up to three years, listening gives about "
         "2 per "
         "minute more than watching (Rusconi 1994), and you listened.");
    says("respirations first, before touching");
    in.manual.method = FM_BREATH_WATCHED;
    compare(19, 60);
    silent_on("Rusconi");
    compare(13, 60);
    says("and you watched.");
}

/* Nothing is printed as if it were known where it is not known to five a minute. */
static void a_wide_range_is_no_number(void **state)
{
    (void)state;
    count.breath.count.rate_low_per_min = 6.0;
    count.breath.count.rate_high_per_min = 22.0;
    compare(14, 60);
    says("; fullminute heard between 6 and 22 per minute, too uncertain for one "
         "number.");
    says("6-22 reaches the edge of 12-20 (adult, usual at rest): count another full "
         "minute "
         "before you call it low or high.");
    silent_on("fullminute 16");
    silent_on("Shorter counts");
    silent_on("Outside the range");
}

static void who_limits_are_told_with_their_source(void **state)
{
    (void)state;
    const struct {
        double months;
        double rate;
        const char *words;
        bool worrying;
    } cases[] = {
        {1.0, 60.0, "60 per minute is not below it.", true},
        {1.0, 59.0, "59 per minute is below it.", false},
        {2.0, 50.0, "50 per minute is not below it.", true},
        {2.0, 49.0, "49 per minute is below it.", false},
        {12.0, 40.0, "40 per minute is not below it.", true},
        {12.0, 39.0, "39 per minute is below it.", false},
    };
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        set_age(cases[i].months);
        set_rate(cases[i].rate);
        compare(16, 60);
        says("a minute (WHO, as in PMC5193399, table 1)");
        says(cases[i].words);
        assert_int_equal(strstr(text, "Outside the range") != NULL, cases[i].worrying);
        says("in a calm child of this age");
    }
    set_age(60.0);
    set_rate(40.0);
    compare(16, 60);
    silent_on("WHO");
}

static void the_range_has_its_source(void **state)
{
    (void)state;
    compare(16, 60);
    says("16 per minute is within 12-20 (adult, usual at rest).");
    says("Example limits and an adult's ranges: common practice, no source");
    says("For a child give the age.");
    silent_on("Outside the range");
    set_age(30.0);
    compare(16, 60);
    says("Range: 18-38 (2 to 3 years, 1st to 99th centile; Fleming et al. 2011 (Lancet "
         "377:1011), this row from memory, unchecked); nobody has read that row in its "
         "source, so it judges nothing here: see the local chart.");
    silent_on("below 18-38");
    silent_on("Outside the range");
    set_age(170.0);
    compare(22, 60);
    says("within 12-20 (adult, usual at rest), as taught from 12 years on.");
    says("By age, 12-23 (12 to 15 years, 1st to 99th centile");
}

/* From a sound: what was not heard, and to look. 'Paused' only where the truth is known. */
static void how_the_breathing_went_is_told(void **state)
{
    (void)state;
    const fm_breath_pause pauses[] = {{27.0, 41.0}};
    breaths.pattern = FM_BREATH_PATTERN_WITH_PAUSES;
    breaths.n_pauses = 1;
    breaths.pauses = pauses;
    compare(16, 60);
    says("No breath was heard from 27 s to 41 s: look at the chest. Breathing: with "
         "pauses in this minute. If you saw it too, report it");
    says(
        "A pause is named from 10 s: American Academy of Sleep Medicine, from memory.");
    silent_on("paused");
    says("Next: look at the chest now; then count the respirations again for a full "
         "minute.");
    breaths.breathing_known = true;
    compare(16, 60);
    says("The breathing paused from 27 s to 41 s. Breathing of this recording, known: "
         "with pauses.");
    silent_on("was heard from");
    breaths.n_pauses = 0;
    breaths.breathing_known = false;
    breaths.pattern = FM_BREATH_PATTERN_UNEVEN;
    compare(8, 30);
    says("Breathing: uneven, one minute is too short to say more.");
    json_t *const d = said_check(&view);
    const json_t *const b = json_object_get(d, "breath_check");
    assert_string_equal(json_string_value(json_object_get(b, "pattern")), "uneven");
    assert_int_equal(json_array_size(json_object_get(b, "findings")), 0);
    assert_string_equal(json_string_value(json_object_get(b, "pattern_from")),
                        "device");
    json_decref(d);
}

static void the_window_is_named(void **state)
{
    (void)state;
    compare(16, 60);
    silent_on("Respirations counted from");
    count.breath.count.window = (fm_window){60.0, 120.0, true};
    compare(16, 60);
    says("Respirations counted from 60 s to 120 s, the minute after the pulse's.");
}

static void taps_are_a_number_and_no_rate(void **state)
{
    (void)state;
    const double taps[] = {0.5, 1.0, 30.0};
    in.tapped = true;
    in.taps_s = taps;
    in.n_taps = 3;
    compare(16, 60);
    says("You tapped 3 in those 60 s and entered 16 respirations.");
    breaths.counted_taps = true;
    compare(3, 60);
    silent_on("You tapped");
}

static void known_breaths_are_not_taken_for_a_person(void **state)
{
    (void)state;
    static double known[30];
    for (int i = 0; i < 30; i++) {
        known[i] = 1.0 + 2.0 * (double)i;
    }
    const fm_known_events starts = {.n = 30, .onsets_s = known};
    in.known = &starts;
    compare(30, 60);
    says("Respirations in the full minute: you 30, known 30.");
    says("fullminute's own count is 16 per minute.");
    says("Outside the range. If this were a person: look at the person first.");
    count.breath.count.status = FM_REFUSED;
    compare(30, 60);
    says("fullminute itself could not count them.");
}

static const json_t *member(const json_t *object, const char *key)
{
    const json_t *const value = json_object_get(object, key);
    if (value == NULL) {
        fail_msg("no member %s", key);
    }
    return value;
}

static void the_document_holds_it_all(void **state)
{
    (void)state;
    set_age(6.0);
    in.young = true;
    compare(32, 60);
    json_t *const whole = said_check(&view);
    const json_t *const d = member(whole, "breath_check");
    assert_int_equal(json_integer_value(member(member(d, "manual"), "entered")), 32);
    assert_true(json_is_null(member(member(d, "manual"), "method")));
    assert_within(json_number_value(member(d, "difference")), 16.0, 0.0);
    assert_int_equal(json_integer_value(member(d, "difference_breaths")), 16);
    assert_string_equal(json_string_value(member(d, "verdict")), "differs");
    assert_true(json_is_null(member(d, "no_verdict")));
    assert_string_equal(json_string_value(member(d, "judged_against")), "device");
    assert_string_equal(json_string_value(member(member(d, "slip"), "kind")),
                        "inspiration and expiration counted as two");
    assert_int_equal(json_array_size(member(d, "short_counts")), 2);
    const json_t *const reference = member(d, "reference");
    assert_within(json_number_value(json_array_get(member(reference, "range"), 0)),
                  23.0, 0.0);
    assert_true(json_is_null(member(reference, "place"))); /* nobody has read the row */
    const json_t *const who = member(d, "who_fast_breathing");
    assert_within(json_number_value(member(who, "limit_per_min")), 50.0, 0.0);
    assert_true(json_is_false(member(who, "fast")));
    assert_string_equal(json_string_value(member(member(d, "tolerance"), "set_by")),
                        "example");
    assert_true(json_is_null(member(d, "taps")));
    json_decref(whole);
    count.breath.count.status = FM_REFUSED;
    compare(32, 60);
    json_t *const all = said_check(&view);
    const json_t *const refused = member(all, "breath_check");
    assert_true(json_is_null(member(refused, "difference")));
    assert_string_equal(json_string_value(member(refused, "verdict")),
                        "not comparable");
    assert_string_equal(json_string_value(member(refused, "no_verdict")), "refused");
    assert_true(json_is_null(member(member(refused, "same_seconds"), "breaths")));
    json_decref(all);
}

static int clean_up(void **state)
{
    (void)state;
    free(text);
    return 0;
}

#define EACH(test) cmocka_unit_test_setup(test, fill)

int main(void)
{
    const struct CMUnitTest tests[] = {
        EACH(alone_they_leave_the_pulse_sealed),
        EACH(without_a_limit_nothing_passes_or_fails),
        EACH(a_range_makes_it_too_close),
        EACH(double_is_both_phases),
        EACH(a_half_minute_is_told_as_one),
        EACH(refusal_keeps_the_count_and_shows_no_other_number),
        EACH(watching_and_listening_differ_in_infants),
        EACH(a_wide_range_is_no_number),
        EACH(who_limits_are_told_with_their_source),
        EACH(the_range_has_its_source),
        EACH(how_the_breathing_went_is_told),
        EACH(the_window_is_named),
        EACH(taps_are_a_number_and_no_rate),
        EACH(known_breaths_are_not_taken_for_a_person),
        EACH(the_document_holds_it_all),
    };
    return cmocka_run_group_tests_name("src.check_breaths", tests, NULL, clean_up);
}
