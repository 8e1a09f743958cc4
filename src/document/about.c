#include "src/document/about.h"

#include "src/base/text.h"
#include "src/document/members.h"

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
    return text_join(rows_path, SUFFIX, "");
}

/* ---- The members ---- */

static const field_word FORMATS[] = {
    {"csv", ROW_FORMAT_CSV}, {"jsonl", ROW_FORMAT_JSON_LINES}, {NULL, 0}};

#define NEEDED(name, member) MEMBER(name, FIELD(about, member), .how = MEMBER_NEEDED)

static void put_columns(document_part *to, const void *from)
{
    json_t *names = json_array();
    (void)from;
    for (int i = 0; i < ROW_COLUMN_COUNT; i++) {
        names = document_append(names, json_string(row_column_name((row_column)i)));
    }
    document_put(to, "columns", names);
}

static void put_options(document_part *to, const void *from)
{
    document_put(to, "options", json_incref(((const about *)from)->options));
}

static void take_options(document_reader *r, const json_t *object, void *to)
{
    json_t *const options = json_object_get(object, "options");
    if (!json_is_object(options)) {
        document_wrong(r, "options", "is not an object");
    }
    ((about *)to)->options = r->ok ? json_incref(options) : NULL;
}

static const member SHARD[] = {NEEDED("index", shard), NEEDED("of", shards),
                               MEMBERS_END};

static void put_shard(document_part *to, const void *from)
{
    const bool one = ((const about *)from)->shards == 1;
    document_put(to, "shard", one ? json_null() : members_object(SHARD, from));
}

static void take_shard(document_reader *r, const json_t *object, void *to)
{
    const json_t *const shard = json_object_get(object, "shard");
    const about *const a = to;
    if (shard != NULL && !json_is_null(shard)) {
        members_take(r, SHARD, shard, to);
        if (a->shards < 2 || a->shard < 1 || a->shard > a->shards) {
            document_wrong(r, "shard", "is none there can be");
        }
    }
}

static const member LIST[] = {NEEDED("files", list_files),
                              NEEDED("blake2b_256", list_blake2b), MEMBERS_END};
static const member BY_STATUS[] = {NEEDED("counted", by_status[ROW_COUNTED]),
                                   NEEDED("caution", by_status[ROW_CAUTION]),
                                   NEEDED("refused", by_status[ROW_REFUSED]),
                                   NEEDED("error", by_status[ROW_ERROR]), MEMBERS_END};

static const member MEMBERS[] = {
    MEMBER_IS("schema", ABOUT_SCHEMA),
    NEEDED("engine", engine),
    MEMBER_IS("row_schema", ROW_SCHEMA),
    MEMBER("format", FIELD_ONE_OF(about, format, FORMATS), .how = MEMBER_NEEDED),
    MEMBER_OWN(put_columns, NULL),
    MEMBER_OWN(put_options, take_options),
    MEMBER_OWN(put_shard, take_shard),
    MEMBER_GROUP("list", LIST),
    NEEDED("files", files),
    NEEDED("rows", rows),
    MEMBER_GROUP("by_status", BY_STATUS),
    NEEDED("rows_blake2b_256", rows_blake2b),
    MEMBERS_END,
};

char *about_format(const about *a)
{
    return document_format_line(members_object(MEMBERS, a), JSON_INDENT(2));
}

bool about_parse(const char *name, const char *text, size_t n, about *a, app_err *err)
{
    document_reader r = {name,
                         "; batch writes it beside the rows, keep the two together",
                         err, true, NULL};
    *a = about_none();
    if (!members_read(&r, MEMBERS, text, n, a)) {
        about_free(a);
    }
    return r.ok;
}
