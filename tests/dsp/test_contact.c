/*
 * Lost contact: planted in noise made here.
 *   Input:     30 s of white noise at the working rate with a louder burst every second, as
 *              a heart would; a stretch of it made 40 dB softer, with a thump behind it.
 *   Tolerance: 0.1 s at either end: two of the finder's frames of 50 ms.
 */
#include "dsp/contact.h"

#include "dsp/features.h"
#include "dsp/random.h"

#include "tests/support.h"

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

static void lose(made *m, double from_s, double to_s)
{
    scale(m, from_s, to_s, 0.01f);
    scale(m, to_s, to_s + 0.1, 100.0f);
}

static void steady_contact_is_no_gap(void **state)
{
    (void)state;
    made *m = make();
    assert_int_equal(fm_contact_find(&m->s, &m->q), 0);
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
    assert_int_equal(fm_contact_find(&m->s, &m->q), 2);
    assert_int_equal(m->q.n_gaps, 3);
    const double from_s[] = {107.5, 112.0, 120.4};
    const double length_s[] = {0.5, 1.0, 0.8};
    for (size_t i = 0; i < 3; i++) {
        assert_within(m->q.gaps[i].start_s, from_s[i], 0.1);
        assert_within(m->q.gaps[i].length_s, length_s[i], 0.1);
        assert_int_equal(m->q.gaps[i].reason, FM_REASON_GAP);
    }
    free(m);
}

/* A pause between words, a noise gate: quiet, and nothing strikes at its end. */
static void quiet_without_a_thump_is_no_loss(void **state)
{
    (void)state;
    made *m = make();
    scale(m, 7.5, 8.0, 0.01f);
    assert_int_equal(fm_contact_find(&m->s, &m->q), 0);
    free(m);
}

static void what_was_lost_already_and_both_ends_are_left_out(void **state)
{
    (void)state;
    made *m = make();
    lose(m, 0.0, 0.9);
    scale(m, 29.4, 30.0, 0.01f);
    lose(m, 15.5, 16.0);
    m->s.gaps[0] = (fm_span){115.6, 0.3, FM_REASON_GAP};
    m->s.n_gaps = 1;
    assert_int_equal(fm_contact_find(&m->s, &m->q), 0);
    free(m);
}

static void no_room_and_no_sound_do_no_harm(void **state)
{
    (void)state;
    made *m = make();
    lose(m, 7.5, 8.0);
    m->q.n_gaps = FM_SPANS_MAX;
    assert_int_equal(fm_contact_find(&m->s, &m->q), 1);
    assert_int_equal(m->q.n_gaps, FM_SPANS_MAX);
    m->q.n_gaps = 0;
    memset(m->x, 0, sizeof(m->x));
    assert_int_equal(fm_contact_find(&m->s, &m->q), 0);
    m->s.n = 0;
    assert_int_equal(fm_contact_find(&m->s, &m->q), 0);
    free(m);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(steady_contact_is_no_gap),
        cmocka_unit_test(a_planted_loss_is_a_gap_where_it_was_planted),
        cmocka_unit_test(quiet_without_a_thump_is_no_loss),
        cmocka_unit_test(what_was_lost_already_and_both_ends_are_left_out),
        cmocka_unit_test(no_room_and_no_sound_do_no_harm),
    };
    return cmocka_run_group_tests_name("dsp.contact", tests, NULL, NULL);
}
