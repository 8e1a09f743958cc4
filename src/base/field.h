/**
 * @file field.h
 * A member of a plain struct: where it lies, what it holds and what it may be. A row that
 * has a name and a field is how a struct is filled, out of the words of a command line or
 * a JSON object. What a member is, the compiler says: FIELD takes no member of
 * another type than those below.
 */
#ifndef BASE_FIELD_H
#define BASE_FIELD_H

#include <jansson.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

typedef enum field_kind {
    FIELD_FLAG,  /**< bool */
    FIELD_ENUM,  /**< an enumeration without negative values, or unsigned */
    FIELD_INT,   /**< int */
    FIELD_LONG,  /**< int64_t, and uint64_t or size_t below its half; of 8 or 4 bytes */
    FIELD_REAL,  /**< double */
    FIELD_TEXT,  /**< const char *, borrowed from where it is read */
    FIELD_CHARS, /**< char[n], always with an end mark */
    FIELD_OWN    /**< a member whose text has a form of its own: read by its owner */
} field_kind;

/** A word, and the value that it stands for. A list of them ends with a NULL word. */
typedef struct field_word {
    const char *word;
    double value;
} field_word;

/** A row of such a list from an X-macro of enumerators and words. */
#define FIELD_WORD(name, word) {word, name},

/** One member. */
typedef struct field {
    field_kind kind;
    size_t offset; /**< in its struct */
    size_t bytes;  /**< of the member */
    bool whole;    /**< a FIELD_REAL that takes whole numbers only */
    double min;    /**< numbers: inclusive; min and max both 0 means no limits */
    double max;
    /** With limits: words allowed in place of a number; without: the only ones that it
     * takes; NULL: none. */
    const field_word *words;
} field;

/** What the member is; the enumerations of this program are unsigned to the compiler. */
#define FIELD_KIND_OF(member)                                                          \
    _Generic((member), bool                                                            \
             : FIELD_FLAG, unsigned                                                    \
             : FIELD_ENUM, int                                                         \
             : FIELD_INT, long                                                         \
             : FIELD_LONG, unsigned long                                               \
             : FIELD_LONG, long long                                                   \
             : FIELD_LONG, unsigned long long                                          \
             : FIELD_LONG, double                                                      \
             : FIELD_REAL, const char *                                                \
             : FIELD_TEXT, char *                                                      \
             : FIELD_CHARS)

/** Any value; a flag; text. */
#define FIELD(type, member) FIELD_OF(type, member, false, 0, 0, NULL)
/** A number, min..max; whole where the member is. */
#define FIELD_IN(type, member, min, max) FIELD_OF(type, member, false, min, max, NULL)
/** One of words. */
#define FIELD_ONE_OF(type, member, words) FIELD_OF(type, member, false, 0, 0, words)
#define FIELD_OF(type, member, whole, min, max, words)                                 \
    {                                                                                  \
        FIELD_KIND_OF(((type *)NULL)->member), offsetof(type, member),                 \
            sizeof((type *)NULL)->member, whole, min, max, words                       \
    }

/** The number in a FIELD_LONG that lies at `at`, of whatever size it is. */
int64_t field_long(const field *f, const void *at);

/** The word's row; NULL: none of them, or no list. */
const field_word *field_word_named(const field_word *words, const char *word);

/** The first word of that value; NULL: none. */
const char *field_word_of(const field_word *words, double value);

/**
 * Put a number into the member, if it is one that the field takes.
 *
 * @param to  the struct; NULL: only look
 * @return false when it is outside its limits, not whole, or the field holds text
 */
bool field_take_number(const field *f, void *to, double value);

/**
 * The same with what was typed: a number, a word, or text that is not empty. A member of
 * its own form takes none.
 */
bool field_take_text(const field *f, void *to, const char *text);

/** A member of a JSON object, and where its value goes. A table ends with a NULL name. */
typedef struct field_member {
    const char *name;
    field to;
} field_member;
#define FIELD_MEMBERS_END                                                              \
    {                                                                                  \
        NULL,                                                                          \
        {                                                                              \
            FIELD_OWN, 0, 0, false, 0, 0, NULL                                         \
        }                                                                              \
    }

/**
 * Fill a struct from a JSON object: true and false into a flag, a number into a number, a
 * string into text or an enumeration. What is not there, or is no value that the field
 * takes, changes nothing.
 *
 * @param object  borrowed, as are its texts
 */
void field_take_json(const field_member *members, const json_t *object, void *to);

enum {
    FIELD_DESCRIBED_BYTES = 160
};

/** What it takes, in words: "a number from 1 to 60, or 'whole'"; "" for text. */
void field_describe(const field *f, char out[FIELD_DESCRIBED_BYTES]);

#endif
