#include "src/port/digest.h"

#include <errno.h>
#include <fcntl.h>
#include <sodium.h>
#include <stdlib.h>
#include <sys/types.h>
#include <unistd.h>

enum {
    BLOCK_BYTES = 1 << 16,
    BLOCKS_ALIVE = 256 /* 16 MiB: a slow disk gives so much in a few seconds */
};

struct digest_stream {
    crypto_generichash_state state;
};

digest_stream *digest_start(void)
{
    /* The state wants to lie on a boundary of 64 bytes. */
    const size_t boundary = _Alignof(digest_stream);
    const size_t size = (sizeof(digest_stream) + boundary - 1) / boundary * boundary;
    digest_stream *const stream = aligned_alloc(boundary, size);
    if (stream != NULL &&
        (sodium_init() < 0 ||
         crypto_generichash_init(&stream->state, NULL, 0, DIGEST_BYTES) != 0)) {
        free(stream);
        return NULL;
    }
    return stream;
}

void digest_push(digest_stream *stream, const void *in, size_t n)
{
    if (stream != NULL && n > 0) {
        (void)crypto_generichash_update(&stream->state, in, n);
    }
}

digest digest_finish(digest_stream *stream)
{
    digest out = {{0}};
    if (stream != NULL) {
        (void)crypto_generichash_final(&stream->state, out.byte, DIGEST_BYTES);
        free(stream);
    }
    return out;
}

int digest_of_path(const char *path, digest_alive alive, void *context, digest *out)
{
    static const size_t BLOCK = BLOCK_BYTES;
    /* What has become a pipe meanwhile must not hold us up. */
    const int fd = open(path, O_RDONLY | O_CLOEXEC | O_NONBLOCK | O_NOCTTY);
    if (fd < 0) {
        return errno;
    }
    digest_stream *const stream = digest_start();
    unsigned char *const block = malloc(BLOCK);
    int failed = stream != NULL && block != NULL ? 0 : ENOMEM;
    off_t at = 0;
    for (int blocks = 1; failed == 0; blocks++) {
        const ssize_t got = pread(fd, block, BLOCK, at);
        if (got == 0) {
            break;
        }
        if (got < 0) {
            failed = errno == EINTR ? 0 : errno;
            continue;
        }
        digest_push(stream, block, (size_t)got);
        at += got;
        if (alive != NULL && blocks % BLOCKS_ALIVE == 0) {
            alive(context);
        }
    }
    const digest found = digest_finish(stream);
    if (failed == 0) {
        *out = found;
    }
    free(block);
    (void)close(fd);
    return failed;
}

const char *digest_format(const digest *d, char out[DIGEST_TEXT_BYTES])
{
    return sodium_bin2hex(out, DIGEST_TEXT_BYTES, d->byte, DIGEST_BYTES);
}
