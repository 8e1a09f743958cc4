#include "src/picture/svg.h"

#include <math.h>
#include <string.h>

enum {
    LINE_BYTES = 256
};

#define BOLD_WIDER  1.2 /* DejaVu Sans Bold beside the plain one, the widest letters */
#define OTHER_WIDTH 100 /* a character not in the table, hundredths of the size */
#define LINE_HEIGHT                                                                    \
    1.35 /* baseline to baseline, in sizes (common practice, no source) */

/*
 * Advance of each printable ASCII character in hundredths of the size: DejaVu Sans 2.37
 * as measured through cairo 1.16 (cairo_text_extents at 1000 units). The widest of the
 * usual screen fonts, so a line that fits here fits everywhere.
 */
static const unsigned char ADVANCE[95] = {
    32,  40, 46, 84, 64, 95, 78, 28, 39, 39, 50, 84, 32, 36, 32, 34, /* space to / */
    64,  64, 64, 64, 64, 64, 64, 64, 64, 64, 34, 34, 84, 84, 84, 53, /* 0 to ? */
    100, 68, 69, 70, 77, 63, 58, 78, 75, 30, 30, 66, 56, 86, 75, 79, /* @ to O */
    60,  79, 70, 64, 61, 73, 68, 99, 68, 61, 68, 39, 34, 39, 84, 50, /* P to _ */
    50,  61, 64, 55, 64, 62, 35, 64, 63, 28, 28, 58, 28, 97, 63, 61, /* ` to o */
    64,  64, 41, 52, 39, 63, 59, 82, 59, 59, 52, 64, 34, 64, 84,     /* p to ~ */
};

static double width_of(const char *text, size_t n, double size)
{
    unsigned sum = 0;
    for (size_t i = 0; i < n; i++) {
        const unsigned char c = (unsigned char)text[i];
        if (c >= 32U && c < 127U) {
            sum += ADVANCE[c - 32U];
        } else if (c == 0xC2U && i + 1 < n && (unsigned char)text[i + 1] == 0xA0U) {
            sum += ADVANCE[0]; /* a space that does not break, U+00A0 */
        } else if ((c & 0xC0U) != 0x80U) {
            sum += OTHER_WIDTH; /* once for each UTF-8 character */
        }
    }
    return sum * size / 100.0;
}

double svg_text_width(const char *text, double size)
{
    return width_of(text, strlen(text), size);
}

void svg_text(svg *s, double x, double y, svg_type type, const char *text)
{
    if (!isfinite(x) || !isfinite(y) || text == NULL || text[0] == '\0') {
        return;
    }
    svg_put(s, "<text x=\"%s\" y=\"%s\" font-size=\"%s\" fill=\"%s\"%s%s>",
            SVG_NUMBER(x, 2), SVG_NUMBER(y, 2), SVG_NUMBER(type.size, 2), type.colour,
            type.anchor == SVG_MIDDLE ? " text-anchor=\"middle\""
            : type.anchor == SVG_END  ? " text-anchor=\"end\""
                                      : "",
            type.bold ? " font-weight=\"bold\"" : "");
    svg_escaped(s, text);
    svg_raw(s, "</text>\n");
}

/* Bytes of the longest start of text that fits width and ends before a space. */
static size_t fitting(const char *text, double width, svg_type type)
{
    const double room = type.bold ? width / BOLD_WIDER : width;
    size_t last = 0;
    for (size_t i = 0;; i++) {
        if (text[i] == ' ' || text[i] == '\0') {
            if (i >= LINE_BYTES || width_of(text, i, type.size) > room) {
                break;
            }
            last = i;
        }
        if (text[i] == '\0') {
            break;
        }
    }
    return last;
}

/* A word longer than a line is cut where it must be, between two characters. */
static size_t forced_cut(const char *text, double width, svg_type type)
{
    const double room = type.bold ? width / BOLD_WIDER : width;
    size_t n = 1;
    while (n < LINE_BYTES - 4 && text[n] != '\0' &&
           ((((unsigned char)text[n]) & 0xC0U) == 0x80U ||
            width_of(text, n + 1, type.size) <= room)) {
        n++;
    }
    return n;
}

double svg_text_block(
    svg *s, double x, double y, double width, svg_type type, const char *text)
{
    const char *p = text != NULL ? text : "";
    while (*p == ' ') {
        p++;
    }
    while (*p != '\0') {
        char line[LINE_BYTES];
        size_t n = fitting(p, width, type);
        if (n == 0) {
            n = forced_cut(p, width, type);
        }
        n = n < sizeof line ? n : sizeof line - 1;
        memcpy(line, p, n);
        line[n] = '\0';
        svg_text(s, x, y, type, line);
        y += type.size * LINE_HEIGHT;
        p += n;
        while (*p == ' ') {
            p++;
        }
    }
    return y;
}
