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
    err->about = HINT_NONE;
    err->advice = HINT_NONE;
    return false;
}

/* What of the text is between its hints, between others. */
static void put_between(
    app_err *err, size_t skip, size_t n, const char *before, const char *after)
{
    char text[APP_ERR_TEXT_BYTES];
    const int needed = snprintf(text, sizeof text, "%s%.*s%s", before, (int)n,
                                err->text + skip, after);
    if (needed >= (int)sizeof text) {
        cut_at_character(text, sizeof text - 1);
    }
    memcpy(err->text, text, sizeof text);
}

bool app_err_hint(app_err *err, hint_kind about, hint_kind advice)
{
    if (err != NULL) {
        put_between(err, 0, strlen(err->text), hint_say(NULL, about),
                    hint_say(NULL, advice));
        err->about = about;
        err->advice = advice;
    }
    return false;
}

void app_err_word(app_err *err, const char *const words[HINT_COUNT])
{
    const size_t n = strlen(err->text);
    const size_t first = strlen(hint_say(NULL, err->about));
    const size_t last = strlen(hint_say(NULL, err->advice));
    if (words != NULL && n >= first + last) {
        put_between(err, first, n - first - last, words[err->about],
                    words[err->advice]);
        err->about = HINT_NONE;
        err->advice = HINT_NONE;
    }
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
