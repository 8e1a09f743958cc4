/*
 * Lost audio is filled with quiet.
 *   Input:     10 s at the working rate: noise with a loud burst every second, two gaps of zeros.
 *   Tolerance: 1.5 dB about 1 dB under the mean quiet: the quietest of thirty blocks of 200 values.
 */
#include "dsp/heart/fill.h"

#include "dsp/heart/features.h"
#include "dsp/signal/random.h"

#include "tests/support.h"

#include <math.h>
#include <string.h>

enum {
    N = 20000
};

static float x[N];
static fm_segment s;

static void make(void)
{
    fm_random r = fm_random_init(2, 2);
    for (size_t i = 0; i < N; i++) {
        x[i] = (float)((i % 2000 < 300 ? 0.2 : 0.01) * fm_random_normal(&r));
    }
    s = (fm_segment){.x = x, .n = N, .start_s = 50.0, .window_end_s = 60.0};
}

static void lose(double from_s, double length_s)
{
    s.gaps[s.n_gaps++] = (fm_span){50.0 + from_s, length_s, FM_REASON_GAP};
    memset(x + (size_t)(from_s * 2000.0), 0, (size_t)(length_s * 2000.0) * sizeof(*x));
}

static double level_db(double from_s, double to_s)
{
    double sum = 0.0;
    for (size_t i = (size_t)(from_s * 2000.0); i < (size_t)(to_s * 2000.0); i++) {
        sum += (double)x[i] * (double)x[i];
    }
    return 10.0 * log10(sum / ((to_s - from_s) * 2000.0));
}

static void a_gap_is_as_quiet_as_between_beats(void **state)
{
    (void)state;
    make();
    lose(0.0, 0.6);
    lose(4.9, 1.5);
    const float before = x[(size_t)(4.8 * 2000.0)];
    fm_fill_gaps(&s);
    assert_within(level_db(0.0, 0.6), -41.0, 1.5);
    assert_within(level_db(4.9, 6.4), -41.0, 1.5);
    assert_true(fabsf(x[(size_t)(4.8 * 2000.0)] - before) <= 0.0f);
    assert_int_equal(s.n_gaps, 2);
}

static void without_sound_beside_it_nothing_is_made_up(void **state)
{
    (void)state;
    make();
    lose(0.0, 10.0);
    fm_fill_gaps(&s);
    for (size_t i = 0; i < N; i++) {
        assert_true(fabsf(x[i]) <= 0.0f);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_gap_is_as_quiet_as_between_beats),
        cmocka_unit_test(without_sound_beside_it_nothing_is_made_up),
    };
    return cmocka_run_group_tests_name("dsp.fill", tests, NULL, NULL);
}
