/* The rules of a shared minute: who may see what, and when; nothing is lost. */
#include "src/sitting/shared_minute.h"

#include "tests/support.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const char *secret_of(int i, char out[SHARED_SECRET_BYTES])
{
    (void)snprintf(out, SHARED_SECRET_BYTES, "%032x", (unsigned)(i + 1));
    return out;
}

/* About 100 KB: on the heap. */
static shared_minute *open_minute(int seats)
{
    shared_minute *const m = malloc(sizeof *m);
    char secret[SHARED_SECRET_BYTES];
    assert_non_null(m);
    shared_minute_begin(m, 15, 21);
    for (int i = 0; i < seats; i++) {
        assert_int_equal(shared_minute_sit(m, secret_of(i, secret)), i + 1);
    }
    return m;
}

static void run_to_the_end(shared_minute *m)
{
    assert_true(shared_minute_start(m, 100.0));
    (void)shared_minute_step(m, 100.5);
    (void)shared_minute_step(m, 116.0);
    assert_int_equal(m->phase, SHARED_ENTERING);
}

static bool holds(json_t *json, const char *word)
{
    char *const text = json_dumps(json, JSON_COMPACT);
    const bool found = strstr(text, word) != NULL;
    free(text);
    json_decref(json);
    return found;
}

static void truth_and_answers_wait_for_the_reveal(void **state)
{
    (void)state;
    app_err err = APP_ERR_NONE;
    shared_minute *const m = open_minute(3);
    run_to_the_end(m);
    assert_true(shared_minute_enter(m, 2, 20, "", &err));
    assert_false(holds(shared_minute_room(m), "truth"));
    assert_false(holds(shared_minute_room(m), "answers"));
    assert_false(holds(shared_minute_room(m), "20"));
    assert_false(holds(shared_minute_own(m, 1), "truth"));
    assert_true(shared_minute_reveal(m));
    assert_true(holds(shared_minute_room(m), "\"truth\":21"));
    assert_true(holds(shared_minute_own(m, 2), "\"difference\":-1"));
    assert_false(holds(shared_minute_own(m, 1), "difference"));
    free(m);
}

static void entries_are_taken_only_between_the_minute_and_the_reveal(void **state)
{
    (void)state;
    app_err err = APP_ERR_NONE;
    shared_minute *const m = open_minute(1);
    assert_false(shared_minute_enter(m, 1, 20, "", &err));
    assert_true(shared_minute_start(m, 100.0));
    assert_false(shared_minute_start(m, 101.0));
    assert_false(shared_minute_enter(m, 1, 20, "", &err));
    assert_false(shared_minute_reveal(m));
    (void)shared_minute_step(m, 100.0);
    (void)shared_minute_step(m, 115.0);
    assert_false(shared_minute_enter(m, 1, 0, "", &err));
    assert_false(shared_minute_enter(m, 1, 100000, "", &err));
    assert_false(shared_minute_enter(m, 2, 20, "", &err));
    assert_true(shared_minute_enter(m, 1, 20, "", &err));
    assert_true(shared_minute_enter(m, 1, 22, "", &err));
    assert_int_equal(m->seats[0].count, 22);
    assert_true(shared_minute_reveal(m));
    assert_false(shared_minute_enter(m, 1, 21, "", &err));
    free(m);
}

static void a_seat_is_found_by_its_secret_alone(void **state)
{
    (void)state;
    char secret[SHARED_SECRET_BYTES];
    shared_minute *const m = open_minute(SHARED_SEATS_MOST);
    assert_int_equal(shared_minute_seat_of(m, secret_of(41, secret)), 42);
    assert_int_equal(shared_minute_seat_of(m, secret_of(4100, secret)), 0);
    assert_int_equal(shared_minute_seat_of(m, ""), 0);
    assert_int_equal(shared_minute_seat_of(m, NULL), 0);
    assert_int_equal(shared_minute_sit(m, secret_of(500, secret)), 0);
    free(m);
}

static void taps_only_grow_and_lie_in_the_minute(void **state)
{
    (void)state;
    const double taps_s[] = {-0.1, 0.5, 1.2, 14.9, 15.0};
    shared_minute *const m = open_minute(1);
    assert_false(shared_minute_tap(m, 1, taps_s, 5));
    run_to_the_end(m);
    assert_true(shared_minute_tap(m, 1, taps_s, 5));
    assert_int_equal(m->seats[0].n_taps, 3);
    assert_true(shared_minute_tap(m, 1, taps_s, 2));
    assert_int_equal(m->seats[0].n_taps, 3);
    free(m);
}

static void another_minute_keeps_the_seats_and_nothing_else(void **state)
{
    (void)state;
    app_err err = APP_ERR_NONE;
    char secret[SHARED_SECRET_BYTES];
    shared_minute *const m = open_minute(2);
    run_to_the_end(m);
    assert_true(shared_minute_enter(m, 1, 20, "", &err));
    assert_true(shared_minute_reveal(m));
    shared_minute_anew(m, 60, 90);
    assert_int_equal(shared_minute_seat_of(m, secret_of(1, secret)), 2);
    assert_false(m->seats[0].entered);
    assert_false(holds(shared_minute_room(m), "answers"));
    free(m);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(truth_and_answers_wait_for_the_reveal),
        cmocka_unit_test(entries_are_taken_only_between_the_minute_and_the_reveal),
        cmocka_unit_test(a_seat_is_found_by_its_secret_alone),
        cmocka_unit_test(taps_only_grow_and_lie_in_the_minute),
        cmocka_unit_test(another_minute_keeps_the_seats_and_nothing_else),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
