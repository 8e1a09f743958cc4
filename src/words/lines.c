#include "src/words/lines.h"

#include "src/base/text.h"

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static void append(lines *to, const char *bytes, size_t n)
{
    if (to->failed) {
        return;
    }
    if (to->n + n + 1 > to->room) {
        const size_t room = 2 * (to->n + n + 1);
        char *const bigger = realloc(to->text, room);
        if (bigger == NULL) {
            to->failed = true;
            return;
        }
        to->text = bigger;
        to->room = room;
    }
    memcpy(to->text + to->n, bytes, n);
    to->n += n;
    to->text[to->n] = '\0';
}

static void append_blanks(lines *to, size_t n)
{
    for (size_t i = 0; i < n; i++) {
        append(to, " ", 1);
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
        append(to, at, n);
        append(to, "\n", 1);
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
    append(to, row, strlen(row));
    append(to, "\n", 1);
}

void lines_append(lines *to, const lines *from)
{
    to->failed = to->failed || from->failed;
    if (from->n > 0) {
        append(to, from->text, from->n);
    }
}

void lines_break(lines *to)
{
    const bool open = to->n >= 2 && to->text[to->n - 2] != '\n';
    if (open) {
        append(to, "\n", 1);
    }
}

char *lines_take(lines *from)
{
    char *text = from->text;
    if (from->failed) {
        free(text);
        text = NULL;
    }
    *from = (lines)LINES_NONE;
    return text;
}

void lines_drop(lines *from)
{
    free(from->text);
    *from = (lines)LINES_NONE;
}
