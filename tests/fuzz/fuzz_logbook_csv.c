/*
 * Any bytes as a file of logbook rows: no crash, and what is accepted can be shown and
 * taken back.
 */
#include "src/document/entry_csv.h"

#include <stdint.h>
#include <stdlib.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static bool take(void *context, entry *e, app_err *err)
{
    char shown[ENTRY_SHOWN_BYTES];
    (void)context;
    (void)err;
    for (size_t i = 0; i < entry_n_fields(); i++) {
        entry again = *e;
        if (!entry_set(&again, &ENTRY_FIELD[i],
                       entry_show(e, &ENTRY_FIELD[i], shown))) {
            abort();
        }
    }
    return true;
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    app_err err = APP_ERR_NONE;
    char *const text = malloc(size + 1);
    if (text == NULL) {
        return 0;
    }
    memcpy(text, data, size);
    text[size] = '\0';
    if (!entry_csv_read("input", text, size, take, NULL, &err) && err.text[0] == '\0') {
        abort();
    }
    free(text);
    return 0;
}
