/*
 * A live recording: what is on the disk, and when.
 *   Source:    libsndfile reads the file back, through our own reader.
 *   Input:     a ramp over all 65536 values of 16 bits, made here.
 *   Tolerance: none: the values lie on the 16 bit grid.
 */
#include "src/port/recording.h"
#include "src/port/sound_file.h"
#include "tests/support.h"

#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

enum {
    RATE_HZ = 4000,
    N = 65536
};

static char folder[] = "/tmp/recording-XXXXXX";
static char path[64];
static float ramp[N];
static float written[N];
static float got[3 * N];

static int make_folder(void **state)
{
    (void)state;
    for (int i = 0; i < N; i++) {
        ramp[i] = (float)(i - 32768) / 32768.0F;
    }
    return mkdtemp(folder) == NULL ? -1 : 0;
}

static int drop_folder(void **state)
{
    (void)state;
    return rmdir(folder);
}

static int name_file(void **state)
{
    (void)state;
    (void)snprintf(path, sizeof path, "%s/a.wav", folder);
    return 0;
}

static int drop_file(void **state)
{
    (void)state;
    return unlink(path);
}

static size_t read_back(void)
{
    app_err err = APP_ERR_NONE;
    sound_file *const file = sound_file_open(path, &err);
    if (file == NULL) {
        fail_msg("%s", err.text);
        return 0;
    }
    assert_within(sound_file_info(file).rate_hz, RATE_HZ, 0.0);
    assert_int_equal(sound_file_info(file).channels, 1);
    assert_false(sound_file_info(file).truncated);
    const size_t n = sound_file_read(file, got, sizeof got / sizeof got[0]);
    sound_file_close(file);
    return n;
}

static void every_value_and_a_gap_read_back(void **state)
{
    (void)state;
    app_err err = APP_ERR_NONE;
    recording *const r = recording_create(path, RATE_HZ, &err);
    assert_non_null(r);
    assert_true(recording_write(r, ramp, N, written, &err));
    assert_memory_equal(written, ramp, sizeof ramp);
    assert_true(recording_write(r, NULL, 1234, NULL, &err));
    const float loud[3] = {1.5F, -7.0F, NAN};
    float clipped[3];
    assert_true(recording_write(r, loud, 3, clipped, &err));
    assert_within((double)clipped[0], 32767.0 / 32768.0, 0.0);
    assert_within((double)clipped[1], -1.0, 0.0);
    assert_within((double)clipped[2], 0.0, 0.0);
    assert_int_equal(recording_samples(r), N + 1234 + 3);
    assert_int_equal(read_back(), N + 1234 + 3); /* valid while it is open */
    assert_true(recording_close(r, &err));
    assert_int_equal(read_back(), N + 1234 + 3);
    assert_memory_equal(got, ramp, sizeof ramp);
    for (int i = 0; i < 1234; i++) {
        assert_within((double)got[N + i], 0.0, 0.0);
    }
    struct stat is;
    assert_int_equal(stat(path, &is), 0);
    assert_int_equal(is.st_mode & 0777, 0600);
}

static void an_existing_file_is_kept(void **state)
{
    (void)state;
    FILE *const f = fopen(path, "w");
    assert_non_null(f);
    assert_int_equal(fclose(f), 0);
    app_err err = APP_ERR_NONE;
    assert_null(recording_create(path, RATE_HZ, &err));
    assert_int_equal(err.code, APP_USAGE);
}

static void a_folder_that_is_not_there_is_said(void **state)
{
    (void)state;
    app_err err = APP_ERR_NONE;
    assert_null(recording_create("/tmp/no-such-folder-here/a.wav", RATE_HZ, &err));
    assert_int_equal(err.code, APP_FAILED);
    assert_non_null(strstr(err.text, "/tmp/no-such-folder-here/a.wav"));
    assert_null(recording_create("/tmp/no-such-folder-here/a.wav", 999, &err));
    assert_int_equal(err.code, APP_USAGE);
}

/* A child writes and tells how far it is; it is killed at once. All that it told is there. */
static void a_killed_one_reads_back_whole(void **state)
{
    (void)state;
    int ends[2];
    assert_int_equal(pipe(ends), 0);
    const pid_t child = fork();
    if (child == 0) {
        app_err err = APP_ERR_NONE;
        recording *const r = recording_create(path, RATE_HZ, &err);
        for (int64_t told = 0;
             r != NULL && recording_write(r, ramp + 333, 400, NULL, &err);) {
            told = recording_samples(r);
            if (write(ends[1], &told, sizeof told) != sizeof told) {
                break;
            }
        }
        _exit(1);
    }
    int64_t told = 0;
    for (int i = 0; i < 100; i++) {
        assert_int_equal(read(ends[0], &told, sizeof told), sizeof told);
    }
    assert_int_equal(kill(child, SIGKILL), 0);
    int status = 0;
    assert_int_equal(waitpid(child, &status, 0), child);
    assert_true(WIFSIGNALED(status));
    (void)close(ends[0]);
    (void)close(ends[1]);
    const size_t n = read_back();
    assert_true(n >= 40000);
    for (size_t i = 0; i < 40000; i++) {
        assert_within((double)got[i], (double)ramp[333 + i % 400], 0.0);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(every_value_and_a_gap_read_back, name_file,
                                        drop_file),
        cmocka_unit_test_setup_teardown(an_existing_file_is_kept, name_file, drop_file),
        cmocka_unit_test(a_folder_that_is_not_there_is_said),
        cmocka_unit_test_setup_teardown(a_killed_one_reads_back_whole, name_file,
                                        drop_file),
    };
    return cmocka_run_group_tests(tests, make_folder, drop_folder);
}
