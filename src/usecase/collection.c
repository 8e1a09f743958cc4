#include "src/usecase/collection.h"

#include "src/base/text.h"
#include "src/port/file.h"
#include "src/port/private_folder.h"

#include <dirent.h>
#include <errno.h>
#include <pthread.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>
#include <sys/random.h>
#include <unistd.h>

static const char OWN_KIND[] = "page"; /* of the private folder's name */

struct collection {
    pthread_mutex_t lock;
    char folder[COLLECTION_PATH_BYTES];
    private_folder own; /* none: not made yet */
    int made;
    int n, n_found;
    collection_item items[COLLECTION_MOST];
    int order[COLLECTION_MOST]; /* of those found, for practising */
};

/* ---- The folder ---- */

static bool is_folder(const char *path)
{
    DIR *const d = opendir(path);
    if (d != NULL) {
        (void)closedir(d);
    }
    return d != NULL;
}

/* Beside the program, as built or as installed, or where the person stands. */
static void find_folder(char out[COLLECTION_PATH_BYTES])
{
    static const char *const UNDER[] = {"recordings", "share/fullminute/recordings"};
    char at[COLLECTION_PATH_BYTES / 2];
    const ssize_t n = readlink("/proc/self/exe", at, sizeof at - 1);
    at[n > 0 ? n : 0] = '\0';
    for (int up = 0; up < 4; up++) {
        char *const slash = strrchr(at, '/');
        if (slash == NULL) {
            break;
        }
        *slash = '\0';
        for (size_t i = 0; i < sizeof UNDER / sizeof UNDER[0]; i++) {
            (void)snprintf(out, COLLECTION_PATH_BYTES, "%s/%s", at, UNDER[i]);
            if (is_folder(out)) {
                return;
            }
        }
    }
    (void)snprintf(out, COLLECTION_PATH_BYTES, "%s",
                   is_folder("recordings") ? "recordings" : "");
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
    const bool has = truth != NULL && access(truth, R_OK) == 0;
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

static void look(collection *s, DIR *d)
{
    const struct dirent *e = NULL;
    /* NOLINTBEGIN(concurrency-mt-unsafe): nobody else reads this folder here */
    /* cppcheck-suppress readdirCalled */
    while (s->n < COLLECTION_MOST / 2 && (e = readdir(d)) != NULL) {
        /* NOLINTEND(concurrency-mt-unsafe) */
        char path[COLLECTION_PATH_BYTES];
        const int n = snprintf(path, sizeof path, "%s/%s", s->folder, e->d_name);
        if (is_sound(e->d_name) && n > 0 && (size_t)n < sizeof path) {
            put(s, COLLECTION_FOUND, e->d_name, path);
        }
    }
    qsort(s->items, (size_t)s->n, sizeof s->items[0], by_name);
    for (int i = 0; i < s->n; i++) {
        s->items[i].number = i + 1;
    }
    s->n_found = s->n;
}

static void shuffle(collection *s)
{
    unsigned dice[COLLECTION_MOST] = {0};
    (void)getrandom(dice, sizeof dice, 0);
    for (int i = 0; i < s->n_found; i++) {
        s->order[i] = i;
    }
    for (int i = s->n_found - 1; i > 0; i--) {
        const int k = (int)(dice[i] % (unsigned)(i + 1));
        const int kept = s->order[i];
        s->order[i] = s->order[k];
        s->order[k] = kept;
    }
}

collection *collection_open(const char *folder, app_err *err)
{
    collection *const s = calloc(1, sizeof *s);
    if (s == NULL) {
        (void)app_err_memory(err);
        return NULL;
    }
    (void)pthread_mutex_init(&s->lock, NULL);
    s->own = (private_folder)PRIVATE_FOLDER_NONE;
    private_folder_sweep(OWN_KIND);
    if (folder == NULL) {
        find_folder(s->folder);
    } else {
        (void)snprintf(s->folder, sizeof s->folder, "%s", folder);
    }
    DIR *const d = s->folder[0] != '\0' ? opendir(s->folder) : NULL;
    if (d != NULL) {
        look(s, d);
        (void)closedir(d);
    } else if (folder != NULL) {
        (void)app_err_set(err, APP_UNREADABLE, "cannot open the folder %s: %s", folder,
                          APP_CAUSE(errno));
        collection_close(s);
        return NULL;
    }
    shuffle(s);
    return s;
}

void collection_close(collection *s)
{
    if (s == NULL) {
        return;
    }
    private_folder_remove(&s->own);
    (void)pthread_mutex_destroy(&s->lock);
    free(s);
}

const char *collection_folder(const collection *s)
{
    return s->folder;
}

/* ---- One by one ---- */

bool collection_get(collection *s, int number, collection_item *out)
{
    (void)pthread_mutex_lock(&s->lock);
    const bool there = number >= 1 && number <= s->n;
    if (there) {
        *out = s->items[number - 1];
    }
    (void)pthread_mutex_unlock(&s->lock);
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
    (void)pthread_mutex_lock(&s->lock);
    bool ok = make_own(s, err);
    if (ok && s->n >= COLLECTION_MOST) {
        ok = app_err_set(err, APP_FAILED,
                         "no room for more recordings; start the program again");
    }
    if (ok) {
        (void)snprintf(out, COLLECTION_PATH_BYTES, "%.980s/%d.wav", s->own.path,
                       ++s->made);
    }
    (void)pthread_mutex_unlock(&s->lock);
    return ok;
}

int collection_add(collection *s,
                   collection_kind kind,
                   const char *name,
                   const char *path)
{
    (void)pthread_mutex_lock(&s->lock);
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
    (void)pthread_mutex_unlock(&s->lock);
    return number;
}
