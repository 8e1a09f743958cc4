/*
 * Any bytes as a sound file: the reader opens or refuses them, reads, seeks and reads
 * again, and never crashes, hangs or reads outside its memory.
 *
 * libsndfile 1.2.0 leaks on some damaged Ogg files; run with -detect_leaks=0.
 */
#include "src/port/sound_file.h"

#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <unistd.h>

enum {
    BLOCK_SAMPLES = 4096,
    BLOCKS_MAX = 256
};

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static void read_blocks(sound_file *file)
{
    static float block[BLOCK_SAMPLES];
    const size_t n = BLOCK_SAMPLES / (size_t)sound_file_info(file).channels;
    size_t got = n;
    for (int i = 0; i < BLOCKS_MAX && got == n; i++) {
        got = sound_file_read(file, block, n);
    }
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    FILE *const bytes = tmpfile();
    if (bytes == NULL) {
        return 0;
    }
    char path[64];
    (void)fwrite(data, 1, size, bytes);
    (void)fflush(bytes);
    (void)snprintf(path, sizeof path, "/proc/self/fd/%d", fileno(bytes));
    app_err err = APP_ERR_NONE;
    sound_file *const file = sound_file_open(path, &err);
    if (file == NULL && err.text[0] == '\0') {
        abort(); /* a refusal without a word */
    }
    if (file != NULL) {
        read_blocks(file);
        if (sound_file_seek(file, 100, &err)) {
            read_blocks(file);
        }
        sound_file_close(file);
    }
    (void)fclose(bytes);
    return 0;
}
