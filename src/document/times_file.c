#include "src/document/times_file.h"

#include "src/base/text.h"

#include <stdlib.h>
#include <string.h>

enum {
    LINE_BYTES = 256,
    SHOWN_BYTES = 32
};

static const char *first_line(times_kind kind)
{
    return kind == TIMES_TAPS ? "# fullminute.taps/1" : "# fullminute.intervals/1";
}

/** Where the parser is: one line of the text, and the numbers so far. */
typedef struct parser {
    const char *name;
    times_kind kind;
    size_t line; /* from 1 */
    size_t room; /* numbers out->s can hold */
    times *out;
} parser;

/* A value as it may be shown in a message: printable, not too long. */
static void shown(const char *text, char out[SHOWN_BYTES + 1])
{
    size_t i = 0;
    for (; i < SHOWN_BYTES && text[i] != '\0'; i++) {
        const unsigned char c = (unsigned char)text[i];
        out[i] = text[i];
        if (c < 0x20 || c >= 0x7f) {
            out[i] = '?';
        }
    }
    out[i] = '\0';
}

static bool line_error(const parser *p, const char *text, const char *why, app_err *err)
{
    char value[SHOWN_BYTES + 1];
    shown(text, value);
    return app_err_set(err, APP_UNREADABLE, "cannot use %s: line %zu, '%s', %s",
                       p->name, p->line, value, why);
}

static bool check_value(const parser *p, const char *text, double value, app_err *err)
{
    const times *t = p->out;
    if (value < 0.0) {
        return line_error(p, text, "is negative; times are seconds from the start",
                          err);
    }
    if (p->kind == TIMES_INTERVALS && !(value > 0.0)) {
        return line_error(p, text, "is no interval; it must be greater than 0", err);
    }
    if (p->kind == TIMES_TAPS && t->n > 0 && value < t->s[t->n - 1]) {
        return line_error(p, text, "goes back in time; sort the taps", err);
    }
    if (t->n == TIMES_MAX) {
        return line_error(p, text, "is one number too many", err);
    }
    return true;
}

static bool append(parser *p, double value, app_err *err)
{
    times *t = p->out;
    if (t->n == p->room) {
        const size_t room = p->room == 0 ? 256 : 2 * p->room;
        double *const bigger = realloc(t->s, room * sizeof *bigger);
        if (bigger == NULL) {
            return app_err_set(err, APP_FAILED, "out of memory reading %s", p->name);
        }
        t->s = bigger;
        p->room = room;
    }
    t->s[t->n++] = value;
    return true;
}

/* Cut the comment and the blanks from both ends; returns the start. */
static char *trim(char *line)
{
    char *const comment = strchr(line, '#');
    if (comment != NULL) {
        *comment = '\0';
    }
    char *start = line + strspn(line, " \t\r");
    size_t n = strlen(start);
    while (n > 0 && strchr(" \t\r", start[n - 1]) != NULL) {
        start[--n] = '\0';
    }
    return start;
}

static bool parse_first(const parser *p, const char *line, app_err *err)
{
    const char *const wanted = first_line(p->kind);
    const char *text = line;
    if (strncmp(text, "\xef\xbb\xbf", 3) == 0) {
        text += 3; /* byte order mark, as some editors write it */
    }
    const size_t n = strlen(wanted);
    if (strncmp(text, wanted, n) == 0 && text[n + strspn(text + n, " \t\r")] == '\0') {
        return true;
    }
    return app_err_set(err, APP_UNREADABLE,
                       "cannot use %s: line 1 must be '%s', then one number of seconds "
                       "a line",
                       p->name, wanted);
}

static bool parse_line(parser *p, char *line, app_err *err)
{
    if (p->line == 1) {
        return parse_first(p, line, err);
    }
    const char *const text = trim(line);
    double value = 0.0;
    if (*text == '\0') {
        return true;
    }
    if (!text_to_double(text, &value)) {
        return line_error(p, text, "is not one number of seconds (such as 12.345)",
                          err);
    }
    return check_value(p, text, value, err) && append(p, value, err);
}

static bool parse_all(parser *p, const char *bytes, size_t n, app_err *err)
{
    size_t at = 0;
    do {
        char line[LINE_BYTES];
        const char *const end = at < n ? memchr(bytes + at, '\n', n - at) : NULL;
        const size_t length = end != NULL ? (size_t)(end - bytes) - at : n - at;
        const bool comment = p->line > 0 && length > 0 && bytes[at] == '#';
        p->line++;
        if (!comment) {
            if (length >= sizeof line || memchr(bytes + at, '\0', length) != NULL) {
                return app_err_set(err, APP_UNREADABLE,
                                   "cannot use %s: line %zu is not text of one number",
                                   p->name, p->line);
            }
            memcpy(line, bytes + at, length);
            line[length] = '\0';
            if (!parse_line(p, line, err)) {
                return false;
            }
        }
        at += length + 1;
    } while (at < n);
    return true;
}

bool times_parse(const char *name,
                 const char *bytes,
                 size_t n,
                 times_kind kind,
                 times *out,
                 app_err *err)
{
    *out = (times)TIMES_NONE;
    if (n == 0) {
        return app_err_set(err, APP_UNREADABLE, "cannot use %s: it is empty", name);
    }
    parser p = {.name = name, .kind = kind, .out = out};
    if (!parse_all(&p, bytes, n, err)) {
        times_free(out);
        return false;
    }
    return true;
}

void times_free(times *t)
{
    free(t->s);
    *t = (times)TIMES_NONE;
}
