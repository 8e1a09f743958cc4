#include "src/document/worksheet_key.h"

#include "src/base/json_text.h"
#include "src/document/members.h"

#include <stdlib.h>
#include <string.h>

void worksheet_key_free(worksheet_key *k)
{
    free(k->items);
    *k = (worksheet_key){.n = 0};
}

const worksheet_item *worksheet_key_find(const worksheet_key *k, const char *item)
{
    for (size_t i = 0; i < k->n; i++) {
        if (strcmp(k->items[i].item, item) == 0) {
            return &k->items[i];
        }
    }
    return NULL;
}

/* ---- The members ---- */

#define TEXT(type, member)                                                             \
    MEMBER(#member, FIELD(type, member), .how = MEMBER_NEEDED | MEMBER_BLANK)
#define COUNT(type, member) MEMBER(#member, FIELD_IN(type, member, 0, 100000), .how = 0)

static const member SHORT[] = {
    COUNT(worksheet_short, low_per_min),
    COUNT(worksheet_short, high_per_min),
    MEMBERS_END,
};

static const member ITEM[] = {
    TEXT(worksheet_item, item),
    TEXT(worksheet_item, source),
    TEXT(worksheet_item, recipe),
    TEXT(worksheet_item, pattern),
    TEXT(worksheet_item, repeat),
    COUNT(worksheet_item, beats),
    COUNT(worksheet_item, early),
    COUNT(worksheet_item, breaths),
    COUNT(worksheet_item, wrist),
    MEMBER_INSIDE("by_15_s", worksheet_item, by_15_s, SHORT, .how = MEMBER_NEEDED),
    MEMBER_INSIDE("by_30_s", worksheet_item, by_30_s, SHORT, .how = MEMBER_NEEDED),
    MEMBERS_END,
};

static const worksheet_item NO_ITEM = {
    .beats = WORKSHEET_UNKNOWN,
    .early = WORKSHEET_UNKNOWN,
    .breaths = WORKSHEET_UNKNOWN,
    .wrist = WORKSHEET_UNKNOWN,
    .by_15_s = {WORKSHEET_UNKNOWN, WORKSHEET_UNKNOWN},
    .by_30_s = {WORKSHEET_UNKNOWN, WORKSHEET_UNKNOWN},
};

static void put_seconds(document_part *to, const void *from)
{
    (void)from;
    document_put(to, "seconds", json_integer(WORKSHEET_SECONDS));
}

static const member MEMBERS[] = {
    MEMBER_IS("schema", "fullminute.worksheet/1"),
    TEXT(worksheet_key, made_utc),
    MEMBER_OWN(put_seconds, NULL),
    MEMBER_LIST("items",
                worksheet_key,
                items,
                n,
                ITEM,
                .none = &NO_ITEM,
                .most = WORKSHEET_ITEMS_MOST,
                .how = MEMBER_NEEDED),
    MEMBERS_END,
};

char *worksheet_key_format(const worksheet_key *k)
{
    json_t *const all = members_object(MEMBERS, k);
    char *const text = json_text_of(all, JSON_INDENT(1));
    json_decref(all);
    return text;
}

bool worksheet_key_parse(const char *text, size_t n, worksheet_key *k, app_err *err)
{
    app_err why = APP_ERR_NONE;
    document_reader r = {"the key", "", &why, true, NULL};
    *k = (worksheet_key){.n = 0};
    if (members_read(&r, MEMBERS, text, n, k) && k->n > 0) {
        return true;
    }
    worksheet_key_free(k);
    return app_err_set(err, why.code == APP_FAILED ? APP_FAILED : APP_UNREADABLE, "%s",
                       why.code == APP_FAILED
                           ? "out of memory; close other programs"
                           : "what the key holds is no worksheet of this version");
}
