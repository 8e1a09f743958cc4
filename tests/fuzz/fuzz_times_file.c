/*
 * Any bytes as a file of taps or intervals: no crash, and what is accepted keeps the
 * promises of times_file.h.
 */
#include "src/document/times_file.h"

#include <math.h>
#include <stdint.h>
#include <stdlib.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static void check(const char *bytes, size_t n, times_kind kind)
{
    times t = TIMES_NONE;
    app_err err = APP_ERR_NONE;
    if (!times_parse("input", bytes, n, kind, &t, &err)) {
        if (err.text[0] == '\0' || t.s != NULL || t.n != 0) {
            abort();
        }
        return;
    }
    for (size_t i = 0; i < t.n; i++) {
        const bool in_order = kind == TIMES_INTERVALS || i == 0 || t.s[i] >= t.s[i - 1];
        const bool in_range = kind == TIMES_INTERVALS ? t.s[i] > 0.0 : t.s[i] >= 0.0;
        if (!isfinite(t.s[i]) || !in_order || !in_range) {
            abort();
        }
    }
    times_free(&t);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    check((const char *)data, size, TIMES_TAPS);
    check((const char *)data, size, TIMES_INTERVALS);
    return 0;
}
