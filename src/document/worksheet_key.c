#include "src/document/worksheet_key.h"

#include "src/base/json_text.h"

#include <jansson.h>
#include <stdlib.h>
#include <string.h>

static const char SCHEMA[] = "fullminute.worksheet/1";

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

/* ---- Out ---- */

static json_t *known(int value)
{
    return value == WORKSHEET_UNKNOWN ? json_null() : json_integer(value);
}

static json_t *short_json(const worksheet_short *s)
{
    return json_pack("{s:o, s:o}", "low_per_min", known(s->low_per_min), "high_per_min",
                     known(s->high_per_min));
}

static json_t *item_json(const worksheet_item *i)
{
    return json_pack("{s:s, s:s, s:s, s:s, s:s, s:o, s:o, s:o, s:o, s:o, s:o}", "item",
                     i->item, "source", i->source, "recipe", i->recipe, "pattern",
                     i->pattern, "repeat", i->repeat, "beats", known(i->beats), "early",
                     known(i->early), "breaths", known(i->breaths), "wrist",
                     known(i->wrist), "by_15_s", short_json(&i->by_15_s), "by_30_s",
                     short_json(&i->by_30_s));
}

char *worksheet_key_format(const worksheet_key *k)
{
    json_t *const items = json_array();
    bool ok = items != NULL;
    for (size_t i = 0; i < k->n && ok; i++) {
        ok = json_array_append_new(items, item_json(&k->items[i])) == 0;
    }
    json_t *const all =
        ok ? json_pack("{s:s, s:s, s:i, s:O}", "schema", SCHEMA, "made_utc",
                       k->made_utc, "seconds", WORKSHEET_SECONDS, "items", items)
           : NULL;
    char *const text = json_text_of(all, JSON_INDENT(1));
    json_decref(all);
    json_decref(items);
    return text;
}

/* ---- In ---- */

static bool take_text(const json_t *o, const char *name, char *out, size_t room)
{
    const char *const text = json_string_value(json_object_get(o, name));
    if (text == NULL || strlen(text) >= room) {
        return false;
    }
    memcpy(out, text, strlen(text) + 1);
    return true;
}

static bool take_number(const json_t *o, const char *name, int *out)
{
    const json_t *const value = json_object_get(o, name);
    *out = WORKSHEET_UNKNOWN;
    if (json_is_integer(value)) {
        *out = (int)json_integer_value(value);
        return json_integer_value(value) >= 0 && json_integer_value(value) <= 100000;
    }
    return json_is_null(value);
}

static bool take_short(const json_t *o, const char *name, worksheet_short *out)
{
    const json_t *const s = json_object_get(o, name);
    return take_number(s, "low_per_min", &out->low_per_min) &&
           take_number(s, "high_per_min", &out->high_per_min);
}

static bool take_item(const json_t *o, worksheet_item *i)
{
    return take_text(o, "item", i->item, sizeof i->item) &&
           take_text(o, "source", i->source, sizeof i->source) &&
           take_text(o, "recipe", i->recipe, sizeof i->recipe) &&
           take_text(o, "pattern", i->pattern, sizeof i->pattern) &&
           take_text(o, "repeat", i->repeat, sizeof i->repeat) &&
           take_number(o, "beats", &i->beats) && take_number(o, "early", &i->early) &&
           take_number(o, "breaths", &i->breaths) &&
           take_number(o, "wrist", &i->wrist) &&
           take_short(o, "by_15_s", &i->by_15_s) &&
           take_short(o, "by_30_s", &i->by_30_s);
}

bool worksheet_key_parse(const char *text, size_t n, worksheet_key *k, app_err *err)
{
    json_t *const all = json_loadb(text, n, JSON_REJECT_DUPLICATES, NULL);
    const json_t *const items = json_object_get(all, "items");
    const char *const schema = json_string_value(json_object_get(all, "schema"));
    const size_t wanted = json_array_size(items);
    *k = (worksheet_key){.n = 0};
    bool ok = schema != NULL && strcmp(schema, SCHEMA) == 0 && wanted > 0 &&
              wanted <= WORKSHEET_ITEMS_MOST &&
              take_text(all, "made_utc", k->made_utc, sizeof k->made_utc);
    k->items = ok ? calloc(wanted, sizeof *k->items) : NULL;
    for (size_t i = 0; ok && k->items != NULL && i < wanted; i++) {
        ok = take_item(json_array_get(items, i), &k->items[i]);
        k->n++;
    }
    json_decref(all);
    if (json_text_short() || (ok && k->items == NULL)) {
        worksheet_key_free(k);
        return app_err_set(err, APP_FAILED, "out of memory; close other programs");
    }
    if (!ok) {
        worksheet_key_free(k);
        return app_err_set(err, APP_UNREADABLE,
                           "what the key holds is no worksheet of this version");
    }
    return true;
}
