#include "src/port/sealed.h"

#include <sodium.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

static const char MAGIC[] = "fullminute.key/1\n";
/* A file must not make this program take more than it would itself. */
static const uint64_t PASSES_MOST = 16;
static const uint64_t MEMORY_MOST = (uint64_t)1 << 30;

enum {
    MAGIC_BYTES = sizeof MAGIC - 1,
    NUMBER_BYTES = 8,
    CHECK_BYTES = 32,
    KEY_BYTES = crypto_aead_xchacha20poly1305_ietf_KEYBYTES,
    NONCE_BYTES = crypto_aead_xchacha20poly1305_ietf_NPUBBYTES,
    TAG_BYTES = crypto_aead_xchacha20poly1305_ietf_ABYTES,
    PASSES_AT = MAGIC_BYTES,
    MEMORY_AT = PASSES_AT + NUMBER_BYTES,
    SALT_AT = MEMORY_AT + NUMBER_BYTES,
    CHECK_AT = SALT_AT + crypto_pwhash_SALTBYTES,
    NONCE_AT = CHECK_AT + CHECK_BYTES,
    HEADER_BYTES = NONCE_AT + NONCE_BYTES
};

static void put_number(unsigned char *at, uint64_t value)
{
    for (int i = 0; i < NUMBER_BYTES; i++) {
        at[i] = (unsigned char)(value >> (8 * i));
    }
}

static uint64_t get_number(const unsigned char *at)
{
    uint64_t value = 0;
    for (int i = NUMBER_BYTES; i-- > 0;) {
        value = value << 8U | at[i];
    }
    return value;
}

/* From the phrase and the header's numbers and salt: the key, and the check. */
static bool derive(const char *phrase,
                   const unsigned char *header,
                   unsigned char key[KEY_BYTES],
                   unsigned char check[CHECK_BYTES],
                   app_err *err)
{
    unsigned char both[2 * KEY_BYTES];
    const bool ok = sodium_init() >= 0 &&
                    crypto_pwhash(both, sizeof both, phrase, strlen(phrase),
                                  header + SALT_AT, get_number(header + PASSES_AT),
                                  (size_t)get_number(header + MEMORY_AT),
                                  crypto_pwhash_ALG_ARGON2ID13) == 0 &&
                    crypto_generichash(check, CHECK_BYTES, both + KEY_BYTES, KEY_BYTES,
                                       NULL, 0) == 0;
    if (ok) {
        memcpy(key, both, KEY_BYTES);
    }
    sodium_memzero(both, sizeof both);
    return ok ||
           app_err_set(err, APP_FAILED,
                       "out of memory: sealing takes a quarter of a gigabyte; close "
                       "other programs");
}

bool sealed_make(const char *phrase, const void *in, size_t n, bytes *out, app_err *err)
{
    unsigned char header[HEADER_BYTES];
    unsigned char key[KEY_BYTES];
    unsigned long long n_sealed = 0;
    if (strlen(phrase) < SEALED_PHRASE_LEAST) {
        return app_err_set(
            err, APP_USAGE,
            "the pass phrase is too short: at least %d characters, better "
            "four words",
            SEALED_PHRASE_LEAST);
    }
    memcpy(header, MAGIC, MAGIC_BYTES);
    put_number(header + PASSES_AT, crypto_pwhash_OPSLIMIT_MODERATE);
    put_number(header + MEMORY_AT, crypto_pwhash_MEMLIMIT_MODERATE);
    if (sodium_init() < 0) {
        return app_err_set(err, APP_FAILED, "no source of randomness here");
    }
    randombytes_buf(header + SALT_AT, crypto_pwhash_SALTBYTES);
    randombytes_buf(header + NONCE_AT, NONCE_BYTES);
    unsigned char *const sealed = malloc(n + TAG_BYTES);
    if (sealed == NULL) {
        return app_err_memory(err);
    }
    bool ok = derive(phrase, header, key, header + CHECK_AT, err);
    if (ok) {
        (void)crypto_aead_xchacha20poly1305_ietf_encrypt(sealed, &n_sealed, in, n,
                                                         header, sizeof header, NULL,
                                                         header + NONCE_AT, key);
        bytes_add(out, header, sizeof header);
        bytes_add(out, sealed, (size_t)n_sealed);
        ok = !out->failed || app_err_memory(err);
    }
    sodium_memzero(key, sizeof key);
    free(sealed);
    return ok;
}

static bool check_header(const char *name,
                         const unsigned char *in,
                         size_t n,
                         app_err *err)
{
    if (n < MAGIC_BYTES || memcmp(in, MAGIC, MAGIC_BYTES) != 0) {
        return app_err_set(err, APP_UNREADABLE, "%s is no key of a worksheet", name);
    }
    if (n < HEADER_BYTES + TAG_BYTES) {
        return app_err_set(err, APP_UNREADABLE, "%s is cut off", name);
    }
    const uint64_t passes = get_number(in + PASSES_AT);
    const uint64_t memory = get_number(in + MEMORY_AT);
    if (passes < crypto_pwhash_OPSLIMIT_MIN || passes > PASSES_MOST ||
        memory < crypto_pwhash_MEMLIMIT_MIN || memory > MEMORY_MOST) {
        return app_err_set(err, APP_UNREADABLE, "%s has been changed; it is not used",
                           name);
    }
    return true;
}

bool sealed_open(const char *name,
                 const char *phrase,
                 const void *in,
                 size_t n,
                 bytes *out,
                 app_err *err)
{
    const unsigned char *const file = in;
    unsigned char key[KEY_BYTES];
    unsigned char check[CHECK_BYTES];
    unsigned long long n_open = 0;
    if (!check_header(name, file, n, err) || !derive(phrase, file, key, check, err)) {
        return false;
    }
    const bool right = sodium_memcmp(check, file + CHECK_AT, CHECK_BYTES) == 0;
    unsigned char *const open = malloc(n);
    bool ok = open != NULL || app_err_memory(err);
    if (ok && !right) {
        ok = app_err_set(err, APP_UNREADABLE, "the pass phrase is not the one of %s",
                         name);
    }
    if (ok && crypto_aead_xchacha20poly1305_ietf_decrypt(
                  open, &n_open, NULL, file + HEADER_BYTES, n - HEADER_BYTES, file,
                  HEADER_BYTES, file + NONCE_AT, key) != 0) {
        ok = app_err_set(err, APP_UNREADABLE, "%s has been changed; it is not used",
                         name);
    }
    if (ok) {
        bytes_add(out, open, (size_t)n_open);
        bytes_add(out, "", 1);
        ok = !out->failed || app_err_memory(err);
        out->n -= ok ? 1 : 0;
    }
    sodium_memzero(key, sizeof key);
    if (open != NULL) {
        sodium_memzero(open, n);
    }
    free(open);
    return ok;
}

void sealed_wipe(void *secret, size_t n)
{
    sodium_memzero(secret, n);
}
