/* How many requests a second are looked at. The rule is that of a leaky bucket: so many at
 * once, and so many a second after; moments are handed in. */
#include "src/page/page_rate.h"

#include "tests/support.h"

#include <stdlib.h>

static int taken(page_rate *r, int tries, double now_s)
{
    int n = 0;
    for (int i = 0; i < tries; i++) {
        n += page_rate_take(r, now_s);
    }
    return n;
}

static void so_many_pass_at_once_and_no_more(void **state)
{
    (void)state;
    page_rate r = page_rate_of(10.0, 40.0);
    assert_int_equal(taken(&r, 100, 5.0), 40);
    assert_int_equal(taken(&r, 100, 5.0), 0);
}

static void so_many_a_second_pass_after_that(void **state)
{
    (void)state;
    page_rate r = page_rate_of(10.0, 40.0);
    (void)taken(&r, 100, 5.0);
    assert_int_equal(taken(&r, 100, 6.0), 10);
    assert_int_equal(taken(&r, 100, 6.25), 2);
    assert_int_equal(taken(&r, 100, 6.5), 3); /* halves are kept */
    assert_int_equal(taken(&r, 100, 1006.5), 40);
}

static void a_clock_that_goes_back_gives_nothing(void **state)
{
    (void)state;
    page_rate r = page_rate_of(10.0, 40.0);
    (void)taken(&r, 100, 5.0);
    assert_int_equal(taken(&r, 100, 4.0), 0);
    assert_int_equal(taken(&r, 100, 5.0), 0);
    assert_int_equal(taken(&r, 100, 5.25), 2);
    page_rate full = page_rate_of(10.0, 40.0);
    assert_int_equal(taken(&full, 1, 5.0), 1);
    assert_int_equal(taken(&full, 100, 4.0), 39); /* and takes nothing away */
}

static int taken_by(page_rates *r, uint32_t address, int tries, double now_s)
{
    int n = 0;
    for (int i = 0; i < tries; i++) {
        n += page_rates_take(r, address, now_s);
    }
    return n;
}

static void each_address_has_its_own(void **state)
{
    (void)state;
    page_rates *const r = malloc(sizeof *r);
    assert_non_null(r);
    page_rates_init(r, 1.0, 5.0);
    assert_int_equal(taken_by(r, 1, 100, 2.0), 5);
    assert_int_equal(taken_by(r, 2, 3, 2.0), 3);
    assert_int_equal(taken_by(r, 0, 100, 2.0), 5); /* no address is one too */
    assert_int_equal(taken_by(r, 2, 100, 2.0), 2);
    assert_int_equal(taken_by(r, 1, 100, 3.0), 1);
    free(r);
}

static void of_too_many_the_one_that_was_quiet_longest_is_forgotten(void **state)
{
    (void)state;
    page_rates *const r = malloc(sizeof *r);
    assert_non_null(r);
    page_rates_init(r, 0.001, 5.0);
    for (uint32_t a = 0; a < PAGE_RATES_MOST; a++) {
        assert_int_equal(taken_by(r, a, 100, 10.0 + a), 5);
    }
    assert_int_equal(taken_by(r, 0, 1, 1000.0), 0); /* the oldest asks again */
    assert_int_equal(taken_by(r, 5000, 100, 1001.0), 5);
    assert_int_equal(taken_by(r, 0, 1, 1002.0), 0);   /* still known */
    assert_int_equal(taken_by(r, 2, 1, 1003.0), 0);   /* known too */
    assert_int_equal(taken_by(r, 1, 100, 1004.0), 5); /* forgotten for 5000's sake */
    free(r);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(so_many_pass_at_once_and_no_more),
        cmocka_unit_test(so_many_a_second_pass_after_that),
        cmocka_unit_test(a_clock_that_goes_back_gives_nothing),
        cmocka_unit_test(each_address_has_its_own),
        cmocka_unit_test(of_too_many_the_one_that_was_quiet_longest_is_forgotten),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
