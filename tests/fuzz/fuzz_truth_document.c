/*
 * Any bytes as a truth document: no crash; what is accepted keeps the promises of
 * truth_document.h and can be written and read again.
 */
#include "src/document/truth_document.h"

#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static void check_times(const double *times_s, size_t n)
{
    for (size_t i = 0; i < n; i++) {
        const double before = i == 0 ? 0.0 : times_s[i - 1];
        if (!isfinite(times_s[i]) || !(times_s[i] >= before)) {
            abort();
        }
    }
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    truth_document d;
    app_err err = APP_ERR_NONE;
    if (!truth_document_parse("input", (const char *)data, size, &d, &err)) {
        if (err.text[0] == '\0' || d.truth.s1_s != NULL) {
            abort();
        }
        return 0;
    }
    check_times(d.truth.s1_s, d.truth.n_s1);
    check_times(d.truth.s2_s, d.truth.n_s2);
    check_times(d.truth.radial_s, d.truth.n_radial);
    for (size_t i = 0; i < d.truth.n_inaudible_s1; i++) {
        if (d.truth.inaudible_s1[i] >= d.truth.n_s1) {
            abort();
        }
    }
    char *const text = truth_document_format(&d);
    truth_document again;
    if (text == NULL ||
        !truth_document_parse("again", text, strlen(text), &again, &err)) {
        abort();
    }
    free(text);
    truth_document_free(&again);
    truth_document_free(&d);
    return 0;
}
