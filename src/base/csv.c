#include "src/base/csv.h"

#include <stdbool.h>
#include <string.h>

static bool is_crlf(const char *text, size_t n, size_t at)
{
    return at + 1 < n && text[at] == '\r' && text[at + 1] == '\n';
}

/* One field from *at on, its quotes taken out in place; *at is then behind what ends it,
 * what parts fields or a line end, which goes to *end. */
static bool split_field(char *text, size_t n, char by, size_t *at, char *end)
{
    size_t from = *at;
    size_t to = from;
    const bool quoted = from < n && text[from] == '"';
    for (from += quoted; from < n; from++) {
        const char c = text[from];
        if (c == '\0' || (c == '"' && !quoted)) {
            return false;
        }
        if (quoted && c == '"') {
            if (from + 1 >= n || text[from + 1] != '"') {
                break;
            }
            from++;
        } else if (!quoted && (c == by || c == '\n' || is_crlf(text, n, from))) {
            break;
        }
        text[to++] = text[from];
    }
    if (quoted && from >= n) {
        return false; /* no closing quote */
    }
    from += quoted;
    from += is_crlf(text, n, from);
    /* Read before the field's end mark may fall on it. */
    *end = '\n';
    if (from < n) {
        *end = text[from];
    }
    text[to] = '\0';
    *at = from + (from < n);
    return *end == by || *end == '\n';
}

char csv_parted_by(const char *text, size_t n)
{
    for (size_t i = 0; i < n && text[i] != '\n'; i++) {
        if (text[i] == ',' || text[i] == ';' || text[i] == '\t') {
            return text[i];
        }
    }
    return ',';
}

int csv_split(char *text, size_t n, char **fields, int most, size_t *used)
{
    return csv_split_by(text, n, ',', fields, most, used);
}

int csv_split_by(
    char *text, size_t n, char parted_by, char **fields, int most, size_t *used)
{
    size_t at = 0;
    int found = 0;
    char end = '\n';
    if (n > 0) {
        end = parted_by;
    }
    while (end == parted_by) {
        if (found >= most) {
            return -1;
        }
        fields[found++] = text + at;
        if (!split_field(text, n, parted_by, &at, &end)) {
            return -1;
        }
    }
    if (used != NULL) {
        *used = at;
    }
    return found;
}

void csv_add(bytes *to, const char *field)
{
    if (strpbrk(field, ",\"\r\n") == NULL) {
        bytes_add_text(to, field);
        return;
    }
    bytes_add(to, "\"", 1);
    for (const char *c = field; *c != '\0'; c++) {
        bytes_add(to, c, 1);
        if (*c == '"') {
            bytes_add(to, c, 1);
        }
    }
    bytes_add(to, "\"", 1);
}
