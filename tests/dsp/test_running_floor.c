/*
 * Against an exact slow version: at every estimate the stretch is sorted again, the quantile
 * taken between order statistics, and the floor interpolated; equal to the last bit.
 *   Input: 300 series by seed, 1 to 900 long: noise, steps, many equal values, a range too
 *          narrow for bins, and a few values far from all others, so that the rest fall into one.
 */
#include "dsp/signal/running_floor.h"

#include "dsp/signal/random.h"

#include "tests/support.h"

#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

enum {
    N_MAX = 900,
    SEEDS = 300
};

static int ascending(const void *a, const void *b)
{
    const float x = *(const float *)a;
    const float y = *(const float *)b;
    return (x > y) - (x < y);
}

static float slow_estimate(const float *x,
                           size_t n,
                           size_t at,
                           const fm_floor_reach *how)
{
    float sorted[N_MAX];
    const size_t first = at > how->reach ? at - how->reach : 0;
    const size_t last = at + how->reach < n ? at + how->reach : n - 1;
    const size_t count = last - first + 1;
    memcpy(sorted, x + first, count * sizeof(*x));
    qsort(sorted, count, sizeof(*sorted), ascending);
    const double place = how->quantile * (double)(count - 1);
    const size_t k = (size_t)place;
    return k + 1 < count
               ? sorted[k] + (float)(place - (double)k) * (sorted[k + 1] - sorted[k])
               : sorted[k];
}

static void slow_floor(const float *x,
                       size_t n,
                       const fm_floor_reach *how,
                       float *floor)
{
    float from = slow_estimate(x, n, 0, how);
    floor[0] = from;
    for (size_t before = 0; before < n - 1;) {
        const size_t at = before + how->hop < n ? before + how->hop : n - 1;
        const float to = slow_estimate(x, n, at, how);
        for (size_t k = before + 1; k <= at; k++) {
            floor[k] = from + (float)(k - before) / (float)(at - before) * (to - from);
        }
        from = to;
        before = at;
    }
}

static void draw(fm_random *r, size_t n, float *x)
{
    const double step = fm_random_between(r, 0.0, 3.0);
    const bool equal = fm_random_between(r, 0.0, 1.0) < 0.3;
    const bool narrow = fm_random_between(r, 0.0, 1.0) < 0.1;
    const bool far = fm_random_between(r, 0.0, 1.0) < 0.3;
    double level = 0.0;
    for (size_t k = 0; k < n; k++) {
        level += fm_random_between(r, 0.0, 1.0) < 0.02 ? step : 0.0;
        const double v = level + fm_random_between(r, -1.0, 1.0);
        x[k] = (float)(equal ? floor(v) : v) * (narrow ? 1e-38f : 1.0f);
        if (far && fm_random_between(r, 0.0, 1.0) < 0.01) {
            x[k] = fm_random_between(r, -1.0, 1.0) < 0.0 ? -1e6f : 1e6f;
        }
    }
}

static void it_is_the_quantile_within_reach(void **state)
{
    (void)state;
    static float x[N_MAX];
    static float fast[N_MAX];
    static float slow[N_MAX];
    static uint16_t bin[N_MAX];
    for (uint64_t seed = 0; seed < SEEDS; seed++) {
        fm_random r = fm_random_init(seed, 12);
        const size_t n = 1 + (size_t)fm_random_between(&r, 0.0, N_MAX - 1.0);
        const fm_floor_reach how = {
            .hop = 1 + (size_t)fm_random_between(&r, 0.0, 40.0),
            .reach = (size_t)fm_random_between(&r, 0.0, 250.0),
            .quantile = seed % 5 == 0 ? (seed % 10 == 0 ? 0.0 : 1.0)
                                      : fm_random_between(&r, 0.0, 1.0),
        };
        draw(&r, n, x);
        fm_running_floor(x, n, &how, bin, fast);
        slow_floor(x, n, &how, slow);
        for (size_t k = 0; k < n; k++) {
            assert_within((double)fast[k], (double)slow[k], 0.0);
        }
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(it_is_the_quantile_within_reach),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
