#include "src/port/sound_writer.h"

#include "src/sound/sound_out.h"

#include <sndfile.h>
#include <string.h>
#include <strings.h>
#include <unistd.h>

enum {
    BLOCK_SAMPLES = 16384
};

/* libsndfile's major format for a name; 0 when the name says none of ours. */
static int format_of(const char *path)
{
    const char *const dot = strrchr(file_base_name(path), '.');
    if (dot != NULL && strcasecmp(dot, ".wav") == 0) {
        return SF_FORMAT_WAV;
    }
    if (dot != NULL && strcasecmp(dot, ".flac") == 0) {
        return SF_FORMAT_FLAC;
    }
    return 0;
}

bool sound_writer_knows(const char *path, app_err *err)
{
    return format_of(path) != 0 ||
           app_err_set(err, APP_USAGE,
                       "%s: the name must end in .wav or .flac, which says the format",
                       path);
}

static size_t block_size(size_t left)
{
    return left < BLOCK_SAMPLES ? left : BLOCK_SAMPLES;
}

static bool write_all(SNDFILE *file, const float *samples, size_t n)
{
    short block[BLOCK_SAMPLES];
    size_t done = 0;
    while (done < n) {
        const size_t part = block_size(n - done);
        for (size_t i = 0; i < part; i++) {
            block[i] = sound_out_sample(samples[done + i]);
        }
        if (sf_write_short(file, block, (sf_count_t)part) != (sf_count_t)part) {
            return false;
        }
        done += part;
    }
    return true;
}

static bool write_file(
    int fd, const char *path, const float *samples, size_t n, int rate_hz, app_err *err)
{
    SF_INFO info = {.samplerate = rate_hz,
                    .channels = 1,
                    .format = format_of(path) | SF_FORMAT_PCM_16};
    sound_out out;
    SNDFILE *const file = sound_out_open(&out, fd, &info);
    if (file == NULL) {
        return sound_out_failed(path, out.error, sf_strerror(NULL), err);
    }
    const bool ok = write_all(file, samples, n);
    const int error = sound_out_close(&out, file);
    return (ok && error == 0) ||
           sound_out_failed(path, error, "not all of it could be written", err);
}

static bool same(SNDFILE *file, const float *samples, size_t n)
{
    short block[BLOCK_SAMPLES];
    size_t done = 0;
    while (done < n) {
        const size_t part = block_size(n - done);
        if (sf_read_short(file, block, (sf_count_t)part) != (sf_count_t)part) {
            return false;
        }
        for (size_t i = 0; i < part; i++) {
            if (block[i] != sound_out_sample(samples[done + i])) {
                return false;
            }
        }
        done += part;
    }
    return sf_read_short(file, block, 1) == 0;
}

/* A write that the disk did not take shows at the latest here. */
static bool read_back(
    int fd, const char *path, const float *samples, size_t n, app_err *err)
{
    SF_INFO info = {0};
    SNDFILE *file = NULL;
    if (lseek(fd, 0, SEEK_SET) == 0) {
        file = sf_open_fd(fd, SFM_READ, &info, SF_FALSE);
    }
    const bool ok = file != NULL && info.channels == 1 && same(file, samples, n);
    if (file != NULL) {
        (void)sf_close(file);
    }
    return ok || sound_out_failed(path, 0, "what was written does not read back", err);
}

bool sound_writer_fill(file_draft *draft,
                       const char *path,
                       const float *samples,
                       size_t n,
                       int rate_hz,
                       app_err *err)
{
    if (!sound_writer_knows(path, err)) {
        return false;
    }
    if (draft->temporary == NULL) {
        return app_err_set(err, APP_FAILED,
                           "cannot write %s: it is no ordinary file; give a file name",
                           path);
    }
    return write_file(draft->fd, path, samples, n, rate_hz, err) &&
           read_back(draft->fd, path, samples, n, err);
}
