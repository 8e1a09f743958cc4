#include "tests/src/chart_support.h"

#include "src/picture/picture_words.h"

#define NBSP "\xC2\xA0"

static void expect(const picture *p, const char *rows, const char *sentences)
{
    picture_words w;
    char got[1024] = "";
    picture_words_make(p, &w);
    for (size_t i = 0; i < w.n_rows; i++) {
        (void)snprintf(got + strlen(got), sizeof got - strlen(got), "%s|%s\n",
                       w.rows[i].label, w.rows[i].value);
    }
    assert_string_equal(got, rows);
    assert_string_equal(w.sentences, sentences);
}

static fm_comparison learner(int entered, int seconds)
{
    return (fm_comparison){.manual = {.entered = entered,
                                      .seconds = seconds,
                                      .convention = FM_CONVENTION_CLOCK,
                                      .site = FM_SITE_APICAL},
                           .manual_per_min = entered * 60.0 / seconds,
                           .reference_known = true,
                           .counted = 71,
                           .per_min = 71.0,
                           .low_per_min = 70.0,
                           .high_per_min = 72.0};
}

static void regular_is_no_check_of_the_heart(void **state)
{
    (void)state;
    fm_count *c = minute_steady();
    const picture p = {.count = c};
    expect(&p, "fullminute|72 beats (71-73) in the full minute\n",
           "Regular. Even spacing in this minute only, not a check of the heart.");
    c->heart.count.usable_s = 56.0;
    expect(&p, "fullminute|72 beats (71-73) in the full minute\n",
           "Regular. Even spacing in these 56 s only, not a check of the heart.");
    free(c);
}

static void a_range_that_says_no_more_is_left_out(void **state)
{
    (void)state;
    fm_count *c = minute_steady();
    c->heart.count.rate_low_per_min = 71.97;
    c->heart.count.rate_high_per_min = 72.04;
    c->rhythm.pattern = FM_PATTERN_UNDETERMINED;
    const picture p = {.count = c};
    expect(&p, "fullminute|72 beats in the full minute\n", "Pattern undetermined.");
    c->heart.count.rate_high_per_min =
        72.3; /* rounded outward, never to less than it is */
    expect(&p, "fullminute|72 beats (72-73) in the full minute\n",
           "Pattern undetermined.");
    free(c);
}

static void a_stretch_without_a_breath_is_told(void **state)
{
    (void)state;
    const fm_breath_pause pauses[] = {{26.6, 41.2}};
    fm_count *c = minute_refused();
    picture p = {.count = c, .n_pauses = 1, .pauses = pauses};
    expect(
        &p, "fullminute|no count\n",
        "Friction or loud breathing from 12 s to 43 s: hold the chest piece still, and "
        "ask for quiet breathing. No count is not a normal finding: count by hand. No "
        "breath was heard from 27 s to 41 s: look "
        "at the chest.");
    p.pauses_known = true;
    expect(
        &p, "fullminute|no count\n",
        "Friction or loud breathing from 12 s to 43 s: hold the chest piece still, and "
        "ask for quiet breathing. No count is not a normal finding: count by hand. The "
        "breathing paused from 27 s to 41 s.");
    free(c);
}

static void respirations_have_a_row_of_their_own(void **state)
{
    (void)state;
    const char *const even =
        "Regular. Even spacing in this minute only, not a check of the heart.";
    fm_count *c = minute_steady();
    fm_breath *const b = &c->breath;
    b->count.status = FM_COUNTED;
    b->count.window = c->heart.count.window;
    b->count.rate_per_min = 16.0;
    b->count.rate_low_per_min = 15.0;
    b->count.rate_high_per_min = 17.0;
    picture p = {.count = c};
    expect(&p,
           "fullminute|72 beats (71-73) in the full minute\n"
           "respirations|16 (15-17) in the full minute\n",
           even);
    b->count.status = FM_CAUTION;
    b->count.window = (fm_window){60.0, 120.0, true};
    expect(&p,
           "fullminute|72 beats (71-73) in the full minute\n"
           "respirations|16 (15-17) per minute, 60 s to 120 s, in doubt\n",
           even);
    const fm_comparison own = {
        .manual = {.entered = 15, .seconds = 60, .method = FM_BREATH_LISTENED},
        .reference_known = true,
        .start_s = 60.0,
        .per_min = 16.0,
        .low_per_min = 15.0,
        .high_per_min = 17.0};
    p.breaths = &own;
    expect(&p,
           "fullminute|72 beats (71-73) in the full minute\n"
           "respirations|you 15, fullminute 16 (15-17) in 60 s from 60 s\n",
           even);
    free(c);
}

/* Sealed until the learner has entered theirs; refused, there is nothing to show. */
static void respirations_not_entered_or_refused_have_none(void **state)
{
    (void)state;
    fm_count *c = minute_steady();
    c->breath.count.rate_per_min = 16.0;
    c->breath.count.window = c->heart.count.window;
    picture p = {.count = c};
    expect(&p, "fullminute|72 beats (71-73) in the full minute\n",
           "Regular. Even spacing in this minute only, not a check of the heart.");
    c->breath.count.status = FM_COUNTED;
    const fm_comparison pulse = learner(70, 60);
    p.comparison = &pulse;
    expect(&p, "You|70 beats in 60 s\nfullminute|72 beats (71-73) in the full minute\n",
           "Regular. Even spacing in this minute only, not a check of the heart.");
    const fm_comparison own = {
        .manual = {.entered = 15, .seconds = 30, .method = FM_BREATH_WATCHED}};
    p.breaths = &own;
    expect(&p,
           "You|70 beats in 60 s\nfullminute|72 beats (71-73) in the full minute\n"
           "respirations|you 15 in 30 s; no count\n",
           "Regular. Even spacing in this minute only, not a check of the heart.");
    free(c);
}

static void first_beat_zero_takes_one_off(void **state)
{
    (void)state;
    fm_count *c = minute_steady();
    c->rhythm.pattern = FM_PATTERN_IRREGULARLY_IRREGULAR;
    const picture p = {.count = c, .convention = FM_CONVENTION_ZERO};
    expect(&p, "fullminute|71 beats (70-72) in the full minute\n",
           "Irregularly irregular. There is no basic interval to call a beat early or "
           "late against.");
    free(c);
}

/*
 * The sentence of the design: 'Four beats not tapped: one at 16 s, one at 36 s, two at
 * 41 s; one extra tap at 33 s.'
 */
static void taps_in_words(void **state)
{
    (void)state;
    fm_count *c = minute_irregular();
    fm_taps t = {.n_taps = 68,
                 .lag_known = true,
                 .lag_s = 0.21,
                 .lag_sd_s = 0.034,
                 .n_matched = 67,
                 .n_not_tapped = 4,
                 .not_tapped_s = {16.2, 35.8, 40.9, 41.4},
                 .n_extra = 1,
                 .extra_s = {33.1}};
    const fm_comparison m = learner(68, 60);
    const picture p = {.count = c, .comparison = &m, .taps = &t};
    expect(&p, "You|68 beats in 60 s\nfullminute|71 beats (70-72) in the full minute\n",
           "Four beats not tapped: one at 16" NBSP "s, one at 36" NBSP
           "s, two at 41" NBSP "s; one extra tap at 33" NBSP
           "s. Taps came 210 ms after S1, give or take 34 "
           "ms. Occasionally irregular: three early beats, one pause.");
    t.n_not_tapped = 0;
    t.n_extra = 0;
    t.lag_s = -0.05;
    t.lost = true;
    t.lost_from_s = 35.2;
    t.lost_until_s = 47.9;
    expect(
        &p, "You|68 beats in 60 s\nfullminute|71 beats (70-72) in the full minute\n",
        "Every beat tapped, no tap too many. Taps came 50 ms before S1, give or take "
        "34 ms. From 35" NBSP "s to 48" NBSP "s taps and beats did not match. "
        "Occasionally irregular: three early beats, one pause.");
    free(c);
}

static void many_times_are_told_as_first_and_last(void **state)
{
    (void)state;
    fm_count *c = minute_steady();
    c->rhythm.pattern = FM_PATTERN_UNDETERMINED;
    fm_taps t = {.n_not_tapped = 12, .lag_s = (double)NAN, .n_matched = 60};
    for (size_t i = 0; i < 12; i++) {
        t.not_tapped_s[i] = 3.0 + 4.0 * (double)i;
    }
    const picture p = {.count = c, .taps = &t};
    expect(&p, "fullminute|72 beats (71-73) in the full minute\n",
           "12 beats not tapped: the first at 3" NBSP "s, the last at 47" NBSP
           "s; no extra taps. Pattern undetermined.");
    fm_taps none = {.n_taps = 0};
    const picture q = {.count = c, .taps = &none};
    expect(&q, "fullminute|72 beats (71-73) in the full minute\n",
           "No taps. Pattern undetermined.");
    free(c);
}

static void a_short_count_is_called_so(void **state)
{
    (void)state;
    fm_count *c = minute_create(0.0, 30.0);
    for (size_t i = 0; i < 36; i++) {
        minute_add_beat(c, 0.2 + (double)i * 30.0 / 36.0, 0.9F);
    }
    minute_finish(c);
    fm_comparison m = learner(17, 15);
    m.counted = 18;
    m.per_min = 72.0;
    m.low_per_min = 68.0;
    m.high_per_min = 76.0;
    const picture p = {.count = c, .comparison = &m};
    expect(
        &p,
        "You|17 beats in 15 s: 68 per minute\n"
        "same seconds|18 beats: 72 (68-76) per minute\n"
        "fullminute|36 beats found in 30 s\n"
        "|72 (71-73) per minute, by their spacing\n",
        "A short count, not a full minute. Regular. Even spacing in these 30 s only, "
        "not a check of the heart.");
    c->heart.count.rate_per_min = (double)NAN;
    c->heart.count.rate_low_per_min = (double)NAN;
    c->heart.count.rate_high_per_min = (double)NAN;
    c->rhythm.pattern = FM_PATTERN_UNDETERMINED;
    const picture q = {.count = c};
    expect(&q, "fullminute|36 beats found in 30 s\n|too few for a rate\n",
           "A short count, not a full minute. Pattern undetermined.");
    free(c);
}

static void a_hole_is_no_full_minute(void **state)
{
    (void)state;
    fm_count *c = minute_steady();
    c->heart.count.window.full_minute = false;
    c->rhythm.pattern = FM_PATTERN_UNDETERMINED;
    const picture p = {.count = c, .sentence = "You agree."};
    expect(
        &p,
        "fullminute|72 beats found in 60 s\n|72 (71-73) per minute, by their spacing\n",
        "You agree. Not a full minute: some of it could not be heard, and no beat is "
        "made up there. Pattern undetermined.");
    free(c);
}

static void doubt_stands_beside_the_number(void **state)
{
    (void)state;
    fm_count *c = minute_steady();
    c->heart.count.status = FM_CAUTION;
    c->heart.count.reason = FM_REASON_FRICTION;
    c->heart.count.reason_span = (fm_span){22.0, 9.0, FM_REASON_FRICTION};
    c->rhythm.pattern = FM_PATTERN_UNDETERMINED;
    const picture p = {.count = c};
    picture_words w;
    picture_words_make(&p, &w);
    assert_string_equal(w.rows[0].value, "72 beats (71-73), in doubt");
    assert_non_null(
        strstr(w.sentences, "In doubt: friction or loud breathing from 22 s to 31 s"));
    free(c);
}

/* What was decoded of a refused minute reaches no word. */
static void refused_gives_no_number(void **state)
{
    (void)state;
    fm_count *c = minute_refused();
    fm_taps *t = taps_on(c);
    c->heart.count.reason_span.length_s = 0.0;
    fm_comparison m = learner(68, 60);
    m.reference_known = false;
    const picture p = {.count = c, .taps = t, .comparison = &m};
    picture_words w;
    picture_words_make(&p, &w);
    assert_int_equal(w.n_rows, 2);
    assert_string_equal(w.rows[0].value,
                        "68 beats in 60 s"); /* the learner's own count is kept */
    assert_string_equal(w.rows[1].value, "no count");
    assert_null(strpbrk(w.sentences, "0123456789"));
    assert_non_null(strstr(w.sentences, "No count is not a normal finding"));
    free(t);
    free(c);
}

static void groups_and_breathing(void **state)
{
    (void)state;
    fm_count *c = minute_steady();
    c->rhythm.pattern = FM_PATTERN_REGULARLY_IRREGULAR;
    (void)snprintf(c->rhythm.repeat, sizeof c->rhythm.repeat, "4:3");
    const picture p = {.count = c};
    expect(&p, "fullminute|72 beats (71-73) in the full minute\n",
           "Regularly irregular, in groups of 3 beats and a pause (4:3).");
    (void)snprintf(c->rhythm.repeat, sizeof c->rhythm.repeat, "2:2");
    expect(&p, "fullminute|72 beats (71-73) in the full minute\n",
           "Regularly irregular, in groups of 2.");
    c->rhythm.repeat[0] = '\0';
    c->rhythm.varies_with_breathing = true;
    expect(&p, "fullminute|72 beats (71-73) in the full minute\n",
           "Regularly irregular, varies with breathing.");
    (void)snprintf(c->rhythm.repeat, sizeof c->rhythm.repeat, "breathing");
    c->rhythm.varies_with_breathing = true;
    expect(&p, "fullminute|72 beats (71-73) in the full minute\n",
           "Regularly irregular, in step with breathing.");
    free(c);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(regular_is_no_check_of_the_heart),
        cmocka_unit_test(a_range_that_says_no_more_is_left_out),
        cmocka_unit_test(a_stretch_without_a_breath_is_told),
        cmocka_unit_test(respirations_have_a_row_of_their_own),
        cmocka_unit_test(respirations_not_entered_or_refused_have_none),
        cmocka_unit_test(first_beat_zero_takes_one_off),
        cmocka_unit_test(taps_in_words),
        cmocka_unit_test(many_times_are_told_as_first_and_last),
        cmocka_unit_test(a_short_count_is_called_so),
        cmocka_unit_test(a_hole_is_no_full_minute),
        cmocka_unit_test(doubt_stands_beside_the_number),
        cmocka_unit_test(refused_gives_no_number),
        cmocka_unit_test(groups_and_breathing),
    };
    return cmocka_run_group_tests_name("src.picture_words", tests, NULL, NULL);
}
