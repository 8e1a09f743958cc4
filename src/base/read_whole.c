#include "src/base/read_whole.h"

#include <errno.h>
#include <stdio.h>
#include <string.h>

enum {
    BLOCK_BYTES = 16384
};

bool read_whole(const char *path, size_t most, bytes *out, app_err *err)
{
    char block[BLOCK_BYTES];
    char cause[APP_CAUSE_BYTES];
    FILE *const file = strcmp(path, "-") == 0 ? stdin : fopen(path, "rb");
    if (file == NULL) {
        return app_err_set(err, APP_UNREADABLE, "cannot open %s: %s", path,
                           app_err_cause(errno, cause));
    }
    size_t n = 0;
    while (out->n <= most && (n = fread(block, 1, sizeof block, file)) > 0) {
        bytes_add(out, block, n);
    }
    const bool broken = ferror(file) != 0;
    if (file != stdin) {
        (void)fclose(file);
    }
    bytes_add(out, "", 1);
    if (out->failed) {
        return app_err_memory(err);
    }
    out->n--;
    if (broken) {
        return app_err_set(err, APP_UNREADABLE, "cannot read %s to its end", path);
    }
    return out->n <= most ||
           app_err_set(err, APP_UNREADABLE,
                       "%s is longer than the %zu bytes it may have", path, most);
}
