#include "src/batch/about.h"

#include "src/base/json_text.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const char SUFFIX[] = ".batch.json";

about about_none(void)
{
    return (about){.shard = 1, .shards = 1};
}

void about_free(about *a)
{
    json_decref(a->options);
    *a = about_none();
}

char *about_path(const char *rows_path)
{
    const size_t n = strlen(rows_path);
    char *const path = malloc(n + sizeof SUFFIX);
    if (path != NULL) {
        memcpy(path, rows_path, n);
        memcpy(path + n, SUFFIX, sizeof SUFFIX);
    }
    return path;
}

/* ---- Writing ---- */

static json_t *columns(void)
{
    json_t *const array = json_array();
    for (int i = 0; i < ROW_COLUMN_COUNT; i++) {
        (void)json_array_append_new(array, json_string(row_column_name((row_column)i)));
    }
    return array;
}

char *about_format(const about *a)
{
    char list[DIGEST_TEXT_BYTES];
    char rows[DIGEST_TEXT_BYTES];
    json_t *const shard =
        a->shards > 1 ? json_pack("{s:i, s:i}", "index", a->shard, "of", a->shards)
                      : json_null();
    json_t *const document = json_pack(
        "{s:s, s:s, s:s, s:s, s:o, s:O, s:o, s:{s:I, s:s}, s:I, s:I, s:{s:I, s:I, s:I, "
        "s:I}, s:s}",
        "schema", ABOUT_SCHEMA, "engine", a->engine, "row_schema", ROW_SCHEMA, "format",
        a->format == ROW_FORMAT_CSV ? "csv" : "jsonl", "columns", columns(), "options",
        a->options, "shard", shard, "list", "files", (json_int_t)a->list_files,
        "blake2b_256", digest_format(&a->list_digest, list), "files",
        (json_int_t)a->files, "rows", (json_int_t)a->rows, "by_status", "counted",
        (json_int_t)a->by_status[ROW_COUNTED], "caution",
        (json_int_t)a->by_status[ROW_CAUTION], "refused",
        (json_int_t)a->by_status[ROW_REFUSED], "error",
        (json_int_t)a->by_status[ROW_ERROR], "rows_blake2b_256",
        digest_format(&a->rows_digest, rows));
    char *const text = json_text_of(document, JSON_INDENT(2));
    json_decref(document);
    const size_t n = text != NULL ? strlen(text) : 0;
    char *const line = text != NULL ? realloc(text, n + 2) : NULL;
    if (line == NULL) {
        free(text);
        return NULL;
    }
    memcpy(line + n, "\n", 2);
    return line;
}

/* ---- Reading ---- */

static bool take_shard(json_t *shard, about *a)
{
    if (json_is_null(shard)) {
        return true;
    }
    return json_unpack(shard, "{s:i, s:i}", "index", &a->shard, "of", &a->shards) ==
               0 &&
           a->shards > 1 && a->shard >= 1 && a->shard <= a->shards;
}

/* What the members say, by their kinds; texts are borrowed from the document. */
static bool take_members(json_t *document, about *a)
{
    const char *schema = NULL;
    const char *engine = NULL;
    const char *row_schema = NULL;
    const char *format = NULL;
    const char *list = NULL;
    const char *rows = NULL;
    json_t *shard = NULL;
    json_int_t n[3 + ROW_STATUS_COUNT] = {0};
    if (json_unpack(
            document,
            "{s:s, s:s, s:s, s:s, s:O, s:o, s:{s:I, s:s}, s:I, s:I, s:{s:I, s:I, s:I, "
            "s:I}, s:s}",
            "schema", &schema, "engine", &engine, "row_schema", &row_schema, "format",
            &format, "options", &a->options, "shard", &shard, "list", "files", &n[0],
            "blake2b_256", &list, "files", &n[1], "rows", &n[2], "by_status", "counted",
            &n[3], "caution", &n[4], "refused", &n[5], "error", &n[6],
            "rows_blake2b_256", &rows) != 0) {
        return false;
    }
    (void)snprintf(a->engine, sizeof a->engine, "%s", engine);
    const bool csv = strcmp(format, "csv") == 0;
    a->format = csv ? ROW_FORMAT_CSV : ROW_FORMAT_JSON_LINES;
    a->list_files = n[0];
    a->files = n[1];
    a->rows = n[2];
    for (int i = 0; i < ROW_STATUS_COUNT; i++) {
        a->by_status[i] = n[3 + i];
    }
    return strcmp(schema, ABOUT_SCHEMA) == 0 && strcmp(row_schema, ROW_SCHEMA) == 0 &&
           (csv || strcmp(format, "jsonl") == 0) && json_is_object(a->options) &&
           take_shard(shard, a) && digest_read(list, &a->list_digest) &&
           digest_read(rows, &a->rows_digest);
}

bool about_read(const char *rows_path, about *a, app_err *err)
{
    *a = about_none();
    char *const path = about_path(rows_path);
    if (path == NULL) {
        return app_err_memory(err);
    }
    json_error_t problem;
    json_t *const document = json_load_file(path, JSON_REJECT_DUPLICATES, &problem);
    bool ok = true;
    if (json_text_short()) {
        ok = app_err_set(err, APP_FAILED, "cannot read %s: out of memory", path);
    } else if (document == NULL) {
        ok =
            app_err_set(err, APP_UNREADABLE,
                        "cannot read %s, which says what %s holds: %s; batch writes it "
                        "beside the rows, keep the two together",
                        path, rows_path, problem.text);
    } else if (!take_members(document, a)) {
        about_free(a);
        ok = app_err_set(err, APP_UNREADABLE, "%s is no document of this version (%s)",
                         path, ABOUT_SCHEMA);
    }
    json_decref(document);
    free(path);
    return ok;
}
