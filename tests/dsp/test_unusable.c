/*
 * Stretches in which beats cannot be known: planted ones, whose place and cause are known.
 *   Input:     rows of beats and levels made here; the spans' arithmetic also against a
 *              slow version that looks at every millisecond.
 *   Tolerance: a stretch runs from the last sure beat to the next: 2 ms. The slow version
 *              is right to a millisecond for each edge.
 */
#include "dsp/heart/unusable.h"

#include "dsp/signal/random.h"

#include "tests/support.h"

#include <stdlib.h>
#include <string.h>

enum {
    FRAMES = 6000,
    BEATS_MAX = 600
};

static const double CYCLE_S = 0.8;

/* A minute of steady beats in quiet; the recording starts at start_s. */
typedef struct minute {
    float level[FM_BANDS][FRAMES];
    float power[FM_BANDS][FRAMES];
    fm_features f;
    fm_segment segment;
    double s1_s[BEATS_MAX];
    float sureness[BEATS_MAX];
    size_t n;
    fm_quality q;
} minute;

static minute *steady_minute(double start_s)
{
    minute *m = calloc(1, sizeof(*m));
    assert_non_null(m);
    m->f.n_frames = FRAMES;
    for (size_t b = 0; b < FM_BANDS; b++) {
        m->f.level[b] = m->level[b];
        m->f.power[b] = m->power[b];
        for (size_t k = 0; k < FRAMES; k++) {
            m->power[b][k] = 1e-7f;
        }
    }
    m->segment.start_s = start_s;
    m->segment.window_start_s = start_s;
    m->segment.window_end_s = start_s + 60.0;
    for (size_t i = 0; i < 75; i++) {
        m->s1_s[i] = start_s + 0.4 + CYCLE_S * (double)i;
        m->sureness[i] = 0.9f;
    }
    m->n = 75;
    m->q.n_unusable = 99; /* must be set again */
    return m;
}

static void find(minute *m)
{
    fm_unusable_find(&m->segment, &m->f, m->s1_s, m->sureness, m->n, CYCLE_S, &m->q);
}

/* Take the beats of [from, to) out; times from the start of the recording's segment. */
static void silence_beats(minute *m, double from_s, double to_s)
{
    size_t kept = 0;
    for (size_t i = 0; i < m->n; i++) {
        const double t = m->s1_s[i] - m->segment.start_s;
        if (t < from_s || t >= to_s) {
            m->s1_s[kept] = m->s1_s[i];
            m->sureness[kept++] = m->sureness[i];
        }
    }
    m->n = kept;
}

static void set_level(
    minute *m, size_t low, size_t high, double from_s, double to_s, float level)
{
    for (size_t b = low; b < high; b++) {
        for (size_t k = (size_t)(from_s * 100.0); k < (size_t)(to_s * 100.0); k++) {
            m->level[b][k] = level;
        }
    }
}

/* The last beat before and the first after a stretch, in the recording's time. */
static void assert_between_beats(const minute *m, double from_s, double to_s)
{
    double before_s = m->segment.window_start_s;
    double after_s = m->segment.window_end_s;
    for (size_t i = 0; i < m->n; i++) {
        const double t = m->s1_s[i];
        if (t < m->segment.start_s + from_s) {
            before_s = t;
        } else if (t >= m->segment.start_s + to_s && after_s > t) {
            after_s = t;
        }
    }
    assert_int_equal(m->q.n_unusable, 1);
    assert_within(m->q.unusable[0].start_s, before_s, 2e-3);
    assert_within(m->q.unusable[0].start_s + m->q.unusable[0].length_s, after_s, 2e-3);
}

static void steady_beats_leave_nothing_unusable(void **state)
{
    (void)state;
    minute *m = steady_minute(0.0);
    set_level(m, 0, FM_BANDS, 0.0, 60.0, 0.9f); /* however loud it is around them */
    find(m);
    assert_int_equal(m->q.n_unusable, 0);
    free(m);
}

static void friction_is_named_with_its_times(void **state)
{
    (void)state;
    const double starts_s[] = {0.0, 7.5, 86400.0};
    for (size_t i = 0; i < 3; i++) {
        minute *m = steady_minute(starts_s[i]);
        silence_beats(m, 22.0, 31.0);
        set_level(m, FM_BANDS - 3, FM_BANDS, 22.0, 31.0, 1.0f);
        find(m);
        assert_between_beats(m, 22.0, 31.0);
        assert_int_equal(m->q.unusable[0].reason, FM_REASON_FRICTION);
        free(m);
    }
}

/* Levels are over the local floor, which a long rub fills: its power still tells. */
static void a_long_rub_is_friction_by_its_power(void **state)
{
    (void)state;
    for (int rubbed = 0; rubbed <= 1; rubbed++) {
        minute *m = steady_minute(7.5);
        silence_beats(m, 22.0, 31.0);
        for (size_t b = 0; b < FM_BANDS; b++) {
            for (size_t k = 2200; k < 3100 && rubbed; k++) {
                m->power[b][k] = k % 3 == 0 ? 1e-7f : 1e-4f; /* it comes and goes */
            }
        }
        find(m);
        assert_between_beats(m, 22.0, 31.0);
        assert_int_equal(m->q.unusable[0].reason,
                         rubbed ? FM_REASON_FRICTION : FM_REASON_NO_PERIODICITY);
        free(m);
    }
}

static void clipping_is_named_before_friction(void **state)
{
    (void)state;
    minute *m = steady_minute(0.0);
    silence_beats(m, 22.0, 31.0);
    set_level(m, FM_BANDS - 3, FM_BANDS, 22.0, 31.0, 1.0f);
    m->segment.clipped_in_second[40] = 0.5f; /* elsewhere: says nothing of this one */
    find(m);
    assert_int_equal(m->q.unusable[0].reason, FM_REASON_FRICTION);
    m->segment.clipped_in_second[25] = 0.5f;
    find(m);
    assert_between_beats(m, 22.0, 31.0);
    assert_int_equal(m->q.unusable[0].reason, FM_REASON_CLIPPED);
    free(m);
}

/* Quiet around a missing beat or two is a pause and usable; a long silence is not. */
static void a_quiet_pause_is_usable(void **state)
{
    (void)state;
    minute *m = steady_minute(0.0);
    silence_beats(m, 20.0, 22.5); /* from 19.6 to 22.8 s: 3.2 s, a long pause */
    find(m);
    assert_int_equal(m->q.n_unusable, 0);
    set_level(m, 0, 5, 19.0, 24.0, 0.9f); /* the same in loud noise */
    find(m);
    assert_between_beats(m, 20.0, 22.5);
    assert_int_equal(m->q.unusable[0].reason, FM_REASON_NO_PERIODICITY);
    free(m);

    m = steady_minute(0.0);
    silence_beats(m, 20.0, 30.0);
    find(m);
    assert_between_beats(m, 20.0, 30.0);
    assert_int_equal(m->q.unusable[0].reason, FM_REASON_NO_PERIODICITY);
    free(m);
}

/* One or two beats drowned: too short a stretch to call it one. */
static void a_single_drowned_beat_is_usable(void **state)
{
    (void)state;
    minute *m = steady_minute(0.0);
    silence_beats(m, 20.0, 20.8);
    set_level(m, 0, FM_BANDS, 19.5, 21.5, 1.0f);
    find(m);
    assert_int_equal(m->q.n_unusable, 0);
    free(m);
}

/* Beats that nobody vouches for make nothing usable. */
static void unsure_beats_make_nothing_usable(void **state)
{
    (void)state;
    minute *m = steady_minute(0.0);
    set_level(m, 0, FM_BANDS, 40.0, 50.0, 0.9f);
    for (size_t i = 0; i < m->n; i++) {
        m->sureness[i] = m->s1_s[i] >= 40.0 && m->s1_s[i] < 50.0 ? 0.05f : 0.9f;
    }
    find(m);
    assert_int_equal(m->q.n_unusable, 1);
    assert_true(m->q.unusable[0].start_s <= 40.0);
    assert_true(m->q.unusable[0].start_s + m->q.unusable[0].length_s >= 50.0);
    free(m);
}

static void unusable_stretches_reach_to_the_edges_of_the_window(void **state)
{
    (void)state;
    minute *m = steady_minute(10.0);
    silence_beats(m, 0.0, 9.0);
    silence_beats(m, 49.0, 60.0);
    find(m);
    assert_int_equal(m->q.n_unusable, 2);
    assert_within(m->q.unusable[0].start_s, 10.0, 1e-9);
    assert_within(m->q.unusable[1].start_s + m->q.unusable[1].length_s, 70.0, 1e-9);
    m->n = 0;
    find(m);
    assert_int_equal(m->q.n_unusable, 1);
    assert_within(m->q.unusable[0].start_s, 10.0, 1e-9);
    assert_within(m->q.unusable[0].length_s, 60.0, 1e-9);
    free(m);
}

/* Lost audio is a gap already: it is not told twice. */
static void a_gap_is_not_told_twice(void **state)
{
    (void)state;
    minute *m = steady_minute(0.0);
    silence_beats(m, 22.0, 31.0);
    m->q.n_gaps = 1;
    m->q.gaps[0] = (fm_span){22.0, 9.0, FM_REASON_GAP};
    find(m);
    assert_int_equal(m->q.n_unusable, 0);
    free(m);
}

/* Never more than there is room for. */
static void a_long_row_of_unusable_stretches_stays_in_its_room(void **state)
{
    (void)state;
    minute *m = steady_minute(0.0);
    m->segment.window_end_s = 6000.0;
    for (size_t i = 0; i < BEATS_MAX; i++) {
        m->s1_s[i] = 0.4 + 10.0 * (double)i;
        m->sureness[i] = 0.9f;
    }
    m->n = BEATS_MAX;
    find(m);
    assert_int_equal(m->q.n_unusable, FM_SPANS_MAX);
    free(m);
}

static void spans_are_half_open(void **state)
{
    (void)state;
    const fm_span spans[] = {{1.0, 0.5, FM_REASON_GAP}, {4.0, 1.0, FM_REASON_FRICTION}};
    assert_true(fm_spans_contain(spans, 2, 1.0));
    assert_true(fm_spans_contain(spans, 2, 1.4999));
    assert_false(fm_spans_contain(spans, 2, 1.5));
    assert_false(fm_spans_contain(spans, 2, 0.9999));
    assert_true(fm_spans_contain(spans, 2, 4.5));
    assert_false(fm_spans_contain(spans, 1, 4.5));
    assert_false(fm_spans_contain(NULL, 0, 1.0));
}

/* Seconds outside all spans, millisecond by millisecond. */
static void usable_seconds_are_those_outside_every_span(void **state)
{
    (void)state;
    minute *m = steady_minute(0.0);
    fm_quality *q = &m->q;
    for (uint64_t seed = 0; seed < 50; seed++) {
        fm_random r = fm_random_init(seed, 3);
        q->n_gaps = seed % 5;
        q->n_unusable = seed % 4;
        for (size_t i = 0; i < 5; i++) {
            q->gaps[i] = (fm_span){fm_random_between(&r, -5.0, 60.0),
                                   fm_random_between(&r, 0.0, 6.0), FM_REASON_GAP};
            q->unusable[i] =
                (fm_span){fm_random_between(&r, -5.0, 60.0),
                          fm_random_between(&r, 0.0, 9.0), FM_REASON_FRICTION};
        }
        double usable_s = 0.0;
        for (int ms = 3000; ms < 57000; ms++) {
            const double t = ((double)ms + 0.5) / 1000.0;
            usable_s += fm_spans_contain(q->gaps, q->n_gaps, t) ||
                                fm_spans_contain(q->unusable, q->n_unusable, t)
                            ? 0.0
                            : 1e-3;
        }
        const double edges = 2.0 * (double)(q->n_gaps + q->n_unusable);
        assert_within(fm_usable_s(q, 3.0, 57.0), usable_s, 1e-3 * edges + 1e-6);
        double longest_s = 0.0;
        for (size_t i = 0; i < q->n_gaps + q->n_unusable; i++) {
            const fm_span *s =
                i < q->n_gaps ? &q->gaps[i] : &q->unusable[i - q->n_gaps];
            longest_s = fmax(longest_s, fmin(57.0, s->start_s + s->length_s) -
                                            fmax(3.0, s->start_s));
        }
        assert_within(fm_excluded_longest_s(q, 3.0, 57.0), longest_s, 1e-9);
    }
    free(m);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(steady_beats_leave_nothing_unusable),
        cmocka_unit_test(friction_is_named_with_its_times),
        cmocka_unit_test(a_long_rub_is_friction_by_its_power),
        cmocka_unit_test(clipping_is_named_before_friction),
        cmocka_unit_test(a_quiet_pause_is_usable),
        cmocka_unit_test(a_single_drowned_beat_is_usable),
        cmocka_unit_test(unsure_beats_make_nothing_usable),
        cmocka_unit_test(unusable_stretches_reach_to_the_edges_of_the_window),
        cmocka_unit_test(a_gap_is_not_told_twice),
        cmocka_unit_test(a_long_row_of_unusable_stretches_stays_in_its_room),
        cmocka_unit_test(spans_are_half_open),
        cmocka_unit_test(usable_seconds_are_those_outside_every_span),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
