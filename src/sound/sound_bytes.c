#include "src/sound/sound_bytes.h"

#include <errno.h>
#include <sys/stat.h>
#include <unistd.h>

size_t sound_bytes_read(sound_bytes *b, void *out, size_t n, int64_t at)
{
    size_t done = 0;
    while (done < n) {
        const ssize_t got =
            pread(b->fd, (char *)out + done, n - done, (off_t)at + (off_t)done);
        if (got > 0) {
            done += (size_t)got;
        } else if (got == 0) {
            break;
        } else if (errno != EINTR) {
            b->error = b->error != 0 ? b->error : errno;
            break;
        }
    }
    return done;
}

/* ---- What libsndfile calls ---- */

static sf_count_t length(void *context)
{
    const sound_bytes *const b = context;
    struct stat is;
    return b->n >= 0 ? b->n : fstat(b->fd, &is) == 0 ? is.st_size : -1;
}

static sf_count_t seek(sf_count_t offset, int whence, void *context)
{
    sound_bytes *const b = context;
    const int64_t from = whence == SEEK_CUR   ? b->at
                         : whence == SEEK_END ? length(context)
                                              : 0;
    if (offset < -from) {
        return -1;
    }
    b->at = from + offset;
    return b->at;
}

static sf_count_t read_on(void *out, sf_count_t n, void *context)
{
    sound_bytes *const b = context;
    const size_t got = sound_bytes_read(b, out, (size_t)n, b->at);
    b->at += (int64_t)got;
    return (sf_count_t)got;
}

static sf_count_t write_on(const void *in, sf_count_t n, void *context)
{
    sound_bytes *const b = context;
    sf_count_t done = 0;
    while (done < n) {
        const ssize_t took = pwrite(b->fd, (const char *)in + done, (size_t)(n - done),
                                    (off_t)(b->at + done));
        if (took > 0) {
            done += took;
        } else if (took == 0 || errno != EINTR) {
            const int why = took == 0 ? EIO : errno; /* 0 sets no errno */
            b->error = b->error != 0 ? b->error : why;
            break;
        }
    }
    b->at += done;
    return done;
}

static sf_count_t tell(void *context)
{
    return ((const sound_bytes *)context)->at;
}

SNDFILE *sound_bytes_open(sound_bytes *b, int mode, SF_INFO *info)
{
    SF_VIRTUAL_IO io = {length, seek, read_on, write_on, tell};
    b->at = 0;
    return sf_open_virtual(&io, mode, info, b);
}
