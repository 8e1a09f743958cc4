/*
 * Any bytes as a sitting document: no crash; what is accepted keeps the promises of
 * sitting_document.h and can be written and read again, the same.
 */
#include "src/document/sitting_document.h"

#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    sitting_document d;
    app_err err = APP_ERR_NONE;
    if (!sitting_document_parse("input", (const char *)data, size, &d, &err)) {
        if (err.text[0] == '\0' || d.windows != NULL) {
            abort();
        }
        return 0;
    }
    for (size_t i = 0; i < d.n_windows; i++) {
        if (!(d.windows[i].start_s >= 0.0 &&
              d.windows[i].end_s > d.windows[i].start_s)) {
            abort();
        }
    }
    for (size_t i = 1; i < d.n_taps; i++) {
        if (!(d.taps_s[i] >= d.taps_s[i - 1])) {
            abort();
        }
    }
    char *const text = sitting_document_format(&d);
    sitting_document_free(&d);
    /* A window under a millionth of a second may round to nothing. */
    if (text != NULL && sitting_document_parse("again", text, strlen(text), &d, &err)) {
        char *const twice = sitting_document_format(&d);
        if (twice == NULL || strcmp(text, twice) != 0) {
            abort();
        }
        free(twice);
        sitting_document_free(&d);
    }
    free(text);
    return 0;
}
