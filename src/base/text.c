#include "src/base/text.h"

#include <errno.h>
#include <math.h>
#include <stdarg.h>
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

size_t text_utf8_character(const char *bytes, uint32_t *number)
{
    const unsigned char *const text = (const unsigned char *)bytes;
    static const uint32_t LEAST[] = {0, 0, 0x80, 0x800, 0x10000};
    const unsigned char first = text[0];
    const size_t n = first < 0x80U                      ? 1
                     : first >= 0xc2U && first <= 0xdfU ? 2
                     : (first & 0xf0U) == 0xe0U         ? 3
                     : first >= 0xf0U && first <= 0xf4U ? 4
                                                        : 0;
    if (n == 0) {
        return 0;
    }
    uint32_t value = n == 1 ? first : first & (0x7fU >> n);
    for (size_t i = 1; i < n; i++) {
        if ((text[i] & 0xc0U) != 0x80U) {
            return 0;
        }
        value = value << 6U | (text[i] & 0x3fU);
    }
    if (value < LEAST[n] || value > 0x10ffffU ||
        (value >= 0xd800U && value <= 0xdfffU)) {
        return 0;
    }
    *number = value;
    return n;
}

/* Moves the cursor, colours, hides or turns round what follows. Control characters of
 * both sets (ISO 6429), and Unicode's marks of direction and of no width. */
static bool is_control(uint32_t c)
{
    return c < 0x20U || (c >= 0x7fU && c < 0xa0U) || (c >= 0x200bU && c <= 0x200fU) ||
           (c >= 0x2028U && c <= 0x202eU) || (c >= 0x2060U && c <= 0x206fU) ||
           c == 0xfeffU;
}

void text_print_clean(const char *text, FILE *to)
{
    const char *at = text;
    while (*at != '\0') {
        uint32_t c = 0;
        const size_t n = text_utf8_character(at, &c);
        if (n == 0 || is_control(c)) {
            (void)fputc('?', to);
        } else {
            (void)fwrite(at, 1, n, to);
        }
        at += n == 0 ? 1 : n;
    }
}

void text_add(char *out, size_t bytes, const char *format, ...)
{
    const size_t n = strlen(out);
    va_list args;
    va_start(args, format);
    (void)vsnprintf(out + n, bytes - n, format, args);
    va_end(args);
}

size_t text_line(const char *text, size_t width)
{
    size_t fits = 0;
    for (size_t i = 0; i <= width; i++) {
        if (text[i] == '\0') {
            return i;
        }
        if (text[i] == ' ') {
            fits = i;
        }
    }
    return fits > 0 ? fits : strcspn(text, " ");
}

bool text_is_utf8(const char *text)
{
    const char *at = text;
    while (*at != '\0') {
        uint32_t c = 0;
        const size_t n = text_utf8_character(at, &c);
        if (n == 0) {
            return false;
        }
        at += n;
    }
    return true;
}

char *text_escape_name(const char *bytes)
{
    const bool plain = text_is_utf8(bytes);
    char *const out = malloc((plain ? 1 : 3) * strlen(bytes) + 1);
    if (out == NULL) {
        return NULL;
    }
    size_t used = 0;
    for (const char *c = bytes; *c != '\0'; c++) {
        const unsigned byte = (unsigned char)*c;
        if (!plain && (byte >= 0x80U || byte == '%')) {
            (void)snprintf(out + used, 4, "%%%02X", byte);
            used += 3;
        } else {
            out[used++] = *c;
        }
    }
    out[used] = '\0';
    return out;
}

char *text_join(const char *a, const char *b, const char *c)
{
    const size_t room = strlen(a) + strlen(b) + strlen(c) + 1;
    char *const out = malloc(room);
    if (out != NULL) {
        (void)snprintf(out, room, "%s%s%s", a, b, c);
    }
    return out;
}

bool text_is_printable(const char *text)
{
    for (const char *c = text; *c != '\0'; c++) {
        if ((unsigned char)*c < 0x20 || *c == 0x7f) {
            return false;
        }
    }
    return text_is_utf8(text);
}
