/**
 * @file digest.h
 * What a file's bytes come to: BLAKE2b (RFC 7693) of 256 bits, by libsodium.
 */
#ifndef PORT_DIGEST_H
#define PORT_DIGEST_H

#include "src/base/error.h"

#include <stddef.h>

enum {
    DIGEST_BYTES = 32,
    DIGEST_TEXT_BYTES = 2 * DIGEST_BYTES + 1
};

/** One digest. Plain value; compare with memcmp. */
typedef struct digest {
    unsigned char byte[DIGEST_BYTES];
} digest;

/** A digest in the making. Opaque; see digest_finish. */
typedef struct digest_stream digest_stream;

/** @return the stream, ended by digest_finish; NULL without memory */
digest_stream *digest_start(void);

/** Take in in[0..n-1]; a NULL stream is passed over. */
void digest_push(digest_stream *stream, const void *in, size_t n);

/** The digest of what was taken in; frees the stream. A NULL stream gives zeros. */
digest digest_finish(digest_stream *stream);

/** Called now and then during long work, so that it is not taken for a hang. */
typedef void (*digest_alive)(void *context);

/**
 * The digest of a file. A pipe without a writer is not waited for.
 *
 * @param alive  may be NULL
 * @return 0; else an errno, out untouched
 */
int digest_of_path(const char *path, digest_alive alive, void *context, digest *out);

/** Hexadecimal digits, small. Returns out. */
const char *digest_format(const digest *d, char out[DIGEST_TEXT_BYTES]);

#endif
