#include "src/sound/sound_out.h"

#include <errno.h>
#include <math.h>
#include <stdbool.h>
#include <sys/stat.h>
#include <unistd.h>

static sf_count_t out_length(void *context)
{
    const sound_out *const o = context;
    struct stat is;
    return fstat(o->fd, &is) == 0 ? is.st_size : -1;
}

static sf_count_t out_seek(sf_count_t offset, int whence, void *context)
{
    sound_out *const o = context;
    const int64_t from = whence == SEEK_CUR   ? o->at
                         : whence == SEEK_END ? out_length(context)
                                              : 0;
    if (offset < -from) {
        return -1;
    }
    o->at = from + offset;
    return o->at;
}

static sf_count_t out_read(void *out, sf_count_t n, void *context)
{
    sound_out *const o = context;
    const ssize_t got = pread(o->fd, out, (size_t)n, (off_t)o->at);
    o->at += got > 0 ? got : 0;
    return got > 0 ? got : 0;
}

static sf_count_t out_write(const void *in, sf_count_t n, void *context)
{
    sound_out *const o = context;
    sf_count_t done = 0;
    while (done < n) {
        const ssize_t took = pwrite(o->fd, (const char *)in + done, (size_t)(n - done),
                                    (off_t)(o->at + done));
        if (took > 0) {
            done += took;
        } else if (took == 0 || errno != EINTR) {
            const int why = took == 0 ? EIO : errno; /* 0 sets no errno */
            o->error = o->error != 0 ? o->error : why;
            break;
        }
    }
    o->at += done;
    return done;
}

static sf_count_t out_tell(void *context)
{
    return ((const sound_out *)context)->at;
}

SNDFILE *sound_out_open(sound_out *o, int fd, SF_INFO *info)
{
    SF_VIRTUAL_IO io = {out_length, out_seek, out_read, out_write, out_tell};
    *o = (sound_out){.fd = fd};
    SNDFILE *const file = sf_open_virtual(&io, SFM_WRITE, info, o);
    if (file != NULL && o->error != 0) {
        (void)sf_close(file);
        return NULL;
    }
    return file;
}

int sound_out_close(sound_out *o, SNDFILE *file)
{
    const bool closed = sf_close(file) == 0;
    return o->error != 0 ? o->error : closed ? 0 : -1;
}

short sound_out_sample(float x)
{
    const float whole = nearbyintf(x * SOUND_OUT_FULL_SCALE);
    return isnan(whole) ? 0
                        : (short)fmaxf(-SOUND_OUT_FULL_SCALE,
                                       fminf(SOUND_OUT_FULL_SCALE - 1.0F, whole));
}

bool sound_out_failed(const char *path, int error, const char *words, app_err *err)
{
    return app_err_set(err, APP_FAILED,
                       "cannot write %s: %s; make room or choose another place", path,
                       error > 0 ? APP_CAUSE(error) : words);
}
