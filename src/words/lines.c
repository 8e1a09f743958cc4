#include "src/words/lines.h"

#include "src/base/text.h"

#include <stdarg.h>
#include <stdio.h>
#include <string.h>

static void append_blanks(lines *to, size_t n)
{
    for (size_t i = 0; i < n; i++) {
        bytes_add(to, " ", 1);
    }
}

void lines_add(lines *to, size_t indent, const char *format, ...)
{
    char paragraph[LINES_PARAGRAPH_BYTES];
    va_list args;
    va_start(args, format);
    (void)vsnprintf(paragraph, sizeof paragraph, format, args);
    va_end(args);
    const char *at = paragraph;
    while (*at != '\0') {
        const size_t n = text_line(at, LINES_WIDTH - indent);
        append_blanks(to, indent);
        bytes_add(to, at, n);
        bytes_add(to, "\n", 1);
        at += n;
        at += strspn(at, " ");
    }
}

void lines_add_row(lines *to, const char *format, ...)
{
    char row[LINES_PARAGRAPH_BYTES];
    va_list args;
    va_start(args, format);
    (void)vsnprintf(row, sizeof row, format, args);
    va_end(args);
    bytes_add_text(to, row);
    bytes_add(to, "\n", 1);
}

void lines_break(lines *to)
{
    const bool open = to->n >= 2 && to->data[to->n - 2] != '\n';
    if (open) {
        bytes_add(to, "\n", 1);
    }
}
