#include "src/document/entry_json.h"

#include "src/base/text.h"

#include <stdlib.h>

/* A path may be of any bytes; JSON is UTF-8, so it is escaped as in every other document. */
static json_t *text_of(const char *text)
{
    char *const plain = text_escape_name(text);
    json_t *const out = plain != NULL ? json_string(plain) : NULL;
    free(plain);
    return out;
}

static json_t *value_of(const entry *e, const entry_field *f)
{
    if (!entry_has(e, f)) {
        return json_null();
    }
    switch (f->kind) {
    case ENTRY_KIND_TEXT:
        return text_of(entry_text(e, f));
    case ENTRY_KIND_WHOLE:
        return json_integer(entry_whole(e, f));
    case ENTRY_KIND_REAL:
    default:
        return json_real(entry_real(e, f));
    }
}

json_t *entry_json(const entry *e)
{
    json_t *const object = json_object();
    bool ok = object != NULL &&
              json_object_set_new(object, "number", json_integer(e->number)) == 0;
    for (size_t i = 0; i < entry_n_fields() && ok; i++) {
        ok = json_object_set_new(object, ENTRY_FIELD[i].name,
                                 value_of(e, &ENTRY_FIELD[i])) == 0;
    }
    if (!ok) {
        json_decref(object);
        return NULL;
    }
    return object;
}

json_t *entry_json_document(void)
{
    return json_pack("{s:s, s:b, s:[]}", "schema", "fullminute.logbook/1", "practice",
                     1, "sessions");
}
