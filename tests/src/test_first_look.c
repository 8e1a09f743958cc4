/* What is read first: the words of each part, and the one next step. */
#include "src/document/document_parts.h"
#include "src/words/first_look.h"
#include "src/words/running_count.h"
#include "tests/src/check_support.h"

static first_view *look;
static fm_comparison breath_comparison;
static fm_reference_range breath_range;
static check_breaths breaths;

static void look_again(void)
{
    free(look);
    look = first_look_make(&view);
    assert_non_null(look);
}

/* Respirations in the full minute, judged by 16 of the program. */
static void breathe(int entered, fm_slip slip)
{
    fm_event_count *const c = &count.breath.count;
    memset(c, 0, sizeof *c);
    c->status = FM_COUNTED;
    c->window = (fm_window){0.0, 60.0, true};
    c->usable_s = 60.0;
    c->rate_per_min = c->rate_low_per_min = c->rate_high_per_min = 16.0;
    for (c->n = 0; c->n < 16; c->n++) {
        c->onsets_s[c->n] = 1.0 + 3.75 * (double)c->n;
    }
    const fm_compare_input in = {
        .kind = FM_EVENT_BREATH,
        .manual = {.entered = entered, .seconds = 60},
        .count = c,
        .tolerance_per_min = FM_BREATH_TOLERANCE_EXAMPLE_PER_MIN,
    };
    assert_int_equal(fm_compare(&in, &breath_comparison), FM_OK);
    if (slip != FM_SLIP_NONE) {
        breath_comparison.slip = slip;
    }
    assert_int_equal(
        fm_reference_range_find(FM_EVENT_BREATH, FM_AGE_ADULT_MONTHS, &breath_range),
        FM_OK);
    breaths = (check_breaths){.comparison = &breath_comparison,
                              .range = &breath_range,
                              .pattern = FM_BREATH_PATTERN_EVEN};
    view.breaths = &breaths;
}

static void tap_all_but(size_t from, size_t until)
{
    memset(&taps, 0, sizeof taps);
    const fm_event_count *const c = &count.heart.count;
    for (size_t i = 0; i < c->n; i++) {
        if (i >= from && i < until) {
            taps.not_tapped_s[taps.n_not_tapped++] = c->onsets_s[i];
        } else {
            taps.matched[taps.n_matched++] =
                (fm_tap_pair){c->onsets_s[i], c->onsets_s[i]};
        }
    }
    taps.n_taps = taps.n_matched;
    view.taps = &taps;
}

/* ---- The next step ---- */

/* The worse, in shares of its limit, decides: 1 of 4 is less than 4 of 2. */
static void the_worse_side_decides_what_is_next(void **state)
{
    (void)state;
    static const struct {
        int beats, respirations;
        first_step step;
        fm_event_kind kind;
    } cases[] = {
        {71, 12, FIRST_BREATHS, FM_EVENT_BREATH},
        {71, 17, FIRST_UNEVEN, FM_EVENT_BEAT},
        {72, 16, FIRST_UNEVEN, FM_EVENT_BEAT},
        {62, 12, FIRST_TAP_ALONG, FM_EVENT_BEAT}, /* 2.5 and 2 shares */
        {66, 12, FIRST_BREATHS, FM_EVENT_BREATH}, /* 1.5 and 2 shares */
        {72, 18, FIRST_UNEVEN, FM_EVENT_BEAT},    /* at the limit is within it */
        {72, 19, FIRST_BREATHS, FM_EVENT_BREATH},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        start(72.0, 60.0);
        breathe(cases[i].respirations, FM_SLIP_NONE);
        compare(cases[i].beats, 60, FM_SITE_APICAL);
        look_again();
        if (look->next.step != cases[i].step || look->next.kind != cases[i].kind) {
            fail_msg("%d and %d: %s", cases[i].beats, cases[i].respirations,
                     look->next.text);
        }
    }
}

static void each_slip_has_its_own_next_step(void **state)
{
    (void)state;
    static const struct {
        int entered, seconds;
        first_step step;
    } cases[] = {
        {68, 60, FIRST_UNEVEN},      {60, 60, FIRST_TAP_ALONG},
        {36, 30, FIRST_FULL_MINUTE}, {128, 60, FIRST_BOTH_SOUNDS},
        {50, 60, FIRST_EVERY_OTHER}, {96, 60, FIRST_TAP_ALONG},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        start(cases[i].entered == 50 ? 100.0 : 68.0, 60.0);
        compare(cases[i].entered, cases[i].seconds, FM_SITE_APICAL);
        look_again();
        if (look->next.step != cases[i].step) {
            fail_msg("%d in %d s: %s", cases[i].entered, cases[i].seconds,
                     look->next.text);
        }
    }
    start(72.0, 60.0);
    compare(140, 60, FM_SITE_APICAL);
    look_again();
    assert_int_equal(look->next.step, FIRST_PERSON);
    assert_true(look->now);
}

static void a_refusal_leads_to_its_cause(void **state)
{
    (void)state;
    static const struct {
        fm_reason reason;
        first_step step;
    } cases[] = {{FM_REASON_TOO_QUIET, FIRST_FIND_PLACE},
                 {FM_REASON_NO_HEART, FIRST_FIND_PLACE},
                 {FM_REASON_SPEECH_OR_MUSIC, FIRST_MEND_SOUND},
                 {FM_REASON_CLIPPED, FIRST_MEND_SOUND}};
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        start(72.0, 60.0);
        count.heart.count.status = FM_REFUSED;
        count.heart.count.reason = cases[i].reason;
        compare(72, 60, FM_SITE_APICAL);
        look_again();
        assert_int_equal(look->next.step, cases[i].step);
        assert_string_equal(look->sides[0].second_text, "no count");
        assert_int_equal(strncmp(look->sides[0].sure, "Not counted: ", 13), 0);
    }
}

/* ---- Where it slipped ---- */

static void each_place_has_its_six_seconds(void **state)
{
    (void)state;
    start(60.0, 60.0); /* beats at 0.2 s, 1.2 s, ... */
    tap_all_but(40, 44);
    taps.extra_s[taps.n_extra++] = 10.7;
    compare(56, 60, FM_SITE_APICAL);
    look_again();
    assert_int_equal(look->n_slips, 2);
    assert_string_equal(look->slips[0].text, "At 11 s: one extra tap.");
    assert_within(look->slips[0].start_s, 8.7, 1e-9);
    assert_int_equal(look->slips[0].seconds, 6);
    assert_string_equal(look->slips[1].text, "40 to 43 s: four beats not tapped.");
    assert_within(look->slips[1].start_s, 38.2, 1e-9);
    assert_int_equal(look->next.step, FIRST_SLIPS_MARKED);
    assert_within(look->next.start_s, 38.2, 1e-9); /* where most slipped */
}

static void more_than_eight_places_are_told_in_one_line(void **state)
{
    (void)state;
    start(60.0, 60.0);
    tap_all_but(0, 0);
    taps.n_matched = 48;
    for (size_t i = 0; i < 12; i++) {
        taps.not_tapped_s[taps.n_not_tapped++] = 1.2 + 5.0 * (double)i;
    }
    compare(60, 60, FM_SITE_APICAL);
    view.counted_taps = true;
    look_again();
    assert_int_equal(look->n_slips, 9);
    assert_string_equal(look->slips[8].text, "After that: four beats not tapped.");
    assert_true(isnan(look->slips[8].start_s));
}

/* One sentence, not forty numbers. */
static void a_minute_lost_from_the_start_is_one_sentence(void **state)
{
    (void)state;
    start(72.0, 60.0);
    tap_all_but(20, 72);
    taps.matched[taps.n_matched - 1].tap_s = 55.0;
    for (size_t i = 0; i < 40; i++) {
        taps.extra_s[taps.n_extra++] = 17.0 + (double)i;
    }
    taps.lost = true;
    taps.lost_from_s = 0.2;
    taps.lost_until_s = 59.0;
    taps.n_taps = 60;
    compare(60, 60, FM_SITE_APICAL);
    assert_says("Your taps matched the beats in less than half of this minute");
    assert_silent_on("not tapped");
    assert_silent_on("extra tap");
    look_again();
    assert_int_equal(look->n_slips, 1);
    assert_true(isnan(look->slips[0].start_s));
    assert_int_equal(look->next.step, FIRST_TAP_SAME);
}

static void notes_on_the_way_show_the_part_that_slipped(void **state)
{
    (void)state;
    static const struct {
        int notes[RUNNING_NOTES], entered;
        size_t n;
        running_part first;
    } cases[] = {
        {{15, 30, 45}, 60, 0, {0}},
        {{15, 30, 42}, 57, 1, {30, 45, 12, 15}},
        {{15, 30, 44}, 59, 0, {0}}, /* one beat can be the moment of the note */
        {{12, 27, 42}, 57, 1, {0, 15, 12, 15}},
        {{15, 30, 45}, 52, 1, {45, 60, 7, 15}},
        {{15, -1, 40}, 55, 1, {15, 45, 25, 30}},
        {{-1, -1, -1}, 40, 0, {0}}, /* nothing noted */
        {{-1, 28, -1}, 58, 1, {0, 30, 28, 30}},
        {{20, 10, 45}, 60, 2, {0, 15, 20, 15}}, /* 10 after 20 is left out */
        {{15, 30, 99}, 60, 0, {0}},             /* more than the count is left out */
    };
    double beats_s[60];
    running_part out[RUNNING_NOTES + 1];
    for (size_t i = 0; i < 60; i++) {
        beats_s[i] = 100.2 + (double)i;
    }
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        const size_t n = running_count_slips(cases[i].notes, cases[i].entered, beats_s,
                                             60, 100.0, out);
        assert_int_equal(n, cases[i].n);
        if (n > 0) {
            assert_memory_equal(&out[0], &cases[i].first, sizeof out[0]);
        }
    }
}

static void they_join_the_slips(void **state)
{
    (void)state;
    const check_learner learner = {
        .rhythm = "", .breathing = "", .running = {18, 36, 51}};
    start(72.0, 60.0);
    view.learner = &learner;
    view.beats_s = count.heart.count.onsets_s;
    view.n_beats = count.heart.count.n;
    compare(69, 60, FM_SITE_APICAL);
    look_again();
    assert_int_equal(look->n_slips, 1);
    assert_string_equal(look->slips[0].text,
                        "Between 30 and 45 s you counted 15, the second count has 18.");
    assert_within(look->slips[0].start_s, 30.0, 1e-9);
    assert_int_equal(look->slips[0].seconds, 15);
    assert_int_equal(look->next.step, FIRST_SLIPS_MARKED);
}

/* ---- Words, last time, could not ---- */

static void both_words_stand_side_by_side(void **state)
{
    (void)state;
    check_learner learner = {
        .rhythm = "regular", .breathing = "even", .running = {-1, -1, -1}};
    start(72.0, 60.0);
    breathe(16, FM_SLIP_NONE);
    view.learner = &learner;
    compare(72, 60, FM_SITE_APICAL);
    assert_says("Rhythm: regular. You said the same.");
    assert_says("says nothing of depth and effort: look. You said the same.");
    count.rhythm.pattern = FM_PATTERN_REGULARLY_IRREGULAR;
    (void)strcpy(count.rhythm.repeat, "2:2");
    breaths.pattern = FM_BREATH_PATTERN_WITH_PAUSES;
    compare(72, 60, FM_SITE_APICAL);
    assert_says("Rhythm: regularly irregular, in groups of 2. You said 'regular'.");
    assert_says("Breathing: with pauses in this minute. You said 'even'.");
    look_again();
    assert_false(look->sides[0].word.same);
    assert_string_equal(look->sides[0].word.found,
                        "regularly irregular, in groups of 2");
    learner.rhythm = "";
    learner.depth = "shallow";
    learner.effort = "laboured";
    compare(72, 60, FM_SITE_APICAL);
    assert_silent_on("You said 'regular'");
    assert_says("You said 'even'. You saw: shallow, laboured.");
}

static void last_time_is_of_the_side_that_decides(void **state)
{
    (void)state;
    check_before before = {.off_per_min = {-6.0, 1.0}};
    start(72.0, 60.0);
    breathe(16, FM_SLIP_NONE);
    view.before = &before;
    compare(70, 60, FM_SITE_APICAL);
    assert_says(
        "The pulse is closer than last time: 6 per minute off then, 2 now. Next:");
    breathe(12, FM_SLIP_NONE);
    compare(70, 60, FM_SITE_APICAL);
    assert_says(
        "The respirations are further off than last time: 1 per minute off then, 4 "
        "now.");
    before.off_per_min[FM_EVENT_BREATH] = (double)NAN;
    before.off_per_min[FM_EVENT_BEAT] = 2.0;
    compare(70, 60, FM_SITE_APICAL);
    assert_says("The pulse is as close as last time: 2 per minute off.");
    before.off_per_min[FM_EVENT_BEAT] = (double)NAN;
    compare(70, 60, FM_SITE_APICAL);
    assert_silent_on("last time");
}

static void could_not_is_an_answer(void **state)
{
    (void)state;
    start(72.0, 60.0);
    view.could_not = true;
    compare(1, 60, FM_SITE_APICAL);
    comparison.manual.entered = 0;
    comparison.manual_per_min = (double)NAN;
    look_again();
    assert_string_equal(look->sides[0].difference,
                        "You could not count the pulse; fullminute counts 72 (71-73) "
                        "per minute.");
    assert_string_equal(look->sides[0].second_text, "72");
    assert_int_equal(look->next.step, FIRST_COUNT_AGAIN);
    assert_int_equal(look->n_slips, 0);
    count.heart.count.status = FM_REFUSED;
    count.heart.count.reason = FM_REASON_FRICTION;
    compare(1, 60, FM_SITE_APICAL);
    comparison.manual_per_min = (double)NAN;
    look_again();
    assert_string_equal(look->sides[0].difference,
                        "You could not count the pulse, and neither can fullminute: "
                        "right. It does not mean that all is well.");
    assert_int_equal(look->next.step, FIRST_MEND_SOUND);
    view.could_not = false;
}

/* ---- The document ---- */

static void the_document_says_the_same(void **state)
{
    (void)state;
    start(72.0, 60.0);
    breathe(12, FM_SLIP_NONE);
    tap_all_but(10, 12);
    compare(70, 60, FM_SITE_APICAL);
    look_again();
    json_t *const d = first_look_document(&view);
    assert_non_null(d);
    const json_t *const pulse = json_array_get(json_object_get(d, "sides"), 0);
    assert_string_equal(json_string_value(json_object_get(pulse, "kind")), "pulse");
    assert_string_equal(json_string_value(json_object_get(pulse, "you_text")), "70");
    assert_string_equal(json_string_value(json_object_get(pulse, "second_text")), "72");
    assert_string_equal(json_string_value(json_object_get(pulse, "difference")),
                        look->sides[0].difference);
    assert_true(json_is_null(
        json_object_get(json_object_get(pulse, "word"), "same"))); /* nothing said */
    const json_t *const next = json_object_get(d, "next");
    assert_string_equal(json_string_value(json_object_get(next, "code")), "breaths");
    assert_string_equal(json_string_value(json_object_get(next, "kind")), "breath");
    const json_t *const slip = json_array_get(json_object_get(d, "slips"), 0);
    assert_int_equal(json_integer_value(json_object_get(slip, "seconds")), 6);
    assert_true(json_is_null(json_object_get(d, "trend")));
    char *const written = document_format(d);
    assert_null(strstr(written, "--")); /* no option's name */
    free(written);
    json_decref(d);
}

static int free_all(void **state)
{
    free(look);
    return clean_up(state);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_worse_side_decides_what_is_next),
        cmocka_unit_test(each_slip_has_its_own_next_step),
        cmocka_unit_test(a_refusal_leads_to_its_cause),
        cmocka_unit_test(each_place_has_its_six_seconds),
        cmocka_unit_test(more_than_eight_places_are_told_in_one_line),
        cmocka_unit_test(a_minute_lost_from_the_start_is_one_sentence),
        cmocka_unit_test(notes_on_the_way_show_the_part_that_slipped),
        cmocka_unit_test(they_join_the_slips),
        cmocka_unit_test(both_words_stand_side_by_side),
        cmocka_unit_test(last_time_is_of_the_side_that_decides),
        cmocka_unit_test(could_not_is_an_answer),
        cmocka_unit_test(the_document_says_the_same),
    };
    return cmocka_run_group_tests_name("src.first_look", tests, NULL, free_all);
}
