#include "src/usecase/sound_digest.h"

#include "src/port/interrupt.h"
#include "src/port/sound_file.h"

#include <math.h>
#include <stdlib.h>

enum {
    BLOCK_SAMPLES = 32768 /* of all channels together */
};

static const float FULL_SCALE = 32768.0F;

static void push(digest_stream *stream, const float *samples, size_t n)
{
    unsigned char bytes[2048];
    size_t used = 0;
    for (size_t i = 0; i < n; i++) {
        const float whole = nearbyintf(samples[i] * FULL_SCALE);
        const float held =
            isnan(whole) ? 0.0F : fmaxf(-FULL_SCALE, fminf(FULL_SCALE - 1.0F, whole));
        const unsigned value = (unsigned)((int)held + 65536);
        bytes[used++] = (unsigned char)(value & 0xffU);
        bytes[used++] = (unsigned char)(value >> 8U & 0xffU);
        if (used == sizeof bytes || i + 1 == n) {
            digest_push(stream, bytes, used);
            used = 0;
        }
    }
}

const char *sound_digest_of_samples(const float *samples,
                                    size_t n,
                                    char out[DIGEST_TEXT_BYTES])
{
    digest_stream *const stream = digest_start();
    out[0] = '\0';
    if (stream != NULL) {
        push(stream, samples, n);
        const digest d = digest_finish(stream);
        (void)digest_format(&d, out);
    }
    return out;
}

static bool read_all(sound_file *file, digest_stream *stream, app_err *err)
{
    const size_t channels = (size_t)sound_file_info(file).channels;
    const size_t n = BLOCK_SAMPLES / channels;
    float *const block = malloc(n * channels * sizeof *block);
    size_t got = n;
    bool ok = true;
    if (block == NULL || stream == NULL) {
        free(block);
        return app_err_memory(err);
    }
    while (ok && got == n) {
        got = sound_file_read(file, block, n);
        push(stream, block, got * channels);
        ok = interrupt_check(err) && sound_file_check(file, err);
    }
    free(block);
    return ok;
}

bool sound_digest_of_file(const char *path, char out[DIGEST_TEXT_BYTES], app_err *err)
{
    sound_file *const file = sound_file_open(path, err);
    digest_stream *const stream = file != NULL ? digest_start() : NULL;
    const bool ok = file != NULL && read_all(file, stream, err);
    const digest d = digest_finish(stream);
    sound_file_close(file);
    (void)digest_format(&d, out);
    return ok;
}
