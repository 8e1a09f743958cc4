/*
 * Any bytes as what is said about a file of rows: no crash; what is accepted can be written
 * and read again, the same.
 */
#include "src/document/about.h"

#include <stdint.h>
#include <stdlib.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    about a;
    about again;
    app_err err = APP_ERR_NONE;
    if (!about_parse("input", (const char *)data, size, &a, &err)) {
        if (err.text[0] == '\0' || a.options != NULL) {
            abort();
        }
        return 0;
    }
    if (a.shard < 1 || a.shard > a.shards) {
        abort();
    }
    char *const text = about_format(&a);
    if (text == NULL || !about_parse("again", text, strlen(text), &again, &err) ||
        again.rows != a.rows || strcmp(again.rows_blake2b, a.rows_blake2b) != 0) {
        abort();
    }
    free(text);
    about_free(&again);
    about_free(&a);
    return 0;
}
