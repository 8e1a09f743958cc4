#include "src/batch/file_list.h"

#include "src/base/bytes.h"
#include "src/base/text.h"
#include "src/document/about.h"
#include "src/document/row.h"
#include "src/port/file.h"
#include "src/port/interrupt.h"

#include <dirent.h>
#include <errno.h>
#include <fnmatch.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

enum {
    PATH_MAX_BYTES = 1 << 16,
    LIST_MIB_MOST = 256, /* a list that never ends is none (ours, as the next) */
    LIST_PATHS_MOST = 4000000
};

/* What the program itself puts beside recordings and results. */
static const char *const COMPANIONS[] = {
    ".truth.json", ".sitting.json", ".taps.txt",   ".intervals.txt", ".batch.json",
    ".ledger",     "-journal",      ".count.json", ".count.jsonl",   ".marks.tsv",
};

/* Folders still to be walked: owned texts. */
struct folders {
    char **path;
    size_t n;
    size_t room;
};

/* Takes path over. */
static bool push_folder(struct folders *to, char *path, app_err *err)
{
    char **const grown = list_with_room(to->path, to->n + 1, &to->room, sizeof *grown);
    if (grown == NULL) {
        free(path);
        return app_err_memory(err);
    }
    to->path = grown;
    to->path[to->n++] = path;
    return true;
}

static char *join(const char *folder, const char *name)
{
    const size_t n = strlen(folder);
    return text_join(folder, n > 0 && folder[n - 1] != '/' ? "/" : "", name);
}

static bool ends_with(const char *text, const char *end)
{
    const size_t n = strlen(text);
    const size_t m = strlen(end);
    return n > m && strcmp(text + n - m, end) == 0;
}

static bool is_companion(const char *name)
{
    for (size_t i = 0; i < sizeof COMPANIONS / sizeof *COMPANIONS; i++) {
        if (ends_with(name, COMPANIONS[i])) {
            return true;
        }
    }
    return false;
}

/* Rows, by the document that lies beside every such file. */
static bool has_rows(const char *path)
{
    struct stat info;
    row_format format;
    if (!row_format_of_name(path, &format)) {
        return false;
    }
    char *const document = about_path(path);
    const bool there = document != NULL && stat(document, &info) == 0;
    free(document);
    return there;
}

static bool is_kept_out(const file_list_config *config, const char *path)
{
    for (int i = 0; i < LIST_KEPT_OUT_MAX && config->kept_out[i] != NULL; i++) {
        const char *const own = config->kept_out[i];
        if (strcmp(file_base_name(own), file_base_name(path)) == 0 &&
            file_is_same(own, path)) {
            return true;
        }
    }
    return false;
}

/* ---- Walking ---- */

/* One name in a folder. Takes path over. */
static bool take_entry(const file_list_config *config,
                       char *path,
                       struct folders *folders,
                       app_err *err)
{
    const char *const name = file_base_name(path);
    struct stat info = {0};
    bool ok = true;
    const bool there = lstat(path, &info) == 0;
    if (name[0] == '.') {
        config->left->hidden++;
    } else if (there && S_ISDIR(info.st_mode) && !is_kept_out(config, path)) {
        return push_folder(folders, path, err);
    } else if (is_kept_out(config, path) || is_companion(name) || has_rows(path)) {
        config->left->companions++;
    } else if (config->match != NULL && fnmatch(config->match, name, 0) != 0) {
        config->left->not_matching++;
    } else {
        if (there && S_ISLNK(info.st_mode) && stat(path, &info) != 0) {
            info.st_size = 0;
        }
        ok = config->found(config->context, path, info.st_size, err);
    }
    free(path);
    return ok;
}

static bool walk_one(const file_list_config *config,
                     const char *folder,
                     struct folders *folders,
                     app_err *err)
{
    DIR *const dir = opendir(folder);
    if (dir == NULL) {
        return config->found(config->context, folder, 0, err); /* its row says why */
    }
    bool ok = true;
    const struct dirent *entry = NULL;
    /* One stream a thread: readdir needs no lock here. */
    /* cppcheck-suppress readdirCalled */ /* NOLINTNEXTLINE(concurrency-mt-unsafe) */
    while (ok && (entry = readdir(dir)) != NULL) {
        if (strcmp(entry->d_name, ".") == 0 || strcmp(entry->d_name, "..") == 0) {
            continue;
        }
        char *const path = join(folder, entry->d_name);
        ok =
            path != NULL ? take_entry(config, path, folders, err) : app_err_memory(err);
        ok = ok && interrupt_check(err);
    }
    (void)closedir(dir);
    return ok;
}

static bool walk(const file_list_config *config, const char *path, app_err *err)
{
    struct folders folders = {NULL, 0, 0};
    char *const first = strdup(path);
    bool ok = first != NULL ? push_folder(&folders, first, err) : app_err_memory(err);
    while (ok && folders.n > 0) {
        char *const folder = folders.path[--folders.n];
        ok = walk_one(config, folder, &folders, err);
        free(folder);
    }
    while (folders.n > 0) {
        free(folders.path[--folders.n]);
    }
    free(folders.path);
    return ok;
}

bool file_list_path(const file_list_config *config, const char *path, app_err *err)
{
    char *const bare = strdup(path);
    if (bare == NULL) {
        return app_err_memory(err);
    }
    for (size_t n = strlen(bare); n > 1 && bare[n - 1] == '/'; n--) {
        bare[n - 1] = '\0';
    }
    struct stat info = {0};
    const bool there = stat(bare, &info) == 0;
    const bool ok = there && S_ISDIR(info.st_mode)
                        ? walk(config, bare, err)
                        : config->found(config->context, bare, info.st_size, err);
    free(bare);
    return ok;
}

/* ---- A list ---- */

static bool bad_list(const char *name, const char *what, app_err *err)
{
    return app_err_set(err, APP_UNREADABLE, "cannot read the list %s: %s", name, what);
}

/* The next path, without what ends it: its length, or -1 at the end, -2 when too long. */
static int read_path(FILE *file, int end, char *out)
{
    int n = 0;
    int c = 0;
    /* One thread reads it. NOLINTNEXTLINE(concurrency-mt-unsafe) */
    while ((c = getc_unlocked(file)) != EOF && c != end) {
        if (n >= PATH_MAX_BYTES) {
            return -2;
        }
        out[n++] = (char)c;
    }
    out[n] = '\0';
    return n == 0 && c == EOF ? -1 : n;
}

static bool read_paths(const file_list_config *config,
                       FILE *file,
                       const char *name,
                       int end,
                       char *path,
                       app_err *err)
{
    int n = 0;
    int64_t n_bytes = 0;
    int64_t n_paths = 0;
    while (interrupt_check(err) && (n = read_path(file, end, path)) != -1) {
        n_bytes += n + 1;
        n_paths += n > 0;
        if (n_bytes > (int64_t)LIST_MIB_MOST << 20 || n_paths > LIST_PATHS_MOST) {
            return bad_list(name,
                            "it is over 256 MiB or four million paths long, and "
                            "has not ended; give it in parts",
                            err);
        }
        if (n == -2) {
            return bad_list(name, "a path in it is over 64 KiB", err);
        }
        if (memchr(path, '\0', (size_t)n) != NULL) {
            return bad_list(name, "it holds zero bytes; add --null", err);
        }
        if (n > 0 && !file_list_path(config, path, err)) {
            return false;
        }
    }
    if (ferror(file) && !interrupt_asked()) {
        return bad_list(name, APP_CAUSE(errno), err);
    }
    return interrupt_check(err);
}

bool file_list_text(const file_list_config *config,
                    FILE *file,
                    const char *name,
                    bool ends_with_zero,
                    app_err *err)
{
    char *const path = malloc(PATH_MAX_BYTES + 1);
    if (path == NULL) {
        return app_err_memory(err);
    }
    const bool ok =
        read_paths(config, file, name, ends_with_zero ? '\0' : '\n', path, err);
    free(path);
    return ok;
}
