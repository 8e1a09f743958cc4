#include "src/port/recording.h"

#include "src/port/file.h"
#include "src/sound/sound_out.h"

#include <errno.h>
#include <fcntl.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

enum {
    BLOCK_SAMPLES = 4096
};

struct recording {
    int fd;
    SNDFILE *file;
    sound_bytes out;
    char *path;
    int rate_hz;
    int64_t samples;
    int64_t unsynced;
    short block[BLOCK_SAMPLES];
};

static void drop(recording *r)
{
    if (r != NULL) {
        if (r->fd >= 0) {
            (void)close(r->fd);
        }
        free(r->path);
        free(r);
    }
}

/* RF64 reserves the room for 64 bit lengths; while the file is short it is called WAV, in
   the extensible form, which libsndfile, SoX and SciPy read (Python's own wave module of
   3.11 does not). The header is written again after every write. */
static SNDFILE *open_sound(sound_bytes *out, int fd, int rate_hz)
{
    SF_INFO info = {.samplerate = rate_hz,
                    .channels = 1,
                    .format = SF_FORMAT_RF64 | SF_FORMAT_PCM_16};
    SNDFILE *const file = sound_out_open(out, fd, &info);
    if (file != NULL) {
        (void)sf_command(file, SFC_RF64_AUTO_DOWNGRADE, NULL, SF_TRUE);
        (void)sf_command(file, SFC_SET_UPDATE_HEADER_AUTO, NULL, SF_TRUE);
        sf_command(file, SFC_UPDATE_HEADER_NOW, NULL, 0);
    }
    return file;
}

recording *recording_create(const char *path, int rate_hz, app_err *err)
{
    if (rate_hz < 1000 || rate_hz > 192000) {
        (void)app_err_set(err, APP_USAGE, "%s: a rate of %d Hz cannot be recorded",
                          path, rate_hz);
        return NULL;
    }
    recording *const r = calloc(1, sizeof *r);
    if (r == NULL || (r->path = strdup(path)) == NULL) {
        free(r);
        (void)app_err_memory(err);
        return NULL;
    }
    r->rate_hz = rate_hz;
    r->fd = open(path, O_RDWR | O_CREAT | O_EXCL | O_CLOEXEC, S_IRUSR | S_IWUSR);
    if (r->fd < 0) {
        if (errno == EEXIST) {
            (void)app_err_set(err, APP_USAGE,
                              "%s exists already and is not overwritten; give another "
                              "name",
                              path);
        } else {
            (void)sound_out_failed(path, errno, "the write failed", err);
        }
        drop(r);
        return NULL;
    }
    errno = 0;
    r->file = open_sound(&r->out, r->fd, rate_hz);
    if (r->file == NULL || r->out.error != 0 || fsync(r->fd) != 0) {
        (void)sound_out_failed(path, errno, "the write failed", err);
        if (r->file != NULL) {
            (void)sf_close(r->file);
        }
        (void)unlink(path);
        drop(r);
        return NULL;
    }
    file_sync_folder(path);
    return r;
}

static bool write_block(recording *r, size_t n, app_err *err)
{
    errno = 0;
    const sf_count_t done = sf_write_short(r->file, r->block, (sf_count_t)n);
    r->samples += done > 0 ? done : 0;
    r->unsynced += done > 0 ? done : 0;
    if (done != (sf_count_t)n || r->out.error != 0) {
        errno = r->out.error;
        return sound_out_failed(r->path, errno, "the write failed", err);
    }
    if (r->unsynced >= r->rate_hz) {
        r->unsynced = 0;
        if (fdatasync(r->fd) != 0) {
            return sound_out_failed(r->path, errno, "the write failed", err);
        }
    }
    return true;
}

bool recording_write(
    recording *r, const float *in, size_t n, float *as_written, app_err *err)
{
    for (size_t at = 0; at < n;) {
        const size_t part = n - at < BLOCK_SAMPLES ? n - at : BLOCK_SAMPLES;
        for (size_t i = 0; i < part; i++) {
            r->block[i] = sound_out_sample(in != NULL ? in[at + i] : 0.0F);
        }
        if (!write_block(r, part, err)) {
            return false;
        }
        for (size_t i = 0; as_written != NULL && i < part; i++) {
            as_written[at + i] = (float)r->block[i] / SOUND_OUT_FULL_SCALE;
        }
        at += part;
    }
    return true;
}

int64_t recording_samples(const recording *r)
{
    return r->samples;
}

bool recording_close(recording *r, app_err *err)
{
    if (r == NULL) {
        return true;
    }
    errno = 0;
    const int error = sound_out_close(&r->out, r->file);
    const bool ok = fsync(r->fd) == 0 && error == 0;
    if (!ok) {
        errno = error > 0 ? error : errno;
        (void)sound_out_failed(r->path, errno, "the write failed", err);
    }
    drop(r);
    return ok;
}
