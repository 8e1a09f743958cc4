/* Opening and closing, and what happens to a damaged file. */
#include "src/logbook/logbook_private.h"

#include "src/base/file.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

enum {
    BUSY_MS = 10000 /* another program's commit is a matter of milliseconds */
};

/* Deleted rows are overwritten; a commit is on disk when it returns. */
static const char SET_UP[] = "PRAGMA foreign_keys = ON;"
                             "PRAGMA synchronous = FULL;"
                             "PRAGMA secure_delete = ON;"
                             "PRAGMA temp_store = MEMORY;";

void logbook_now(char out[ENTRY_UTC_BYTES], int *offset_min)
{
    const time_t now = time(NULL);
    struct tm utc;
    struct tm local;
    (void)gmtime_r(&now, &utc);
    (void)localtime_r(&now, &local);
    const int days = local.tm_year != utc.tm_year ? local.tm_year - utc.tm_year
                                                  : local.tm_yday - utc.tm_yday;
    (void)strftime(out, ENTRY_UTC_BYTES, "%Y-%m-%dT%H:%M:%SZ", &utc);
    *offset_min = (days * 24 + local.tm_hour - utc.tm_hour) * 60 + local.tm_min -
                  utc.tm_min; /* the two are at most a day apart */
}

bool logbook_fail(const logbook *l, app_err *err)
{
    switch (sqlite3_errcode(l->db) & 0xff) {
    case SQLITE_BUSY:
    case SQLITE_LOCKED:
        return app_err_set(err, APP_FAILED,
                           "the logbook %s has been held by another program for ten "
                           "seconds; close that one and try again",
                           l->path);
    case SQLITE_NOTADB:
    case SQLITE_CORRUPT:
        return app_err_set(err, APP_UNREADABLE, "the logbook %s is damaged", l->path);
    case SQLITE_FULL:
        return app_err_set(err, APP_FAILED,
                           "the disk is full: nothing was added to the logbook %s, "
                           "what it held is still there; make room and try again",
                           l->path);
    case SQLITE_READONLY:
    case SQLITE_PERM:
        return app_err_set(err, APP_FAILED,
                           "the logbook %s or its folder cannot be written, so nothing "
                           "was added; choose another place with --logbook",
                           l->path);
    case SQLITE_CANTOPEN:
        return app_err_set(err, APP_FAILED,
                           "cannot open the logbook %s; is its folder there, and may "
                           "you write in it?",
                           l->path);
    case SQLITE_NOMEM:
        return app_err_set(err, APP_FAILED, "out of memory; close other programs");
    case SQLITE_CONSTRAINT:
        return app_err_set(err, APP_USAGE, "not stored: %s", sqlite3_errmsg(l->db));
    default:
        return app_err_set(err, APP_FAILED, "cannot use the logbook %s: %s", l->path,
                           sqlite3_errmsg(l->db));
    }
}

bool logbook_run(logbook *l, const char *sql, app_err *err)
{
    return sqlite3_exec(l->db, sql, NULL, NULL, NULL) == SQLITE_OK ||
           logbook_fail(l, err);
}

sqlite3_stmt *logbook_prepare(logbook *l, const char *sql, app_err *err)
{
    sqlite3_stmt *s = NULL;
    if (sqlite3_prepare_v2(l->db, sql, -1, &s, NULL) != SQLITE_OK) {
        (void)logbook_fail(l, err);
        return NULL;
    }
    return s;
}

bool logbook_finish(logbook *l, sqlite3_stmt *s, app_err *err)
{
    if (s == NULL) {
        return false;
    }
    const int rc = sqlite3_step(s);
    const bool ok = rc == SQLITE_DONE || rc == SQLITE_ROW || logbook_fail(l, err);
    (void)sqlite3_finalize(s);
    return ok;
}

char *logbook_default_path(app_err *err)
{
    /* NOLINTBEGIN(concurrency-mt-unsafe): nothing here changes the environment */
    const char *const data = getenv("XDG_DATA_HOME");
    const char *const home = getenv("HOME");
    /* NOLINTEND(concurrency-mt-unsafe) */
    const bool has_data = data != NULL && data[0] == '/';
    if (!has_data && (home == NULL || home[0] != '/')) {
        (void)app_err_set(err, APP_FAILED,
                          "no home folder to keep a logbook in; name a file with "
                          "--logbook FILE");
        return NULL;
    }
    const char *const root = has_data ? data : home;
    const char *const rest = has_data ? "/fullminute/logbook.sqlite"
                                      : "/.local/share/fullminute/logbook.sqlite";
    const size_t n = strlen(root) + strlen(rest) + 1;
    char *const path = malloc(n);
    if (path == NULL) {
        (void)app_err_set(err, APP_FAILED, "out of memory; close other programs");
        return NULL;
    }
    (void)snprintf(path, n, "%s%s", root, rest);
    return path;
}

/* ---- A damaged file ---- */

static bool is_damaged(logbook *l)
{
    sqlite3_stmt *s = NULL;
    bool sound = false;
    int rc = sqlite3_prepare_v2(l->db, "PRAGMA quick_check(1)", -1, &s, NULL);
    if (rc == SQLITE_OK) {
        rc = sqlite3_step(s);
        sound = rc == SQLITE_ROW &&
                strcmp((const char *)sqlite3_column_text(s, 0), "ok") == 0;
    }
    (void)sqlite3_finalize(s);
    const int code = rc & 0xff;
    return code == SQLITE_CORRUPT || code == SQLITE_NOTADB ||
           (code == SQLITE_ROW && !sound);
}

static bool move(const char *path, const char *suffix, const char *to)
{
    char from_name[ENTRY_PATH_BYTES];
    char to_name[ENTRY_PATH_BYTES];
    (void)snprintf(from_name, sizeof from_name, "%s%s", path, suffix);
    (void)snprintf(to_name, sizeof to_name, "%s%s", to, suffix);
    return rename(from_name, to_name) == 0 || (suffix[0] != '\0' && errno == ENOENT);
}

/* The file and its log go together: with it, somebody may still save what is in there. */
static bool set_aside(logbook *l, app_err *err)
{
    char utc[ENTRY_UTC_BYTES];
    char to[ENTRY_PATH_BYTES - 8];
    int ignored = 0;
    struct stat there;
    logbook_now(utc, &ignored);
    for (char *c = utc; *c != '\0'; c++) {
        if (*c == ':') {
            *c = '-';
        }
    }
    int n = snprintf(to, sizeof to, "%s.damaged-%s", l->path, utc);
    for (int i = 2; n > 0 && stat(to, &there) == 0 && i < 100; i++) {
        n = snprintf(to, sizeof to, "%s.damaged-%s-%d", l->path, utc, i);
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

/* ---- Opening ---- */

static bool open_file(logbook *l, bool make, app_err *err)
{
    const int flags = SQLITE_OPEN_READWRITE | (make ? SQLITE_OPEN_CREATE : 0);
    const mode_t before = umask(S_IRWXG | S_IRWXO);
    const int rc = sqlite3_open_v2(l->path, &l->db, flags, NULL);
    const bool ok = rc == SQLITE_OK || logbook_fail(l, err);
    if (ok) {
        (void)sqlite3_busy_timeout(l->db, BUSY_MS);
    }
    (void)umask(before);
    return ok;
}

static bool check_there(const char *path, bool make, app_err *err)
{
    struct stat there;
    if (stat(path, &there) != 0) {
        return make ? file_make_folders(path, err)
                    : app_err_set(err, APP_UNREADABLE,
                                  "there is no logbook %s; 'fullminute logbook new' "
                                  "begins one",
                                  path);
    }
    return S_ISREG(there.st_mode) ||
           app_err_set(err, APP_UNREADABLE, "%s is no file", path);
}

static bool open_and_check(logbook *l, bool make, app_err *err)
{
    if (!open_file(l, make, err)) {
        return false;
    }
    if (is_damaged(l)) {
        (void)sqlite3_close(l->db);
        l->db = NULL;
        if (!set_aside(l, err) || !open_file(l, true, err)) {
            return false;
        }
    }
    return logbook_run(l, SET_UP, err) &&
           logbook_run(l, "PRAGMA journal_mode = WAL", err) && logbook_migrate(l, err);
}

logbook *logbook_open(const char *path, bool make, app_err *err)
{
    if (!check_there(path, make, err)) {
        return NULL;
    }
    logbook *const l = calloc(1, sizeof *l);
    char *const name = strdup(path);
    if (l == NULL || name == NULL || strlen(path) + 64 > ENTRY_PATH_BYTES) {
        free(l);
        free(name);
        (void)app_err_set(err, APP_FAILED, "out of memory, or the path %s is too long",
                          path);
        return NULL;
    }
    l->path = name;
    if (!open_and_check(l, make, err)) {
        logbook_close(l);
        return NULL;
    }
    return l;
}

void logbook_close(logbook *l)
{
    if (l == NULL) {
        return;
    }
    logbook_undo(l);
    (void)sqlite3_close(l->db);
    free(l->path);
    sqlite3_free(l->note);
    free(l);
}

const char *logbook_note(const logbook *l)
{
    return l->note;
}

const char *logbook_path(const logbook *l)
{
    return l->path;
}
