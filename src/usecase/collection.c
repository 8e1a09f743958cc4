#include "src/usecase/collection.h"

#include "dsp/signal/random.h"
#include "src/base/text.h"
#include "src/port/file.h"
#include "src/port/folder.h"
#include "src/port/home.h"
#include "src/port/lock.h"
#include "src/port/private_folder.h"
#include "src/port/steady.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

static const char OWN_KIND[] = "page"; /* of the private folder's name */

struct collection {
    lock *lock;
    char folder[COLLECTION_PATH_BYTES];
    private_folder own; /* none: not made yet */
    int made;
    int n, n_found;
    collection_item items[COLLECTION_MOST];
    int order[COLLECTION_MOST]; /* of those found, for practising */
};

/* ---- The folder ---- */

/* Beside the program, as built or as installed, or where the person stands. */
static void find_folder(char out[COLLECTION_PATH_BYTES])
{
    static const char *const UNDER[] = {"recordings", "share/fullminute/recordings"};
    char *const at = home_of_program();
    char *end = at;
    bool found = false;
    for (int up = 0; !found && end != NULL && up < 4; up++) {
        for (size_t i = 0; !found && i < sizeof UNDER / sizeof UNDER[0]; i++) {
            (void)snprintf(out, COLLECTION_PATH_BYTES, "%s/%s", at, UNDER[i]);
            found = file_is_folder(out);
        }
        end = strrchr(at, '/');
        if (end != NULL) {
            *end = '\0';
        }
    }
    free(at);
    if (!found) {
        (void)snprintf(out, COLLECTION_PATH_BYTES, "recordings");
        out[file_is_folder(out) ? strlen(out) : 0] = '\0';
    }
}

static bool is_sound(const char *name)
{
    static const char *const ENDS[] = {".flac", ".wav", ".ogg",
                                       ".aiff", ".aif", ".mp3"};
    const char *const dot = strrchr(name, '.');
    for (size_t i = 0;
         dot != NULL && name[0] != '.' && i < sizeof ENDS / sizeof ENDS[0]; i++) {
        if (strcasecmp(dot, ENDS[i]) == 0) {
            return true;
        }
    }
    return false;
}

static int by_name(const void *a, const void *b)
{
    return strcmp(((const collection_item *)a)->name,
                  ((const collection_item *)b)->name);
}

static void set_name(collection_item *item, const char *name)
{
    char *const shown = text_escape_name(name);
    (void)snprintf(item->name, sizeof item->name, "%.80s", shown != NULL ? shown : "");
    free(shown);
    for (char *c = item->name; *c != '\0'; c++) {
        if ((unsigned char)*c < ' ' || *c == 127) {
            *c = '?';
        }
    }
    if (!text_is_utf8(item->name)) {
        (void)snprintf(item->name, sizeof item->name, "recording");
    }
}

static bool has_truth(const char *path)
{
    char *const truth = file_beside(path, ".truth.json");
    const bool has = truth != NULL && file_is_there(truth);
    free(truth);
    return has;
}

static void put(collection *s, collection_kind kind, const char *name, const char *path)
{
    collection_item *const item = &s->items[s->n++];
    *item = (collection_item){.number = s->n, .kind = kind, .known = has_truth(path)};
    set_name(item, name);
    (void)snprintf(item->path, sizeof item->path, "%s", path);
}

static bool look_at(void *context, const char *name)
{
    collection *const s = context;
    char path[COLLECTION_PATH_BYTES];
    const int n = snprintf(path, sizeof path, "%s/%s", s->folder, name);
    if (is_sound(name) && n > 0 && (size_t)n < sizeof path) {
        put(s, COLLECTION_FOUND, name, path);
    }
    return s->n < COLLECTION_MOST / 2;
}

static void number_by_name(collection *s)
{
    qsort(s->items, (size_t)s->n, sizeof s->items[0], by_name);
    for (int i = 0; i < s->n; i++) {
        s->items[i].number = i + 1;
    }
    s->n_found = s->n;
}

static void shuffle(collection *s)
{
    fm_random dice = fm_random_init((uint64_t)(1e9 * steady_now_s()), 0x636f);
    for (int i = 0; i < s->n_found; i++) {
        s->order[i] = i;
    }
    for (int i = s->n_found - 1; i > 0; i--) {
        const int k = (int)(fm_random_next(&dice) % (unsigned)(i + 1));
        const int kept = s->order[i];
        s->order[i] = s->order[k];
        s->order[k] = kept;
    }
}

collection *collection_open(const char *folder, app_err *err)
{
    collection *const s = calloc(1, sizeof *s);
    if (s == NULL || (s->lock = lock_make()) == NULL) {
        free(s);
        (void)app_err_memory(err);
        return NULL;
    }
    s->own = (private_folder)PRIVATE_FOLDER_NONE;
    private_folder_sweep(OWN_KIND);
    if (folder == NULL) {
        find_folder(s->folder);
    } else {
        (void)snprintf(s->folder, sizeof s->folder, "%s", folder);
    }
    app_err none = APP_ERR_NONE;
    if (!folder_each(s->folder, look_at, s, folder != NULL ? err : &none) &&
        folder != NULL) {
        collection_close(s);
        return NULL;
    }
    number_by_name(s);
    shuffle(s);
    return s;
}

void collection_close(collection *s)
{
    if (s == NULL) {
        return;
    }
    private_folder_remove(&s->own);
    lock_free(s->lock);
    free(s);
}

const char *collection_folder(const collection *s)
{
    return s->folder;
}

/* ---- One by one ---- */

bool collection_get(collection *s, int number, collection_item *out)
{
    lock_take(s->lock);
    const bool there = number >= 1 && number <= s->n;
    if (there) {
        *out = s->items[number - 1];
    }
    lock_leave(s->lock);
    return there;
}

void collection_each(collection *s, collection_reader *reader, void *context)
{
    collection_item item;
    for (int i = 1; collection_get(s, i, &item); i++) {
        reader(context, &item);
    }
}

bool collection_get_unnamed(collection *s, int n, collection_item *out)
{
    return n >= 1 && n <= s->n_found && collection_get(s, s->order[n - 1] + 1, out);
}

int collection_n_unnamed(collection *s)
{
    return s->n_found;
}

/* Made when first needed, for this person only. */
static bool make_own(collection *s, app_err *err)
{
    return s->own.path[0] != '\0' || private_folder_make(&s->own, OWN_KIND, err);
}

bool collection_new_path(collection *s, char out[COLLECTION_PATH_BYTES], app_err *err)
{
    lock_take(s->lock);
    bool ok = make_own(s, err);
    if (ok && s->n >= COLLECTION_MOST) {
        ok = app_err_set(err, APP_FAILED,
                         "no room for more recordings; start the program again");
    }
    if (ok) {
        (void)snprintf(out, COLLECTION_PATH_BYTES, "%.980s/%d.wav", s->own.path,
                       ++s->made);
    }
    lock_leave(s->lock);
    return ok;
}

int collection_add(collection *s,
                   collection_kind kind,
                   const char *name,
                   const char *path)
{
    lock_take(s->lock);
    int number = 0;
    for (int i = 0; i < s->n; i++) {
        if (strcmp(s->items[i].path, path) == 0) {
            number = i + 1;
        }
    }
    if (number == 0 && s->n < COLLECTION_MOST) {
        put(s, kind, name, path);
        number = s->n;
    }
    lock_leave(s->lock);
    return number;
}
