/* A count in words: a number only where there is one, cautions where they belong. */
#include "tests/support.h"

#include "src/words/count_text.h"
#include "src/words/reason_text.h"

#include <stdlib.h>
#include <string.h>

static fm_count count;
static count_source source;

static int fill(void **state)
{
    (void)state;
    memset(&count, 0, sizeof count);
    source = (count_source){.name = "a.wav",
                            .duration_s = 70.0,
                            .rate_hz = 4000.0,
                            .channels = 1,
                            .channel = 1,
                            .convention = FM_CONVENTION_CLOCK};
    count.heart.count.window = (fm_window){0.0, 60.0, true};
    count.heart.count.status = FM_COUNTED;
    count.heart.count.n = 72;
    count.heart.count.rate_per_min = 72.0;
    count.heart.count.rate_low_per_min = 71.0;
    count.heart.count.rate_high_per_min = 73.0;
    count.heart.count.confidence = 0.98;
    count.heart.count.usable_s = 60.0;
    count.rhythm.pattern = FM_PATTERN_REGULAR;
    count.rhythm.mean_interval_s = 60.0 / 72.0;
    count.heart.count.quality.overall = 0.9;
    count.heart.count.quality.level_dbfs = -20.0;
    return 0;
}

static char *printed(void (*print)(const count_source *, const fm_count *, FILE *))
{
    static char *text;
    static size_t n;
    FILE *const to = open_memstream(&text, &n);
    assert_non_null(to);
    print(&source, &count, to);
    assert_int_equal(fclose(to), 0);
    return text;
}

static void print_all(const count_source *s, const fm_count *c, FILE *to)
{
    count_text_print(s, c, NULL, to);
}

static void assert_line(const char *wanted)
{
    char *const text = printed(count_text_print_line);
    assert_string_equal(text, wanted);
    free(text);
}

static void assert_says(const char *words, bool wanted)
{
    char *const text = printed(print_all);
    if ((strstr(text, words) != NULL) != wanted) {
        fail_msg("'%s' %s in:\n%s", words, wanted ? "is not" : "is", text);
    }
    free(text);
}

static void a_full_minute_is_one_line(void **state)
{
    (void)state;
    assert_line(
        "Apical pulse: 72 in 60 s = 72 per minute (71 to 73), regular. Counted, "
        "confidence 0.98.\n");
}

static void confidence_is_never_told_as_certainty(void **state)
{
    (void)state;
    count.heart.count.confidence = 0.9999;
    assert_line(
        "Apical pulse: 72 in 60 s = 72 per minute (71 to 73), regular. Counted, "
        "confidence above 0.99.\n");
}

static void a_short_count_is_called_one(void **state)
{
    (void)state;
    count.heart.count.window = (fm_window){0.0, 35.5, false};
    count.heart.count.n = 42;
    count.heart.count.rate_per_min = 71.6;
    count.heart.count.rate_low_per_min = 69.7;
    count.heart.count.rate_high_per_min = 73.5;
    assert_line("Apical pulse: 42 beats in 35.5 s; by their spacing 71.6 per minute "
                "(69 to 74), regular. "
                "Counted, confidence 0.98.\n");
    assert_says("Short count", true);
    count.heart.count.window = (fm_window){0.0, 60.0, false};
    count.heart.count.usable_s = 52.0;
    assert_says("52 s of this minute could be used", true);
}

static void doubt_is_told_beside_the_number(void **state)
{
    (void)state;
    count.heart.count.status = FM_CAUTION;
    count.heart.count.reason = FM_REASON_FRICTION;
    count.heart.count.reason_span = (fm_span){22.0, 9.0, FM_REASON_FRICTION};
    assert_line(
        "Apical pulse: 72 in 60 s = 72 per minute (71 to 73), rhythm not named. With "
        "caution, confidence 0.98. Doubt: friction or loud breathing from 22 s "
        "to 31 s: hold the "
        "chest piece still, and ask for quiet breathing.\n");
}

/* No digit of the count, the rate or the confidence may reach the page. */
static void a_refusal_prints_no_number_of_the_heart(void **state)
{
    (void)state;
    count.heart.count.status = FM_REFUSED;
    count.heart.count.reason = FM_REASON_TOO_QUIET;
    count.heart.count.n = 72;
    count.rhythm.sdnn_ms = 72.0;
    char *const text = printed(print_all);
    assert_int_equal(strncmp(strstr(text, "\n\n") + 2, "No count: too quiet: ", 21), 0);
    assert_int_equal(strncmp(text, "The person first. ", 18), 0);
    assert_null(strstr(text, "72"));
    assert_null(strstr(text, "0.98"));
    assert_null(strstr(text, "regular"));
    assert_non_null(strstr(text, "not a normal finding: count by hand"));
    free(text);
}

static void set_breath(int per_min)
{
    fm_breath *const b = &count.breath;
    b->count.status = FM_COUNTED;
    b->count.window = count.heart.count.window;
    b->count.n = (size_t)per_min;
    b->count.rate_per_min = (double)per_min;
    b->count.rate_low_per_min = (double)per_min - 1.0;
    b->count.rate_high_per_min = (double)per_min + 1.0;
    b->count.confidence = 0.97;
}

static void respirations_follow_the_pulse(void **state)
{
    (void)state;
    set_breath(16);
    char *const text = printed(print_all);
    const char *const second = strchr(strstr(text, "\n\n") + 2, '\n');
    assert_non_null(second);
    assert_int_equal(
        strncmp(second + 1, "Respirations: 16 in 60 s = 16 per minute", 40), 0);
    free(text);
    assert_says("Look at the person first", false);
    assert_says("Outside the range: 12 to 20", false);
    set_breath(26);
    assert_says("Outside the range: 12 to 20 respirations per minute", true);
    assert_says("Look at the person first", true);
    assert_true(count_text_is_worrying(&source, &count));
    set_breath(16);
    assert_false(count_text_is_worrying(&source, &count));
    count.breath.n_pauses = 1;
    count.breath.pauses[0] = (fm_breath_pause){27.0, 41.0};
    assert_true(count_text_is_worrying(&source, &count));
    assert_says("No breath was heard from 27 s to 41 s: look at the chest.", true);
    assert_says("a pause is named from 10 s: American Academy of Sleep Medicine", true);
    source.age_known = true;
    source.age_months = 3.0;
    assert_says("a pause is named from 20 s in infants: American Academy", true);
}

static void refused_respirations_take_nothing_from_the_pulse(void **state)
{
    (void)state;
    set_breath(26);
    count.breath.count.status = FM_REFUSED;
    count.breath.count.reason = FM_REASON_NO_BREATH_CUE;
    assert_says("72 in 60 s = 72 per minute", true);
    assert_says("Respirations: no count. No breathing could be made out", true);
    assert_says("26", false);
    assert_says("Look at the person first", false);
}

static void a_refused_pulse_takes_nothing_from_them(void **state)
{
    (void)state;
    set_breath(26);
    count.heart.count.status = FM_REFUSED;
    count.heart.count.reason = FM_REASON_TOO_QUIET;
    assert_says("Respirations: 26 in 60 s", true);
    assert_says("Look at the person first", true);
    assert_says("No count is not a normal finding", true);
    assert_says("72", false);
}

static void cautions_stand_where_they_belong(void **state)
{
    (void)state;
    assert_says("not a check of the", true);
    assert_says("Look at the person first", false);
    assert_says("not a medical device", true);
    count.rhythm.pattern = FM_PATTERN_IRREGULARLY_IRREGULAR;
    assert_says("Look at the person first", true);
    assert_says("not a check of the", false);
    count.rhythm.pattern = FM_PATTERN_REGULAR;
    count.heart.count.rate_low_per_min = count.heart.count.rate_high_per_min =
        (double)NAN;
    count.heart.count.rate_per_min = 101.0;
    assert_says("Outside the range: 60 to 100", true);
    assert_says("Look at the person first", true);
    count.heart.count.rate_per_min = 59.0;
    assert_says("Outside the range: 60 to 100", true);
    count.heart.count.rate_per_min = 60.0;
    assert_says("Outside the range: 60 to 100", false);
    count.heart.count.rate_per_min = 100.0;
    assert_says("Outside the range: 60 to 100", false);
    count.heart.count.rate_per_min = 59.0;
    count.heart.count.rate_low_per_min = 58.0;
    count.heart.count.rate_high_per_min = 60.0;
    assert_says("Outside the range", false);
    assert_says("58-60 reaches the edge of 60-100", true);
    assert_says("before you call it low", true);
    assert_says("Look at the person first", false);
    count.heart.count.rate_per_min =
        60.0; /* called zero, it is told as 59: still not outside */
    count.heart.count.rate_low_per_min = count.heart.count.rate_high_per_min = 60.0;
    source.convention = FM_CONVENTION_ZERO;
    assert_says("Outside the range", false);
}

/* The signs stand above; at a published line the nurse is told at once. */
static void the_person_stands_above_the_number(void **state)
{
    (void)state;
    assert_says("The person first. No answer and no normal breathing", true);
    assert_says("the line to act on", false);
    set_breath(26);
    assert_says("26 respirations a minute is at the line to act on, 25 or more", true);
    count.breath.count.status = FM_REFUSED;
    assert_says("the line to act on", false);
    count.heart.count.rate_per_min = 131.0;
    assert_says("131 beats a minute is at the line to act on, 131 or more", true);
    count.heart.count.status = FM_REFUSED;
    assert_says("the line to act on", false);
}

/* With --age the range is that of the age, where somebody has read it. */
static void the_age_picks_the_range(void **state)
{
    (void)state;
    count.heart.count.rate_per_min = 130.0;
    count.heart.count.rate_low_per_min = 129.0;
    count.heart.count.rate_high_per_min = 131.0;
    assert_true(count_text_is_outside(&source, &count));
    source.age_known = true;
    source.age_months = 4.0;
    assert_false(count_text_is_outside(&source, &count));
    assert_says("Outside the range", false);
    assert_says("At this age respirations are not judged: nobody has read", true);
    count.heart.count.rate_per_min = count.heart.count.rate_low_per_min =
        count.heart.count.rate_high_per_min = 90.0;
    assert_says("Outside the range: 104 to 175 per minute, 3 to 6 months", true);
    source.age_months = 60.0; /* from memory: no verdict */
    count.heart.count.rate_per_min = count.heart.count.rate_low_per_min =
        count.heart.count.rate_high_per_min = 200.0;
    assert_false(count_text_is_outside(&source, &count));
    assert_says("At this age the numbers are not judged: nobody has read", true);
    source.age_months = 170.0; /* adolescents: as taught */
    assert_true(count_text_is_outside(&source, &count));
    assert_says("Outside the range: 60 to 100", true);
}

/* Common in children and young adults: no call for help for the rhythm itself. */
static void in_step_with_breathing_is_no_alarm(void **state)
{
    (void)state;
    count.rhythm.pattern = FM_PATTERN_REGULARLY_IRREGULAR;
    (void)snprintf(count.rhythm.repeat, sizeof count.rhythm.repeat, "breathing");
    assert_says("Uneven in step with breathing: common in children and young adults "
                "(common\npractice, no source). Count another calm minute; tell the "
                "instructor if it\nstays.",
                true);
    assert_says("Irregular.", false);
    assert_says("Look at the person first", false);
    assert_says("The person first.", true);
    assert_false(count_text_is_worrying(&source, &count));
    count.rhythm.n_findings = 1;
    assert_says("Irregular.", true);
    assert_true(count_text_is_worrying(&source, &count));
}

static void what_is_outside_says_what_to_count_again(void **state)
{
    (void)state;
    set_breath(26);
    assert_says("Otherwise watch the chest and count the respirations", true);
    assert_says("at the apex", false);
    count.rhythm.pattern = FM_PATTERN_IRREGULARLY_IRREGULAR;
    assert_says("\nIrregular. Look at the person first", true);
    assert_says("Otherwise count again at the apex", true);
    count.heart.count.status = FM_CAUTION;
    assert_says("\nPerhaps irregular. Look at", true);
}

static void holes_and_short_counts_are_told_in_seconds(void **state)
{
    (void)state;
    count.heart.count.window.full_minute = false;
    count.heart.count.n = 65;
    count.heart.count.usable_s = 53.0;
    count.heart.count.quality.n_gaps = 1;
    count.heart.count.quality.gaps[0] = (fm_span){20.0, 6.0, FM_REASON_GAP};
    count.heart.count.quality.n_unusable = 3;
    count.heart.count.quality.unusable[0] = (fm_span){10.0, 3.0, FM_REASON_FRICTION};
    count.heart.count.quality.unusable[1] = (fm_span){12.0, 4.0, FM_REASON_FRICTION};
    count.heart.count.quality.unusable[2] = (fm_span){30.0, 2.0, FM_REASON_FRICTION};
    assert_says("65 beats in the 53 s that could be used; by their spacing ", true);
    assert_says("sound is missing from 20 s to 26 s", true);
    assert_says("s heard", false);
    count.heart.count.quality.gaps[0] = (fm_span){25.2, 2.4, FM_REASON_CONTACT_LOST};
    assert_says("from 25 s to 28 s nothing was heard: did the chest piece lift?", true);
    assert_says("regular in the 53 s heard", true);
    count.heart.count.quality.gaps[0].reason = FM_REASON_CONTACT_OR_PAUSE;
    assert_says(
        "no heartbeat was heard from 25 s to 28 s: contact was lost or there was a "
        "pause. Look at the person, then listen again",
        true);
    assert_says("friction or loud breathing from 10 s to 16 s: hold the chest piece "
                "still, and ask for quiet breathing",
                true);
    assert_says("from 12 s", false);
    assert_says("loud breathing from 30 s to 32 s", true);
    count.heart.count.window.end_s = 30.0;
    assert_says("Even spacing in these 30 s only", true);
}

static void the_window_and_the_source_are_told(void **state)
{
    (void)state;
    assert_says("on the clock", true);
    source.convention = FM_CONVENTION_ZERO;
    assert_says("first beat, which is called zero", true);
    assert_says("71 in 60 s = 71 per minute", true);
    source.channels = 64;
    source.channel = 41;
    source.channel_chosen = true;
    assert_says("channel 41 of 64, chosen as the best", true);
    source.truncated = true;
    assert_says("cut short", true);
    count.heart.band = FM_BAND_HIGH;
    assert_says("small microphone", true);
    source.not_numbers = 7;
    assert_says("7 samples are not numbers", true);
}

static void findings_are_told_with_their_times(void **state)
{
    (void)state;
    count.rhythm.pattern = FM_PATTERN_OCCASIONALLY_IRREGULAR;
    count.rhythm.n_findings = 1;
    count.rhythm.findings[0].kind = FM_FINDING_EARLY_BEATS;
    count.rhythm.findings[0].count = 2;
    count.rhythm.findings[0].times_s[0] = 12.34;
    count.rhythm.findings[0].times_s[1] = 41.0;
    assert_says("early beats: 2, at 12.3, 41.0 s", true);
    count.rhythm.findings[0].count = 500;
    assert_says("and later", true);
}

static void a_pattern_is_told_in_plain_words(void **state)
{
    (void)state;
    fm_rhythm *const r = &count.rhythm;
    r->n_intervals = 71;
    r->pattern = FM_PATTERN_REGULARLY_IRREGULAR;
    (void)snprintf(r->repeat, sizeof r->repeat, "2:2");
    assert_says("per minute (71 to 73), regularly irregular, in groups of 2. Counted",
                true);
    (void)snprintf(r->repeat, sizeof r->repeat, "4:3");
    assert_says("in groups of 3 beats and a pause (4:3)", true);
    (void)snprintf(r->repeat, sizeof r->repeat, "breathing");
    r->varies_with_breathing = true;
    assert_says("regularly irregular, in step with breathing. Counted", true);
    assert_says("varies with breathing", false);
    r->repeat[0] = '\0';
    r->pattern = FM_PATTERN_REGULAR;
    assert_says("regular, varies with breathing", true);
    r->pattern = FM_PATTERN_UNDETERMINED;
    assert_says("listen again for a full minute", true);
    r->n_intervals = 14;
    assert_says("too few to tell", true);
    r->n_findings = 1;
    r->findings[0].kind = FM_FINDING_FAST_RUN;
    r->findings[0].count = 1;
    assert_says("rhythm undetermined (run of fast beats). Counted", true);
}

static void every_reason_has_a_sentence_and_advice(void **state)
{
    (void)state;
    char text[REASON_TEXT_BYTES];
    const fm_span nowhere = {0.0, 0.0, FM_REASON_NONE};
    assert_string_equal(reason_text_format(FM_REASON_NONE, &nowhere, text), "");
    for (int r = FM_REASON_NONE + 1; r < FM_REASON_COUNT; r++) {
        assert_true(strlen(reason_text_what((fm_reason)r)) > 4);
        assert_true(strlen(reason_text_advice((fm_reason)r)) > 4);
        const char *const s = reason_text_format((fm_reason)r, &nowhere, text);
        assert_non_null(strstr(s, ": "));
        assert_null(strstr(s, " from 0 s"));
    }
    const fm_span nan_span = {(double)NAN, (double)NAN, FM_REASON_TONE};
    (void)reason_text_format(FM_REASON_TONE, &nan_span, text);
    assert_null(strstr(text, "nan"));
    (void)reason_text_format((fm_reason)99, NULL, text);
    assert_non_null(strstr(text, "count by hand"));
}

static void nothing_unknown_is_printed_as_a_number(void **state)
{
    (void)state;
    count.heart.count.rate_per_min = (double)NAN;
    count.heart.count.rate_low_per_min = (double)NAN;
    count.heart.count.rate_high_per_min = (double)NAN;
    count.heart.count.confidence = (double)NAN;
    count.rhythm.mean_interval_s = (double)NAN;
    count.rhythm.pattern = FM_PATTERN_UNDETERMINED;
    count.heart.count.quality.overall = (double)NAN;
    count.heart.count.quality.level_dbfs = -(double)INFINITY;
    source.duration_s = (double)NAN;
    char *const text = printed(print_all);
    assert_null(strstr(text, "nan"));
    assert_null(strstr(text, "inf"));
    assert_non_null(strstr(text, "too few for a rate per minute"));
    assert_non_null(strstr(text, "digital silence"));
    free(text);
}

int main(void)
{
#define EACH(test) cmocka_unit_test_setup(test, fill)
    const struct CMUnitTest tests[] = {
        EACH(a_full_minute_is_one_line),
        EACH(confidence_is_never_told_as_certainty),
        EACH(a_short_count_is_called_one),
        EACH(doubt_is_told_beside_the_number),
        EACH(a_refusal_prints_no_number_of_the_heart),
        EACH(respirations_follow_the_pulse),
        EACH(refused_respirations_take_nothing_from_the_pulse),
        EACH(a_refused_pulse_takes_nothing_from_them),
        EACH(cautions_stand_where_they_belong),
        EACH(the_person_stands_above_the_number),
        EACH(the_age_picks_the_range),
        EACH(in_step_with_breathing_is_no_alarm),
        EACH(what_is_outside_says_what_to_count_again),
        EACH(holes_and_short_counts_are_told_in_seconds),
        EACH(the_window_and_the_source_are_told),
        EACH(findings_are_told_with_their_times),
        EACH(a_pattern_is_told_in_plain_words),
        EACH(every_reason_has_a_sentence_and_advice),
        EACH(nothing_unknown_is_printed_as_a_number),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
