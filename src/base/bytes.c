#include "src/base/bytes.h"

#include <stdint.h>
#include <stdlib.h>
#include <string.h>

enum {
    FIRST_ROOM = 256
};

static bool make_room(bytes *to, size_t n)
{
    if (n >= SIZE_MAX - to->n) {
        return false;
    }
    const size_t needed = to->n + n + 1;
    if (needed <= to->room) {
        return true;
    }
    size_t room = to->room > 0 ? to->room : FIRST_ROOM;
    while (room < needed) {
        room = room > SIZE_MAX / 2 ? needed : room * 2;
    }
    char *const data = realloc(to->data, room);
    if (data == NULL) {
        return false;
    }
    to->data = data;
    to->room = room;
    return true;
}

void bytes_add(bytes *to, const void *in, size_t n)
{
    if (to->failed || !make_room(to, n)) {
        to->failed = true;
        return;
    }
    if (n > 0) {
        memcpy(to->data + to->n, in, n);
    }
    to->n += n;
    to->data[to->n] = '\0';
}

void bytes_add_text(bytes *to, const char *text)
{
    bytes_add(to, text, strlen(text));
}

void bytes_clear(bytes *b)
{
    b->n = 0;
    b->failed = false;
}

void bytes_free(bytes *b)
{
    free(b->data);
    *b = (bytes)BYTES_NONE;
}
