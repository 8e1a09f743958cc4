/**
 * @file bytes.h
 * Bytes gathered in memory. Once memory has run out the buffer stays failed, so that only
 * the end needs a look.
 */
#ifndef BASE_BYTES_H
#define BASE_BYTES_H

#include <stdbool.h>
#include <stddef.h>

/** The bytes so far. Start it as BYTES_NONE, end it with bytes_free. */
typedef struct bytes {
    char *data; /**< data[0..n-1], owned; a '\0' follows unless n is 0 */
    size_t n;
    size_t room;
    bool failed; /**< no memory at some time: the bytes are not whole */
} bytes;

#define BYTES_NONE                                                                     \
    {                                                                                  \
        NULL, 0, 0, false                                                              \
    }

/** Add in[0..n-1]. */
void bytes_add(bytes *to, const void *in, size_t n);

/** Add a text without its end mark. */
void bytes_add_text(bytes *to, const char *text);

/**
 * The bytes with their end mark, "" for none, to be freed by the caller; b is then
 * BYTES_NONE.
 *
 * @param[out] n  how many, without the end mark; may be NULL
 * @return NULL when memory ran out
 */
char *bytes_take(bytes *b, size_t *n);

/** Empty it and keep the memory; a failure is forgotten. */
void bytes_clear(bytes *b);

/** Free what is inside; b is then BYTES_NONE. */
void bytes_free(bytes *b);

/**
 * Room in a list that doubles.
 *
 * @param list          list[0..*room-1] of `each` bytes an item, owned; NULL: none yet
 * @param needed        items
 * @param[in,out] room  items
 * @return the list, perhaps elsewhere; NULL without memory: it is then where it was
 */
void *list_with_room(void *list, size_t needed, size_t *room, size_t each);

#endif
