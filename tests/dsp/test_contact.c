/*
 * Lost contact: planted in noise made here.
 *   Input:     30 s of white noise at the working rate with a louder burst every second, as
 *              a heart would; a stretch of it made 40 dB softer, with a thump behind it or
 *              without; bursts left out (a pause); noise that comes and goes (breath).
 *   Tolerance: 0.15 s at either end: what the finder smooths over.
 */
#include "dsp/heart/contact.h"

#include "dsp/heart/features.h"
#include "dsp/signal/random.h"

#include "tests/support.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum {
    SECONDS = 30,
    N = SECONDS * 2000
};

typedef struct made {
    float x[N];
    fm_segment s;
    fm_quality q;
    fm_contact c;
} made;

static made *make(void)
{
    made *m = calloc(1, sizeof(*m));
    assert_non_null(m);
    fm_random r = fm_random_init(4, 4);
    for (size_t i = 0; i < N; i++) {
        const double loud = i % 2000 < 300 ? 0.1 : 0.01;
        m->x[i] = (float)(loud * fm_random_normal(&r));
    }
    m->s = (fm_segment){.x = m->x,
                        .n = N,
                        .start_s = 100.0,
                        .window_start_s = 100.0,
                        .window_end_s = 100.0 + SECONDS};
    return m;
}

/* Seconds from the start of the segment. */
static void scale(made *m, double from_s, double to_s, float by)
{
    for (size_t i = (size_t)(from_s * FM_WORK_RATE_HZ);
         i < (size_t)(to_s * FM_WORK_RATE_HZ); i++) {
        m->x[i] *= by;
    }
}

/* What a chest piece hears in the air: a fifth of the quiet, without beats. */
static void lift(made *m, double from_s, double to_s)
{
    fm_random r = fm_random_init(5, 5);
    for (size_t i = (size_t)(from_s * FM_WORK_RATE_HZ);
         i < (size_t)(to_s * FM_WORK_RATE_HZ); i++) {
        m->x[i] = (float)(0.002 * fm_random_normal(&r));
    }
}

static void lose(made *m, double from_s, double to_s)
{
    scale(m, from_s, to_s, 0.01f);
    scale(m, to_s, to_s + 0.1, 100.0f);
}

static size_t find(made *m)
{
    fm_contact_measure(&m->s, &m->c);
    return fm_contact_find(&m->c, &m->s, &m->q);
}

static void steady_contact_is_no_gap(void **state)
{
    (void)state;
    made *m = make();
    assert_int_equal(find(m), 0);
    assert_int_equal(m->q.n_gaps, 0);
    free(m);
}

static void a_planted_loss_is_a_gap_where_it_was_planted(void **state)
{
    (void)state;
    made *m = make();
    lose(m, 20.4, 21.2);
    lose(m, 7.5, 8.0);
    m->q.gaps[0] = (fm_span){112.0, 1.0, FM_REASON_GAP};
    m->q.n_gaps = 1;
    assert_int_equal(find(m), 2);
    assert_int_equal(m->q.n_gaps, 3);
    const double from_s[] = {107.5, 112.0, 120.4};
    const double length_s[] = {0.5, 1.0, 0.8};
    for (size_t i = 0; i < 3; i++) {
        assert_within(m->q.gaps[i].start_s, from_s[i], 0.15);
        assert_within(m->q.gaps[i].length_s, length_s[i], 0.15);
        assert_int_equal(m->q.gaps[i].reason,
                         i == 1 ? FM_REASON_GAP : FM_REASON_CONTACT_LOST);
    }
    free(m);
}

/* Between words, a noise gate: quiet for a moment, and nothing strikes at its end. */
static void a_short_quiet_without_a_thump_is_no_loss(void **state)
{
    (void)state;
    made *m = make();
    scale(m, 7.5, 8.0, 0.01f);
    assert_int_equal(find(m), 0);
    free(m);
}

static void a_second_and_longer_is_a_loss_without_a_thump_and_at_the_ends(void **state)
{
    (void)state;
    made *m = make();
    lift(m, 0.0, 1.9);
    lift(m, 14.4, 16.4);
    lift(m, 28.4, 30.0);
    assert_int_equal(find(m), 3);
    const double from_s[] = {100.0, 114.4, 128.4};
    const double to_s[] = {101.9, 116.4, 130.0};
    for (size_t i = 0; i < 3; i++) {
        const fm_span *g = &m->q.gaps[i];
        assert_within(g->start_s, from_s[i], 0.15);
        assert_within(g->start_s + g->length_s, to_s[i], 0.15);
        assert_int_equal(g->reason, FM_REASON_CONTACT_LOST);
    }
    free(m);
}

/* Beats left out, the body's own quiet goes on. */
static void a_pause_of_the_heart_is_no_loss(void **state)
{
    (void)state;
    made *m = make();
    for (size_t beat = 9; beat < 12; beat++) {
        scale(m, (double)beat, (double)beat + 0.15, 0.1f);
    }
    assert_int_equal(find(m), 0);
    assert_int_equal(m->c.n_faint, 0);
    const fm_contact_level level = fm_contact_level_of(&m->c, 109.0, 112.0);
    assert_within(level.off_db, 0.5, 1.0);
    assert_true(level.under_share < 0.2);
    free(m);
}

/* Loud breath over it: between breaths it is quiet again and again. */
static void quiet_in_every_breath_is_no_loss(void **state)
{
    (void)state;
    made *m = make();
    for (size_t i = 0; i < N; i++) {
        const double phase = fmod((double)i / FM_WORK_RATE_HZ, 4.0);
        m->x[i] *= phase < 2.6 ? 8.0f : 1.0f;
    }
    assert_int_equal(find(m), 0);
    free(m);
}

static void what_was_lost_already_is_left_out(void **state)
{
    (void)state;
    made *m = make();
    lose(m, 15.5, 16.0);
    m->s.gaps[0] = (fm_span){115.6, 0.3, FM_REASON_GAP};
    m->s.n_gaps = 1;
    assert_int_equal(find(m), 0);
    free(m);
}

static void gaps_that_touch_are_joined(void **state)
{
    (void)state;
    made *m = make();
    fm_contact_add_gap(&m->q, 10.0, 12.0, FM_REASON_GAP);
    fm_contact_add_gap(&m->q, 20.0, 21.0, FM_REASON_GAP);
    fm_contact_add_gap(&m->q, 5.0, 6.0, FM_REASON_CONTACT_LOST);
    assert_int_equal(m->q.n_gaps, 3);
    assert_within(m->q.gaps[0].start_s, 5.0, 0.0);
    fm_contact_add_gap(&m->q, 11.0, 20.5, FM_REASON_CONTACT_LOST);
    assert_int_equal(m->q.n_gaps, 2);
    assert_within(m->q.gaps[1].start_s, 10.0, 0.0);
    assert_within(m->q.gaps[1].length_s, 11.0, 1e-12);
    assert_int_equal(m->q.gaps[1].reason, FM_REASON_CONTACT_LOST);
    free(m);
}

static void no_room_and_no_sound_do_no_harm(void **state)
{
    (void)state;
    made *m = make();
    lose(m, 7.5, 8.0);
    for (size_t i = 0; i < FM_SPANS_MAX; i++) {
        m->q.gaps[i] = (fm_span){110.0 + 0.1 * (double)i, 0.05, FM_REASON_GAP};
    }
    m->q.n_gaps = FM_SPANS_MAX;
    assert_int_equal(find(m), 1);
    assert_in_range(m->q.n_gaps, 1, FM_SPANS_MAX);
    assert_within(m->q.gaps[0].start_s, 107.5, 0.15);
    m->q.n_gaps = 0;
    memset(m->x, 0, sizeof(m->x));
    assert_int_equal(find(m), 0);
    m->s.n = 0;
    assert_int_equal(find(m), 0);
    free(m);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(steady_contact_is_no_gap),
        cmocka_unit_test(a_planted_loss_is_a_gap_where_it_was_planted),
        cmocka_unit_test(a_short_quiet_without_a_thump_is_no_loss),
        cmocka_unit_test(a_second_and_longer_is_a_loss_without_a_thump_and_at_the_ends),
        cmocka_unit_test(a_pause_of_the_heart_is_no_loss),
        cmocka_unit_test(quiet_in_every_breath_is_no_loss),
        cmocka_unit_test(what_was_lost_already_is_left_out),
        cmocka_unit_test(gaps_that_touch_are_joined),
        cmocka_unit_test(no_room_and_no_sound_do_no_harm),
    };
    return cmocka_run_group_tests_name("dsp.contact", tests, NULL, NULL);
}
