/* The rules of a shared minute: who may see what, and when; nothing is lost. */
#include "src/usecase/shared_minute.h"

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
        const uint32_t from = (uint32_t)i / 2; /* two phones an address */
        assert_int_equal(shared_minute_sit(m, secret_of(i, secret), from, 0.0), i + 1);
    }
    return m;
}

static void run_to_the_end(shared_minute *m)
{
    assert_true(shared_minute_start(m, 100.0));
    (void)shared_minute_step(m, 100.5);
    (void)shared_minute_step(m, 116.0);
    assert_int_equal(m->taking.phase, TAKING_ENTRY);
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

static void who_could_not_count_says_so_and_is_no_number(void **state)
{
    (void)state;
    app_err err = APP_ERR_NONE;
    shared_minute *const m = open_minute(3);
    run_to_the_end(m);
    assert_true(shared_minute_enter(m, 1, SHARED_COULD_NOT, "", &err));
    assert_true(shared_minute_enter(m, 2, 20, "", &err));
    assert_false(holds(shared_minute_room(m), "could_not"));
    assert_true(holds(shared_minute_own(m, 1), "\"entered\":true"));
    assert_false(holds(shared_minute_own(m, 1), "\"count\""));
    assert_true(shared_minute_reveal(m));
    assert_true(holds(shared_minute_room(m), "\"answers\":[20]"));
    assert_true(holds(shared_minute_room(m), "\"could_not\":1"));
    assert_false(holds(shared_minute_own(m, 1), "difference"));
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
    assert_int_equal(shared_minute_sit(m, secret_of(500, secret), 500, 1.0),
                     SHARED_FULL);
    free(m);
}

static void one_address_has_a_share_of_the_seats(void **state)
{
    (void)state;
    char secret[SHARED_SECRET_BYTES];
    shared_minute *const m = open_minute(0);
    for (int i = 0; i < SHARED_SEATS_ADDRESS_MOST; i++) {
        assert_int_equal(shared_minute_sit(m, secret_of(i, secret), 7, 0.0), i + 1);
    }
    assert_int_equal(shared_minute_sit(m, secret_of(90, secret), 7, 1.0),
                     SHARED_ADDRESS_FULL);
    assert_int_equal(shared_minute_sit(m, secret_of(91, secret), 8, 1.0),
                     SHARED_SEATS_ADDRESS_MOST + 1);
    /* Its own that it has left come back to it, and no other's. */
    const double later_s = SHARED_SEAT_KEPT_S;
    assert_int_equal(shared_minute_sit(m, secret_of(92, secret), 7, later_s), 1);
    assert_int_equal(shared_minute_seat_of(m, secret_of(0, secret)), 0);
    assert_int_equal(shared_minute_seat_of(m, secret_of(92, secret)), 1);
    free(m);
}

static void a_seat_that_holds_something_is_never_given_away(void **state)
{
    (void)state;
    const double taps_s[] = {0.5, 1.2};
    char secret[SHARED_SECRET_BYTES];
    app_err err = APP_ERR_NONE;
    shared_minute *const m = open_minute(SHARED_SEATS_MOST);
    shared_minute_presence(m, 1, true, 1.0);
    shared_minute_presence(m, 2, true, 1.0);
    shared_minute_presence(m, 2, false, 95.0); /* gone a moment ago */
    run_to_the_end(m);
    assert_true(shared_minute_tap(m, 3, taps_s, 2));
    assert_true(shared_minute_enter(m, 4, 20, "", &err));
    assert_int_equal(shared_minute_sit(m, secret_of(200, secret), 200, 100.0), 5);
    assert_false(m->seats[4].entered);
    for (int i = 6; i <= SHARED_SEATS_MOST; i++) {
        const int seat =
            shared_minute_sit(m, secret_of(200 + i, secret), 200 + (uint32_t)i, 100.0);
        assert_int_equal(seat, i);
    }
    assert_int_equal(shared_minute_sit(m, secret_of(400, secret), 400, 104.0),
                     SHARED_FULL);
    assert_int_equal(shared_minute_sit(m, secret_of(400, secret), 400, 105.0), 2);
    assert_int_equal(shared_minute_seat_of(m, secret_of(2, secret)), 3);
    assert_int_equal(m->seats[2].n_taps, 2);
    assert_int_equal(m->seats[3].count, 20);
    free(m);
}

static void the_room_lists_a_seat_once_somebody_was_there(void **state)
{
    (void)state;
    shared_minute *const m = open_minute(2);
    assert_false(holds(shared_minute_room(m), "\"seat\":"));
    shared_minute_presence(m, 2, true, 1.0);
    assert_true(holds(shared_minute_room(m), "\"seat\":2,\"entered\":false,"
                                             "\"here\":true"));
    shared_minute_presence(m, 2, false, 2.0);
    assert_true(holds(shared_minute_room(m), "\"seat\":2,\"entered\":false,"
                                             "\"here\":false"));
    assert_false(holds(shared_minute_room(m), "\"seat\":1"));
    shared_minute_presence(m, 0, true, 3.0); /* no such seats: nothing */
    shared_minute_presence(m, 3, true, 3.0);
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
        cmocka_unit_test(who_could_not_count_says_so_and_is_no_number),
        cmocka_unit_test(a_seat_is_found_by_its_secret_alone),
        cmocka_unit_test(one_address_has_a_share_of_the_seats),
        cmocka_unit_test(a_seat_that_holds_something_is_never_given_away),
        cmocka_unit_test(the_room_lists_a_seat_once_somebody_was_there),
        cmocka_unit_test(taps_only_grow_and_lie_in_the_minute),
        cmocka_unit_test(another_minute_keeps_the_seats_and_nothing_else),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
