/*
 * Against another tool's output and the defining sum.
 *   Source:    NumPy's rfft; version and call in tests/data/scipy_vectors.h.
 *   Input:     in the same file: noise, a tone and an offset, rounded to single; and
 *              noise by seed.
 *   Tolerance: 2e-6 of the largest value: the sums are in single precision.
 */
#include "dsp/signal/short_time.h"

#include "dsp/signal/random.h"

#include "tests/data/scipy_vectors.h"
#include "tests/support.h"

#include <string.h>

static const double PI = 3.14159265358979323846;

static void it_is_that_of_numpy(void **state)
{
    (void)state;
    static fm_short_time tables;
    fm_short_time *const s = &tables;
    fm_short_time_init(s);
    float power[FM_SHORT_LAST + 1];
    memset(power, 0x55, sizeof(power));
    const float untouched = power[0];
    fm_short_time_power(s, SCIPY_SPECTRUM_IN, power);
    double top = 0.0;
    for (size_t k = FM_SHORT_FIRST; k < FM_SHORT_LAST; k++) {
        top = fmax(top, SCIPY_POWER[k]);
    }
    for (size_t k = FM_SHORT_FIRST; k < FM_SHORT_LAST; k++) {
        assert_within((double)power[k], SCIPY_POWER[k], 2e-6 * top);
    }
    assert_memory_equal(&power[0], &untouched, sizeof(untouched));
    assert_memory_equal(&power[1], &untouched, sizeof(untouched));
    assert_memory_equal(&power[FM_SHORT_LAST], &untouched, sizeof(untouched));
}

static double defining_sum(const float *x, size_t k)
{
    double re = 0.0;
    double im = 0.0;
    for (size_t i = 0; i < FM_SHORT_N; i++) {
        const double angle = 2.0 * PI * (double)(i * k % FM_SHORT_N) / FM_SHORT_N;
        const double w = 0.5 - 0.5 * cos(2.0 * PI * (double)i / FM_SHORT_N);
        re += (double)x[i] * w * cos(angle);
        im -= (double)x[i] * w * sin(angle);
    }
    return re * re + im * im;
}

static void every_bin_is_its_defining_sum(void **state)
{
    (void)state;
    static fm_short_time tables;
    fm_short_time *const s = &tables;
    fm_short_time_init(s);
    for (uint64_t seed = 0; seed < 50; seed++) {
        fm_random r = fm_random_init(seed, 3);
        float x[FM_SHORT_N];
        float power[FM_SHORT_LAST];
        double exact[FM_SHORT_LAST];
        double top = 0.0;
        for (size_t i = 0; i < FM_SHORT_N; i++) {
            x[i] = (float)fm_random_between(&r, -1.0, 1.0);
        }
        fm_short_time_power(s, x, power);
        for (size_t k = FM_SHORT_FIRST; k < FM_SHORT_LAST; k++) {
            exact[k] = defining_sum(x, k);
            top = fmax(top, exact[k]);
        }
        for (size_t k = FM_SHORT_FIRST; k < FM_SHORT_LAST; k++) {
            assert_within((double)power[k], exact[k], 2e-6 * top);
        }
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(it_is_that_of_numpy),
        cmocka_unit_test(every_bin_is_its_defining_sum),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
