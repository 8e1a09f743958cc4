#include "src/base/read_whole.h"

#include "src/base/interrupt.h"

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
        const int failed = errno;
        return interrupt_check(err) &&
               app_err_set(err, APP_UNREADABLE, "cannot open %s: %s; check the name",
                           path, app_err_cause(failed, cause));
    }
    size_t n = 0;
    errno = 0;
    while (out->n <= most && (n = fread(block, 1, sizeof block, file)) > 0) {
        bytes_add(out, block, n);
    }
    const int failed = ferror(file) == 0 ? 0 : errno != 0 ? errno : EIO;
    if (file != stdin) {
        (void)fclose(file);
    }
    bytes_add(out, "", 0);
    if (failed != 0) { /* a wait that was stopped is no bad file */
        return interrupt_check(err) &&
               app_err_set(err, APP_UNREADABLE, "cannot read %s: %s", path,
                           app_err_cause(failed, cause));
    }
    if (out->failed) {
        return app_err_memory(err);
    }
    return out->n <= most ||
           app_err_set(err, APP_UNREADABLE,
                       "%s is longer than the %zu bytes it may have", path, most);
}
