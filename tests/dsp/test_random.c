/*
 * Against published sources.
 *   Source:    Blackman, Vigna, "Scrambled linear pseudorandom number generators", ACM
 *              Trans. Math. Softw. 47:36, 2021; Steele, Lea, Flood, "Fast splittable
 *              pseudorandom number generators", OOPSLA 2014.
 *   It says:   xoshiro256++ from the state 0, 0, 0, 1 gives the ten values below (as
 *              printed by an independent Fortran version, DSCF-1224/xoshiro-fortran,
 *              test/README.md), and from 1, 2, 3, 4 the three below (from memory);
 *              splitmix64 from 1234567 gives the values below (from memory).
 *   Tolerance: none.
 */
#include "dsp/signal/random.h"

#include "../support.h"

static void xoshiro_gives_the_values_of_an_independent_version(void **state)
{
    (void)state;
    static const uint64_t EXPECTED[10] = {
        0x0000000000800000, 0x0000000000800011, 0x0002200000800011, 0x0002200044000020,
        0x00022000448008A1, 0x01102100802208A0, 0x0114002284200880, 0x0402896644A64095,
        0x8A14A0A244ACC891, 0x8C88BA4680B20495};
    fm_random r = {{0, 0, 0, 1}};
    for (int i = 0; i < 10; i++) {
        assert_true(fm_random_next(&r) == EXPECTED[i]);
    }
}

static void xoshiro_gives_the_remembered_values(void **state)
{
    (void)state;
    fm_random r = {{1, 2, 3, 4}};
    assert_true(fm_random_next(&r) == UINT64_C(41943041));
    assert_true(fm_random_next(&r) == UINT64_C(58720359));
    assert_true(fm_random_next(&r) == UINT64_C(3588806011781223));
}

static void splitmix_gives_the_remembered_values(void **state)
{
    (void)state;
    uint64_t s = 1234567;
    assert_true(fm_random_splitmix(&s) == UINT64_C(6457827717110365317));
    assert_true(fm_random_splitmix(&s) == UINT64_C(3203168211198807973));
    assert_true(fm_random_splitmix(&s) == UINT64_C(9817491932198370423));
}

static void streams_of_one_seed_differ_and_repeat(void **state)
{
    (void)state;
    fm_random a = fm_random_init(5, 1);
    fm_random b = fm_random_init(5, 2);
    fm_random c = fm_random_init(5, 1);
    int equal = 0;
    for (int i = 0; i < 1000; i++) {
        const uint64_t x = fm_random_next(&a);
        equal += x == fm_random_next(&b) ? 1 : 0;
        assert_true(x == fm_random_next(&c));
    }
    assert_int_equal(equal, 0);
}

/* Closed form: mean 1/2, variance 1/12; five standard errors of 1e6 draws. */
static void uniform_has_its_mean_and_variance(void **state)
{
    (void)state;
    fm_random r = fm_random_init(11, 0);
    double sum = 0.0;
    double square = 0.0;
    const int n = 1000000;
    for (int i = 0; i < n; i++) {
        const double u = fm_random_uniform(&r);
        assert_true(u >= 0.0 && u < 1.0);
        sum += u;
        square += u * u;
    }
    const double mean = sum / n;
    assert_within(mean, 0.5, 5.0 * 0.2887 / 1000.0);
    assert_within(square / n - mean * mean, 1.0 / 12.0, 5.0 * 0.0745 / 1000.0);
}

/* Closed form: mean 0, variance 1, kurtosis 3, 2.275 % over +2; five standard errors. */
static void normal_has_its_moments_and_tail(void **state)
{
    (void)state;
    fm_random r = fm_random_init(12, 0);
    double sum = 0.0;
    double square = 0.0;
    double fourth = 0.0;
    int over = 0;
    const int n = 1000000;
    for (int i = 0; i < n; i++) {
        const double x = fm_random_normal(&r);
        sum += x;
        square += x * x;
        fourth += x * x * x * x;
        over += x > 2.0 ? 1 : 0;
    }
    assert_within(sum / n, 0.0, 5.0 / 1000.0);
    assert_within(square / n, 1.0, 5.0 * 1.4143 / 1000.0);
    assert_within(fourth / n, 3.0, 5.0 * 9.798 / 1000.0);
    assert_within((double)over / n, 0.022750, 5.0 * 0.1491 / 1000.0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(xoshiro_gives_the_values_of_an_independent_version),
        cmocka_unit_test(xoshiro_gives_the_remembered_values),
        cmocka_unit_test(splitmix_gives_the_remembered_values),
        cmocka_unit_test(streams_of_one_seed_differ_and_repeat),
        cmocka_unit_test(uniform_has_its_mean_and_variance),
        cmocka_unit_test(normal_has_its_moments_and_tail),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
