#include "src/document/own_count.h"

#include "src/base/text.h"
#include "src/document/entry.h"

#include <stdio.h>
#include <string.h>

_Static_assert((int)OWN_WORD_BYTES == (int)ENTRY_WORD_BYTES, "word sizes");

own_words own_words_none(void)
{
    return (own_words){.running = {OWN_NOT_NOTED, OWN_NOT_NOTED, OWN_NOT_NOTED}};
}

own_count own_count_of(int entered)
{
    return (own_count){.entered = entered, .words = own_words_none()};
}

bool own_words_ran(const own_words *w)
{
    return w->running[0] != OWN_NOT_NOTED || w->running[1] != OWN_NOT_NOTED ||
           w->running[2] != OWN_NOT_NOTED;
}

/* ---- Counts noted under way ---- */

static bool never_fall(const int running[OWN_RUNNING])
{
    int last = 0;
    for (int i = 0; i < OWN_RUNNING; i++) {
        if (running[i] != OWN_NOT_NOTED) {
            if (running[i] < last || running[i] > OWN_RUNNING_MOST) {
                return false;
            }
            last = running[i];
        }
    }
    return true;
}

bool own_running_take(const char *text, int to[OWN_RUNNING], app_err *err)
{
    own_words read = own_words_none();
    const char *at = text;
    bool ok = true;
    for (int i = 0; i < OWN_RUNNING && ok; i++) {
        char part[OWN_WORD_BYTES];
        long noted = 0;
        at += strspn(at, " ");
        const size_t n = strcspn(at, ",");
        ok = n < sizeof part;
        if (ok && n > 0) {
            memcpy(part, at, n);
            part[n] = '\0';
            part[strcspn(part, " ")] = '\0';
            ok = text_to_long(part, &noted) && noted >= 0 && noted <= OWN_RUNNING_MOST;
            read.running[i] = (int)noted;
        }
        at += n;
        at += *at == ',' && i + 1 < OWN_RUNNING;
    }
    if (!ok || *at != '\0' || !never_fall(read.running)) {
        return app_err_set(
            err, APP_USAGE,
            "the counts noted at 15, 30 and 45 s are three whole numbers "
            "that go up, as in 18,36,53; leave one out that was not "
            "noted, as in 18,,53");
    }
    memcpy(to, read.running, sizeof read.running);
    return true;
}

const char *own_running_show(const int running[OWN_RUNNING], char out[OWN_WORD_BYTES])
{
    const own_words w = {.running = {running[0], running[1], running[2]}};
    out[0] = '\0';
    for (int i = 0; i < OWN_RUNNING && own_words_ran(&w); i++) {
        text_add(out, OWN_WORD_BYTES, i > 0 ? "," : "");
        if (running[i] != OWN_NOT_NOTED) {
            text_add(out, OWN_WORD_BYTES, "%d", running[i]);
        }
    }
    return out;
}

json_t *own_running_json(const int running[OWN_RUNNING])
{
    const own_words w = {.running = {running[0], running[1], running[2]}};
    json_t *const list = own_words_ran(&w) ? json_array() : NULL;
    for (int i = 0; i < OWN_RUNNING && list != NULL; i++) {
        (void)json_array_append_new(
            list, running[i] != OWN_NOT_NOTED ? json_integer(running[i]) : json_null());
    }
    return list != NULL ? list : json_null();
}

bool own_running_from_json(const json_t *list, int to[OWN_RUNNING])
{
    own_words read = own_words_none();
    if (list == NULL || json_is_null(list)) {
        return true;
    }
    bool ok = json_is_array(list) && json_array_size(list) == OWN_RUNNING;
    for (size_t i = 0; i < OWN_RUNNING && ok; i++) {
        const json_t *const noted = json_array_get(list, i);
        const json_int_t value = json_integer_value(noted);
        if (!json_is_null(noted)) {
            ok = json_is_integer(noted) && value >= 0 && value <= OWN_RUNNING_MOST;
            read.running[i] = ok ? (int)value : 0;
        }
    }
    if (ok && never_fall(read.running)) {
        memcpy(to, read.running, sizeof read.running);
        return true;
    }
    return false;
}

/* ---- Words ---- */

/* The fields of a row; NULL: a pulse has none such. */
typedef struct places {
    const char *rhythm, *depth, *effort, *running;
} places;

static const places PLACES[] = {
    {"rhythm", NULL, NULL, "running"},
    {"breath_rhythm", "breath_depth", "breath_effort", "breath_running"}};

static bool may_stand(const char *name, const char *word, app_err *err)
{
    entry trial = entry_none();
    return word[0] == '\0' ||
           (name != NULL && entry_set(&trial, entry_field_named(name), word)) ||
           app_err_set(err, APP_USAGE, "'%.40s' is not one of the words for %s", word,
                       name == NULL                         ? "a pulse"
                       : strcmp(name, "rhythm") == 0        ? "a rhythm"
                       : strcmp(name, "breath_rhythm") == 0 ? "how breathing goes"
                       : strcmp(name, "breath_depth") == 0  ? "how deep a breath is"
                                                            : "an effort");
}

bool own_words_check(const own_words *w, taking_entry of, app_err *err)
{
    const places *const p = &PLACES[of == TAKING_BREATH];
    return may_stand(p->rhythm, w->rhythm, err) && may_stand(p->depth, w->depth, err) &&
           may_stand(p->effort, w->effort, err) &&
           (never_fall(w->running) ||
            app_err_set(err, APP_USAGE,
                        "the counts noted at 15, 30 and 45 s have to go up"));
}

static void put_one(entry *row, const char *name, const char *word)
{
    if (name != NULL && word[0] != '\0') {
        (void)entry_set(row, entry_field_named(name), word);
    }
}

void own_words_put(const own_words *w, bool breaths, entry *row)
{
    const places *const p = &PLACES[breaths];
    char noted[OWN_WORD_BYTES];
    put_one(row, p->rhythm, w->rhythm);
    put_one(row, p->depth, w->depth);
    put_one(row, p->effort, w->effort);
    put_one(row, p->running, own_running_show(w->running, noted));
}

static void take_one(const entry *row, const char *name, char to[OWN_WORD_BYTES])
{
    if (name != NULL) {
        entry_put(to, OWN_WORD_BYTES, entry_text(row, entry_field_named(name)));
    }
}

own_words own_words_of(const entry *row, bool breaths)
{
    const places *const p = &PLACES[breaths];
    own_words w = own_words_none();
    take_one(row, p->rhythm, w.rhythm);
    take_one(row, p->depth, w.depth);
    take_one(row, p->effort, w.effort);
    (void)own_running_take(entry_text(row, entry_field_named(p->running)), w.running,
                           NULL);
    return w;
}
