#include "src/base/error.h"

#include <ctype.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

/* A cut must not leave half a UTF-8 character: step back over its bytes. */
static void cut_at_character(char *text, size_t length)
{
    size_t end = length;
    while (end > 0 && ((unsigned char)text[end - 1] & 0xC0U) == 0x80U) {
        end--;
    }
    if (end > 0 && (unsigned char)text[end - 1] >= 0xC0U) {
        end--;
    }
    text[end] = '\0';
}

bool app_err_set(app_err *err, app_code code, const char *format, ...)
{
    if (err == NULL) {
        return false;
    }
    va_list args;
    va_start(args, format);
    const int needed = vsnprintf(err->text, sizeof err->text, format, args);
    va_end(args);
    if (needed >= (int)sizeof err->text) {
        cut_at_character(err->text, sizeof err->text - 1);
    }
    err->code = (int)code;
    return false;
}

bool app_err_memory(app_err *err)
{
    return app_err_set(err, APP_FAILED, "out of memory; close other programs");
}

const char *app_err_cause(int error_number, char out[APP_CAUSE_BYTES])
{
    if (strerror_r(error_number, out, APP_CAUSE_BYTES) != 0) {
        (void)snprintf(out, APP_CAUSE_BYTES, "system error %d", error_number);
    }
    out[0] = (char)tolower((unsigned char)out[0]);
    return out;
}
