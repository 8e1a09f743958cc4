/*
 * A sound file of which the Nth write fails, for every N: nobody is told that it was written.
 *   Source:    none outside. libsndfile 1.2 itself says nothing of a header that it could not
 *              write again at the end: the file then says that it is empty.
 *   Input:     a tone of one second; the call of the system is this file's own.
 *   Tolerance: none.
 */
#include "src/port/recording.h"
#include "src/port/sound_writer.h"

#include "../support.h"

#include <errno.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

enum {
    RATE_HZ = 4000,
    N_MOST = 100
};

static int n_writes, failing;

ssize_t __real_pwrite(int fd, const void *bytes, size_t n, off_t at);
ssize_t __wrap_pwrite(int fd, const void *bytes, size_t n, off_t at);
ssize_t __wrap_pwrite(int fd, const void *bytes, size_t n, off_t at)
{
    if (++n_writes == failing) {
        errno = ENOSPC;
        return -1;
    }
    return __real_pwrite(fd, bytes, n, at);
}

static const float *tone(void)
{
    static float sound[RATE_HZ];
    for (int i = 0; i < RATE_HZ; i++) {
        sound[i] = 0.3F * sinf(0.1F * (float)i);
    }
    return sound;
}

static bool write_by_draft(const char *path, app_err *err)
{
    file_draft draft = FILE_DRAFT_NONE;
    const bool ok = file_draft_open(&draft, path, true, err) &&
                    sound_writer_fill(&draft, path, tone(), RATE_HZ, RATE_HZ, err) &&
                    file_draft_commit(&draft, err);
    file_draft_drop(&draft);
    return ok;
}

static bool write_as_it_comes(const char *path, app_err *err)
{
    recording *const r = recording_create(path, RATE_HZ, err);
    if (r == NULL) {
        return false;
    }
    const bool ok = recording_write(r, tone(), RATE_HZ, NULL, err);
    return recording_close(r, ok ? err : NULL) && ok;
}

static void every_write_fails_once(bool (*how)(const char *path, app_err *err),
                                   const char *name)
{
    char folder[] = "/tmp/sound-out-XXXXXX";
    char path[64];
    app_err err = APP_ERR_NONE;
    assert_non_null(mkdtemp(folder));
    (void)snprintf(path, sizeof path, "%s/%s", folder, name);
    n_writes = failing = 0;
    assert_true(how(path, &err));
    const int all = n_writes;
    assert_true(all >= 3 && all < N_MOST); /* a header, samples, the header again */
    for (failing = 1; failing <= all; failing++) {
        (void)unlink(path);
        err = (app_err)APP_ERR_NONE;
        n_writes = 0;
        if (how(path, &err)) {
            fail_msg("%s: write %d of %d fails and nobody hears of it", name, failing,
                     all);
        }
        assert_int_equal(err.code, APP_FAILED);
        assert_non_null(strstr(err.text, "no space left"));
    }
    (void)unlink(path);
    assert_int_equal(rmdir(folder), 0); /* and no draft is left */
}

static void a_wav_file(void **state)
{
    (void)state;
    every_write_fails_once(write_by_draft, "a.wav");
}

static void a_flac_file(void **state)
{
    (void)state;
    every_write_fails_once(write_by_draft, "a.flac");
}

static void a_live_recording(void **state)
{
    (void)state;
    every_write_fails_once(write_as_it_comes, "b.wav");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_wav_file),
        cmocka_unit_test(a_flac_file),
        cmocka_unit_test(a_live_recording),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
