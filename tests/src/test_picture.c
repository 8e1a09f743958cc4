#include "tests/src/chart_support.h"

#include "src/report/picture.h"

#include <sys/stat.h>
#include <unistd.h>

static void check_golden(const picture *p, const char *name)
{
    size_t n = 0;
    char *text = picture_format(p, &n);
    assert_non_null(text);
    assert_int_equal(n, strlen(text));
    assert_golden(name, text);
    free(text);
}

static void steady_minute(void **state)
{
    (void)state;
    fm_count *c = minute_steady();
    const picture p = {.count = c, .title = "steady-72.flac"};
    check_golden(&p, "picture-steady.svg");
    free(c);
}

static void learner_and_taps_beside_an_irregular_minute(void **state)
{
    (void)state;
    static double breaths[15];
    for (size_t i = 0; i < 15; i++) {
        breaths[i] = 1.1 + 3.9 * (double)i + 0.2 * wobble(i);
    }
    fm_count *c = minute_irregular();
    fm_taps *t = taps_on(c);
    fm_comparison m = {.manual = {66, 60, FM_CONVENTION_CLOCK, FM_SITE_APICAL},
                       .manual_per_min = 66.0,
                       .reference_known = true,
                       .beats = c->heart.beats,
                       .per_min = c->heart.beats,
                       .low_per_min = c->heart.rate_low_bpm,
                       .high_per_min = c->heart.rate_high_bpm,
                       .verdict = FM_VERDICT_TOO_CLOSE};
    const picture p = {.count = c,
                       .comparison = &m,
                       .taps = t,
                       .title = "early-beats.flac",
                       .n_breaths = 15,
                       .breath_s = breaths};
    check_golden(&p, "picture-taps.svg");
    free(t);
    free(c);
}

static void crowded_letters(void **state)
{
    (void)state;
    fm_count *c = minute_crowded();
    const picture p = {.count = c, .title = "irregular-fast.flac"};
    check_golden(&p, "picture-crowded.svg");
    free(c);
}

static void short_window_with_a_gap(void **state)
{
    (void)state;
    fm_count *c = minute_with_gap();
    fm_comparison m = {.manual = {17, 15, FM_CONVENTION_CLOCK, FM_SITE_APICAL},
                       .manual_per_min = 68.0,
                       .reference_known = true,
                       .beats = 16,
                       .per_min = 64.0,
                       .low_per_min = 60.0,
                       .high_per_min = 68.0,
                       .verdict = FM_VERDICT_TOO_CLOSE};
    const picture p = {
        .count = c, .comparison = &m, .title = "with <gap> & friction.wav"};
    check_golden(&p, "picture-gap.svg");
    free(c);
}

static void refused_shows_no_beat_and_no_number(void **state)
{
    (void)state;
    fm_count *c = minute_refused();
    const picture p = {.count = c, .title = "friction.flac"};
    check_golden(&p, "picture-refused.svg");
    free(c);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(steady_minute),
        cmocka_unit_test(learner_and_taps_beside_an_irregular_minute),
        cmocka_unit_test(crowded_letters),
        cmocka_unit_test(short_window_with_a_gap),
        cmocka_unit_test(refused_shows_no_beat_and_no_number),
    };
    return cmocka_run_group_tests_name("src.picture", tests, NULL, NULL);
}
