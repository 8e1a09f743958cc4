/* flock is not in POSIX: it stays with the open folder, and goes when its last holder ends. */
#define _DEFAULT_SOURCE /* NOLINT(bugprone-reserved-identifier) */
#include "src/port/private_folder.h"

#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

enum {
    TRIES = 4,
    RANDOM_LETTERS = 6, /* of mkdtemp */
    DEEPEST = 32        /* folders in folders; no program of ours makes as many */
};

static const char *temporary(void)
{
    /* Nothing changes the environment. NOLINTNEXTLINE(concurrency-mt-unsafe) */
    const char *const folder = getenv("TMPDIR");
    return folder != NULL && folder[0] == '/' ? folder : "/tmp";
}

/* A folder itself, never what a link of that name points to. */
static int open_folder(int at, const char *name)
{
    return openat(at, name, O_RDONLY | O_DIRECTORY | O_NOFOLLOW | O_CLOEXEC);
}

static void empty_folder(int folder, int deep);

/* NOLINTBEGIN(misc-no-recursion): as deep as DEEPEST */
static void remove_entry(int folder, const char *name, int deep)
{
    if (unlinkat(folder, name, 0) == 0) {
        return;
    }
    const int inner = deep < DEEPEST ? open_folder(folder, name) : -1;
    if (inner >= 0) {
        empty_folder(inner, deep + 1);
        (void)unlinkat(folder, name, AT_REMOVEDIR);
    }
}

/* Takes the descriptor. */
static void empty_folder(int folder, int deep)
{
    DIR *const d = fdopendir(folder);
    const struct dirent *e = NULL;
    if (d == NULL) {
        (void)close(folder);
        return;
    }
    /* NOLINTBEGIN(concurrency-mt-unsafe): nobody else reads this folder here */
    /* cppcheck-suppress readdirCalled */
    while ((e = readdir(d)) != NULL) {
        /* NOLINTEND(concurrency-mt-unsafe) */
        if (strcmp(e->d_name, ".") != 0 && strcmp(e->d_name, "..") != 0) {
            remove_entry(dirfd(d), e->d_name, deep);
        }
    }
    (void)closedir(d);
}
/* NOLINTEND(misc-no-recursion) */

/* Another program that sweeps may hold the lock of a folder just made, and remove it. */
static int lock_folder(const char *path)
{
    struct stat there;
    const int folder = open_folder(AT_FDCWD, path);
    if (folder >= 0 && flock(folder, LOCK_EX | LOCK_NB) == 0 &&
        fstat(folder, &there) == 0 && there.st_nlink > 0) {
        return folder;
    }
    if (folder >= 0) {
        (void)close(folder);
    }
    return -1;
}

bool private_folder_make(private_folder *f, const char *kind, app_err *err)
{
    *f = (private_folder)PRIVATE_FOLDER_NONE;
    for (int i = 0; i < TRIES && f->lock < 0; i++) {
        (void)(i > 0 && rmdir(f->path));
        (void)snprintf(f->path, sizeof f->path, "%.900s/fullminute-%.40s-XXXXXX",
                       temporary(), kind);
        if (mkdtemp(f->path) == NULL) {
            (void)app_err_set(err, APP_FAILED,
                              "cannot make a folder %s: %s; set TMPDIR", f->path,
                              APP_CAUSE(errno));
            f->path[0] = '\0';
            return false;
        }
        f->lock = lock_folder(f->path);
    }
    if (f->lock < 0) {
        /* A file system without locks: it is used, and cannot be told from one left. */
        (void)mkdir(f->path, S_IRWXU); /* where the last try was swept */
    }
    return true;
}

void private_folder_remove(private_folder *f)
{
    if (f->path[0] != '\0') {
        const int inner = open_folder(AT_FDCWD, f->path);
        if (inner >= 0) {
            empty_folder(inner, 0);
        }
        (void)rmdir(f->path);
    }
    if (f->lock >= 0) {
        (void)close(f->lock);
    }
    *f = (private_folder)PRIVATE_FOLDER_NONE;
}

/* ---- What was left ---- */

static bool is_ours(const char *name, const char *kind)
{
    char start[64];
    const int n = snprintf(start, sizeof start, "fullminute-%.40s-", kind);
    return strncmp(name, start, (size_t)n) == 0 &&
           strlen(name) == (size_t)n + RANDOM_LETTERS;
}

static void sweep_one(int folder, const char *name)
{
    struct stat there;
    const int inner = open_folder(folder, name);
    if (inner < 0) {
        return;
    }
    if (fstat(inner, &there) == 0 && there.st_uid == geteuid() &&
        flock(inner, LOCK_EX | LOCK_NB) == 0) {
        const int emptied = dup(inner);
        if (emptied >= 0) {
            empty_folder(emptied, 0);
        }
        (void)unlinkat(folder, name, AT_REMOVEDIR);
    }
    (void)close(inner);
}

void private_folder_sweep(const char *kind)
{
    DIR *const d = opendir(temporary());
    const struct dirent *e = NULL;
    /* NOLINTBEGIN(concurrency-mt-unsafe): nobody else reads this folder here */
    /* cppcheck-suppress readdirCalled */
    while (d != NULL && (e = readdir(d)) != NULL) {
        /* NOLINTEND(concurrency-mt-unsafe) */
        if (is_ours(e->d_name, kind)) {
            sweep_one(dirfd(d), e->d_name);
        }
    }
    if (d != NULL) {
        (void)closedir(d);
    }
}
