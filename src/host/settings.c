#include "src/port/settings.h"

#include "src/base/json_text.h"
#include "src/port/file.h"
#include "src/port/home.h"

#include <errno.h>
#include <jansson.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

enum {
    FILE_BYTES_MAX = 1 << 20, /* ours is some hundred bytes */
    ASIDE_TRIES = 100
};

static const char SCHEMA[] = "fullminute.settings/1";

struct settings {
    json_t *root;
    char *path;
    bool locked; /* a file that is not understood is still at path */
    char note[APP_ERR_TEXT_BYTES];
};

static void set_aside(settings *s)
{
    const size_t room = strlen(s->path) + 32;
    char *const aside = malloc(room);
    s->locked = true;
    for (int i = 1; aside != NULL && i <= ASIDE_TRIES && s->locked; i++) {
        (void)snprintf(aside, room, "%s.unreadable-%d", s->path, i);
        if (access(aside, F_OK) != 0) {
            s->locked = rename(s->path, aside) != 0;
            break;
        }
    }
    if (s->locked) {
        (void)snprintf(s->note, sizeof s->note,
                       "the settings in %s cannot be understood and could not be set "
                       "aside; nothing will be remembered",
                       s->path);
    } else {
        (void)snprintf(s->note, sizeof s->note,
                       "the settings could not be understood; they were set aside as "
                       "%s, and new ones begin",
                       aside);
    }
    free(aside);
}

static bool understood(const json_t *root)
{
    const char *const schema = json_string_value(json_object_get(root, "schema"));
    return json_is_object(root) && schema != NULL && strcmp(schema, SCHEMA) == 0;
}

static bool read_file(settings *s, FILE *from)
{
    char *const bytes = malloc(FILE_BYTES_MAX);
    if (bytes == NULL) {
        return false;
    }
    const size_t n = fread(bytes, 1, FILE_BYTES_MAX, from);
    json_t *const root =
        n < FILE_BYTES_MAX ? json_loadb(bytes, n, JSON_REJECT_DUPLICATES, NULL) : NULL;
    free(bytes);
    if (ferror(from) != 0 || json_text_short()) {
        json_decref(root);
        return false; /* what they hold is not known: they stay where they are */
    }
    if (understood(root)) {
        json_decref(s->root);
        s->root = root;
    } else {
        json_decref(root);
        set_aside(s);
    }
    return true;
}

settings *settings_load(app_err *err)
{
    settings *const s = calloc(1, sizeof *s);
    app_err why = APP_ERR_NONE;
    if (s != NULL) {
        s->root = json_pack("{s:s}", "schema", SCHEMA);
        s->path = home_path(HOME_CONFIG, "settings.json", NULL, HINT_NONE, &why);
    }
    if (s == NULL || s->root == NULL || why.code != APP_DONE) {
        settings_free(s);
        (void)app_err_memory(err);
        return NULL;
    }
    FILE *const from = s->path != NULL ? fopen(s->path, "re") : NULL;
    if (from == NULL) {
        if (s->path != NULL && errno != ENOENT && errno != ENOTDIR) {
            (void)app_err_set(err, APP_FAILED, "cannot read the settings in %s: %s",
                              s->path, APP_CAUSE(errno));
            settings_free(s);
            return NULL;
        }
        return s;
    }
    const bool ok = read_file(s, from);
    (void)fclose(from);
    if (!ok) {
        (void)app_err_set(err, APP_FAILED,
                          "cannot read the settings in %s: out of memory, or what they "
                          "lie on failed",
                          s->path);
        settings_free(s);
        return NULL;
    }
    return s;
}

void settings_free(settings *s)
{
    if (s != NULL) {
        json_decref(s->root);
        free(s->path);
        free(s);
    }
}

const char *settings_note(const settings *s)
{
    return s->note[0] != '\0' ? s->note : NULL;
}

const char *settings_path(const settings *s)
{
    return s->path;
}

const char *settings_text(const settings *s, const char *member)
{
    return json_string_value(json_object_get(s->root, member));
}

double settings_number_of(const settings *s, const char *member, const char *of)
{
    const json_t *const value = json_object_get(json_object_get(s->root, member), of);
    return json_is_number(value) ? json_number_value(value) : (double)NAN;
}

bool settings_set_text(settings *s, const char *member, const char *text)
{
    return json_object_set_new(s->root, member, json_string(text)) == 0;
}

bool settings_set_number_of(settings *s,
                            const char *member,
                            const char *of,
                            double value)
{
    json_t *table = json_object_get(s->root, member);
    if (!json_is_object(table)) {
        table = json_object();
        if (json_object_set_new(s->root, member, table) != 0) {
            return false;
        }
    }
    return json_object_set_new(table, of, json_real(value)) == 0;
}

bool settings_save(const settings *s, app_err *err)
{
    if (s->path == NULL) {
        return app_err_set(err, APP_FAILED,
                           "there is no home folder to remember settings in; set HOME");
    }
    if (s->locked) {
        return app_err_set(err, APP_FAILED, "%s", s->note);
    }
    if (!file_make_folders(s->path, true, err)) {
        return false;
    }
    char *const text = json_text_of(s->root, JSON_INDENT(2) | JSON_REAL_PRECISION(9));
    if (text == NULL) {
        return app_err_memory(err);
    }
    const size_t n = strlen(text);
    text[n] = '\n'; /* in place of the end; the length goes along */
    const bool ok = file_write_private(s->path, text, n + 1, true, err);
    free(text);
    return ok;
}
