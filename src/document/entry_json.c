#include "src/document/entry_json.h"

#include "src/base/text.h"
#include "src/document/document_parts.h"

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
    return f->to.kind == FIELD_CHARS ? text_of(entry_text(e, f))
           : f->to.kind == FIELD_INT ? json_integer(entry_whole(e, f))
                                     : json_real(entry_real(e, f));
}

json_t *entry_json(const entry *e)
{
    document_part part = document_start();
    document_put(&part, "number", json_integer(e->number));
    for (size_t i = 0; i < entry_n_fields(); i++) {
        document_put(&part, ENTRY_FIELD[i].name, value_of(e, &ENTRY_FIELD[i]));
    }
    return document_end(&part);
}

json_t *entry_json_document(void)
{
    return json_pack("{s:s, s:b, s:[]}", "schema", "fullminute.logbook/1", "practice",
                     1, "sessions");
}
