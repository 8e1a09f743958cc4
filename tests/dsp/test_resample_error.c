/*
 * The library for rates runs out of memory in the middle: there is no result, and an error.
 *   Source: soxr.h: soxr_process returns an error, NULL for none.
 *   Input:  a minute of a steady beat at 8000 Hz; soxr_process is wrapped by the linker and
 *           fails at its call of a number.
 */
#include "dsp/analyser.h"

#include "tests/support.h"

#include <math.h>
#include <soxr.h>
#include <stdlib.h>
#include <string.h>

enum {
    RATE_HZ = 8000,
    SAMPLES = 61 * RATE_HZ
};

static long calls;
static long fails_at = -1;

soxr_error_t __real_soxr_process(
    soxr_t, soxr_in_t, size_t, size_t *, soxr_out_t, size_t, size_t *);
soxr_error_t __wrap_soxr_process(soxr_t resampler,
                                 soxr_in_t in,
                                 size_t n,
                                 size_t *done_in,
                                 soxr_out_t out,
                                 size_t max,
                                 size_t *done_out);

soxr_error_t __wrap_soxr_process(soxr_t resampler,
                                 soxr_in_t in,
                                 size_t n,
                                 size_t *done_in,
                                 soxr_out_t out,
                                 size_t max,
                                 size_t *done_out)
{
    if (calls++ == fails_at) {
        *done_in = 0;
        *done_out = 0;
        return "out of memory";
    }
    return __real_soxr_process(resampler, in, n, done_in, out, max, done_out);
}

static float *beats(void)
{
    float *const x = calloc(SAMPLES, sizeof *x);
    assert_non_null(x);
    for (int i = 0; i < SAMPLES; i++) {
        const float t = fmodf((float)i / RATE_HZ, 0.8F);
        x[i] = 0.3F * sinf(380.0F * t) * expf(-40.0F * t);
    }
    return x;
}

/* A result was taken, and what the analyser says. */
static bool count(const float *x, fm_status *status)
{
    fm_count *const out = calloc(1, sizeof *out);
    fm_analyser *const a = fm_analyser_create((double)RATE_HZ, status);
    assert_non_null(out);
    if (a == NULL) {
        free(out);
        return false;
    }
    assert_int_equal(fm_analyser_open(a, 0, (int64_t)60 * RATE_HZ), FM_OK);
    *status = fm_analyser_push(a, x, SAMPLES);
    if (*status == FM_OK) {
        *status = fm_analyser_finish(a);
    }
    const bool taken = fm_analyser_take(a, out);
    fm_analyser_destroy(a);
    free(out);
    return taken;
}

static void a_failure_inside_gives_no_result(void **state)
{
    (void)state;
    float *const x = beats();
    fm_status status = FM_OK;
    calls = 0;
    assert_true(count(x, &status));
    assert_int_equal(status, FM_OK);
    const long n_calls = calls;
    assert_true(n_calls > 100);
    for (int i = 0; i < 5; i++) {
        calls = 0;
        fails_at = i * (n_calls - 1) / 4;
        assert_false(count(x, &status));
        assert_int_equal(status, FM_ERR_NOMEM);
    }
    free(x);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_failure_inside_gives_no_result),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
