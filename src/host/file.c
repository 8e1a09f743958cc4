/* realpath belongs to the XSI part of POSIX. */
#define _XOPEN_SOURCE 700 /* NOLINT(bugprone-reserved-identifier) */

#include "src/port/file.h"

#include <errno.h>
#include <fcntl.h>
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

enum {
    TEMPORARY_TRIES = 100,
    TEMPORARY_BYTES = 64
};

const char *file_base_name(const char *path)
{
    const char *const slash = strrchr(path, '/');
    return slash != NULL ? slash + 1 : path;
}

static bool look_at(const char *path, struct stat *info)
{
    return (strcmp(path, "-") == 0 ? fstat(STDIN_FILENO, info) : stat(path, info)) == 0;
}

bool file_is_same(const char *a, const char *b)
{
    struct stat of_a;
    struct stat of_b;
    return look_at(a, &of_a) && look_at(b, &of_b) && of_a.st_dev == of_b.st_dev &&
           of_a.st_ino == of_b.st_ino;
}

static void draft_clear(file_draft *draft)
{
    free(draft->path);
    free(draft->temporary);
    *draft = (file_draft)FILE_DRAFT_NONE;
}

static bool cannot_write(const char *path, int error_number, app_err *err)
{
    const char *advice = "choose another place";
    if (error_number == ENOSPC || error_number == EDQUOT) {
        advice = "make room and run it again; nothing was left behind";
    } else if (error_number == ENOENT) {
        advice = "make the folder first, or choose another place";
    } else if (error_number == EFBIG) {
        advice = "a limit on file size is set here; nothing was left behind";
    }
    return app_err_set(err, APP_FAILED, "cannot write %s: %s; %s", path,
                       APP_CAUSE(error_number), advice);
}

static bool already_there(const char *path, app_err *err)
{
    return app_err_set(err, APP_USAGE,
                       "%s exists; give --force to replace it, or another name", path);
}

/* Makes an empty file of a fresh name beside path. */
static bool open_temporary(file_draft *draft, app_err *err)
{
    const size_t folder = (size_t)(file_base_name(draft->path) - draft->path);
    draft->temporary = malloc(folder + TEMPORARY_BYTES);
    if (draft->temporary == NULL) {
        return app_err_memory(err);
    }
    memcpy(draft->temporary, draft->path, folder);
    int number = 0;
    do {
        (void)snprintf(draft->temporary + folder, TEMPORARY_BYTES,
                       ".fullminute-%ld-%d.part", (long)getpid(), number);
        draft->fd = open(draft->temporary, O_RDWR | O_CREAT | O_EXCL | O_CLOEXEC, 0666);
    } while (draft->fd < 0 && errno == EEXIST && ++number < TEMPORARY_TRIES);
    return draft->fd >= 0 || cannot_write(draft->path, errno, err);
}

static bool open_special(file_draft *draft, app_err *err)
{
    draft->fd = open(draft->path, O_WRONLY | O_CLOEXEC | O_NOCTTY);
    return draft->fd >= 0 || cannot_write(draft->path, errno, err);
}

/* The same name for the same path each time: FNV-1a, from memory, of its last part. */
static bool open_sole(file_draft *draft, app_err *err)
{
    const size_t folder = (size_t)(file_base_name(draft->path) - draft->path);
    uint64_t sum = 0xcbf29ce484222325U;
    for (const char *c = draft->path + folder; *c != '\0'; c++) {
        sum = (sum ^ (unsigned char)*c) * 0x100000001b3U;
    }
    draft->temporary = malloc(folder + TEMPORARY_BYTES);
    if (draft->temporary == NULL) {
        return app_err_memory(err);
    }
    memcpy(draft->temporary, draft->path, folder);
    (void)snprintf(draft->temporary + folder, TEMPORARY_BYTES,
                   ".fullminute-%016" PRIx64 ".part", sum);
    draft->fd = open(draft->temporary,
                     O_RDWR | O_CREAT | O_TRUNC | O_CLOEXEC | O_NOFOLLOW, 0666);
    return draft->fd >= 0 || cannot_write(draft->path, errno, err);
}

static bool open_draft(
    file_draft *draft, const char *path, bool force, bool sole, app_err *err)
{
    *draft = (file_draft)FILE_DRAFT_NONE;
    draft->force = force;
    struct stat info;
    const bool exists = stat(path, &info) == 0;
    if (exists && S_ISDIR(info.st_mode)) {
        return app_err_set(err, APP_USAGE, "%s is a folder; give a file name in it",
                           path);
    }
    const bool regular = exists && S_ISREG(info.st_mode);
    if (regular && !force) {
        return already_there(path, err);
    }
    /* A link to a file keeps its place: the file it points to is replaced. */
    draft->path = regular ? realpath(path, NULL) : strdup(path);
    if (draft->path == NULL) {
        return cannot_write(path, errno, err);
    }
    const bool special = exists && !regular;
    const bool ok = special ? open_special(draft, err)
                    : sole  ? open_sole(draft, err)
                            : open_temporary(draft, err);
    if (!ok) {
        draft_clear(draft);
    }
    return ok;
}

bool file_draft_open(file_draft *draft, const char *path, bool force, app_err *err)
{
    return open_draft(draft, path, force, false, err);
}

bool file_draft_open_sole(file_draft *draft, const char *path, app_err *err)
{
    return open_draft(draft, path, true, true, err);
}

bool file_check_target(const char *path, bool force, app_err *err)
{
    file_draft draft;
    struct stat info;
    if (stat(path, &info) == 0 && !S_ISREG(info.st_mode) && !S_ISDIR(info.st_mode)) {
        return true;
    }
    if (!file_draft_open(&draft, path, force, err)) {
        return false;
    }
    file_draft_drop(&draft);
    return true;
}

bool file_draft_write(file_draft *draft, const void *bytes, size_t n, app_err *err)
{
    const char *at = bytes;
    while (n > 0) {
        const ssize_t written = write(draft->fd, at, n);
        if (written < 0 && errno != EINTR) {
            return cannot_write(draft->path, errno, err);
        }
        if (written > 0) {
            at += written;
            n -= (size_t)written;
        }
    }
    return true;
}

/* Gives the temporary file its name without replacing another; 0 or an errno. */
static int name_if_free(const file_draft *draft)
{
    if (link(draft->temporary, draft->path) == 0) {
        (void)unlink(draft->temporary);
        return 0;
    }
    if (errno == EEXIST) {
        return EEXIST;
    }
    /* No hard links on this file system: a short race remains. */
    if (access(draft->path, F_OK) == 0) {
        return EEXIST;
    }
    return rename(draft->temporary, draft->path) == 0 ? 0 : errno;
}

void file_sync_folder(const char *path)
{
    char *const folder = strdup(path);
    if (folder == NULL) {
        return;
    }
    char *const slash = strrchr(folder, '/');
    if (slash != NULL) {
        slash[slash == folder ? 1 : 0] = '\0';
    }
    const int fd = open(slash != NULL ? folder : ".", O_RDONLY | O_CLOEXEC);
    if (fd >= 0) {
        (void)fsync(fd);
        (void)close(fd);
    }
    free(folder);
}

/* Forces the bytes to disk; 0 or an errno. The draft is closed, whatever the outcome. */
static int finish_bytes(file_draft *draft)
{
    int failed = 0;
    if (draft->temporary != NULL && fsync(draft->fd) != 0) {
        failed = errno;
    }
    if (close(draft->fd) != 0 && failed == 0) {
        failed = errno;
    }
    draft->fd = -1;
    return failed;
}

/* Gives a closed draft its name; 0 or an errno. */
static int take_name(const file_draft *draft)
{
    if (draft->temporary == NULL) {
        return 0;
    }
    int failed = 0;
    if (draft->force) {
        failed = rename(draft->temporary, draft->path) == 0 ? 0 : errno;
    } else {
        failed = name_if_free(draft);
    }
    if (failed == 0) {
        file_sync_folder(draft->path);
    }
    return failed;
}

/* Says what failed, takes the temporary file away if it did, and empties the draft. */
static bool settle(file_draft *draft, int failed, app_err *err)
{
    if (failed != 0 && draft->temporary != NULL) {
        (void)unlink(draft->temporary);
    }
    const bool ok =
        failed == 0 || (failed == EEXIST ? already_there(draft->path, err)
                                         : cannot_write(draft->path, failed, err));
    draft_clear(draft);
    return ok;
}

bool file_draft_commit(file_draft *draft, app_err *err)
{
    int failed = finish_bytes(draft);
    if (failed == 0) {
        failed = take_name(draft);
    }
    return settle(draft, failed, err);
}

bool file_draft_commit_both(file_draft *a, file_draft *b, app_err *err)
{
    int failed_a = finish_bytes(a);
    int failed_b = finish_bytes(b);
    if (failed_a == 0 && failed_b == 0) {
        failed_a = take_name(a);
        failed_b = failed_a == 0 ? take_name(b) : 0;
        if (failed_b != 0 && a->temporary != NULL) {
            (void)unlink(a->path); /* one without the other would mislead */
        }
    }
    if (failed_a != 0) {
        file_draft_drop(b);
        return settle(a, failed_a, err);
    }
    file_draft_drop(a); /* of a draft that has its name nothing is left to drop */
    return settle(b, failed_b, err);
}

void file_draft_drop(file_draft *draft)
{
    if (draft->fd >= 0) {
        (void)close(draft->fd);
    }
    if (draft->temporary != NULL) {
        (void)unlink(draft->temporary);
    }
    draft_clear(draft);
}

static bool write_all(
    const char *path, const void *bytes, size_t n, bool force, bool own, app_err *err)
{
    file_draft draft;
    if (!file_draft_open(&draft, path, force, err)) {
        return false;
    }
    if (own && draft.temporary != NULL) {
        (void)fchmod(draft.fd, S_IRUSR | S_IWUSR);
    }
    if (!file_draft_write(&draft, bytes, n, err)) {
        file_draft_drop(&draft);
        return false;
    }
    return file_draft_commit(&draft, err);
}

bool file_write(const char *path, const void *bytes, size_t n, bool force, app_err *err)
{
    return write_all(path, bytes, n, force, false, err);
}

bool file_write_private(
    const char *path, const void *bytes, size_t n, bool force, app_err *err)
{
    return write_all(path, bytes, n, force, true, err);
}

FILE *file_open(const char *path, app_err *err)
{
    const bool standard = strcmp(path, "-") == 0;
    FILE *const file = standard ? fdopen(dup(STDIN_FILENO), "r") : fopen(path, "re");
    if (file == NULL) {
        (void)app_err_set(err, APP_UNREADABLE, "cannot open %s: %s; check the name",
                          standard ? "standard input" : path, APP_CAUSE(errno));
    }
    return file;
}

bool file_is_there(const char *path)
{
    return access(path, F_OK) == 0;
}

bool file_is_folder(const char *path)
{
    struct stat info;
    return stat(path, &info) == 0 && S_ISDIR(info.st_mode);
}

bool file_is_plain(const char *path)
{
    struct stat info;
    return lstat(path, &info) == 0 && S_ISREG(info.st_mode);
}

bool file_remove(const char *path)
{
    return unlink(path) == 0 || errno == ENOENT;
}

char *file_beside(const char *path, const char *suffix)
{
    const char *const name = file_base_name(path);
    const char *const dot = strrchr(name, '.');
    const size_t keep =
        dot != NULL && dot != name ? (size_t)(dot - path) : strlen(path);
    char *const out = malloc(keep + strlen(suffix) + 1);
    if (out != NULL) {
        memcpy(out, path, keep);
        memcpy(out + keep, suffix, strlen(suffix) + 1);
    }
    return out;
}

bool file_make_folders(const char *path, bool own, app_err *err)
{
    char *const folder = strdup(path);
    if (folder == NULL) {
        return app_err_memory(err);
    }
    bool ok = true;
    for (char *slash = strchr(folder + 1, '/'); ok && slash != NULL;
         slash = strchr(slash + 1, '/')) {
        *slash = '\0';
        ok = mkdir(folder, own ? S_IRWXU : 0777) == 0 || errno == EEXIST ||
             errno == EISDIR || cannot_write(folder, errno, err);
        *slash = '/';
    }
    free(folder);
    return ok;
}

char *file_real_path(const char *path)
{
    char *const real = realpath(path, NULL);
    return real != NULL || errno == ENOMEM ? real : strdup(path);
}
