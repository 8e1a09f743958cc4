/*
 * Any bytes as beats in words: no crash, and what is accepted keeps the promises of
 * compose_rhythm_file.h.
 */
#include "src/document/rhythm_file.h"

#include <stdint.h>
#include <stdlib.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    times t = TIMES_NONE;
    app_err err = APP_ERR_NONE;
    if (!rhythm_file_parse("input", (const char *)data, size, &t, &err)) {
        if (err.text[0] == '\0' || t.s != NULL || t.n != 0) {
            abort();
        }
        return 0;
    }
    if (t.n == 0 || t.n > RHYTHM_FILE_INTERVALS_MAX) {
        abort();
    }
    for (size_t i = 0; i < t.n; i++) {
        if (!(t.s[i] >= 0.2 && t.s[i] <= 5.0)) {
            abort();
        }
    }
    times_free(&t);
    return 0;
}
