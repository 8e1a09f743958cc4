/*
 * A read that fails (EIO: a loose cable, a network that is gone) is not the end of a
 * recording: nothing is counted from what came before it, and a batch tries it again.
 *   Source: read(2) and pread(2) of POSIX.1-2017: -1 and errno EIO for a physical error;
 *           which of an I/O error's codes may pass is src/batch/worker.c's.
 *   Input:  files written here by libsndfile, and a bundled recording. The reads of one
 *           file are answered by this test: read() and pread() stand here in place of the
 *           C library's, also for libsndfile, and fail at the call of a number. And
 *           libsndfile's own calls (-Wl,--wrap) fail as they do where malloc gives NULL:
 *           then errno is ENOMEM (malloc(3) of POSIX.1-2017).
 */
#define _GNU_SOURCE /* NOLINT(bugprone-reserved-identifier): syscall */

#include "tests/support.h"

#include "src/port/sound_file.h"
#include "src/usecase/batch_file.h"

#include <errno.h>
#include <math.h>
#include <sndfile.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/syscall.h>
#include <unistd.h>

enum {
    RATE_HZ = 4000,
    FRAMES = 8 * RATE_HZ,
    NEVER = -1
};

static char path[] = "/tmp/fullminute-read-error-XXXXXX";
static ino_t target;
static int fails_at = NEVER; /* the call that fails, and all after it, or it alone */
static bool once;
static int calls;

/* Does this call on the target fail? */
static bool breaks(int fd)
{
    struct stat info;
    if (target == 0 || fstat(fd, &info) != 0 || info.st_ino != target) {
        return false;
    }
    const int call = calls++;
    return fails_at != NEVER && (once ? call == fails_at : call >= fails_at);
}

/* NOLINTBEGIN(readability-inconsistent-declaration-parameter-name) */
ssize_t read(int fd, void *out, size_t n)
{
    if (breaks(fd)) {
        errno = EIO;
        return -1;
    }
    return (ssize_t)syscall(SYS_read, fd, out, n);
}

ssize_t pread(int fd, void *out, size_t n, off_t at)
{
    if (breaks(fd)) {
        errno = EIO;
        return -1;
    }
    return (ssize_t)syscall(SYS_pread64, fd, out, n, at);
}
/* NOLINTEND(readability-inconsistent-declaration-parameter-name) */

static void aim(const char *at, int call, bool alone)
{
    struct stat info;
    assert_int_equal(stat(at, &info), 0);
    target = info.st_ino;
    fails_at = call;
    once = alone;
    calls = 0;
}

static void write_sound(int format)
{
    SF_INFO info = {.samplerate = RATE_HZ, .channels = 1, .format = format};
    SNDFILE *const file = sf_open(path, SFM_WRITE, &info);
    assert_non_null(file);
    for (int i = 0; i < FRAMES; i++) {
        const float x = 0.3F * sinf((float)i * 0.2F);
        assert_int_equal(sf_writef_float(file, &x, 1), 1);
    }
    assert_int_equal(sf_close(file), 0);
}

/* Opened and read to its end; frames, or -1 with err. */
static int64_t read_all(app_err *err)
{
    static float block[1000];
    sound_file *const file = sound_file_open(path, err);
    if (file == NULL) {
        return -1;
    }
    const bool truncated = sound_file_info(file).truncated;
    while (sound_file_read(file, block, 1000) == 1000) {
    }
    const int64_t n = sound_file_position(file);
    const bool ok = sound_file_check(file, err);
    sound_file_close(file);
    assert_false(ok && truncated);
    return ok ? n : -1;
}

/* Every read in turn, for good and for once. */
static void a_read_that_fails_is_never_the_end(void **state)
{
    (void)state;
    static const int FORMATS[] = {
        SF_FORMAT_WAV | SF_FORMAT_PCM_16,  SF_FORMAT_FLAC | SF_FORMAT_PCM_16,
        SF_FORMAT_AIFF | SF_FORMAT_PCM_16, SF_FORMAT_W64 | SF_FORMAT_PCM_16,
        SF_FORMAT_OGG | SF_FORMAT_VORBIS,  SF_FORMAT_AU | SF_FORMAT_PCM_16,
    };
    for (size_t f = 0; f < sizeof FORMATS / sizeof FORMATS[0]; f++) {
        app_err err = APP_ERR_NONE;
        write_sound(FORMATS[f]);
        aim(path, NEVER, false);
        assert_int_equal(read_all(&err), FRAMES);
        const int n_calls = calls;
        assert_true(n_calls > 1);
        for (int k = 0; k < 2 * n_calls; k++) {
            err = (app_err)APP_ERR_NONE;
            aim(path, k / 2, k % 2 == 1);
            const int64_t n = read_all(&err);
            if (n != -1 || err.code != APP_FAILED ||
                strstr(err.text, "try again") == NULL) {
                fail_msg("format %zu, call %d: %lld frames, '%s'", f, k / 2,
                         (long long)n, err.text);
            }
        }
    }
}

/* Which of libsndfile's calls, of both together, finds no memory. */
static int no_memory_at = NEVER;
static int sound_calls;

static bool no_memory(void)
{
    if (sound_calls++ != no_memory_at) {
        return false;
    }
    errno = ENOMEM;
    return true;
}

SNDFILE *__real_sf_open_virtual(SF_VIRTUAL_IO *io, int mode, SF_INFO *info, void *user);
SNDFILE *__wrap_sf_open_virtual(SF_VIRTUAL_IO *io, int mode, SF_INFO *info, void *user);
sf_count_t __real_sf_readf_float(SNDFILE *file, float *out, sf_count_t n);
sf_count_t __wrap_sf_readf_float(SNDFILE *file, float *out, sf_count_t n);

SNDFILE *__wrap_sf_open_virtual(SF_VIRTUAL_IO *io, int mode, SF_INFO *info, void *user)
{
    return no_memory() ? NULL : __real_sf_open_virtual(io, mode, info, user);
}

sf_count_t __wrap_sf_readf_float(SNDFILE *file, float *out, sf_count_t n)
{
    return no_memory() ? 0 : __real_sf_readf_float(file, out, n);
}

/* Neither 'not a sound file' nor the end of one. */
static void without_memory_the_file_is_not_blamed(void **state)
{
    (void)state;
    app_err err = APP_ERR_NONE;
    aim(path, NEVER, false);
    write_sound(SF_FORMAT_FLAC | SF_FORMAT_PCM_16);
    no_memory_at = NEVER;
    sound_calls = 0;
    assert_int_equal(read_all(&err), FRAMES);
    const int n_calls = sound_calls;
    assert_true(n_calls > 4); /* opened twice, its last frame, and the whole */
    for (int k = 0; k < n_calls; k++) {
        err = (app_err)APP_ERR_NONE;
        no_memory_at = k;
        sound_calls = 0;
        const int64_t n = read_all(&err);
        if (n != -1 || err.code != APP_FAILED ||
            strstr(err.text, "not enough memory") == NULL) {
            fail_msg("call %d: %lld frames, '%s'", k, (long long)n, err.text);
        }
    }
    no_memory_at = NEVER;
}

static bool take_row(void *context, const row *r)
{
    (void)r;
    ++*(int *)context;
    return true;
}

/* As a batch does it: an error of the file that may pass, and no row of its own. */
static void a_batch_counts_nothing_of_it(void **state)
{
    (void)state;
    static const char SOUND[] = RECORDINGS_DIR "/steady-072.flac";
    batch_file_plan plan = {.request = analyse_request_default(NULL)};
    int rows = 0;
    const pool_emit emit = {&rows, take_row};
    app_err err = APP_ERR_NONE;
    aim(SOUND, NEVER, false);
    assert_int_equal(batch_file_count(&plan, SOUND, &emit, &err), POOL_FINE);
    assert_int_equal(rows, 1);
    const int n_calls = calls;
    rows = 0;
    for (int k = 0; k < n_calls; k += 1 + n_calls / 8) {
        err = (app_err)APP_ERR_NONE;
        aim(SOUND, k, true);
        assert_int_equal(batch_file_count(&plan, SOUND, &emit, &err), POOL_ERROR);
        assert_int_equal(err.code, APP_FAILED); /* worker.c: 'failed', tried again */
        assert_int_equal(rows, 0);
    }
}

static int make_file(void **state)
{
    (void)state;
    const int fd = mkstemp(path);
    return fd >= 0 ? close(fd) : -1;
}

static int remove_file(void **state)
{
    (void)state;
    return unlink(path);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_read_that_fails_is_never_the_end),
        cmocka_unit_test(without_memory_the_file_is_not_blamed),
        cmocka_unit_test(a_batch_counts_nothing_of_it),
    };
    return cmocka_run_group_tests(tests, make_file, remove_file);
}
