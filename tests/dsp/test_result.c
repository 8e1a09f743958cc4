/*
 * The words a document may carry are part of its published form
 * ("fullminute.count/1"): they are written out here once more, so that a change of one
 * is a change of the form and is seen.
 */
#include "dsp/result.h"

#include "tests/support.h"

#include <string.h>

#define N_ELEMENTS(a) (sizeof(a) / sizeof((a)[0]))

static const char *reason(int i)
{
    return fm_reason_code((fm_reason)i);
}

static const char *interval(int i)
{
    return fm_interval_word((fm_interval_kind)i);
}

static const char *pattern(int i)
{
    return fm_pattern_word((fm_pattern)i);
}

static const char *finding(int i)
{
    return fm_finding_word((fm_finding_kind)i);
}

static const char *breath_pattern(int i)
{
    return fm_breath_pattern_word((fm_breath_pattern)i);
}

/* The function gives exactly these words for 0..n-1, and "unknown" beyond. */
static void expect_words(const char *(*word)(int), const char *const *words, size_t n)
{
    for (size_t i = 0; i < n; i++) {
        assert_string_equal(word((int)i), words[i]);
        for (size_t k = 0; k < i; k++) {
            assert_string_not_equal(words[i], words[k]);
        }
    }
    assert_string_equal(word((int)n), "unknown");
    assert_string_equal(word(-1), "unknown");
}

static void reason_codes_are_those_published(void **state)
{
    (void)state;
    const char *const words[] = {
        "none",
        "too_short",
        "too_quiet",
        "clipped",
        "friction",
        "speech_or_music",
        "tone",
        "no_periodicity",
        "rate_ambiguous",
        "gap",
        "estimators_disagree",
        "no_breath_cue",
        "contact_lost",
        "contact_or_pause",
        "no_heart",
        "breath_covers_heart",
        "heart_alone",
        "child",
    };
    assert_int_equal(N_ELEMENTS(words), FM_REASON_COUNT);
    expect_words(reason, words, N_ELEMENTS(words));
}

static void interval_words_are_those_published(void **state)
{
    (void)state;
    const char *const words[] = {"expected", "early", "after_early",
                                 "late",     "pause", "unsure"};
    assert_int_equal(N_ELEMENTS(words), FM_INTERVAL_KIND_COUNT);
    expect_words(interval, words, N_ELEMENTS(words));
}

static void pattern_words_are_those_published(void **state)
{
    (void)state;
    const char *const words[] = {"undetermined", "regular", "occasionally irregular",
                                 "regularly irregular", "irregularly irregular"};
    assert_int_equal(N_ELEMENTS(words), FM_PATTERN_COUNT);
    expect_words(pattern, words, N_ELEMENTS(words));
}

static void finding_words_are_those_published(void **state)
{
    (void)state;
    const char *const words[] = {"early beats", "pauses", "sudden rate change",
                                 "run of fast beats"};
    assert_int_equal(N_ELEMENTS(words), FM_FINDING_KIND_COUNT);
    expect_words(finding, words, N_ELEMENTS(words));
}

static void breath_pattern_words_are_those_published(void **state)
{
    (void)state;
    const char *const words[] = {"undetermined", "even", "uneven", "with pauses",
                                 "waxing and waning"};
    assert_int_equal(N_ELEMENTS(words), FM_BREATH_PATTERN_COUNT);
    expect_words(breath_pattern, words, N_ELEMENTS(words));
}

/* A cleared result must never read as a vouched-for one. */
static void a_cleared_result_is_refused(void **state)
{
    (void)state;
    static fm_count cleared;
    memset(&cleared, 0, sizeof(cleared));
    assert_int_equal(cleared.heart.count.status, FM_REFUSED);
    assert_false(fm_is_known(&cleared.heart.count));
    assert_false(cleared.heart.count.window.full_minute);
    assert_int_equal(cleared.rhythm.pattern, FM_PATTERN_UNDETERMINED);
    assert_int_equal(cleared.breath.pattern, FM_BREATH_PATTERN_UNDETERMINED);
    assert_int_equal(cleared.breath.n_pauses, 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(reason_codes_are_those_published),
        cmocka_unit_test(interval_words_are_those_published),
        cmocka_unit_test(pattern_words_are_those_published),
        cmocka_unit_test(finding_words_are_those_published),
        cmocka_unit_test(breath_pattern_words_are_those_published),
        cmocka_unit_test(a_cleared_result_is_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
