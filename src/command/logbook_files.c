/* logbook: rows out to files, and back in. */
#include "src/command/logbook_private.h"
#include "src/command/say.h"

#include "src/base/bytes.h"
#include "src/base/json_text.h"
#include "src/document/entry_csv.h"
#include "src/document/entry_json.h"
#include "src/port/read_whole.h"

#include <stdio.h>
#include <stdlib.h>

static const size_t IMPORT_BYTES_MAX = (size_t)256 << 20;

/* ---- export ---- */

static bool add_csv(void *context, const entry *e)
{
    entry_csv_add(context, e);
    return true;
}

static bool add_json(void *context, const entry *e)
{
    return json_array_append_new(context, entry_json(e)) == 0;
}

static bool add_fhir(void *context, const entry *e)
{
    return entry_fhir_add(context, e);
}

static bool make_json(
    logbook *l, const logbook_query *q, bool fhir, bytes *out, app_err *err)
{
    json_t *const document = fhir ? entry_fhir_bundle() : entry_json_document();
    json_t *const rows = fhir ? document : json_object_get(document, "sessions");
    char *text = NULL;
    bool ok = document != NULL || app_err_memory(err);
    ok = ok && logbook_each(l, q, fhir ? add_fhir : add_json, rows, err);
    if (ok) {
        text = json_text_of(document, JSON_INDENT(1) | JSON_REAL_PRECISION(15));
        ok = text != NULL || app_err_memory(err);
    }
    if (ok) {
        bytes_add_text(out, text);
        bytes_add_text(out, "\n");
    }
    free(text);
    json_decref(document);
    return ok;
}

bool logbook_do_export(logbook *l, const logbook_plan *p, app_err *err)
{
    bytes out = BYTES_NONE;
    bool ok = true;
    if (p->format != LOGBOOK_CSV) {
        ok = make_json(l, &p->rows, p->format == LOGBOOK_FHIR, &out, err);
    } else {
        entry_csv_header(&out);
        ok = logbook_each(l, &p->rows, add_csv, &out, err);
    }
    if (ok && out.failed) {
        ok = app_err_memory(err);
    }
    ok = ok && say_bytes(p->out != NULL ? p->out : "-", out.data, out.n, p->force, err);
    bytes_free(&out);
    return ok;
}

/* ---- import ---- */

typedef struct taking {
    logbook *l;
    long rows;
    long there; /* left out, as they are in it already */
} taking;

static bool take(void *context, entry *e, app_err *err)
{
    taking *const t = context;
    const bool counted = e->counted_utc[0] != '\0';
    bool there = false;
    if (!logbook_same_find(t->l, e, &there, err)) {
        return false;
    }
    if (there) {
        t->there++;
        return true;
    }
    t->rows++;
    return logbook_enter(t->l, e, err) && (!counted || logbook_count(t->l, e, err)) &&
           logbook_add(t->l, e, err);
}

/* All rows or none, in one step. */
bool logbook_do_import(logbook *l, const logbook_plan *p, app_err *err)
{
    bytes in = BYTES_NONE;
    taking t = {.l = l};
    bool ok =
        read_whole(p->operands[0], IMPORT_BYTES_MAX, &in, err) && logbook_begin(l, err);
    if (ok) {
        ok = logbook_same_begin(l, err) &&
             entry_csv_read(p->operands[0], in.data, in.n, take, &t, err) &&
             logbook_commit(l, err);
        logbook_undo(l);
    }
    bytes_free(&in);
    if (ok) {
        (void)printf("%ld rows were added", t.rows);
        if (t.there > 0) {
            (void)printf(", %ld are in it already", t.there);
        }
        (void)puts(".");
    }
    return ok;
}
