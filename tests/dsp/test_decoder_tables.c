/*
 * A vector has a lane for each hypothesis; where there are fewer, the lanes left over hold the
 * last one's numbers, and nothing behind the list is looked at.
 *   Source: the contract in dsp/heart/decoder_private.h.
 *   Input:  one to three hypotheses; behind them nothing that could be read.
 */
#include "dsp/heart/decoder_private.h"

#include "tests/support.h"

#include <stdlib.h>

static fm_hypothesis hypothesis(size_t k)
{
    return (fm_hypothesis){.cycle_s = 0.8 + 0.1 * (double)k,
                           .systole_s = 0.3,
                           .systole_sd_s = 0.01,
                           .looseness = 0.04,
                           .surprise = 0.02,
                           .early = 0.02,
                           .s2_detected = 0.9 - 0.1 * (double)k};
}

static void lanes_left_over_hold_the_last_hypothesis(void **state)
{
    (void)state;
    fm_decoder_tables *const t = calloc(1, sizeof *t);
    assert_non_null(t);
    for (size_t n = 1; n <= 3; n++) {
        fm_hypothesis made[3];
        const fm_hypothesis *a[FM_LANES + 2] = {NULL};
        for (size_t k = 0; k < n; k++) {
            made[k] = hypothesis(k);
            a[k] = &made[k];
        }
        fm_decoder_fill_tables(a, n, 1.0, t);
        for (size_t l = n; l < FM_LANES; l++) {
            assert_within((double)t->cycle[l], (double)t->cycle[n - 1], 0.0);
            assert_within((double)t->most[l], (double)t->most[n - 1], 0.0);
            assert_within((double)t->after[l], (double)t->after[n - 1], 0.0);
        }
        assert_true(n == 1 || t->cycle[0] < t->cycle[n - 1]); /* each its own */
    }
    free(t);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(lanes_left_over_hold_the_last_hypothesis),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
