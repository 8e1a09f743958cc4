/*
 * A sitting that does not go to its end as it should, on a clock that the test steps: the
 * input is gone, the disk is full, the program is killed and the sitting resumed.
 *   Source:    the contract (DEVELOPERS.md, A live sitting): a lost input, a full disk or a kill leave
 *              recording and document whole; no success is said of what is not stored.
 *   Input:     a composed heart of 72 a minute, 4000 Hz, whose source can fail (walk.h).
 *   Tolerance: none: the order of what is stored and what is shown is compared line by line.
 */
#include "src/command/check_sitting.h"
#include "src/port/steady.h"
#include "tests/stepped/walk.h"

#include <signal.h>
#include <stdio.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

/* Settled, and the minute begun. */
static void begin(walk *w)
{
    walk_until(w, "settling pulse");
    walk_go(w, 4.0);
    walk_do(w, live_sitting_start);
}

static void the_input_is_gone_in_the_minute(void **state)
{
    (void)state;
    walk w;
    app_err err = APP_ERR_NONE;
    walk_input input = WALK_INPUT_SOUND;
    input.lost_s = 15.0;
    walk_init(&w);
    walk_open(&w, &input);
    begin(&w);
    walk_until(&w, "broken pulse");
    walk_said(&w, "disk sealed\n"
                  "screen settling pulse\n"
                  "disk sealed; pulse 6.99-21.99\n"
                  "screen lead-in pulse\n"
                  "screen running pulse\n"
                  "disk sealed; pulse 6.99-21.99 aside\n"
                  "screen broken pulse\n");
    assert_false(walk_enter(&w, 18, &err));
    walk_close(&w);
    assert_false(walk_reveals(&w, &err));
    walk_end(&w);
}

static void the_input_is_gone_at_the_entry(void **state)
{
    (void)state;
    walk w;
    app_err err = APP_ERR_NONE;
    walk_input input = WALK_INPUT_SOUND;
    input.lost_s = 22.5; /* the minute ends at 22.0 */
    walk_init(&w);
    walk_open(&w, &input);
    begin(&w);
    walk_until(&w, "entry pulse");
    walk_go(&w, 5.0);
    assert_true(walk_enter(&w, 18, &err));
    walk_until(&w, "done pulse");
    walk_said(&w, "disk sealed\n"
                  "screen settling pulse\n"
                  "disk sealed; pulse 6.99-21.99\n"
                  "screen lead-in pulse\n"
                  "screen running pulse\n"
                  "screen entry pulse\n"
                  "disk unsealed; pulse 6.99-21.99; pulse 18 in 15 s\n"
                  "screen ending pulse\n"
                  "screen done pulse\n");
    walk_close(&w);
    assert_true(walk_reveals(&w, &err));
    walk_end(&w);
}

static void nothing_comes(void **state)
{
    (void)state;
    walk w;
    walk_input input = WALK_INPUT_SOUND;
    input.stall_from_s = 12.0;
    input.stall_s = WALK_NEVER;
    walk_init(&w);
    walk_open(&w, &input);
    begin(&w);
    walk_go(&w, 20.0);
    walk_said(&w, "disk sealed\n"
                  "screen settling pulse\n"
                  "disk sealed; pulse 6.99-21.99\n"
                  "screen lead-in pulse\n"
                  "screen running pulse\n"
                  "screen running pulse stalled\n");
    walk_close(&w);
    walk_end(&w);
}

static void the_disk_is_full_in_the_minute(void **state)
{
    (void)state;
    walk w;
    app_err err = APP_ERR_NONE;
    bool hung = false;
    const walk_input input = WALK_INPUT_SOUND;
    walk_init(&w);
    walk_open(&w, &input);
    begin(&w);
    walk_until(&w, "running pulse");
    walk_sound_full(true);
    walk_until(&w, "broken pulse");
    walk_said(&w, "disk sealed\n"
                  "screen settling pulse\n"
                  "disk sealed; pulse 6.99-21.99\n"
                  "screen lead-in pulse\n"
                  "screen running pulse\n"
                  "disk sealed; pulse 6.99-21.99 aside\n"
                  "screen broken pulse\n");
    assert_false(live_sitting_close(w.s, &hung, &err)); /* said, with the reason */
    assert_non_null(strstr(err.text, "no space"));
    assert_false(walk_reveals(&w, &err));
    walk_end(&w);
}

/* What there is of the sound is whole, and the number is not to be lost with the rest. */
static void the_disk_is_full_at_the_entry(void **state)
{
    (void)state;
    walk w;
    live_view v;
    app_err err = APP_ERR_NONE;
    bool hung = false;
    const walk_input input = WALK_INPUT_SOUND;
    walk_init(&w);
    walk_open(&w, &input);
    begin(&w);
    walk_until(&w, "entry pulse");
    walk_sound_full(true);
    walk_go(&w, 1.0);
    live_sitting_get_view(w.s, &v);
    assert_non_null(strstr(v.trouble, "no space"));
    assert_true(walk_enter(&w, 18, &err));
    walk_go(&w, 0.05);
    walk_said(&w, "disk sealed\n"
                  "screen settling pulse\n"
                  "disk sealed; pulse 6.99-21.99\n"
                  "screen lead-in pulse\n"
                  "screen running pulse\n"
                  "screen entry pulse\n"
                  "disk unsealed; pulse 6.99-21.99; pulse 18 in 15 s\n"
                  "screen ending pulse\n"
                  "screen done pulse\n");
    assert_false(live_sitting_close(w.s, &hung, &err));
    assert_true(walk_reveals(&w, &err));
    walk_end(&w);
}

static void an_entry_on_a_full_disk_is_not_made(void **state)
{
    (void)state;
    walk w;
    app_err err = APP_ERR_NONE;
    const walk_input input = WALK_INPUT_SOUND;
    walk_init(&w);
    walk_open(&w, &input);
    begin(&w);
    walk_until(&w, "entry pulse");
    w.log[0] = '\0';
    walk_disk_full(true);
    assert_false(walk_enter(&w, 18, &err));
    assert_int_equal(err.code, APP_FAILED);
    walk_go(&w, 1.2); /* it goes on trying */
    assert_false(walk_reveals(&w, &err));
    walk_disk_full(false);
    walk_go(&w, 1.0);
    walk_said(&w, "refused\n"
                  "refused\n"
                  "refused\n"
                  "disk sealed; pulse 6.99-21.99\n");
    assert_false(walk_reveals(&w, &err)); /* what was not stored is in no later one */
    assert_true(walk_enter(&w, 19, &err));
    walk_said(&w, "disk unsealed; pulse 6.99-21.99; pulse 19 in 15 s\n"
                  "screen ending pulse\n");
    walk_close(&w);
    assert_true(walk_reveals(&w, &err));
    walk_end(&w);
}

/* ---- Killed, and resumed ---- */

/* Walks so far in a process that then dies as by a kill. */
static void killed_at(walk *w, const char *screen, int entered)
{
    const pid_t child = fork();
    assert_true(child >= 0);
    if (child == 0) {
        app_err err = APP_ERR_NONE;
        const walk_input input = WALK_INPUT_SOUND;
        walk_open(w, &input);
        begin(w);
        walk_until(w, screen);
        walk_go(w, 3.0);
        live_sitting_tap(w->s, steady_now_s());
        walk_go(w, 2.0);
        if (entered == 0 || walk_enter(w, entered, &err)) {
            (void)raise(SIGKILL);
        }
        _exit(1);
    }
    int status = 0;
    assert_int_equal(waitpid(child, &status, 0), child);
    assert_true(WIFSIGNALED(status) && WTERMSIG(status) == SIGKILL);
}

/* `check NAME.wav` with that typed. @return whether all is entered */
static bool resumed(const walk *w, const char *typed, app_err *err)
{
    char path[sizeof w->sound + 8];
    (void)snprintf(path, sizeof path, "%s.typed", w->sound);
    FILE *const f = fopen(path, "w");
    assert_non_null(f);
    assert_true(fputs(typed, f) >= 0);
    assert_int_equal(fclose(f), 0);
    assert_non_null(freopen(path, "r", stdin));
    check_sitting c = {0};
    check_request request = check_request_default(w->sound);
    const bool ok = check_sitting_read(&c, &request, true, err);
    assert_true(!ok || (c.found && c.entered));
    check_sitting_free(&c);
    (void)unlink(path);
    return ok;
}

static void killed_in_the_minute(void **state)
{
    (void)state;
    walk w;
    app_err err = APP_ERR_NONE;
    sitting_document d;
    walk_init(&w);
    killed_at(&w, "running pulse", 0);
    walk_read(&w, &d);
    assert_true(d.sealed && d.n_windows == 1 && d.n_taps == 1 && !d.pulse.given);
    sitting_document_free(&d);
    assert_false(walk_reveals(&w, &err));
    assert_false(resumed(&w, "18\n", &err)); /* no whole minute to enter a count for */
    assert_non_null(strstr(err.text, "no whole minute"));
    walk_end(&w);
}

static void killed_at_the_entry_and_resumed(void **state)
{
    (void)state;
    walk w;
    app_err err = APP_ERR_NONE;
    walk_init(&w);
    killed_at(&w, "entry pulse", 0);
    assert_false(walk_reveals(&w, &err));
    assert_false(resumed(&w, "", &err)); /* the input ends */
    assert_false(resumed(&w, "x\n0\n101\n", &err));
    walk_disk_full(true);
    assert_false(resumed(&w, "18\n", &err));
    walk_disk_full(false);
    assert_false(walk_reveals(&w, &err));
    walk_said(&w, "refused\n");
    assert_true(resumed(&w, "18\n", &err));
    walk_said(&w, "disk unsealed; pulse 6.99-21.99; pulse 18 in 15 s\n");
    assert_true(walk_reveals(&w, &err));
    walk_end(&w);
}

static void killed_after_the_entry(void **state)
{
    (void)state;
    walk w;
    app_err err = APP_ERR_NONE;
    walk_init(&w);
    killed_at(&w, "entry pulse", 18);
    assert_true(
        walk_reveals(&w, &err)); /* it was stored before anything else went on */
    walk_end(&w);
}

static void discarded(void **state)
{
    (void)state;
    walk w;
    app_err err = APP_ERR_NONE;
    walk_init(&w);
    killed_at(&w, "entry pulse", 0);
    assert_false(resumed(&w, "discard\n", &err));
    assert_int_equal(access(w.sound, F_OK), -1);
    assert_int_equal(access(w.document, F_OK), -1);
    walk_end(&w);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_input_is_gone_in_the_minute),
        cmocka_unit_test(the_input_is_gone_at_the_entry),
        cmocka_unit_test(nothing_comes),
        cmocka_unit_test(the_disk_is_full_in_the_minute),
        cmocka_unit_test(the_disk_is_full_at_the_entry),
        cmocka_unit_test(an_entry_on_a_full_disk_is_not_made),
        cmocka_unit_test(killed_in_the_minute),
        cmocka_unit_test(killed_at_the_entry_and_resumed),
        cmocka_unit_test(killed_after_the_entry),
        cmocka_unit_test(discarded),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
