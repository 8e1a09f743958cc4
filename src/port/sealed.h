/**
 * @file sealed.h
 * Bytes sealed with a pass phrase, as a file "fullminute.key/1". Nothing of it is our own
 * cryptography: libsodium's Argon2id makes the key from the phrase, XChaCha20-Poly1305
 * seals the bytes and everything before them.
 *
 * Layout: "fullminute.key/1\n"; passes (8 bytes, little-endian, as is the next); memory in
 * bytes (8); salt (16); check (32); nonce (24); the sealed bytes and their tag. The check is
 * the BLAKE2b digest of a second half of what Argon2id gives: it tells a wrong phrase from a
 * changed file and says nothing of the key.
 */
#ifndef PORT_SEALED_H
#define PORT_SEALED_H

#include "src/base/bytes.h"
#include "src/base/error.h"

#include <stddef.h>

enum {
    SEALED_PHRASE_LEAST = 8 /**< bytes; a shorter phrase is guessed too soon */
};

/**
 * Seal in[0..n-1].
 *
 * @param phrase    at least SEALED_PHRASE_LEAST bytes
 * @param[out] out  the file's bytes, added; BYTES_NONE before
 * @return false with err APP_USAGE (phrase too short) or APP_FAILED (no memory: Argon2id
 *         takes a quarter of a gigabyte)
 */
bool sealed_make(
    const char *phrase, const void *in, size_t n, bytes *out, app_err *err);

/**
 * Open what sealed_make made.
 *
 * @param name      for errors
 * @param[out] out  what was sealed; a '\0' follows
 * @return false with err APP_UNREADABLE: no such file, the wrong phrase, changed or cut
 *         off; APP_FAILED
 */
bool sealed_open(const char *name,
                 const char *phrase,
                 const void *in,
                 size_t n,
                 bytes *out,
                 app_err *err);

/** Overwrite what was secret, before its memory is given back. */
void sealed_wipe(void *secret, size_t n);

#endif
