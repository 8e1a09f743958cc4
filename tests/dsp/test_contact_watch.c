/*
 * Lost contact at the end of a window, from the level alone.
 *   Input:     composed minutes with room noise at 15 dB, in blocks of several sizes; the composer
 *              says when contact was lost.
 *   Tolerance: 0.5 s at either end: contact goes and comes within 0.3 s, and 0.15 s is smoothed over.
 */
#include "dsp/contact_watch.h"

#include "tests/dsp/compose_support.h"
#include "tests/support.h"

#include <stdlib.h>

enum {
    RATE = 4000
};

static fm_span watch(const composed *c, size_t block, int64_t start)
{
    fm_contact_watch *w = fm_contact_watch_create(RATE);
    assert_non_null(w);
    fm_contact_watch_begin(w, start, start + 60 * RATE);
    for (size_t at = 0; at < c->n; at += block) {
        const size_t n = block < c->n - at ? block : c->n - at;
        fm_contact_watch_push(w, (int64_t)at, c->x + at, n);
    }
    const fm_span found = fm_contact_watch_end(w);
    assert_within(fm_contact_watch_end(w).length_s, 0.0, 0.0); /* it is over */
    fm_contact_watch_destroy(w);
    return found;
}

static composed make(double lost_s)
{
    fm_recipe r = fm_recipe_default();
    r.seconds = 66.0;
    r.noise[FM_COMPOSE_ROOM] = true;
    r.snr_db = 15.0;
    r.contact_lost_start_s = 30.0;
    r.contact_lost_length_s = lost_s;
    return compose_or_fail(&r);
}

static void a_loss_is_found_when_the_window_is_over(void **state)
{
    (void)state;
    composed c = make(3.5);
    const size_t blocks[] = {997, 4096, 300000};
    for (size_t i = 0; i < 3; i++) {
        const fm_span found = watch(&c, blocks[i], 2 * RATE);
        assert_within(found.start_s, 30.0, 0.5);
        assert_within(found.start_s + found.length_s, 33.5, 0.5);
    }
    composed_free(&c);
}

static void a_steady_minute_has_none(void **state)
{
    (void)state;
    composed c = make(0.0);
    assert_within(watch(&c, 4096, 0).length_s, 0.0, 0.0);
    composed_free(&c);
}

static void no_window_and_no_sound_have_none(void **state)
{
    (void)state;
    fm_contact_watch *w = fm_contact_watch_create(RATE);
    assert_non_null(w);
    assert_within(fm_contact_watch_end(w).length_s, 0.0, 0.0);
    fm_contact_watch_begin(w, 100, 100 + 60 * RATE);
    fm_contact_watch_push(w, 0, NULL, 5000);
    assert_within(fm_contact_watch_end(w).length_s, 0.0, 0.0);
    fm_contact_watch_destroy(w);
    fm_contact_watch_destroy(NULL);
    assert_null(fm_contact_watch_create(1.0));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_loss_is_found_when_the_window_is_over),
        cmocka_unit_test(a_steady_minute_has_none),
        cmocka_unit_test(no_window_and_no_sound_have_none),
    };
    return cmocka_run_group_tests_name("dsp.contact_watch", tests, NULL, NULL);
}
