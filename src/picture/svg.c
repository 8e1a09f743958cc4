#include "src/picture/svg.h"

#include "dsp/constants.h"
#include "src/base/text.h"

#include <math.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define COORD_DECIMALS 2      /* 0.01 unit is 0.003 mm on A4 */
#define NUMBER_MAX     1e9    /* keeps v * 10^6 inside 64 bits */
#define PX_PER_UNIT    1.5    /* shown at most so large */
#define PAGE_PX        1020.0 /* 270 mm at 96 px an inch: an A4 page with its margins */
#define HATCH_STEP     5.0    /* between strokes: still open when printed 90 mm wide */

char *svg_take(svg *s, size_t *n_bytes)
{
    s->in_path = false;
    return bytes_take(&s->text, n_bytes);
}

void svg_raw(svg *s, const char *text)
{
    bytes_add_text(&s->text, text);
}

void svg_escaped(svg *s, const char *text)
{
    static const char replacement[] = "\xEF\xBF\xBD";
    const unsigned char *p = (const unsigned char *)(text != NULL ? text : "");
    while (*p != 0) {
        uint32_t c = 0;
        size_t n = text_utf8_character((const char *)p, &c);
        if (c == 0xFFFEU || c == 0xFFFFU) {
            n = 0; /* no XML characters */
        }
        if (n == 0 || c < 0x20U || c == 0x7FU) {
            svg_raw(s, replacement);
        } else if (*p == '&') {
            svg_raw(s, "&amp;");
        } else if (*p == '<') {
            svg_raw(s, "&lt;");
        } else if (*p == '>') {
            svg_raw(s, "&gt;");
        } else if (*p == '"') {
            svg_raw(s, "&quot;");
        } else {
            bytes_add(&s->text, (const char *)p, n);
        }
        p += n == 0 ? 1 : n;
    }
}

const char *svg_number_text(char out[SVG_NUMBER_BYTES], double v, int decimals)
{
    if (!isfinite(v) || fabs(v) >= NUMBER_MAX) {
        return strcpy(out, "?");
    }
    char digits[SVG_NUMBER_BYTES];
    size_t start = sizeof digits;
    digits[--start] = '\0';
    int64_t scale = 1;
    for (int i = 0; i < decimals && i < 6; i++) {
        scale *= 10;
    }
    const int64_t whole = llround(v * (double)scale);
    int64_t rest = whole < 0 ? -whole : whole;
    bool written = false;
    for (int64_t step = scale; step > 1; step /= 10) {
        const int digit = (int)(rest % 10);
        rest /= 10;
        if (digit != 0 || written) {
            digits[--start] = (char)('0' + digit);
            written = true;
        }
    }
    if (written) {
        digits[--start] = '.';
    }
    do {
        digits[--start] = (char)('0' + (int)(rest % 10));
        rest /= 10;
    } while (rest > 0);
    if (whole < 0) {
        digits[--start] = '-';
    }
    return memcpy(out, digits + start, sizeof digits - start);
}

#define AT(v) SVG_NUMBER(v, COORD_DECIMALS)

void svg_put(svg *s, const char *format, ...)
{
    char text[SVG_PUT_BYTES];
    va_list args;
    va_start(args, format);
    (void)vsnprintf(text, sizeof text, format, args);
    va_end(args);
    svg_raw(s, text);
}

void svg_element(svg *s, const char *name, const char *text)
{
    svg_put(s, "<%s>", name);
    svg_escaped(s, text);
    svg_put(s, "</%s>\n", name);
}

void svg_begin(svg *s, double width, double height, const char *title, const char *desc)
{
    const double scale = fmin(PX_PER_UNIT, PAGE_PX / height);
    svg_put(s,
            "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"%s\" height=\"%s\" "
            "viewBox=\"0 0 %s %s\" style=\"max-width:100%%;height:auto\" "
            "font-family=\"" SVG_FONT "\" role=\"img\" aria-label=\"",
            AT(width * scale), AT(height * scale), AT(width), AT(height));
    svg_escaped(s, title);
    svg_raw(s, "\">\n");
    svg_element(s, "title", title);
    svg_element(s, "desc", desc);
    svg_rect(s, 0, 0, width, height, "#ffffff");
}

void svg_end(svg *s)
{
    svg_raw(s, "</svg>\n");
}

char *svg_whole(svg *body,
                double width,
                double height,
                const char *title,
                const char *desc,
                size_t *n_bytes)
{
    svg whole = {0};
    char *const inner = svg_take(body, NULL);
    if (inner == NULL || desc == NULL) {
        free(inner);
        return NULL;
    }
    svg_begin(&whole, width, height, title, desc);
    svg_raw(&whole, inner);
    svg_end(&whole);
    free(inner);
    return svg_take(&whole, n_bytes);
}

void svg_group(svg *s, double x, double y, const char *title)
{
    svg_put(s, "<g transform=\"translate(%s %s)\">\n", AT(x), AT(y));
    if (title != NULL) {
        svg_element(s, "title", title);
    }
}

void svg_group_end(svg *s)
{
    svg_raw(s, "</g>\n");
}

void svg_path(svg *s)
{
    s->in_path = false;
}

/* A path is opened by its first point, so that an empty one leaves nothing. */
static void path_point(svg *s, char command, double x, double y)
{
    if (!s->in_path) {
        svg_raw(s, "<path d=\"");
        s->in_path = true;
    }
    svg_put(s, "%c%s %s", command, AT(x), AT(y));
}

static void stroke_attributes(svg *s, svg_stroke stroke)
{
    svg_put(s, " stroke=\"%s\" stroke-width=\"%s\"", stroke.colour, AT(stroke.width));
    if (stroke.dash != NULL) {
        svg_put(s, " stroke-dasharray=\"%s\"", stroke.dash);
    }
}

void svg_path_end(svg *s, svg_stroke stroke)
{
    if (s->in_path) {
        svg_raw(s, "\" fill=\"none\"");
        stroke_attributes(s, stroke);
        svg_raw(s, "/>\n");
    }
    s->in_path = false;
}

void svg_path_fill(svg *s, const char *colour)
{
    if (s->in_path) {
        svg_put(s, "\" fill=\"%s\"/>\n", colour);
    }
    s->in_path = false;
}

void svg_segment(svg *s, double x1, double y1, double x2, double y2)
{
    if (isfinite(x1) && isfinite(y1) && isfinite(x2) && isfinite(y2)) {
        path_point(s, 'M', x1, y1);
        path_point(s, 'L', x2, y2);
    }
}

void svg_line(svg *s, double x1, double y1, double x2, double y2, svg_stroke stroke)
{
    svg_path(s);
    svg_segment(s, x1, y1, x2, y2);
    svg_path_end(s, stroke);
}

void svg_move(svg *s, double x, double y)
{
    if (isfinite(x) && isfinite(y)) {
        path_point(s, 'M', x, y);
    }
}

void svg_draw(svg *s, double x, double y)
{
    if (isfinite(x) && isfinite(y)) {
        path_point(s, s->in_path ? 'L' : 'M', x, y);
    }
}

void svg_close(svg *s)
{
    if (s->in_path) {
        svg_raw(s, "Z");
    }
}

void svg_outline(svg *s, const svg_point *corners, size_t n)
{
    bool known = true;
    for (size_t i = 0; i < n; i++) {
        known = known && isfinite(corners[i].x) && isfinite(corners[i].y);
    }
    for (size_t i = 0; known && i < n; i++) {
        path_point(s, i == 0 ? 'M' : 'L', corners[i].x, corners[i].y);
    }
    if (known) {
        svg_close(s);
    }
}

svg_point svg_polar(double cx, double cy, double r, double deg)
{
    const double a = deg * FM_PI / 180.0;
    return (svg_point){cx + r * sin(a), cy - r * cos(a)};
}

void svg_arc(svg *s, double cx, double cy, double r, double from_deg, double to_deg)
{
    if (!isfinite(cx) || !isfinite(cy) || !(to_deg > from_deg) || !isfinite(r)) {
        return;
    }
    const double span = to_deg - from_deg < 360.0 ? to_deg - from_deg : 360.0;
    const int n_parts = span > 179.0 ? 2 : 1; /* one arc cannot say a whole turn */
    const svg_point start = svg_polar(cx, cy, r, from_deg);
    path_point(s, 'M', start.x, start.y);
    for (int i = 1; i <= n_parts; i++) {
        const svg_point p = svg_polar(cx, cy, r, from_deg + span * i / n_parts);
        svg_put(s, "A%s %s 0 0 1 %s %s", AT(r), AT(r), AT(p.x), AT(p.y));
    }
}

void svg_circle(svg *s, double cx, double cy, double r, svg_stroke stroke)
{
    if (!isfinite(cx) || !isfinite(cy) || !isfinite(r)) {
        return;
    }
    svg_put(s, "<circle cx=\"%s\" cy=\"%s\" r=\"%s\" fill=\"%s\"", AT(cx), AT(cy),
            AT(r), stroke.width > 0.0 ? "#ffffff" : stroke.colour);
    if (stroke.width > 0.0) {
        stroke_attributes(s, stroke);
    }
    svg_raw(s, "/>\n");
}

void svg_rect(
    svg *s, double x, double y, double width, double height, const char *colour)
{
    if (!isfinite(x) || !isfinite(y) || !(width > 0.0) || !(height > 0.0)) {
        return;
    }
    svg_put(s, "<rect x=\"%s\" y=\"%s\" width=\"%s\" height=\"%s\" fill=\"%s\"/>\n",
            AT(x), AT(y), AT(width), AT(height), colour);
}

void svg_hatch(svg *s, double x, double y, double width, double height, bool back)
{
    svg_path(s);
    for (double c = HATCH_STEP / 2.0 - height; c < width; c += HATCH_STEP) {
        const double from = c < 0.0 ? -c : 0.0;
        const double to = height < width - c ? height : width - c;
        svg_segment(s, x + c + from, back ? y + from : y + height - from, x + c + to,
                    back ? y + to : y + height - to);
    }
    svg_path_end(s, (svg_stroke){SVG_PALE, 0.9, NULL});
}

void svg_page(svg *s, const char *title, const char *style)
{
    svg_raw(s, "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n"
               "<meta name=\"viewport\" content=\"width=device-width, "
               "initial-scale=1\">\n");
    svg_element(s, "title", title);
    svg_raw(s, "<style>\n");
    svg_raw(s, style);
    svg_raw(s, "</style>\n</head>\n<body>\n<main>\n");
    svg_element(s, "h1", title);
}

char *svg_page_take(svg *s, size_t *n_bytes)
{
    svg_raw(s, "</main>\n</body>\n</html>\n");
    return svg_take(s, n_bytes);
}
