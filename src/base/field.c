#include "src/base/field.h"

#include "src/base/text.h"

#include <limits.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

const field_word *field_word_named(const field_word *words, const char *word)
{
    for (; words != NULL && words->word != NULL; words++) {
        if (strcmp(words->word, word) == 0) {
            return words;
        }
    }
    return NULL;
}

const char *field_word_of(const field_word *words, double value)
{
    while (words->word != NULL && (words->value < value || words->value > value)) {
        words++;
    }
    return words->word;
}

static bool is_limited(const field *f)
{
    return f->min < f->max;
}

static bool is_whole(const field *f)
{
    return f->whole || f->kind == FIELD_INT || f->kind == FIELD_LONG;
}

int64_t field_long(const field *f, const void *at)
{
    return f->bytes == sizeof(int64_t) ? *(const int64_t *)at : *(const int32_t *)at;
}

static bool is_number(const field *f)
{
    return is_whole(f) || f->kind == FIELD_REAL;
}

/* The value is one that the member can hold. */
static void store(const field *f, void *to, double value)
{
    void *const at = (char *)to + f->offset;
    switch (f->kind) {
    case FIELD_FLAG:
        *(bool *)at = value > 0.0;
        break;
    case FIELD_ENUM:
        *(unsigned *)at = (unsigned)value;
        break;
    case FIELD_INT:
        *(int *)at = (int)value;
        break;
    case FIELD_LONG:
        if (f->bytes == sizeof(int64_t)) {
            *(int64_t *)at = (int64_t)value;
        } else {
            *(int32_t *)at = (int32_t)value;
        }
        break;
    case FIELD_REAL:
        *(double *)at = value;
        break;
    case FIELD_TEXT:
    case FIELD_CHARS:
    case FIELD_OWN:
        break;
    }
}

static bool fits(const field *f, double value)
{
    const double most = f->kind == FIELD_INT ? (double)INT_MAX
                        : f->kind == FIELD_LONG
                            ? (f->bytes == sizeof(int64_t) ? 0x1p62 : 0x1p30)
                            : (double)INFINITY;
    const bool chosen = f->words != NULL && !is_limited(f);
    return isfinite(value) && fabs(value) <= most &&
           (!is_whole(f) || !(floor(value) < value)) &&
           (!is_limited(f) || (value >= f->min && value <= f->max)) &&
           (!chosen || field_word_of(f->words, value) != NULL);
}

bool field_take_number(const field *f, void *to, double value)
{
    if (!is_number(f) || !fits(f, value)) {
        return false;
    }
    if (to != NULL) {
        store(f, to, value);
    }
    return true;
}

static bool take_chars(const field *f, void *to, const char *text)
{
    const size_t n = strlen(text);
    const bool fits = f->kind == FIELD_TEXT || n < f->bytes;
    if (fits && to != NULL) {
        char *const at = (char *)to + f->offset;
        memcpy(at, f->kind == FIELD_TEXT ? (const void *)&text : (const void *)text,
               f->kind == FIELD_TEXT ? sizeof text : n + 1);
    }
    return fits;
}

bool field_take_text(const field *f, void *to, const char *text)
{
    const field_word *const word = field_word_named(f->words, text);
    double number = 0.0;
    long whole = 0;
    if (f->kind == FIELD_TEXT || f->kind == FIELD_CHARS) {
        return text[0] != '\0' && take_chars(f, to, text);
    }
    if (word != NULL) {
        if (to != NULL) {
            store(f, to, word->value);
        }
        return true;
    }
    if (!is_number(f) || (f->words != NULL && !is_limited(f))) {
        return false;
    }
    if (!is_whole(f)) {
        return text_to_double(text, &number) && field_take_number(f, to, number);
    }
    return text_to_long(text, &whole) && field_take_number(f, to, (double)whole);
}

void field_take_json(const field_member *members, const json_t *object, void *to)
{
    for (const field_member *m = members; m->name != NULL; m++) {
        const json_t *const value = json_object_get(object, m->name);
        if (json_is_number(value)) {
            (void)field_take_number(&m->to, to, json_number_value(value));
        } else if (json_is_string(value) && !is_number(&m->to)) {
            (void)field_take_text(&m->to, to, json_string_value(value));
        } else if (json_is_boolean(value) && m->to.kind == FIELD_FLAG) {
            store(&m->to, to, json_is_true(value) ? 1.0 : 0.0);
        }
    }
}

static void append(char out[FIELD_DESCRIBED_BYTES], const char *more)
{
    const size_t used = strlen(out);
    (void)snprintf(out + used, FIELD_DESCRIBED_BYTES - used, "%s", more);
}

void field_describe(const field *f, char out[FIELD_DESCRIBED_BYTES])
{
    char range[64];
    const bool both = is_number(f) && (f->words == NULL || is_limited(f));
    out[0] = '\0';
    if (both) {
        append(out, is_whole(f) ? "a whole number" : "a number");
    }
    if (both && is_limited(f)) {
        (void)snprintf(range, sizeof range,
                       is_whole(f) ? " from %.0f to %.0f" : " from %.10g to %.10g",
                       f->min, f->max);
        append(out, range);
    }
    append(out, both && f->words != NULL ? ", or " : "");
    for (const field_word *w = f->words; w != NULL && w->word != NULL; w++) {
        append(out, w == f->words ? "'" : w[1].word == NULL ? "' or '" : "', '");
        append(out, w->word);
        append(out, w[1].word == NULL ? "'" : "");
    }
}
