#include "src/base/bytes.h"

#include <stdint.h>
#include <stdlib.h>
#include <string.h>

enum {
    FIRST_ROOM = 64 /* items */
};

void *list_with_room(void *list, size_t needed, size_t *room, size_t each)
{
    if (list != NULL && needed <= *room) {
        return list;
    }
    size_t more = *room > 0 ? *room : FIRST_ROOM;
    while (more < needed) {
        more = more > SIZE_MAX / 2 ? needed : more * 2;
    }
    void *const grown = more <= SIZE_MAX / each ? realloc(list, more * each) : NULL;
    *room = grown != NULL ? more : *room;
    return grown;
}

static bool make_room(bytes *to, size_t n)
{
    if (n >= SIZE_MAX - to->n) {
        return false;
    }
    char *const data = list_with_room(to->data, to->n + n + 1, &to->room, 1);
    to->data = data != NULL ? data : to->data;
    return data != NULL;
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

char *bytes_take(bytes *b, size_t *n)
{
    bytes_add(b, "", 0);
    if (b->failed) {
        bytes_free(b);
        return NULL;
    }
    if (n != NULL) {
        *n = b->n;
    }
    char *const text = b->data;
    *b = (bytes)BYTES_NONE;
    return text;
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
