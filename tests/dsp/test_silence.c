/*
 * What a long silence between beats is.
 *   Input:     40 s of white noise at the working rate, with a burst of 0.15 s at the beats that
 *              each test names, one a second but where it says otherwise.
 *   Tolerance: 0.2 s where a gap begins and ends: the finder smooths over 0.15 s.
 */
#include "dsp/heart/silence.h"

#include "dsp/heart/features.h"
#include "dsp/signal/random.h"

#include "tests/support.h"

#include <math.h>
#include <stdlib.h>

enum {
    SECONDS = 40,
    N = SECONDS * 2000,
    BEATS_MAX = 64
};

typedef struct made {
    float x[N];
    double s1_s[BEATS_MAX];
    float sureness[BEATS_MAX];
    size_t n;
    fm_segment s;
    fm_contact c;
    fm_quality q;
    fm_silences found;
} made;

/* Beats a second apart but for a silence of `intervals` from 15 s on. */
static made *make(double intervals)
{
    made *m = calloc(1, sizeof(*m));
    assert_non_null(m);
    fm_random r = fm_random_init(7, 7);
    for (size_t i = 0; i < N; i++) {
        m->x[i] = (float)(0.01 * fm_random_normal(&r));
    }
    double at_s = 0.5;
    while (at_s < SECONDS - 0.5) {
        for (size_t i = 0; i < 300; i++) {
            m->x[(size_t)(at_s * FM_WORK_RATE_HZ) + i] *= 20.0f;
        }
        m->sureness[m->n] = 0.9f;
        m->s1_s[m->n++] = at_s;
        at_s += at_s > 14.9 && at_s < 15.9 ? intervals : 1.0;
    }
    m->s = (fm_segment){.x = m->x, .n = N, .window_end_s = SECONDS};
    return m;
}

static void judge(made *m)
{
    fm_contact_measure(&m->s, &m->c);
    m->found.n_lost = fm_contact_find(&m->c, &m->s, &m->q);
    fm_silence_classify(&m->c, &m->s, m->s1_s, m->sureness, m->n, 1.0, &m->q,
                        &m->found);
}

static void scale(made *m, double from_s, double to_s, float by)
{
    for (size_t i = (size_t)(from_s * FM_WORK_RATE_HZ);
         i < (size_t)(to_s * FM_WORK_RATE_HZ); i++) {
        m->x[i] *= by;
    }
}

static void a_dropped_beat_and_a_pause_off_the_clock_are_heard(void **state)
{
    (void)state;
    const double intervals[] = {2.0, 1.8, 2.4, 3.4};
    for (size_t i = 0; i < 4; i++) {
        made *m = make(intervals[i]);
        judge(m);
        assert_int_equal(m->q.n_gaps, 0);
        assert_int_equal(m->found.n_unsure + m->found.n_lost, 0);
        free(m);
    }
}

static void quiet_that_falls_away_too_is_lost_contact(void **state)
{
    (void)state;
    made *m = make(2.0);
    scale(m, 15.7, 17.4, 0.3f);
    judge(m);
    assert_int_equal(m->q.n_gaps, 1);
    assert_int_equal(m->q.gaps[0].reason, FM_REASON_CONTACT_LOST);
    assert_within(m->q.gaps[0].start_s, 15.7, 0.2);
    assert_within(m->q.gaps[0].start_s + m->q.gaps[0].length_s, 17.4, 0.2);
    assert_int_equal(m->found.n_unsure, 0);
    free(m);
}

static void two_dropped_beats_on_the_old_clock_cannot_be_told(void **state)
{
    (void)state;
    made *m = make(4.0);
    judge(m);
    assert_int_equal(m->q.n_gaps, 1);
    assert_int_equal(m->q.gaps[0].reason, FM_REASON_CONTACT_OR_PAUSE);
    assert_int_equal(m->found.n_unsure, 1);
    assert_within(m->found.unsure_s, 4.0, 1e-9);
    assert_true(m->found.worst_unsure.start_s > 15.5);
    assert_true(m->found.worst_unsure.start_s + m->found.worst_unsure.length_s < 19.5);
    free(m);
}

/* A little under the usual quiet: 2.4 dB under the mean, 1.5 under the quietest moments. */
static void quiet_that_falls_a_little_cannot_be_told(void **state)
{
    (void)state;
    made *m = make(2.3);
    scale(m, 15.8, 17.75, 0.76f);
    judge(m);
    assert_int_equal(m->q.n_gaps, 1);
    assert_int_equal(m->q.gaps[0].reason, FM_REASON_CONTACT_OR_PAUSE);
    free(m);
}

static void soft_beats_at_both_edges_cannot_be_told(void **state)
{
    (void)state;
    made *m = make(2.3);
    scale(m, 15.5, 15.65, 0.3f);
    scale(m, 17.8, 17.95, 0.3f);
    judge(m);
    assert_int_equal(m->q.n_gaps, 1);
    assert_int_equal(m->q.gaps[0].reason, FM_REASON_CONTACT_OR_PAUSE);
    free(m);
}

/* Beats that fade before the silence and come back behind it lie in the gap. */
static void beats_that_fade_belong_to_the_gap(void **state)
{
    (void)state;
    made *m = make(3.0);
    scale(m, 14.4, 14.7, 0.2f);
    scale(m, 15.4, 18.4, 0.1f);
    judge(m);
    assert_int_equal(m->q.n_gaps, 1);
    assert_true(m->q.gaps[0].start_s < 14.5);
    assert_true(m->q.gaps[0].start_s > 13.7);
    free(m);
}

/* A louder sound that falls silent for 2 s, the heart going on in it. */
static void sure_beats_in_a_faint_stretch_are_heard(void **state)
{
    (void)state;
    made *m = make(1.0);
    scale(m, 15.6, 18.4, 0.1f);
    judge(m);
    assert_int_equal(m->q.n_gaps, 0);
    assert_int_equal(m->found.n_lost, 0);
    free(m);
}

static void beats_in_noise_are_no_longer_sure(void **state)
{
    (void)state;
    made *m = make(1.0);
    scale(m, 20.0, 24.0, 4.0f);
    judge(m);
    fm_silence_doubt(&m->c, m->s1_s, m->n, 1.0, m->sureness);
    for (size_t i = 0; i < m->n; i++) {
        const bool inside = m->s1_s[i] > 21.4 && m->s1_s[i] < 22.6;
        const bool outside = m->s1_s[i] < 19.0 || m->s1_s[i] > 25.0;
        assert_true(!inside || m->sureness[i] < 0.3f);
        assert_true(!outside || m->sureness[i] > 0.8f);
    }
    free(m);
}

/* A sound 14 dB over the quiet lies where two beats are missing: they may be under it. In an interval
 * that is as expected it is no matter, and in every third one it is this heart's way. */
static void a_sound_over_missing_beats_makes_the_ends_unsure(void **state)
{
    (void)state;
    made *m = make(2.8);
    scale(m, 16.1, 18.0, 5.0f);
    scale(m, 25.4, 25.9, 5.0f);
    judge(m);
    fm_silence_doubt(&m->c, m->s1_s, m->n, 1.0, m->sureness);
    for (size_t i = 0; i < m->n; i++) {
        const bool end = m->s1_s[i] > 15.4 && m->s1_s[i] < 18.4;
        assert_true(end ? m->sureness[i] < 0.3f : m->sureness[i] > 0.8f);
    }
    free(m);
}

static void sounds_over_many_intervals_leave_the_beats_sure(void **state)
{
    (void)state;
    made *m = make(2.8);
    for (size_t i = 1; i < m->n; i += 3) {
        scale(m, m->s1_s[i - 1] + 0.6, m->s1_s[i] - 0.05, 5.0f);
    }
    judge(m);
    fm_silence_doubt(&m->c, m->s1_s, m->n, 1.0, m->sureness);
    for (size_t i = 0; i < m->n; i++) {
        assert_true(m->sureness[i] > 0.8f);
    }
    free(m);
}

static void no_sound_and_no_beats_do_no_harm(void **state)
{
    (void)state;
    made *m = make(1.0);
    m->n = 0;
    judge(m);
    assert_int_equal(m->q.n_gaps, 0);
    m->s.n = 0;
    judge(m);
    fm_silence_doubt(&m->c, m->s1_s, 0, 1.0, m->sureness);
    assert_int_equal(m->q.n_gaps, 0);
    free(m);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_dropped_beat_and_a_pause_off_the_clock_are_heard),
        cmocka_unit_test(quiet_that_falls_away_too_is_lost_contact),
        cmocka_unit_test(two_dropped_beats_on_the_old_clock_cannot_be_told),
        cmocka_unit_test(quiet_that_falls_a_little_cannot_be_told),
        cmocka_unit_test(soft_beats_at_both_edges_cannot_be_told),
        cmocka_unit_test(beats_that_fade_belong_to_the_gap),
        cmocka_unit_test(sure_beats_in_a_faint_stretch_are_heard),
        cmocka_unit_test(beats_in_noise_are_no_longer_sure),
        cmocka_unit_test(a_sound_over_missing_beats_makes_the_ends_unsure),
        cmocka_unit_test(sounds_over_many_intervals_leave_the_beats_sure),
        cmocka_unit_test(no_sound_and_no_beats_do_no_harm),
    };
    return cmocka_run_group_tests_name("dsp.silence", tests, NULL, NULL);
}
