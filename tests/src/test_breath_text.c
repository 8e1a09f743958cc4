/* Respirations in words: a number only where there is one, the window named. */
#include "tests/support.h"

#include "src/words/breath_text.h"

#include <stdlib.h>
#include <string.h>

static fm_count count;

static int fill(void **state)
{
    (void)state;
    memset(&count, 0, sizeof count);
    count.heart.count.window = (fm_window){0.0, 60.0, true};
    fm_breath *const b = &count.breath;
    b->count.status = FM_COUNTED;
    b->count.window = count.heart.count.window;
    b->count.n = 16;
    b->count.rate_per_min = 16.0;
    b->count.rate_low_per_min = 15.0;
    b->count.rate_high_per_min = 17.0;
    b->count.confidence = 0.97;
    b->count.usable_s = 60.0;
    b->cue_quality[FM_CUE_SOUND] = 0.8;
    b->cue_quality[FM_CUE_INTERVALS] = 0.5;
    return 0;
}

static char *printed(void (*print)(const fm_count *, FILE *))
{
    char *text = NULL;
    size_t n = 0;
    FILE *const to = open_memstream(&text, &n);
    assert_non_null(to);
    print(&count, to);
    assert_int_equal(fclose(to), 0);
    return text;
}

static void assert_line(const char *wanted)
{
    char *const text = printed(breath_text_print_line);
    assert_string_equal(text, wanted);
    free(text);
}

static void assert_details(const char *words, bool wanted)
{
    char *const text = printed(breath_text_print_details);
    if ((strstr(text, words) != NULL) != wanted) {
        fail_msg("'%s' %s in:\n%s", words, wanted ? "is not" : "is", text);
    }
    free(text);
}

static void a_full_minute_is_one_line(void **state)
{
    (void)state;
    assert_line("Respirations: 16 in 60 s = 16 per minute (15 to 17). Counted, "
                "confidence 0.97.\n");
    count.breath.count.confidence = 0.9999;
    assert_line("Respirations: 16 in 60 s = 16 per minute (15 to 17). Counted, "
                "confidence above 0.99.\n");
}

/* A rule doubts what the table is sure of: no figure stands against the doubt. */
static void a_doubt_is_not_told_with_a_high_confidence(void **state)
{
    (void)state;
    count.breath.count.status = FM_CAUTION;
    count.breath.count.reason = FM_REASON_HEART_ALONE;
    count.breath.count.confidence = 0.995;
    char *const text = printed(breath_text_print_line);
    assert_non_null(strstr(text, "(15 to 17). With caution. Doubt: no breath sound"));
    free(text);
}

static void a_short_count_is_an_estimate_to_a_tenth(void **state)
{
    (void)state;
    count.breath.count.window = (fm_window){0.0, 31.5, false};
    count.breath.count.n = 8;
    count.breath.count.rate_per_min = 15.63;
    count.breath.count.rate_low_per_min = 13.0;
    count.breath.count.rate_high_per_min = 18.0;
    assert_line("Respirations: 8 in 31.5 s; by their spacing 15.6 per minute (13 to "
                "18). Estimated, "
                "confidence 0.97.\n");
    assert_details("not a full minute", true);
}

/* A number is printed where it is known to five a minute, 'counted' to two. */
static void a_wide_range_is_no_number(void **state)
{
    (void)state;
    count.breath.count.rate_low_per_min = 14.0;
    count.breath.count.rate_high_per_min = 18.0;
    assert_line("Respirations: 16 in 60 s = 16 per minute (14 to 18). Counted, "
                "confidence 0.97.\n");
    count.breath.count.rate_high_per_min = 19.0;
    assert_line("Respirations: 16 in 60 s = 16 per minute (14 to 19). Estimated, "
                "confidence 0.97.\n");
    count.breath.count.rate_low_per_min = 9.0;
    count.breath.count.rate_high_per_min = 20.0;
    assert_line("Respirations: between 9 and 20 per minute, too uncertain for one "
                "number: watch the chest and count for a full minute.\n");
}

static void too_few_breaths_have_no_rate(void **state)
{
    (void)state;
    count.breath.count.status = FM_CAUTION;
    count.breath.count.reason = FM_REASON_TOO_SHORT;
    count.breath.count.window = (fm_window){0.0, 9.0, false};
    count.breath.count.n = 2;
    count.breath.count.rate_per_min = (double)NAN;
    assert_line("Respirations: 2 in 9 s, too few for a rate per minute. With caution, "
                "confidence 0.97. Doubt: too few whole breaths: record at least a full "
                "minute.\n");
}

static void a_refusal_prints_no_number(void **state)
{
    (void)state;
    count.breath.count.status = FM_REFUSED;
    count.breath.count.reason = FM_REASON_ESTIMATORS_DISAGREE;
    assert_line("Respirations: no count. The signs of breathing disagree: watch the "
                "chest and count for a full minute.\n");
    assert_details("breath sound", false);
    count.breath.count.reason = FM_REASON_NONE;
    assert_line("Respirations: no count. Watch the chest and count for a full "
                "minute.\n");
}

static void every_reason_has_words(void **state)
{
    (void)state;
    char text[BREATH_REASON_BYTES];
    for (int k = FM_REASON_NONE + 1; k <= FM_REASON_COUNT; k++) {
        assert_non_null(strstr(breath_text_reason((fm_reason)k, text), ": "));
    }
    assert_string_equal(breath_text_reason(FM_REASON_NONE, text), "");
}

static void the_window_is_named(void **state)
{
    (void)state;
    assert_false(breath_text_own_window(&count));
    assert_details("in the same seconds as the pulse", true);
    count.breath.count.window = (fm_window){60.0, 120.0, true};
    assert_true(breath_text_own_window(&count));
    assert_details("60.00 s to 120.00 s, the minute after the pulse's", true);
    count.breath.count.window = (fm_window){30.0, 90.0, true};
    assert_details("a window of their own", true);
}

static void cues_that_were_there_are_named(void **state)
{
    (void)state;
    char text[100];
    assert_string_equal(breath_text_cues(&count.breath, text, sizeof text),
                        "breath sound and beat intervals");
    count.breath.cue_quality[FM_CUE_LOUDNESS] = 1.0;
    assert_string_equal(breath_text_cues(&count.breath, text, sizeof text),
                        "breath sound, heart sound loudness and beat intervals");
    memset(count.breath.cue_quality, 0, sizeof count.breath.cue_quality);
    assert_string_equal(breath_text_cues(&count.breath, text, sizeof text), "");
}

static void outside_means_outside_twelve_to_twenty(void **state)
{
    (void)state;
    const struct {
        double rate;
        bool outside;
    } cases[] = {{11.4, true},  {11.6, false}, {12.0, false},
                 {20.0, false}, {20.4, false}, {21.0, true}};
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        count.breath.count.rate_per_min = cases[i].rate;
        count.breath.count.rate_low_per_min = count.breath.count.rate_high_per_min =
            (double)NAN;
        assert_int_equal(breath_text_is_outside(&count.breath, (double)NAN),
                         cases[i].outside);
    }
    /* only the whole interval: one edge inside is not outside */
    count.breath.count.rate_per_min = 22.0;
    count.breath.count.rate_low_per_min = 20.0;
    count.breath.count.rate_high_per_min = 24.0;
    assert_false(breath_text_is_outside(&count.breath, (double)NAN));
    count.breath.count.rate_low_per_min = 21.0;
    assert_true(breath_text_is_outside(&count.breath, (double)NAN));
    count.breath.count.status = FM_REFUSED;
    assert_false(breath_text_is_outside(&count.breath, (double)NAN));
    count.breath.count.status = FM_COUNTED;
    count.breath.count.rate_per_min = (double)NAN;
    assert_false(breath_text_is_outside(&count.breath, (double)NAN));
}

static void a_row_has_it_in_brief(void **state)
{
    (void)state;
    char *text = NULL;
    size_t n = 0;
    FILE *const to = open_memstream(&text, &n);
    assert_non_null(to);
    breath_text_print_short(&count.breath, to);
    count.breath.count.status = FM_CAUTION;
    breath_text_print_short(&count.breath, to);
    count.breath.count.status = FM_REFUSED;
    breath_text_print_short(&count.breath, to);
    assert_int_equal(fclose(to), 0);
    assert_string_equal(text, " Respirations: 16 per minute."
                              " Respirations: 16 per minute, with caution."
                              " Respirations: no count.");
    free(text);
}

#define EACH(test) cmocka_unit_test_setup(test, fill)

/* Issue: 'no breath was heard from 27 s to 41 s: look at the chest'; a sound alone never
 * says that somebody does not breathe. */
static void a_pause_is_told_in_the_line_also_without_a_count(void **state)
{
    (void)state;
    count.breath.n_pauses = 1;
    count.breath.pauses[0] = (fm_breath_pause){27.4, 41.4};
    assert_line("Respirations: 16 in 60 s = 16 per minute (15 to 17). Counted, "
                "confidence 0.97. No breath was heard from 27 s to 41 s: look at the "
                "chest.\n");
    count.breath.n_pauses = 3;
    count.breath.pauses[1] = count.breath.pauses[0];
    count.breath.pauses[0] = (fm_breath_pause){2.0, 13.0};
    count.breath.pauses[2] = (fm_breath_pause){44.0, 56.0};
    count.breath.count.status = FM_REFUSED;
    count.breath.count.reason = FM_REASON_NO_PERIODICITY;
    assert_line(
        "Respirations: no count. No repeating breath was found: watch the chest "
        "and count for a full minute. No breath was heard from 2 s to 13 s, "
        "from 27 s to 41 s and from 44 s to 56 s: look at the chest.\n");
    char pauses[BREATH_PAUSES_BYTES];
    assert_string_equal(breath_text_pauses(&count.breath.pauses[1], 1, true, pauses),
                        "the breathing paused from 27 s to 41 s");
    assert_string_equal(breath_text_pauses(NULL, 0, true, pauses), "");
}

static void how_breaths_follow_one_another_is_a_detail(void **state)
{
    (void)state;
    assert_details("Breathing     undetermined: it cannot be told from this sound, "
                   "watch the chest\n",
                   true);
    count.breath.pattern = FM_BREATH_PATTERN_EVEN;
    assert_details(
        "Breathing     even spacing in this minute; it says nothing of depth "
        "and effort: look\n",
        true);
    count.breath.count.window.full_minute = false;
    assert_details("even spacing in these seconds; it", true);
    count.breath.pattern = FM_BREATH_PATTERN_UNEVEN;
    assert_details("uneven, one minute is too short to say more\n", true);
    count.breath.pattern = FM_BREATH_PATTERN_WITH_PAUSES;
    assert_details("with pauses in these seconds\n", true);
    count.breath.pattern = FM_BREATH_PATTERN_WAXING;
    assert_details("waxing and waning: two whole swells were heard in these seconds\n",
                   true);
    count.breath.count.status = FM_REFUSED;
    assert_details("waxing and waning", true);
    count.breath.pattern = FM_BREATH_PATTERN_UNDETERMINED;
    assert_details("undetermined", false);
    char pattern[BREATH_PATTERN_BYTES];
    assert_string_equal(breath_text_pattern((fm_breath_pattern)99, true, pattern),
                        "unknown: it cannot be told from this sound, watch the chest");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        EACH(a_full_minute_is_one_line),
        EACH(a_doubt_is_not_told_with_a_high_confidence),
        EACH(a_pause_is_told_in_the_line_also_without_a_count),
        EACH(how_breaths_follow_one_another_is_a_detail),
        EACH(a_short_count_is_an_estimate_to_a_tenth),
        EACH(a_wide_range_is_no_number),
        EACH(too_few_breaths_have_no_rate),
        EACH(a_refusal_prints_no_number),
        EACH(every_reason_has_words),
        EACH(the_window_is_named),
        EACH(cues_that_were_there_are_named),
        EACH(outside_means_outside_twelve_to_twenty),
        EACH(a_row_has_it_in_brief),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
