/* A damaged logbook: kept under another name, and what forgetting has to do with it. */
#include "src/logbook/logbook_private.h"
#include "src/port/utc.h"

#include "src/base/bytes.h"
#include "src/port/file.h"

#include <dirent.h>
#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

enum {
    SEARCH_BYTES = 65536
};

static const char DAMAGED[] = ".damaged-";

static bool move(const char *path, const char *suffix, const char *to)
{
    char from_name[ENTRY_PATH_BYTES];
    char to_name[ENTRY_PATH_BYTES];
    (void)snprintf(from_name, sizeof from_name, "%s%s", path, suffix);
    (void)snprintf(to_name, sizeof to_name, "%s%s", to, suffix);
    return rename(from_name, to_name) == 0 || (suffix[0] != '\0' && errno == ENOENT);
}

/* The file and its log go together: with it, somebody may still save what is in there. */
bool logbook_set_aside(logbook *l, app_err *err)
{
    char utc[ENTRY_UTC_BYTES];
    char to[ENTRY_PATH_BYTES - 8];
    struct stat there;
    utc_now(utc, NULL);
    for (char *c = utc; *c != '\0'; c++) {
        if (*c == ':') {
            *c = '-';
        }
    }
    int n = snprintf(to, sizeof to, "%s%s%s", l->path, DAMAGED, utc);
    for (int i = 2; n > 0 && stat(to, &there) == 0 && i < 100; i++) {
        n = snprintf(to, sizeof to, "%s%s%s-%d", l->path, DAMAGED, utc, i);
    }
    if (n < 0 || (size_t)n >= sizeof to || !move(l->path, "", to) ||
        !move(l->path, "-wal", to) || !move(l->path, "-shm", to)) {
        return app_err_set(err, APP_UNREADABLE,
                           "the logbook %s is damaged and cannot be set aside; move it "
                           "away by hand",
                           l->path);
    }
    sqlite3_free(l->note);
    l->note = sqlite3_mprintf(
        "the logbook %s was damaged; it is kept as %s, and a new one was begun",
        l->path, to);
    return true;
}

/* ---- Copies ---- */

/* Does the file hold these bytes? True also for one that cannot be read. */
static bool holds(const char *path, const char *wanted)
{
    const size_t n = strlen(wanted);
    FILE *const file = fopen(path, "rb");
    char *const block = malloc(SEARCH_BYTES);
    bool found = file == NULL || block == NULL;
    size_t kept = 0;
    size_t got = 1;
    while (!found && got > 0) {
        got = fread(block + kept, 1, SEARCH_BYTES - kept, file);
        kept += got;
        for (size_t i = 0; !found && i + n <= kept; i++) {
            found = memcmp(block + i, wanted, n) == 0;
        }
        const size_t tail = kept < n ? kept : n - 1;
        memmove(block, block + kept - tail, tail);
        kept = tail;
    }
    found = found || ferror(file) != 0;
    free(block);
    if (file != NULL) {
        (void)fclose(file);
    }
    return found;
}

bool logbook_copies(const logbook *l,
                    const char *learner,
                    bool remove,
                    struct bytes *names,
                    int *n,
                    app_err *err)
{
    char prefix[ENTRY_PATH_BYTES];
    char path[2 * ENTRY_PATH_BYTES];
    const char *const base = file_base_name(l->path);
    const int folder = (int)(base - l->path);
    const int wrote = snprintf(prefix, sizeof prefix, "%s%s", base, DAMAGED);
    (void)snprintf(path, sizeof path, "%.*s", folder, l->path);
    DIR *const d = opendir(folder > 0 ? path : ".");
    bool ok = d != NULL;
    *n = 0;
    const struct dirent *e = NULL;
    /* One stream a thread: readdir needs no lock here. */
    /* cppcheck-suppress readdirCalled */ /* NOLINTNEXTLINE(concurrency-mt-unsafe) */
    while (d != NULL && (e = readdir(d)) != NULL) {
        if (strncmp(e->d_name, prefix, (size_t)wrote) != 0) {
            continue;
        }
        (void)snprintf(path, sizeof path, "%.*s%s", folder, l->path, e->d_name);
        if (holds(path, learner)) {
            ++*n;
            bytes_add_text(names, *n > 1 ? ", " : "");
            bytes_add_text(names, path);
            ok = (!remove || unlink(path) == 0) && ok;
        }
    }
    if (d != NULL) {
        (void)closedir(d);
    }
    return ok || app_err_set(err, APP_FAILED,
                             "copies of a damaged logbook beside %s could not be %s",
                             l->path, remove ? "removed" : "looked for");
}
