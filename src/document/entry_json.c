#include "src/document/entry_json.h"

#include "src/document/document_parts.h"

static json_t *value_of(const entry *e, const entry_field *f)
{
    if (!entry_has(e, f)) {
        return json_null();
    }
    return f->to.kind == FIELD_CHARS ? document_text(entry_text(e, f))
           : f->to.kind == FIELD_INT ? json_integer(entry_whole(e, f))
                                     : json_real(entry_number(e, f));
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
