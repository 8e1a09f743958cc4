#include "tests/src/chart_support.h"

#include "src/picture/chart_marks.h"
#include "src/picture/chart_sound_strip.h"

enum {
    RATE = 100,
    N = 2500
};

/* Two bumps a beat, 0.9 s apart, the second smaller and a third of a second later. */
static void invent(float envelope[N])
{
    for (size_t i = 0; i < N; i++) {
        const double t_s = fmod((double)i / RATE, 0.9);
        const double first = (t_s - 0.10) / 0.035;
        const double second = (t_s - 0.42) / 0.028;
        envelope[i] = (float)(0.03 + exp(-first * first) + 0.6 * exp(-second * second) +
                              0.02 * wobble(i));
    }
}

static void found_beside_the_truth(void **state)
{
    (void)state;
    static float envelope[N];
    double s1[40] = {0};
    double s2[40] = {0};
    size_t n = 0;
    for (; 0.9 * (double)n + 0.5 < 25.0; n++) {
        s1[n] = 0.9 * (double)n + 0.06;
        s2[n] = 0.9 * (double)n + 0.385;
    }
    double found[40];
    memcpy(found, s1, sizeof found);
    found[7] = s2[7]; /* one taken for the other */
    invent(envelope);
    const chart_sound_strip strip = {.envelope = envelope,
                                     .n = N,
                                     .rate_hz = RATE,
                                     .to_s = 25.0,
                                     .s1 = {found, n},
                                     .s2 = {s2, n},
                                     .true_s1 = {s1, n},
                                     .true_s2 = {s2, n}};
    char *text = chart_sound_strip_format(&strip, "invented sound");
    assert_golden("chart-sound-truth.svg", text);
    /* open dots: one an S2 and one in the legend; likewise filled ones */
    assert_int_equal(occurrences(text, "r=\"2.2\" fill=\"#ffffff\""), n + 1);
    assert_int_equal(occurrences(text, "r=\"2.2\" fill=\"#000000\""), n + 1);
    free(text);
}

static void a_hole_in_the_envelope_is_a_hole(void **state)
{
    (void)state;
    static float envelope[N];
    static fm_quality quality;
    invent(envelope);
    for (size_t i = 300; i < 420; i++) {
        envelope[i] = NAN;
    }
    quality.n_gaps = 1;
    quality.gaps[0] = (fm_span){53.0, 1.2, FM_REASON_GAP};
    const chart_sound_strip strip = {.envelope = envelope,
                                     .n = N,
                                     .rate_hz = RATE,
                                     .envelope_start_s = 50.0,
                                     .from_s = 50.0,
                                     .to_s = 58.0,
                                     .quality = &quality};
    char *text = chart_sound_strip_format(&strip, NULL);
    assert_golden("chart-sound-gap.svg", text);
    const char *shade = strstr(text, "fill=\"" SVG_PALE "\"");
    assert_non_null(shade);
    assert_non_null(strstr(text, ">no audio<"));
    size_t outlines = 0;
    for (const char *p = shade; strncmp(p, "<path", 5) != 0; p--) {
        outlines += *p == 'Z';
    }
    assert_int_equal(outlines, 2);
    free(text);
    quality.gaps[0].reason = FM_REASON_CONTACT_LOST;
    text = chart_sound_strip_format(&strip, NULL);
    assert_non_null(strstr(text, ">not heard<"));
    assert_null(strstr(text, ">no audio<"));
    free(text);
}

static void no_data_one_value_and_not_a_number(void **state)
{
    (void)state;
    const float one[] = {0.5F};
    const float odd[] = {NAN, -1.0F, INFINITY};
    const double times[] = {(double)NAN, 1.0, (double)INFINITY};
    const chart_sound_strip strips[] = {
        {.to_s = 5.0},
        {.envelope = one, .n = 1, .rate_hz = 100.0, .to_s = 5.0},
        {.envelope = odd, .n = 3, .rate_hz = 100.0, .to_s = 5.0, .s1 = {times, 3}},
        {.envelope = one, .n = 1, .rate_hz = 0.0, .to_s = 5.0},
        {.envelope = one, .n = 1, .rate_hz = 100.0, .to_s = -5.0},
        {.envelope = one, .n = 1, .rate_hz = 100.0, .to_s = (double)NAN},
    };
    for (size_t i = 0; i < sizeof strips / sizeof strips[0]; i++) {
        char *text = chart_sound_strip_format(&strips[i], NULL);
        assert_non_null(text);
        assert_int_equal(occurrences(text, "nan"), 0);
        assert_int_equal(occurrences(text, "inf"), 0);
        assert_int_equal(occurrences(text, "?"), 0);
        assert_int_equal(occurrences(text, "S1 found"), i == 2);
        assert_int_equal(occurrences(text, "fill=\"" SVG_PALE "\""), i == 1);
        free(text);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(found_beside_the_truth),
        cmocka_unit_test(a_hole_in_the_envelope_is_a_hole),
        cmocka_unit_test(no_data_one_value_and_not_a_number),
    };
    return cmocka_run_group_tests_name("src.chart_sound_strip", tests, NULL, NULL);
}
