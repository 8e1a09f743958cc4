/*
 * A checked sitting, phase by phase, on a clock that the test steps.
 *   Source:    the contract (DEVELOPERS.md, A live sitting): nothing is counted before the last entry is
 *              on disk; a window is fixed when its lead-in starts; audio that is missing is said
 *              before the number is asked for.
 *   Input:     a composed heart of 72 a minute, 4000 Hz, whose source can fail (walk.h).
 *   Tolerance: none: the order of what is stored and what is shown is compared line by line.
 */
#include "src/port/steady.h"
#include "tests/stepped/walk.h"

#include <string.h>

/* Settled, and the minute begun. */
static void begin(walk *w)
{
    walk_until(w, "settling pulse");
    walk_go(w, 4.0);
    walk_do(w, live_sitting_start);
}

static void one_minute_from_settling_to_the_reveal(void **state)
{
    (void)state;
    walk w;
    app_err err = APP_ERR_NONE;
    const walk_input input = WALK_INPUT_SOUND;
    walk_init(&w);
    walk_open(&w, &input);
    walk_go(&w, 2.9);
    walk_do(&w, live_sitting_start); /* three seconds have to be heard first */
    walk_said(&w, "disk sealed\n"
                  "screen settling pulse\n");
    walk_go(&w, 1.1);
    walk_do(&w, live_sitting_start);
    walk_said(&w, "disk sealed; pulse 6.99-21.99\n"
                  "screen lead-in pulse\n");
    walk_until(&w, "entry pulse");
    walk_said(&w, "screen running pulse\n"
                  "screen entry pulse\n");
    assert_false(walk_reveals(&w, &err));
    assert_true(walk_enter(&w, 18, &err));
    walk_said(&w, "disk unsealed; pulse 6.99-21.99; pulse 18 in 15 s\n"
                  "screen ending pulse\n");
    walk_until(&w, "done pulse");
    walk_said(&w, "screen done pulse\n");
    walk_close(&w);
    assert_true(walk_reveals(&w, &err));
    walk_end(&w);
}

static void a_number_that_nobody_counts_is_not_taken(void **state)
{
    (void)state;
    walk w;
    const walk_input input = WALK_INPUT_SOUND;
    walk_init(&w);
    walk_open(&w, &input);
    app_err err = APP_ERR_NONE;
    assert_false(walk_enter(&w, 18, &err)); /* settling */
    begin(&w);
    assert_false(walk_enter(&w, 18, &err)); /* the lead-in */
    walk_until(&w, "running pulse");
    assert_false(walk_enter(&w, 18, &err));
    walk_until(&w, "entry pulse");
    w.log[0] = '\0';
    assert_false(walk_enter(&w, 0, &err));
    assert_int_equal(err.code, APP_USAGE);
    assert_false(walk_enter(&w, 101, &err)); /* 404 a minute */
    walk_said(&w, "");
    assert_true(walk_enter(&w, 18, &err));
    assert_false(walk_enter(&w, 19, &err)); /* twice */
    walk_said(&w, "disk unsealed; pulse 6.99-21.99; pulse 18 in 15 s\n"
                  "screen ending pulse\n");
    walk_close(&w);
    walk_end(&w);
}

static void broken_off_and_begun_again(void **state)
{
    (void)state;
    walk w;
    const walk_input input = WALK_INPUT_SOUND;
    walk_init(&w);
    walk_open(&w, &input);
    begin(&w);
    walk_go(&w, 1.0);
    walk_do(&w, live_sitting_again); /* in the lead-in */
    walk_do(&w, live_sitting_start); /* at once */
    walk_until(&w, "running pulse");
    walk_go(&w, 5.0);
    walk_do(&w, live_sitting_again); /* in the minute */
    walk_do(&w, live_sitting_again); /* settling: nothing to break off */
    walk_do(&w, live_sitting_start);
    walk_until(&w, "entry pulse");
    walk_do(&w, live_sitting_again); /* too late */
    walk_said(&w, "disk sealed\n"
                  "screen settling pulse\n"
                  "disk sealed; pulse 6.99-21.99\n"
                  "screen lead-in pulse\n"
                  "disk sealed; pulse 6.99-21.99 aside\n"
                  "screen settling pulse\n"
                  "disk sealed; pulse 6.99-21.99 aside; pulse 7.99-22.99\n"
                  "screen lead-in pulse\n"
                  "screen running pulse\n"
                  "disk sealed; pulse 6.99-21.99 aside; pulse 7.99-22.99 aside\n"
                  "screen settling pulse\n"
                  "disk sealed; pulse 6.99-21.99 aside; pulse 7.99-22.99 aside; pulse "
                  "15.99-30.99\n"
                  "screen lead-in pulse\n"
                  "screen running pulse\n"
                  "screen entry pulse\n");
    walk_close(&w);
    walk_end(&w);
}

static void ended_in_the_minute(void **state)
{
    (void)state;
    walk w;
    app_err err = APP_ERR_NONE;
    const walk_input input = WALK_INPUT_SOUND;
    walk_init(&w);
    walk_open(&w, &input);
    begin(&w);
    walk_go(&w, 10.0);
    walk_do(&w, live_sitting_stop);
    walk_said(&w, "disk sealed\n"
                  "screen settling pulse\n"
                  "disk sealed; pulse 6.99-21.99\n"
                  "screen lead-in pulse\n"
                  "screen running pulse\n"
                  "disk sealed; pulse 6.99-21.99 aside\n"
                  "screen done pulse\n");
    walk_close(&w);
    assert_false(walk_reveals(&w, &err));
    walk_end(&w);
}

static void lost_audio_is_said_before_the_entry(void **state)
{
    (void)state;
    walk w;
    walk_input input = WALK_INPUT_SOUND;
    input.stall_from_s = 12.0;
    input.stall_s = 2.0;
    walk_init(&w);
    walk_open(&w, &input);
    begin(&w);
    walk_until(&w, "gapped pulse");
    walk_said(&w, "disk sealed\n"
                  "screen settling pulse\n"
                  "disk sealed; pulse 6.99-21.99\n"
                  "screen lead-in pulse\n"
                  "screen running pulse\n"
                  "screen running pulse stalled\n"
                  "screen running pulse\n"
                  "disk sealed; pulse 6.99-21.99; stall 2.0 s\n"
                  "screen gapped pulse\n");
    live_view v;
    live_sitting_get_view(w.s, &v);
    assert_within(v.missing_s, 2.0, 0.05);
    walk_do(&w, live_sitting_again);
    walk_go(&w, 0.1);
    walk_do(&w, live_sitting_start);
    walk_until(&w, "entry pulse");
    walk_said(&w,
              "disk sealed; pulse 6.99-21.99 aside; stall 2.0 s\n"
              "screen settling pulse\n"
              "disk sealed; pulse 6.99-21.99 aside; pulse 25.09-40.09; stall 2.0 s\n"
              "screen lead-in pulse\n"
              "screen running pulse\n"
              "screen entry pulse\n");
    walk_close(&w);
    walk_end(&w);
}

static void lost_audio_may_be_kept(void **state)
{
    (void)state;
    walk w;
    app_err err = APP_ERR_NONE;
    walk_input input = WALK_INPUT_SOUND;
    input.overflow_s = 12.0;
    input.dropped_s = 0.2;
    walk_init(&w);
    walk_open(&w, &input);
    begin(&w);
    walk_until(&w, "gapped pulse");
    walk_do(&w, live_sitting_keep);
    assert_true(walk_enter(&w, 17, &err));
    walk_until(&w, "done pulse");
    walk_said(&w, "disk sealed\n"
                  "screen settling pulse\n"
                  "disk sealed; pulse 6.99-21.99\n"
                  "screen lead-in pulse\n"
                  "screen running pulse\n"
                  "disk sealed; pulse 6.99-21.99; overflow 0.2 s\n"
                  "screen gapped pulse\n"
                  "screen entry pulse\n"
                  "disk unsealed; pulse 6.99-21.99; pulse 17 in 15 s; overflow 0.2 s\n"
                  "screen ending pulse\n"
                  "screen done pulse\n");
    walk_close(&w);
    walk_end(&w);
}

static void lost_contact(void (*answer)(live_sitting *s), const char *expected)
{
    walk w;
    live_view v;
    walk_input input = WALK_INPUT_SOUND;
    input.lifted_s = 12.0;
    input.lifted_for_s = 4.0;
    walk_init(&w);
    walk_open(&w, &input);
    begin(&w);
    walk_until(&w, "gapped pulse");
    live_sitting_get_view(w.s, &v);
    assert_within(v.lost_start_s, 12.0 - 6.99, 0.25);
    assert_within(v.lost_length_s, 4.0, 0.25);
    walk_do(&w, answer);
    walk_said(&w, expected);
    walk_close(&w);
    walk_end(&w);
}

static void lost_contact_is_said_before_the_entry(void **state)
{
    (void)state;
    lost_contact(live_sitting_keep_moved,
                 "disk sealed\n"
                 "screen settling pulse\n"
                 "disk sealed; pulse 6.99-21.99\n"
                 "screen lead-in pulse\n"
                 "screen running pulse\n"
                 "disk sealed; pulse 6.99-21.99 contact\n"
                 "screen gapped pulse\n"
                 "disk sealed; pulse 6.99-21.99 contact moved\n"
                 "screen entry pulse\n");
    lost_contact(live_sitting_keep_still,
                 "disk sealed\n"
                 "screen settling pulse\n"
                 "disk sealed; pulse 6.99-21.99\n"
                 "screen lead-in pulse\n"
                 "screen running pulse\n"
                 "disk sealed; pulse 6.99-21.99 contact\n"
                 "screen gapped pulse\n"
                 "disk sealed; pulse 6.99-21.99 contact still\n"
                 "screen entry pulse\n");
    lost_contact(live_sitting_keep, "disk sealed\n"
                                    "screen settling pulse\n"
                                    "disk sealed; pulse 6.99-21.99\n"
                                    "screen lead-in pulse\n"
                                    "screen running pulse\n"
                                    "disk sealed; pulse 6.99-21.99 contact\n"
                                    "screen gapped pulse\n"
                                    "screen entry pulse\n");
    lost_contact(live_sitting_again, "disk sealed\n"
                                     "screen settling pulse\n"
                                     "disk sealed; pulse 6.99-21.99\n"
                                     "screen lead-in pulse\n"
                                     "screen running pulse\n"
                                     "disk sealed; pulse 6.99-21.99 contact\n"
                                     "screen gapped pulse\n"
                                     "disk sealed; pulse 6.99-21.99 aside contact\n"
                                     "screen settling pulse\n");
}

static void two_minutes(void **state)
{
    (void)state;
    walk w;
    app_err err = APP_ERR_NONE;
    const walk_input input = WALK_INPUT_SOUND;
    walk_init(&w);
    w.plan.breath = true;
    walk_open(&w, &input);
    begin(&w);
    walk_until(&w, "entry pulse");
    assert_true(walk_enter(&w, 18, &err));
    assert_false(walk_reveals(&w, &err));
    walk_go(&w, 1.0);
    walk_do(&w, live_sitting_start);
    walk_until(&w, "entry breath");
    assert_false(walk_reveals(&w, &err));
    assert_true(walk_enter(&w, 15, &err));
    walk_until(&w, "done breath");
    walk_said(&w,
              "disk sealed\n"
              "screen settling pulse\n"
              "disk sealed; pulse 6.99-21.99\n"
              "screen lead-in pulse\n"
              "screen running pulse\n"
              "screen entry pulse\n"
              "disk sealed; pulse 6.99-21.99; pulse 18 in 15 s\n"
              "screen settling breath\n"
              "disk sealed; pulse 6.99-21.99; breath 25.99-85.99; pulse 18 in 15 s\n"
              "screen lead-in breath\n"
              "screen running breath\n"
              "screen entry breath\n"
              "disk unsealed; pulse 6.99-21.99; breath 25.99-85.99; pulse 18 in 15 s; "
              "breath 15 in 60 s\n"
              "screen ending breath\n"
              "screen done breath\n");
    walk_close(&w);
    assert_true(walk_reveals(&w, &err));
    walk_end(&w);
}

static void two_examiners(void **state)
{
    (void)state;
    walk w;
    app_err err = APP_ERR_NONE;
    const walk_input input = WALK_INPUT_SOUND;
    walk_init(&w);
    w.plan.second_examiner = true;
    w.plan.seconds = 60;
    walk_open(&w, &input);
    begin(&w);
    walk_until(&w, "entry pulse");
    w.log[0] = '\0';
    assert_true(walk_enter(&w, 72, &err));
    assert_false(walk_reveals(&w, &err));
    assert_true(walk_enter(&w, 68, &err));
    walk_until(&w, "done pulse");
    walk_said(&w, "disk sealed; pulse 6.99-66.99; pulse 72 in 60 s\n"
                  "screen entry second\n"
                  "disk unsealed; pulse 6.99-66.99; pulse 72 in 60 s; second 68 in 60 "
                  "s; deficit 4\n"
                  "screen ending pulse\n"
                  "screen done pulse\n");
    walk_close(&w);
    assert_true(walk_reveals(&w, &err));
    walk_end(&w);
}

static void an_infants_respirations_come_first(void **state)
{
    (void)state;
    walk w;
    live_view v;
    app_err err = APP_ERR_NONE;
    const walk_input input = WALK_INPUT_SOUND;
    walk_init(&w);
    w.plan.breath = true;
    w.plan.age_months = 3.0;
    walk_open(&w, &input);
    walk_go(&w, 4.0);
    walk_do(&w, live_sitting_start);
    walk_until(&w, "entry breath watched");
    live_sitting_get_view(w.s, &v);
    assert_string_equal(v.person, "");
    assert_true(walk_enter(&w, 55, &err));
    live_sitting_get_view(w.s, &v);
    assert_non_null(
        strstr(v.person, "at the line to act on")); /* by their own number */
    assert_false(walk_reveals(&w, &err));
    walk_go(&w, 0.1);
    walk_do(&w, live_sitting_start);
    walk_until(&w, "entry pulse");
    assert_true(walk_enter(&w, 18, &err));
    walk_until(&w, "done pulse");
    walk_said(
        &w,
        "disk sealed\n"
        "screen settling breath watched\n"
        "disk sealed; breath 6.99-66.99 aside\n"
        "screen lead-in breath watched\n"
        "screen running breath watched\n"
        "screen entry breath watched\n"
        "disk sealed; breath 6.99-66.99 aside; breath 55 in 60 s\n"
        "screen settling pulse\n"
        "disk sealed; breath 6.99-66.99 aside; pulse 70.09-85.09; breath 55 in 60 s\n"
        "screen lead-in pulse\n"
        "screen running pulse\n"
        "screen entry pulse\n"
        "disk unsealed; breath 6.99-66.99 aside; pulse 70.09-85.09; pulse 18 in 15 s; "
        "breath 55 in 60 s\n"
        "screen ending pulse\n"
        "screen done pulse\n");
    walk_close(&w);
    walk_end(&w);
}

/* Tapped on the beat by this clock; none before the minute, none after it. */
static void taps_lie_where_they_were_made(void **state)
{
    (void)state;
    walk w;
    const walk_input input = WALK_INPUT_SOUND;
    walk_init(&w);
    walk_open(&w, &input);
    const double opened_s = steady_now_s();
    live_sitting_tap(w.s, steady_now_s());
    begin(&w);
    live_sitting_tap(w.s, steady_now_s());
    walk_until(&w, "running pulse");
    w.log[0] = '\0';
    double made_s[3];
    for (int i = 0; i < 3; i++) {
        walk_go(&w, 0.3);
        made_s[i] = steady_now_s() - 0.01 * i;
        live_sitting_tap(w.s, made_s[i]);
    }
    live_sitting_tap(w.s, made_s[0]); /* before the last one: a clock that goes back */
    walk_go(&w, 0.6);
    walk_said(&w, "disk sealed; pulse 6.99-21.99; 1 taps\n"
                  "disk sealed; pulse 6.99-21.99; 2 taps\n"
                  "disk sealed; pulse 6.99-21.99; 3 taps\n");
    walk_until(&w, "entry pulse");
    live_sitting_tap(w.s, steady_now_s());       /* after the minute: not kept */
    live_sitting_tap(w.s, steady_now_s() - 0.5); /* made in it, and late: kept */
    walk_go(&w, 0.6);
    walk_said(&w, "screen entry pulse\n"
                  "disk sealed; pulse 6.99-21.99; 4 taps\n");
    walk_close(&w);
    sitting_document d;
    walk_read(&w, &d);
    assert_int_equal(d.n_taps, 4);
    for (int i = 0; i < 3; i++) {
        /* a sample is known to have come when the drain next looks, 20 ms later at most */
        assert_within(d.taps_s[i], made_s[i] - opened_s, 0.021);
    }
    sitting_document_free(&d);
    walk_end(&w);
}

static void an_open_count_goes_on_until_it_is_stopped(void **state)
{
    (void)state;
    walk w;
    const walk_input input = WALK_INPUT_SOUND;
    walk_init(&w);
    w.plan.checked = false;
    w.plan.until_stopped = true;
    w.plan.marks = true;
    walk_open(&w, &input);
    begin(&w);
    walk_until(&w, "running pulse");
    walk_go(&w, 34.0);
    live_view v;
    live_sitting_get_view(w.s, &v);
    assert_int_equal(v.window, 3);
    assert_true(v.n_marks > 20);
    walk_do(&w, live_sitting_stop);
    walk_said(&w,
              "disk unsealed\n"
              "screen settling pulse\n"
              "disk unsealed; pulse 6.99-21.99\n"
              "screen lead-in pulse\n"
              "screen running pulse\n"
              "disk unsealed; pulse 6.99-21.99; pulse 21.99-36.99\n"
              "disk unsealed; pulse 6.99-21.99; pulse 21.99-36.99; pulse 36.99-51.99\n"
              "disk unsealed; pulse 6.99-21.99; pulse 21.99-36.99; pulse 36.99-40.99\n"
              "screen done pulse\n");
    walk_close(&w);
    walk_end(&w);
}

/* Ctrl-C within the first second of a window: nothing worth keeping. */
static void too_short_a_window_is_set_aside(void **state)
{
    (void)state;
    walk w;
    const walk_input input = WALK_INPUT_SOUND;
    walk_init(&w);
    w.plan.checked = false;
    walk_open(&w, &input);
    begin(&w);
    walk_until(&w, "running pulse");
    walk_go(&w, 0.5);
    walk_do(&w, live_sitting_stop);
    walk_said(&w, "disk unsealed\n"
                  "screen settling pulse\n"
                  "disk unsealed; pulse 6.99-21.99\n"
                  "screen lead-in pulse\n"
                  "screen running pulse\n"
                  "disk unsealed; pulse 6.99-21.99 aside\n"
                  "screen done pulse\n");
    walk_close(&w);
    walk_end(&w);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(one_minute_from_settling_to_the_reveal),
        cmocka_unit_test(a_number_that_nobody_counts_is_not_taken),
        cmocka_unit_test(broken_off_and_begun_again),
        cmocka_unit_test(ended_in_the_minute),
        cmocka_unit_test(lost_audio_is_said_before_the_entry),
        cmocka_unit_test(lost_audio_may_be_kept),
        cmocka_unit_test(lost_contact_is_said_before_the_entry),
        cmocka_unit_test(two_minutes),
        cmocka_unit_test(two_examiners),
        cmocka_unit_test(an_infants_respirations_come_first),
        cmocka_unit_test(taps_lie_where_they_were_made),
        cmocka_unit_test(an_open_count_goes_on_until_it_is_stopped),
        cmocka_unit_test(too_short_a_window_is_set_aside),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
