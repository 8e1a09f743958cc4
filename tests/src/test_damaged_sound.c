/*
 * Damaged sound files of every format that libsndfile can write: no crash, no endless read, a
 * sentence where one is refused, and never fewer frames than the header promises without a
 * word of it.
 *   Source:    sound_file.h. The formats are those that libsndfile itself lists.
 *   Input:     half a second of a tone in each format, one or two channels; then cut at 12
 *              places, and changed by chance (seeded) in 24 ways: bits, runs of zeros or
 *              ones, pieces left out, doubled or moved, numbers of the header made absurd.
 *   Tolerance: none. Each format in a process of its own, so that a crash has a name.
 */
#include "src/port/sound_file.h"

#include "dsp/signal/random.h"

#include "../support.h"

#include <math.h>
#include <sndfile.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

enum {
    RATE_HZ = 16000,
    FRAMES = 8000,
    CUTS = 12,
    CHANGES = 24,
    BYTES_MOST = 1 << 20,
    READ_MOST = 1 << 24,
    TOO_LONG_S = 120
};

static char folder[] = "/tmp/damaged-sound-XXXXXX";
static char path[64];
static unsigned char whole[BYTES_MOST], changed[BYTES_MOST];

/* Bytes of the file; 0: this format cannot hold such a sound. */
static size_t write_whole(int format, int channels)
{
    static float sound[FRAMES * 2];
    SF_INFO info = {.samplerate = RATE_HZ, .channels = channels, .format = format};
    if (sf_format_check(&info) == 0) {
        return 0;
    }
    SNDFILE *const file = sf_open(path, SFM_WRITE, &info);
    if (file == NULL) {
        return 0;
    }
    for (int i = 0; i < FRAMES * channels; i++) {
        sound[i] = 0.4F * sinf(0.05F * (float)i);
    }
    const bool ok = sf_writef_float(file, sound, FRAMES) == FRAMES;
    (void)sf_close(file);
    FILE *const back = fopen(path, "rb");
    assert_non_null(back);
    const size_t n = fread(whole, 1, sizeof whole, back);
    (void)fclose(back);
    return ok ? n : 0;
}

static void put(const unsigned char *bytes, size_t n)
{
    FILE *const file = fopen(path, "wb");
    if (file == NULL || fwrite(bytes, 1, n, file) != n || fclose(file) != 0) {
        _exit(2);
    }
}

/* Of these libsndfile takes what there is, and sound_promise does not look at them. */
static const int UNPROMISED[] = {SF_FORMAT_AVR,  SF_FORMAT_SVX,   SF_FORMAT_MAT4,
                                 SF_FORMAT_MAT5, SF_FORMAT_MPC2K, SF_FORMAT_PAF,
                                 SF_FORMAT_PVF,  SF_FORMAT_IRCAM, SF_FORMAT_VOC,
                                 SF_FORMAT_NIST, SF_FORMAT_WVE,   SF_FORMAT_XI};

static bool is_promised(int format)
{
    for (size_t i = 0; i < sizeof UNPROMISED / sizeof UNPROMISED[0]; i++) {
        if ((format & SF_FORMAT_TYPEMASK) == UNPROMISED[i]) {
            return false;
        }
    }
    return true;
}

/* What is wrong with how it is read; NULL: nothing. */
static const char *read_it(bool cut)
{
    static float block[4096];
    app_err err = APP_ERR_NONE;
    sound_file *const file = sound_file_open(path, &err);
    if (file == NULL) {
        const bool code = err.code == APP_UNREADABLE || err.code == APP_FAILED;
        return code && strlen(err.text) > 20 ? NULL : "refused without a sentence";
    }
    const sound_info info = sound_file_info(file);
    const char *wrong = NULL;
    int64_t read = 0;
    size_t got = 1;
    if (!(info.rate_hz >= 1000.0 && info.rate_hz <= 192000.0) || info.channels < 1 ||
        info.channels > SOUND_CHANNELS_MAX) {
        wrong = "a rate or channels that are out of range";
    }
    while (wrong == NULL && got > 0 && read < READ_MOST) {
        const size_t n = sizeof block / sizeof *block / (size_t)info.channels;
        got = sound_file_read(file, block, n);
        read += (int64_t)got;
    }
    if (wrong == NULL && sound_file_position(file) != read) {
        wrong = "its place is not what was read";
    }
    /* One that ends early inside is found by who reads it (analyse_run: truncated). */
    if (wrong == NULL && cut && read < FRAMES && !info.truncated) {
        wrong = "cut, and not said";
    }
    sound_file_close(file);
    return wrong;
}

static size_t change(fm_random *dice, size_t n)
{
    memcpy(changed, whole, n);
    const int times = 1 + (int)(fm_random_next(dice) % 4);
    for (int i = 0; i < times && n > 64; i++) {
        /* Half of all in the first bytes, where the headers are. */
        const size_t reach = fm_random_uniform(dice) < 0.5 ? 128 : n;
        const size_t at = (size_t)(fm_random_next(dice) % (reach < n ? reach : n));
        const size_t left = n - at;
        size_t run = 1 + (size_t)(fm_random_next(dice) % 64);
        run = run < left ? run : left;
        switch (fm_random_next(dice) % 6) {
        case 0:
            changed[at] = (unsigned char)(changed[at] ^ 1U << fm_random_next(dice) % 8);
            break;
        case 1:
            memset(changed + at, 0, run);
            break;
        case 2:
            memset(changed + at, 0xff, run);
            break;
        case 3: /* left out */
            memmove(changed + at, changed + at + run, left - run);
            n -= run;
            break;
        case 4: /* doubled */
            if (n + run <= sizeof changed) {
                memmove(changed + at + run, changed + at, left);
                n += run;
            }
            break;
        default: /* moved from elsewhere */
            memmove(changed + at, changed + fm_random_next(dice) % (n - run + 1), run);
            break;
        }
    }
    return n;
}

/* In a child: status 0, or 1 with a line. */
static void damage(const char *name, int format, int channels)
{
    fm_random dice = fm_random_init(21, (uint64_t)format);
    const size_t n = write_whole(format, channels);
    if (n == 0) {
        _exit(0);
    }
    (void)alarm(TOO_LONG_S);
    const int said = dup(STDERR_FILENO);
    if (said < 0 || freopen("/dev/null", "w", stdout) == NULL ||
        freopen("/dev/null", "w", stderr) == NULL) { /* some decoders talk */
        _exit(2);
    }
    const char *wrong = read_it(false);
    for (size_t i = 1; wrong == NULL && i <= CUTS; i++) {
        put(whole, n * i / (CUTS + 1));
        wrong = read_it(is_promised(format));
    }
    for (int i = 0; wrong == NULL && i < CHANGES; i++) {
        put(changed, change(&dice, n));
        wrong = read_it(false);
    }
    if (wrong != NULL) {
        (void)dprintf(said, "%s, %d channels: %s\n", name, channels, wrong);
        _exit(1);
    }
    _exit(0);
}

static int try_format(const char *name, int format, int channels)
{
    const pid_t child = fork();
    assert_true(child >= 0);
    if (child == 0) {
        damage(name, format, channels);
    }
    int status = 0;
    assert_int_equal(waitpid(child, &status, 0), child);
    if (WIFSIGNALED(status)) {
        print_message("%s, %d channels: signal %d\n", name, channels, WTERMSIG(status));
    }
    return status != 0;
}

static void damaged_files_of_every_format(void **state)
{
    (void)state;
    int n_formats = 0;
    int n_kinds = 0;
    int failures = 0;
    int n_tried = 0;
    assert_non_null(mkdtemp(folder));
    (void)snprintf(path, sizeof path, "%s/sound", folder);
    (void)sf_command(NULL, SFC_GET_FORMAT_MAJOR_COUNT, &n_formats, sizeof n_formats);
    (void)sf_command(NULL, SFC_GET_FORMAT_SUBTYPE_COUNT, &n_kinds, sizeof n_kinds);
    for (int m = 0; m < n_formats; m++) {
        SF_FORMAT_INFO major = {.format = m};
        (void)sf_command(NULL, SFC_GET_FORMAT_MAJOR, &major, sizeof major);
        for (int k = 0; k < n_kinds; k++) {
            SF_FORMAT_INFO kind = {.format = k};
            char name[128];
            (void)sf_command(NULL, SFC_GET_FORMAT_SUBTYPE, &kind, sizeof kind);
            const SF_INFO fits = {.samplerate = RATE_HZ,
                                  .channels = 1 + k % 2,
                                  .format = (major.format & SF_FORMAT_TYPEMASK) |
                                            (kind.format & SF_FORMAT_SUBMASK)};
            if (sf_format_check(&fits) != 0) {
                (void)snprintf(name, sizeof name, "%.60s, %.60s", major.name,
                               kind.name);
                failures += try_format(name, fits.format, fits.channels);
                n_tried++;
            }
        }
    }
    (void)unlink(path);
    (void)rmdir(folder);
    print_message("%d formats, each damaged in %d ways\n", n_tried, CUTS + CHANGES);
    assert_true(n_tried >= 40);
    assert_int_equal(failures, 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(damaged_files_of_every_format),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
