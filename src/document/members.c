#include "src/document/members.h"

#include "src/base/json_text.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const void *part_of(const void *from, size_t offset)
{
    return (const char *)from + offset;
}

static void *place_of(void *to, size_t offset)
{
    return (char *)to + offset;
}

/* ---- Out ---- */

static json_t *whole(const field *f, double value)
{
    const bool limited = f->min < f->max;
    return isnan(value) || (limited && (value < f->min || value > f->max))
               ? json_null()
               : json_integer((json_int_t)llround(value));
}

static json_t *word_or_null(const field *f, double value)
{
    const char *const word = field_word_of(f->words, value);
    return word != NULL ? json_string(word) : json_null();
}

static json_t *text_or_null(const member *m, const char *text)
{
    const bool none = text == NULL || (text[0] == '\0' && (m->how & MEMBER_BLANK) == 0);
    return none ? json_null() : document_text(text);
}

/* times_s[0..n-1] with so many decimals. */
static json_t *list_of_times(const double *times_s, size_t n, int decimals)
{
    json_t *list = json_array();
    for (size_t i = 0; i < n; i++) {
        list = document_append(list, document_number(times_s[i], decimals));
    }
    return list;
}

static json_t *list_value(const member *m, const void *from)
{
    const size_t n = *(const size_t *)part_of(from, m->count);
    const void *items = NULL;
    memcpy(&items, part_of(from, m->to.offset), sizeof items);
    return m->inside != NULL ? members_list(m->inside, items, n, m->each)
                             : list_of_times(items, n, m->decimals);
}

static json_t *value_of(const member *m, const void *from)
{
    const field *const f = &m->to;
    const void *const at = part_of(from, f->offset);
    switch (f->kind) {
    case FIELD_FLAG:
        return f->words != NULL ? word_or_null(f, *(const bool *)at)
                                : json_boolean(*(const bool *)at);
    case FIELD_ENUM:
        return word_or_null(f, *(const unsigned *)at);
    case FIELD_INT:
        return whole(f, *(const int *)at);
    case FIELD_LONG:
        return json_integer(field_long(f, at));
    case FIELD_REAL:
        return (m->how & MEMBER_WHOLE) != 0
                   ? whole(f, *(const double *)at)
                   : document_number(*(const double *)at, m->decimals);
    case FIELD_TEXT:
        return text_or_null(m, *(const char *const *)at);
    case FIELD_CHARS:
        return text_or_null(m, at);
    case FIELD_OWN:
    default:
        return m->is_list ? list_value(m, from) : members_object(m->inside, at);
    }
}

void members_put(document_part *to, const member *rows, const void *from)
{
    for (const member *m = rows; m->name != NULL; m++) {
        if (m->put != NULL) {
            m->put(to, from);
        } else if (m->is != NULL) {
            document_put(to, m->name, json_string(m->is));
        } else if (m->known != 0 && !*(const bool *)part_of(from, m->known - 1)) {
            document_put(to, m->name, json_null());
        } else {
            document_put(to, m->name, value_of(m, from));
        }
    }
}

json_t *members_object(const member *rows, const void *from)
{
    document_part part = document_start();
    members_put(&part, rows, from);
    return document_end(&part);
}

json_t *members_list(const member *rows, const void *items, size_t n, size_t bytes)
{
    json_t *list = json_array();
    for (size_t i = 0; i < n; i++) {
        list = document_append(list, members_object(rows, part_of(items, i * bytes)));
    }
    return list;
}

/* ---- In ---- */

void document_wrong(document_reader *r, const char *name, const char *what)
{
    if (r->ok) {
        const bool inside = r->within != NULL;
        r->ok = app_err_set(r->err, APP_UNREADABLE, "cannot use %s: %s%s%s %s%s",
                            r->name, inside ? r->within : "", inside ? ": " : "", name,
                            what, r->hint);
    }
}

void *document_memory(document_reader *r, void *memory)
{
    if (memory == NULL && r->ok) {
        r->ok =
            app_err_set(r->err, APP_FAILED, "cannot read %s: out of memory", r->name);
    }
    return memory;
}

const json_t *document_list(document_reader *r,
                            const json_t *object,
                            const char *name,
                            size_t most)
{
    const json_t *const value = json_object_get(object, name);
    if (value == NULL || json_is_null(value)) {
        return NULL;
    }
    if (!json_is_array(value) || (most > 0 && json_array_size(value) > most)) {
        document_wrong(r, name, "is not a list, or far too long");
        return NULL;
    }
    return value;
}

static void take_times(document_reader *r,
                       const member *m,
                       const json_t *list,
                       double *times_s)
{
    double last_s = m->to.min;
    for (size_t i = 0; r->ok && i < json_array_size(list); i++) {
        const json_t *const item = json_array_get(list, i);
        times_s[i] = json_number_value(item);
        if (!json_is_number(item) ||
            !(times_s[i] >= last_s && times_s[i] <= m->to.max)) {
            document_wrong(r, m->name,
                           "holds something that is no time, or goes back in time");
        }
        last_s = times_s[i];
    }
}

static void take_items(document_reader *r,
                       const member *m,
                       const json_t *list,
                       void *items)
{
    const char *const outside = r->within;
    r->within = m->name;
    for (size_t i = 0; r->ok && i < json_array_size(list); i++) {
        void *const item = place_of(items, i * m->each);
        if (m->none != NULL) {
            memcpy(item, m->none, m->each);
        }
        members_take(r, m->inside, json_array_get(list, i), item);
    }
    r->within = outside;
}

/* The room of a list is a power of two, so that one more can be added as anywhere. */
static void take_list(document_reader *r,
                      const member *m,
                      const json_t *object,
                      void *to)
{
    const json_t *const list = document_list(r, object, m->name, m->most);
    size_t room = 1;
    while (room < json_array_size(list)) {
        room *= 2;
    }
    void *const items = r->ok ? document_memory(r, calloc(room, m->each)) : NULL;
    if (items == NULL) {
        return;
    }
    memcpy(place_of(to, m->to.offset), &items, sizeof items);
    *(size_t *)place_of(to, m->count) = json_array_size(list);
    if (m->inside != NULL) {
        take_items(r, m, list, items);
    } else {
        take_times(r, m, list, items);
    }
}

static bool take_value(const member *m, const json_t *value, void *to)
{
    const field *const f = &m->to;
    if (json_is_string(value)) {
        const char *const text = json_string_value(value);
        if (f->kind == FIELD_CHARS && text[0] == '\0') {
            *(char *)place_of(to, f->offset) = '\0';
            return true;
        }
        return (f->kind == FIELD_CHARS || f->words != NULL) &&
               (field_take_text(f, to, text) || (m->how & MEMBER_ANY_WORD) != 0);
    }
    if (f->kind == FIELD_FLAG && f->words == NULL && json_is_boolean(value)) {
        *(bool *)place_of(to, f->offset) = json_is_true(value);
        return true;
    }
    return f->words == NULL && json_is_number(value) &&
           field_take_number(f, to, json_number_value(value));
}

static void wrong_value(document_reader *r, const member *m)
{
    char what[FIELD_DESCRIBED_BYTES];
    char text[FIELD_DESCRIBED_BYTES + 16];
    field_describe(&m->to, what);
    (void)snprintf(text, sizeof text, "is not %s",
                   m->to.kind == FIELD_CHARS ? "a text, or too long"
                   : what[0] == '\0'         ? "true or false"
                                             : what);
    document_wrong(r, m->name, text);
}

static void take_inside(document_reader *r,
                        const member *m,
                        const json_t *value,
                        void *to)
{
    const char *const outside = r->within;
    if (!json_is_object(value)) {
        document_wrong(r, m->name, "is not an object");
    }
    r->within = m->name;
    members_take(r, m->inside, value, place_of(to, m->to.offset));
    r->within = outside;
}

static void take_member(document_reader *r,
                        const member *m,
                        const json_t *object,
                        void *to)
{
    const json_t *const value = json_object_get(object, m->name);
    const bool there = value != NULL && !json_is_null(value);
    const char *const text = json_string_value(value);
    if (m->is != NULL) {
        if (text == NULL || strcmp(text, m->is) != 0) {
            document_wrong(r, m->name, "is not the one this version reads");
        }
    } else if (!there) {
        if ((m->how & MEMBER_NEEDED) != 0) {
            document_wrong(r, m->name, "is missing");
        }
    } else if (m->is_list) {
        take_list(r, m, object, to);
    } else if (m->inside != NULL) {
        take_inside(r, m, value, to);
    } else if (!take_value(m, value, to)) {
        wrong_value(r, m);
    }
    if (m->known != 0) {
        *(bool *)place_of(to, m->known - 1) = there;
    }
}

void members_take(document_reader *r,
                  const member *rows,
                  const json_t *object,
                  void *to)
{
    for (const member *m = rows; r->ok && m->name != NULL; m++) {
        if (m->take != NULL) {
            m->take(r, object, to);
        } else if (m->put == NULL) {
            take_member(r, m, object, to);
        }
    }
}

bool members_read(
    document_reader *r, const member *rows, const char *bytes, size_t n, void *to)
{
    json_error_t json;
    json_t *const root = json_loadb(bytes, n, JSON_REJECT_DUPLICATES, &json);
    if (json_text_short()) { /* what there is of it is not the whole */
        (void)document_memory(r, NULL);
    } else if (root == NULL) {
        r->ok = app_err_set(r->err, APP_UNREADABLE,
                            "cannot read %s: line %d, column %d: %s; it is not JSON%s",
                            r->name, json.line, json.column, json.text, r->hint);
    } else if (!json_is_object(root)) {
        document_wrong(r, "the document", "is not one object");
    } else {
        members_take(r, rows, root, to);
    }
    json_decref(root);
    return r->ok;
}
