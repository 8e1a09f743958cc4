/*
 * Playing with marks, on an output driven by hand.
 *   Source:    none; the rules are those of the header.
 *   Input:     a stretch of 20 s at 1 kHz with marks made here.
 *   Tolerance: samples and marks exactly.
 */
#include "src/usecase/click.h"
#include "src/usecase/demonstrate_play.h"

#include "tests/support.h"

enum {
    N = 20000,
    MARKS = 5
};

static float plain[N];
static float clicked[N];
static demonstrate_mark marks[MARKS] = {{1.0, false, false},
                                        {1.3, true, false},
                                        {2.0, false, false},
                                        {8.0, false, true},
                                        {19.9, false, false}};

/* What the output was told, and what it says. */
struct fake {
    const float *samples;
    int64_t n, from, heard;
    int starts, stops;
    bool gone;
};

static void fake_start(void *context, const float *samples, int64_t n, int64_t from)
{
    struct fake *const f = context;
    f->samples = samples;
    f->n = n;
    f->from = from;
    f->heard = -1;
    f->starts++;
}

static void fake_stop(void *context)
{
    ((struct fake *)context)->stops++;
}

static int64_t fake_heard(void *context)
{
    return ((struct fake *)context)->heard;
}

static bool fake_alive(void *context)
{
    return !((struct fake *)context)->gone;
}

static demonstration stretch(void)
{
    return (demonstration){.seconds = 20.0,
                           .rate_hz = 1000.0,
                           .n = N,
                           .plain = plain,
                           .clicked = clicked,
                           .n_marks = MARKS,
                           .marks = marks};
}

static void begin(demonstrate_play *p, const demonstration *d, struct fake *f)
{
    const demonstrate_output out = {f,          fake_start, fake_stop,
                                    fake_heard, fake_alive, 0.1};
    *f = (struct fake){.heard = -1};
    demonstrate_play_init(p, d, &out);
}

static void begin_playing(demonstrate_play *p, const demonstration *d, struct fake *f)
{
    begin(p, d, f);
    demonstrate_play_go(p);
}

static void hear(demonstrate_play *p, struct fake *f, int64_t at)
{
    f->heard = at;
    demonstrate_play_step(p);
}

static void marks_are_passed_once_when_they_are_heard_and_not_before(void **state)
{
    (void)state;
    const demonstration d = stretch();
    demonstrate_play p;
    struct fake f;
    begin(&p, &d, &f);
    assert_true(isinf(demonstrate_play_until_next_s(&p)));
    demonstrate_play_go(&p);
    assert_ptr_equal(f.samples, plain);
    assert_int_equal(f.n, N);
    demonstrate_play_step(&p); /* nothing is heard yet */
    assert_int_equal(p.next, 0);
    hear(&p, &f, 999);
    assert_int_equal(p.next, 0);
    assert_within(demonstrate_play_until_next_s(&p), 0.001, 1e-9);
    hear(&p, &f, 1000);
    assert_int_equal(p.next, 1);
    assert_int_equal(p.fresh, 0);
    hear(&p, &f, 1001);
    assert_int_equal(p.fresh, p.next);
    hear(&p, &f, 2500); /* two at once, after a stall of the program */
    assert_int_equal(p.fresh, 1);
    assert_int_equal(p.next, 3);
    assert_within(demonstrate_play_at_s(&p), 2.5, 1e-9);
    hear(&p, &f, 2400); /* never back */
    assert_within(demonstrate_play_at_s(&p), 2.5, 1e-9);
}

static void a_pause_keeps_the_place(void **state)
{
    (void)state;
    const demonstration d = stretch();
    demonstrate_play p;
    struct fake f;
    begin_playing(&p, &d, &f);
    hear(&p, &f, 1500);
    demonstrate_play_pause(&p);
    assert_int_equal(f.stops, 1);
    hear(&p, &f, 9000);
    assert_within(demonstrate_play_at_s(&p), 1.5, 1e-9);
    demonstrate_play_go(&p);
    assert_int_equal(f.from, 1500);
    hear(&p, &f, 1600);
    assert_int_equal(p.fresh, p.next);
    assert_int_equal(p.next, 2);
}

static void seeking_passes_no_marks_and_stays_inside(void **state)
{
    (void)state;
    const demonstration d = stretch();
    demonstrate_play p;
    struct fake f;
    begin_playing(&p, &d, &f);
    hear(&p, &f, 500);
    demonstrate_play_seek(&p, 5.0);
    assert_int_equal(f.from, 5500);
    assert_int_equal(p.next, 3);
    assert_int_equal(p.fresh, 3);
    demonstrate_play_seek(&p, -50.0);
    assert_int_equal(f.from, 0);
    assert_int_equal(p.next, 0);
    demonstrate_play_pause(&p);
    const int starts = f.starts;
    demonstrate_play_seek(&p, 50.0);
    assert_int_equal(f.starts, starts); /* silent while paused */
    assert_within(demonstrate_play_at_s(&p), 20.0, 1e-9);
    demonstrate_play_go(&p);
    assert_int_equal(f.from, 0); /* at the end: from the start */
}

static void it_ends_once_heard_and_begins_again(void **state)
{
    (void)state;
    const demonstration d = stretch();
    demonstrate_play p;
    struct fake f;
    begin_playing(&p, &d, &f);
    hear(&p, &f, N);
    assert_true(p.ended && !p.playing);
    assert_int_equal(p.next, MARKS); /* the last ones are told with the end */
    assert_int_equal(p.fresh, 0);
    demonstrate_play_step(&p);
    assert_int_equal(p.fresh, MARKS);
    demonstrate_play_go(&p);
    assert_true(p.playing && !p.ended);
    assert_int_equal(f.from, 0);
    assert_int_equal(p.next, 0);
}

static void a_loop_begins_again_and_can_be_left(void **state)
{
    (void)state;
    const demonstration d = stretch();
    demonstrate_play p;
    struct fake f;
    begin_playing(&p, &d, &f);
    hear(&p, &f, 500);
    assert_false(demonstrate_play_loop(&p, 3.0, 3.5));
    assert_false(demonstrate_play_loop(&p, 5.0, 3.0));
    assert_false(demonstrate_play_loop(&p, (double)NAN, 3.0));
    assert_false(demonstrate_play_loop(&p, 19.5, 21.0));
    assert_false(p.looping);
    assert_true(demonstrate_play_loop(&p, 0.9, 2.1));
    assert_int_equal(f.from, 900); /* it was outside */
    assert_int_equal(f.n, 2100);   /* nothing behind the end is handed out */
    hear(&p, &f, 1999);
    hear(&p, &f, 2100);
    assert_int_equal(p.next, 3); /* told first, the seam is a step later */
    assert_int_equal(p.fresh, 2);
    assert_int_equal(p.rounds, 0);
    hear(&p, &f, 2100);
    assert_int_equal(p.rounds, 1);
    assert_int_equal(f.from, 900);
    assert_int_equal(p.next, 0);
    assert_true(isfinite(demonstrate_play_until_next_s(&p)));
    hear(&p, &f, 2050);
    assert_true(isinf(demonstrate_play_until_next_s(&p))); /* the next lies behind it */
    demonstrate_play_seek(&p, 5.0);
    assert_int_equal(f.from, 2100);
    demonstrate_play_loop_clear(&p);
    assert_int_equal(f.n, N);
    hear(&p, &f, 8000);
    assert_int_equal(p.next, 4);
}

static void the_click_comes_behind_what_is_on_its_way(void **state)
{
    (void)state;
    const demonstration d = stretch();
    demonstrate_play p;
    struct fake f;
    begin_playing(&p, &d, &f);
    hear(&p, &f, 950);
    demonstrate_play_click(&p, true);
    assert_ptr_equal(f.samples, clicked);
    assert_int_equal(f.from, 1050);
    hear(&p, &f, 1050);
    assert_int_equal(p.next, 1); /* the mark in between is not lost */
    assert_int_equal(p.fresh, 0);
    const int starts = f.starts;
    demonstrate_play_click(&p, true);
    assert_int_equal(f.starts, starts);
}

static void a_lost_output_is_noticed(void **state)
{
    (void)state;
    const demonstration d = stretch();
    demonstrate_play p;
    struct fake f;
    begin_playing(&p, &d, &f);
    hear(&p, &f, 950);
    f.gone = true;
    demonstrate_play_step(&p);
    assert_true(p.lost && !p.playing && !p.ended);
    const int starts = f.starts;
    demonstrate_play_go(&p);
    assert_int_equal(f.starts, starts);
}

static void a_click_begins_at_its_sample_and_stays_inside(void **state)
{
    (void)state;
    static float x[200];
    for (int i = 0; i < 200; i++) {
        x[i] = 0.9F;
    }
    click_add(x, 200, 8000.0, 50);
    double most = 0.0;
    for (int i = 0; i < 200; i++) {
        const double moved = fabs((double)x[i] - (double)0.9F);
        assert_true(moved <= 0.0 || (i >= 50 && i < 50 + 120));
        assert_true(x[i] <= 1.0F);
        most = fmax(most, moved);
    }
    assert_within(most, 0.25, 0.03);
    click_add(x, 200, 8000.0, -60);
    click_add(x, 200, 8000.0, 190); /* cut at the ends */
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(marks_are_passed_once_when_they_are_heard_and_not_before),
        cmocka_unit_test(a_pause_keeps_the_place),
        cmocka_unit_test(seeking_passes_no_marks_and_stays_inside),
        cmocka_unit_test(it_ends_once_heard_and_begins_again),
        cmocka_unit_test(a_loop_begins_again_and_can_be_left),
        cmocka_unit_test(the_click_comes_behind_what_is_on_its_way),
        cmocka_unit_test(a_lost_output_is_noticed),
        cmocka_unit_test(a_click_begins_at_its_sample_and_stays_inside),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
