#include "src/base/text.h"

#include <errno.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

enum {
    FAR_TEXT = 32
};

static const char *skip_digits(const char *at)
{
    return at + strspn(at, "0123456789");
}

/* True when the text is a decimal number and nothing else. */
static bool is_decimal(const char *text)
{
    const char *at = text + (*text == '+' || *text == '-');
    const char *const whole = at;
    at = skip_digits(at);
    size_t digits = (size_t)(at - whole);
    if (*at == '.') {
        const char *const part = at + 1;
        at = skip_digits(part);
        digits += (size_t)(at - part);
    }
    if (digits == 0) {
        return false;
    }
    if (*at == 'e' || *at == 'E') {
        at += 1 + (at[1] == '+' || at[1] == '-');
        const char *const power = at;
        at = skip_digits(power);
        if (at == power) {
            return false;
        }
    }
    return *at == '\0';
}

bool text_to_double(const char *text, double *out)
{
    if (text == NULL || !is_decimal(text)) {
        return false;
    }
    const double value = strtod(text, NULL);
    if (!isfinite(value)) {
        return false;
    }
    *out = value;
    return true;
}

bool text_to_long(const char *text, long *out)
{
    if (text == NULL) {
        return false;
    }
    const char *const digits = text + (*text == '+' || *text == '-');
    if (*digits == '\0' || *skip_digits(digits) != '\0') {
        return false;
    }
    errno = 0;
    const long value = strtol(text, NULL, 10);
    if (errno != 0) {
        return false;
    }
    *out = value;
    return true;
}

static size_t least(size_t a, size_t b)
{
    return a < b ? a : b;
}

/* Optimal string alignment distance, three rows at a time. */
size_t text_distance(const char *a, const char *b)
{
    const size_t n = strlen(a);
    const size_t m = strlen(b);
    if (n > FAR_TEXT || m > FAR_TEXT) {
        return strcmp(a, b) == 0 ? 0 : FAR_TEXT;
    }
    size_t before[FAR_TEXT + 1] = {0};
    size_t last[FAR_TEXT + 1];
    size_t now[FAR_TEXT + 1];
    for (size_t j = 0; j <= m; j++) {
        last[j] = j;
    }
    for (size_t i = 1; i <= n; i++) {
        now[0] = i;
        for (size_t j = 1; j <= m; j++) {
            const size_t change = last[j - 1] + (a[i - 1] != b[j - 1]);
            now[j] = least(least(now[j - 1], last[j]) + 1, change);
            if (i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1]) {
                now[j] = least(now[j], before[j - 2] + 1);
            }
        }
        memcpy(before, last, sizeof before);
        memcpy(last, now, sizeof last);
    }
    return last[m];
}

void text_nearest_offer(text_nearest *nearest, const char *candidate)
{
    /* Two slips, or one in a short word, are near enough to guess (tuned by eye). */
    const size_t reach = strlen(candidate) > 4 ? 2 : 1;
    const size_t distance = text_distance(nearest->typed, candidate);
    if (distance <= reach && (nearest->word == NULL || distance < nearest->distance)) {
        nearest->word = candidate;
        nearest->distance = distance;
    }
}

void text_print_clean(const char *text, FILE *to)
{
    for (const char *c = text; *c != '\0'; c++) {
        const unsigned char byte = (unsigned char)*c;
        (void)fputc(byte < 0x20U || byte == 0x7fU ? '?' : byte, to);
    }
}
