#include "src/sound/sound_bytes.h"

#include <errno.h>
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
