/*
 * The level of a sealed minute cannot be counted.
 *   Source:    the seal (DEVELOPERS.md): |r| < 0.1 between the drawn level and the beats;
 *              truth documents of the composed recordings.
 *   It says:   one value for three whole seconds, in steps of 3 dB.
 *   Input:     every recording in recordings/, pushed in blocks of 10 ms, the level looked
 *              at after each as a screen would.
 *   Tolerance: 0.1, and of 40 recordings none may pass it.
 */
#include "src/usecase/live_level.h"

#include "src/document/truth_document.h"
#include "src/port/sound_file.h"
#include "src/usecase/document_files.h"

#include "../support.h"

#include <glob.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum {
    STEPS_MAX = 100000
};

/* Pearson's coefficient; 0 where one of the two never changes. */
static double correlation(const double *a, const double *b, size_t n)
{
    double ma = 0.0;
    double mb = 0.0;
    for (size_t i = 0; i < n; i++) {
        ma += a[i] / (double)n;
        mb += b[i] / (double)n;
    }
    double aa = 0.0;
    double bb = 0.0;
    double ab = 0.0;
    for (size_t i = 0; i < n; i++) {
        aa += (a[i] - ma) * (a[i] - ma);
        bb += (b[i] - mb) * (b[i] - mb);
        ab += (a[i] - ma) * (b[i] - mb);
    }
    return aa > 1e-12 && bb > 1e-12 ? ab / sqrt(aa * bb) : 0.0;
}

/* The level seen in steps of 10 ms, and 1 in the 100 ms after each S1. */
static double follow(const char *path, const char **advice)
{
    static double level[STEPS_MAX];
    static double beat[STEPS_MAX];
    static float block[2000];
    app_err err = APP_ERR_NONE;
    truth_document truth;
    char *const truth_path = truth_document_path(path);
    assert_true(truth_document_read(truth_path, &truth, &err));
    free(truth_path);
    sound_file *const file = sound_file_open(path, &err);
    assert_non_null(file);
    const double rate_hz = sound_file_info(file).rate_hz;
    const size_t step = (size_t)lround(rate_hz / 100.0);
    live_level l;
    live_level_init(&l, rate_hz);
    size_t n = 0;
    *advice = "";
    while (n < STEPS_MAX && sound_file_read(file, block, step) == step) {
        live_level_push(&l, block, step);
        if (l.known) {
            level[n] = l.level_dbfs;
            beat[n] = 0.0;
            const double now_s = (double)sound_file_position(file) / rate_hz;
            for (size_t i = 0; i < truth.truth.n_s1; i++) {
                const double after_s = now_s - truth.truth.s1_s[i];
                if (after_s >= 0.0 && after_s < 0.1) {
                    beat[n] = 1.0;
                }
            }
            n++;
            if (l.advice[0] != '\0') {
                *advice = l.advice;
            }
        }
    }
    assert_true(n > 1000);
    sound_file_close(file);
    truth_document_free(&truth);
    return correlation(level, beat, n);
}

static void does_not_follow_the_beats(void **state)
{
    (void)state;
    glob_t all;
    assert_int_equal(glob(RECORDINGS_DIR "/*.flac", 0, NULL, &all), 0);
    assert_true(all.gl_pathc > 20);
    double worst = 0.0;
    for (size_t i = 0; i < all.gl_pathc; i++) {
        const char *advice = "";
        const double r = follow(all.gl_pathv[i], &advice);
        worst = fmax(worst, fabs(r));
        if (!(fabs(r) < 0.1)) {
            fail_msg("%s: r = %.3f", all.gl_pathv[i], r);
        }
        if (advice[0] != '\0') {
            print_message("%s: %s\n", strrchr(all.gl_pathv[i], '/') + 1, advice);
        }
    }
    print_message("%zu recordings, largest |r| %.3f\n", all.gl_pathc, worst);
    globfree(&all);
}

/* That the test above can fail: a level of 50 ms follows every beat. */
static void a_fast_level_would_be_caught(void **state)
{
    (void)state;
    double level[2000];
    double beat[2000];
    for (size_t i = 0; i < 2000; i++) {
        beat[i] = i % 80 < 10 ? 1.0 : 0.0;
        level[i] = i % 80 < 12 ? -27.0 : -45.0;
    }
    assert_true(correlation(level, beat, 2000) > 0.5);
}

static void changes_every_three_seconds_in_steps(void **state)
{
    (void)state;
    live_level l;
    live_level_init(&l, 1000.0);
    float x[100];
    for (int k = 0; k < 300; k++) {
        for (int i = 0; i < 100; i++) {
            x[i] = (i % 2 == 0 ? 1.0F : -1.0F) * 0.001F * (float)(1 + k);
        }
        const double before = l.level_dbfs;
        live_level_push(&l, x, 100);
        const bool changed =
            isfinite(l.level_dbfs) && fabs(l.level_dbfs - before) > 0.0;
        assert_true(!changed || (k + 1) % 30 == 0);
        if (isfinite(l.level_dbfs)) {
            assert_within(fmod(l.level_dbfs, LIVE_LEVEL_STEP_DB), 0.0, 1e-9);
        }
    }
}

static void says_what_is_wrong(void **state)
{
    (void)state;
    static float x[4000];
    live_level l;
    live_level_init(&l, 1000.0);
    live_level_push(&l, x, 3000);
    assert_non_null(strstr(l.advice, "Nothing is heard"));
    for (size_t i = 0; i < 4000; i++) {
        x[i] = 0.0005F * (float)sin(0.3 * (double)i);
    }
    live_level_push(&l, x, 3000);
    assert_non_null(strstr(l.advice, "Too quiet"));
    for (size_t i = 0; i < 4000; i++) {
        x[i] = i % 3 == 0 ? 1.0F : -1.0F;
    }
    live_level_push(&l, x, 3000);
    assert_non_null(strstr(l.advice, "Too loud"));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(does_not_follow_the_beats),
        cmocka_unit_test(a_fast_level_would_be_caught),
        cmocka_unit_test(changes_every_three_seconds_in_steps),
        cmocka_unit_test(says_what_is_wrong),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
