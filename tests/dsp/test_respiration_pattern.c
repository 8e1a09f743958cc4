/*
 * How a window breathes, on levels by formula.
 *   Source:    the three cases of dsp/breath/respiration_pattern.h; the 10 s: dsp/breath/respiration_pause.h.
 *   Input:     seven bands that rise and fall with each breath, made here.
 *   Tolerance: half a second: the levels are smoothed over that.
 */
#include "dsp/breath/respiration_pattern.h"

#include "../support.h"

#include <stdlib.h>
#include <string.h>

static const double PI = 3.14159265358979323846;

enum {
    LEVELS = 600 /* a minute */
};

/* A minute of breathing: sound for half of each breath, rest for the other half. */
typedef struct minute {
    double per_min;
    double height;    /* of breath over rest, natural log of power */
    double from_s;    /* no breath from here .. */
    double to_s;      /* .. to here */
    double level;     /* there, over rest */
    double swell_s;   /* breath waxes and wanes once in so long; 0: it does not */
    double least;     /* of its loudness between swells, as a share */
    double sigh_s;    /* one deep breath among soft ones once in so long; 0: none */
    double plateau_s; /* two soft breaths among loud ones once in so long; 0: none */
    bool at_random;   /* each breath's depth has nothing to do with the one before */
    double stretch;   /* every second breath is longer by this share */
    fm_breath_series series;
    fm_breath breath;
    fm_quality quality;
} minute;

static double depth_at(const minute *m, double time_s)
{
    if (m->sigh_s > 0.0) {
        return fmod(time_s, m->sigh_s) < 60.0 / m->per_min ? 1.0 : 0.6;
    }
    if (m->plateau_s > 0.0) {
        return fmod(time_s, m->plateau_s) < 120.0 / m->per_min ? 0.6 : 1.0;
    }
    const double half = 0.5 * (1.0 - m->least);
    return m->swell_s > 0.0 ? 1.0 - half - half * cos(2.0 * PI * time_s / m->swell_s)
                            : 1.0;
}

/* A permutation of eight depths, loud beside soft: up and down, never by steps. */
static double depth_of(const minute *m, size_t k)
{
    static const double depths[] = {0.6, 0.9, 0.65, 1.0, 0.55, 0.85, 0.6, 0.95};
    return m->at_random ? depths[k % (sizeof(depths) / sizeof(*depths))] : 1.0;
}

static void put_breath(minute *m, double start_s, double length_s)
{
    const double depth = depth_of(m, m->breath.count.n);
    m->breath.count.onsets_s[m->breath.count.n++] = start_s;
    for (double at_s = start_s; at_s < start_s + 0.5 * length_s; at_s += 0.1) {
        const size_t i = (size_t)(at_s * FM_BREATH_LEVEL_HZ);
        const double share = (at_s - start_s) / (0.5 * length_s);
        for (size_t b = 0; b < FM_BREATH_BANDS && i < LEVELS; b++) {
            m->series.level[b][i] += (float)(m->height * depth * depth_at(m, at_s) *
                                             sqrt(sin(PI * fmin(1.0, share))));
        }
    }
}

static minute *find(const minute *recipe)
{
    minute *m = malloc(sizeof(*m));
    assert_non_null(m);
    *m = *recipe;
    m->series.n_levels = LEVELS;
    for (size_t b = 0; b < FM_BREATH_BANDS; b++) {
        for (size_t i = 0; i < LEVELS; i++) {
            const double at_s = (double)i / FM_BREATH_LEVEL_HZ;
            const bool quiet = at_s >= m->from_s && at_s < m->to_s;
            m->series.level[b][i] =
                (float)(-12.0 + 0.1 * sin(7.0 * at_s) + (quiet ? m->level : 0.0));
        }
    }
    const double breath_s = 60.0 / m->per_min;
    int k = 0;
    for (double at_s = 0.3 * breath_s; at_s < 60.0; k++) {
        const double length_s = breath_s * (k % 2 == 1 ? 1.0 + m->stretch : 1.0);
        if (at_s + 0.5 * length_s <= m->from_s || at_s >= m->to_s) {
            put_breath(m, at_s, length_s);
        }
        at_s += length_s;
    }
    m->breath.count.window = (fm_window){0.0, 60.0, true};
    m->breath.count.status = FM_COUNTED;
    fm_respiration_pattern_find(&m->series, 0.0, &m->quality, &m->breath);
    return m;
}

static void even_breathing_is_even_at_any_rate(void **state)
{
    (void)state;
    static const double rates[] = {6.0, 8.0, 12.0, 20.0, 35.0};
    for (size_t i = 0; i < sizeof(rates) / sizeof(*rates); i++) {
        const minute recipe = {.per_min = rates[i], .height = 2.0};
        minute *m = find(&recipe);
        assert_int_equal(m->breath.n_pauses, 0);
        assert_int_equal(m->breath.pattern,
                         rates[i] > 6.5 ? FM_BREATH_PATTERN_EVEN : m->breath.pattern);
        free(m);
    }
}

static void heard_quiet_is_a_pause_in_its_place(void **state)
{
    (void)state;
    const minute recipe = {
        .per_min = 15.0, .height = 2.0, .from_s = 24.0, .to_s = 40.0, .level = 0.0};
    minute *m = find(&recipe);
    assert_int_equal(m->breath.pattern, FM_BREATH_PATTERN_WITH_PAUSES);
    assert_int_equal(m->breath.n_pauses, 1);
    assert_true(m->breath.pauses[0].start_s > 20.0 &&
                m->breath.pauses[0].start_s < 25.0);
    assert_true(m->breath.pauses[0].end_s > 39.0 && m->breath.pauses[0].end_s < 44.5);
    free(m);
}

/* Under the rest between the other breaths nothing was heard: contact was lost. */
static void what_was_not_heard_is_no_pause(void **state)
{
    (void)state;
    const minute recipe = {
        .per_min = 15.0, .height = 2.0, .from_s = 24.0, .to_s = 40.0, .level = -6.0};
    minute *m = find(&recipe);
    assert_int_equal(m->breath.n_pauses, 0);
    free(m);
    minute lost = {
        .per_min = 15.0, .height = 2.0, .from_s = 24.0, .to_s = 40.0, .level = 0.0};
    lost.quality.n_gaps = 1;
    lost.quality.gaps[0] = (fm_span){26.0, 10.0, FM_REASON_GAP};
    m = find(&lost);
    assert_int_equal(m->breath.n_pauses, 0);
    assert_int_equal(m->breath.pattern, FM_BREATH_PATTERN_UNDETERMINED);
    free(m);
}

static void breath_that_hardly_stands_out_tells_nothing(void **state)
{
    (void)state;
    const minute recipe = {
        .per_min = 15.0, .height = 0.3, .from_s = 24.0, .to_s = 40.0, .level = 0.0};
    minute *m = find(&recipe);
    assert_int_equal(m->breath.n_pauses, 0);
    free(m);
}

static void short_rests_are_no_pauses(void **state)
{
    (void)state;
    const minute recipe = {
        .per_min = 15.0, .height = 2.0, .from_s = 24.0, .to_s = 27.0, .level = 0.0};
    minute *m = find(&recipe);
    assert_int_equal(m->breath.n_pauses, 0);
    free(m);
}

static void unequal_breaths_are_uneven(void **state)
{
    (void)state;
    const minute recipe = {.per_min = 20.0, .height = 2.0, .stretch = 0.9};
    minute *m = find(&recipe);
    assert_int_equal(m->breath.pattern, FM_BREATH_PATTERN_UNEVEN);
    free(m);
}

/* Two whole swells in the minute, or it is not said. */
static void waxing_takes_two_whole_swells(void **state)
{
    (void)state;
    const minute two = {.per_min = 24.0, .height = 3.0, .swell_s = 24.0, .least = 0.1};
    minute *m = find(&two);
    assert_int_equal(m->breath.pattern, FM_BREATH_PATTERN_WAXING);
    free(m);
    const minute one = {.per_min = 24.0, .height = 3.0, .swell_s = 60.0, .least = 0.1};
    m = find(&one);
    assert_true(m->breath.pattern != FM_BREATH_PATTERN_WAXING);
    free(m);
}

/* Three falls and two rises, the first and the last swell cut by the window: one whole one. */
static void a_swell_that_the_window_cuts_is_not_whole(void **state)
{
    (void)state;
    minute cut = {.per_min = 24.0, .height = 8.0, .swell_s = 40.0, .least = 0.6};
    minute *m = find(&cut);
    assert_true(m->breath.pattern != FM_BREATH_PATTERN_WAXING);
    free(m);
}

/* The minute ends a tenth of a second after the last breath has begun: that one is not soft, it is
 * not over, and the second swell is at its loudest. */
static void a_breath_that_the_window_cuts_is_not_soft(void **state)
{
    (void)state;
    const minute cut = {.per_min = 24.34, .height = 8.0, .swell_s = 40.0, .least = 0.6};
    minute *m = find(&cut);
    assert_true(m->breath.count.onsets_s[m->breath.count.n - 1] > 59.8);
    assert_int_equal(m->breath.pattern, FM_BREATH_PATTERN_EVEN);
    free(m);
}

/* The second swell ends with the window: its last breath is heard to the window's end. */
static void the_last_breath_ends_a_swell(void **state)
{
    (void)state;
    const minute whole = {
        .per_min = 24.0, .height = 8.0, .swell_s = 28.0, .least = 0.6};
    minute *m = find(&whole);
    assert_int_equal(m->breath.pattern, FM_BREATH_PATTERN_WAXING);
    free(m);
}

/* Swells with a long rest between them: both are told. */
static void waxing_may_have_pauses(void **state)
{
    (void)state;
    const minute recipe = {.per_min = 26.0,
                           .height = 12.0,
                           .swell_s = 24.0,
                           .least = 0.4,
                           .from_s = 18.0,
                           .to_s = 28.3,
                           .level = 0.0};
    minute *m = find(&recipe);
    assert_int_equal(m->breath.pattern, FM_BREATH_PATTERN_WAXING);
    assert_int_equal(m->breath.n_pauses, 1);
    free(m);
}

static void loud_breaths_here_and_there_are_no_swells(void **state)
{
    (void)state;
    const minute sighs = {.per_min = 24.0, .height = 8.0, .sigh_s = 15.0};
    minute *m = find(&sighs);
    assert_int_equal(m->breath.pattern, FM_BREATH_PATTERN_EVEN);
    free(m);
    const minute plateaus = {.per_min = 24.0, .height = 8.0, .plateau_s = 20.0};
    m = find(&plateaus); /* as under friction: loud and soft at once, no step between */
    assert_int_equal(m->breath.pattern, FM_BREATH_PATTERN_EVEN);
    free(m);
    const minute mixed = {.per_min = 24.0, .height = 8.0, .at_random = true};
    m = find(&mixed);
    assert_int_equal(m->breath.pattern, FM_BREATH_PATTERN_EVEN);
    free(m);
}

static void a_refused_count_has_no_pattern(void **state)
{
    (void)state;
    const minute recipe = {.per_min = 15.0, .height = 2.0};
    minute *m = find(&recipe);
    m->breath.count.status = FM_REFUSED;
    m->breath.count.reason = FM_REASON_NO_BREATH_CUE;
    fm_respiration_pattern_find(&m->series, 0.0, &m->quality, &m->breath);
    assert_int_equal(m->breath.pattern, FM_BREATH_PATTERN_UNDETERMINED);
    assert_int_equal(m->breath.n_pauses, 0);
    free(m);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(even_breathing_is_even_at_any_rate),
        cmocka_unit_test(heard_quiet_is_a_pause_in_its_place),
        cmocka_unit_test(what_was_not_heard_is_no_pause),
        cmocka_unit_test(breath_that_hardly_stands_out_tells_nothing),
        cmocka_unit_test(short_rests_are_no_pauses),
        cmocka_unit_test(unequal_breaths_are_uneven),
        cmocka_unit_test(waxing_takes_two_whole_swells),
        cmocka_unit_test(a_swell_that_the_window_cuts_is_not_whole),
        cmocka_unit_test(a_breath_that_the_window_cuts_is_not_soft),
        cmocka_unit_test(the_last_breath_ends_a_swell),
        cmocka_unit_test(waxing_may_have_pauses),
        cmocka_unit_test(loud_breaths_here_and_there_are_no_swells),
        cmocka_unit_test(a_refused_count_has_no_pattern),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
