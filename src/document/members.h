/**
 * @file members.h
 * The members of a document, each once: a row says its name, which part of the struct it is
 * and what that may be (base/field), and how it is written. One writer and one reader go over
 * the rows, in the order in which they stand in the document. What is not known is null: NaN,
 * a whole number outside its limits, a value without a word, an empty text.
 */
#ifndef DOCUMENT_MEMBERS_H
#define DOCUMENT_MEMBERS_H

#include "src/base/error.h"
#include "src/base/field.h"
#include "src/document/document_parts.h"

#include <jansson.h>
#include <stdbool.h>
#include <stddef.h>

/** What is being read, for errors and for stopping at the first. */
typedef struct document_reader {
    const char *name; /**< of the document, for errors */
    const char *hint; /**< what ends every error: "; it is not a whole ..." */
    app_err *err;
    bool ok;
    const char *within; /**< the member whose parts are being read; NULL: none */
} document_reader;

enum {
    MEMBER_NEEDED = 1,   /**< read: it has to be there */
    MEMBER_BLANK = 2,    /**< written: "" is a text, not null */
    MEMBER_ANY_WORD = 4, /**< read: a word that is not known changes nothing */
    MEMBER_WHOLE = 8     /**< written: a real as a whole number */
};

/** One row, made by the macros below. A table of them ends with MEMBERS_END. */
typedef struct member {
    const char *name;
    field to;
    int decimals; /**< written of a real, and of times */
    int how;      /**< of the above */
    size_t known; /**< 1 + where the flag lies that says whether it is known; 0: none */
    const char *is; /**< always this text; NULL: not such a member */
    bool is_list; /**< of structs, or, without `inside`, of times that do not go back */
    size_t count; /**< of a list: where the size_t lies that says how many */
    size_t each;  /**< bytes of an item */
    size_t most;  /**< of its items that can be read; 0: any number */
    const void *none; /**< what an item is before it is read; NULL: all zero */
    const struct member *inside; /**< rows of a struct in it, or of a list's items */
    /** A member with a form of its own: whatever stands for it is put, or taken. */
    void (*put)(document_part *to, const void *from);
    void (*take)(document_reader *r, const json_t *object, void *to);
} member;

#define MEMBERS_END                                                                    \
    {                                                                                  \
        .name = NULL                                                                   \
    }
/** A part as base/field has it: MEMBER("seconds", FIELD_IN(type, seconds, 1, 60), .how = ...). */
#define MEMBER(member_name, field_of, ...)                                             \
    {                                                                                  \
        .name = (member_name), .to = field_of, __VA_ARGS__                             \
    }
#define MEMBER_PLACE(type, part, min, max)                                             \
    .to = {FIELD_OWN, offsetof(type, part), 0, false, min, max, NULL}
/** Always the same text; read: it has to be that. */
#define MEMBER_IS(member_name, text)                                                   \
    {                                                                                  \
        .name = (member_name), .is = (text)                                            \
    }
/** A struct in the struct, as an object of its own. */
#define MEMBER_INSIDE(member_name, type, part, rows, ...)                              \
    {                                                                                  \
        .name = (member_name), MEMBER_PLACE(type, part, 0, 0), .inside = (rows),       \
        __VA_ARGS__                                                                    \
    }
/** Members of the same struct, as an object of their own. */
#define MEMBER_GROUP(member_name, rows)                                                \
    {                                                                                  \
        .name = (member_name), .to = {FIELD_OWN, 0, 0, false, 0, 0, NULL},             \
        .inside = (rows), .how = MEMBER_NEEDED                                         \
    }
/** array[0..n-1] of seconds, min..max; owned. */
#define MEMBER_TIMES(member_name, type, array, n, min, max, ...)                       \
    {                                                                                  \
        .name = (member_name), MEMBER_PLACE(type, array, min, max), .is_list = true,   \
        .each = sizeof(double), .count = offsetof(type, n), __VA_ARGS__                \
    }
/** array[0..n-1] of structs; owned. */
#define MEMBER_LIST(member_name, type, array, n, rows, ...)                            \
    {                                                                                  \
        .name = (member_name), MEMBER_PLACE(type, array, 0, 0), .is_list = true,       \
        .each = sizeof *((type *)NULL)->array, .count = offsetof(type, n),             \
        .inside = (rows), __VA_ARGS__                                                  \
    }
#define MEMBER_OWN(put_it, take_it)                                                    \
    {                                                                                  \
        .name = "", .put = (put_it), .take = (take_it)                                 \
    }
/** .known of a row. */
/* A designator has no parentheses. NOLINTNEXTLINE(bugprone-macro-parentheses) */
#define MEMBER_KNOWN(type, flag) .known = 1 + offsetof(type, flag)

/* ---- Out ---- */

/** Put every row's member of a struct. */
void members_put(document_part *to, const member *rows, const void *from);

/** An object of them alone; a list of such objects of structs items[0..n-1], of so many
 * bytes each. New references; NULL without memory. */
json_t *members_object(const member *rows, const void *from);
json_t *members_list(const member *rows, const void *items, size_t n, size_t bytes);

/* ---- In: bytes from outside, so everything is checked ---- */

/**
 * Fill a struct from the bytes of a document; what is null or not there stays as it was.
 *
 * @param to  what is in it is the caller's to free, also after a failure
 * @return r->ok; false with err APP_UNREADABLE or APP_FAILED
 */
bool members_read(
    document_reader *r, const member *rows, const char *bytes, size_t n, void *to);

/** The same from a JSON value, for a member with a form of its own. */
void members_take(document_reader *r,
                  const member *rows,
                  const json_t *object,
                  void *to);

/** Note what is wrong, unless something was before: "cannot use NAME: MEMBER WHAT". */
void document_wrong(document_reader *r, const char *name, const char *what);

/** Note that memory ran out, where it is NULL. Returns it. */
void *document_memory(document_reader *r, void *memory);

/** A list of at most so many; NULL where it is null or not there, or wrong. */
const json_t *document_list(document_reader *r,
                            const json_t *object,
                            const char *name,
                            size_t most);

#endif
