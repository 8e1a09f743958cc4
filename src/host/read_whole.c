#include "src/port/read_whole.h"

#include "src/port/interrupt.h"

#include <errno.h>
#include <fcntl.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

enum {
    BLOCK_BYTES = 16384
};

/* 0 or an errno. A read that fails is not the end. */
static int read_all(int fd, size_t most, bytes *out)
{
    char block[BLOCK_BYTES];
    ssize_t got = 1;
    while (out->n <= most && got != 0) {
        got = read(fd, block, sizeof block);
        if (got < 0 && (errno != EINTR || !interrupt_check(NULL))) {
            return errno;
        }
        bytes_add(out, block, got > 0 ? (size_t)got : 0);
    }
    return 0;
}

static bool read_open(
    const char *path, int fd, bool regular, size_t most, bytes *out, app_err *err)
{
    const int failed = read_all(fd, most, out);
    bytes_add(out, "", 1);
    if (out->failed) {
        return app_err_set(err, APP_FAILED, "cannot read %s: out of memory", path);
    }
    out->n--;
    if (failed != 0) { /* a wait that was stopped is no bad file */
        return interrupt_check(err) &&
               app_err_set(err, regular ? APP_FAILED : APP_UNREADABLE,
                           "cannot read %s to its end: %s; try again", path,
                           APP_CAUSE(failed));
    }
    return out->n <= most ||
           app_err_set(err, APP_UNREADABLE,
                       "%s is longer than the %zu bytes it may have", path, most);
}

static bool read_path(
    const char *path, bool regular, size_t most, bytes *out, app_err *err)
{
    struct stat info;
    const int fd = open(path, O_RDONLY | O_CLOEXEC | (regular ? O_NONBLOCK : 0));
    if (fd < 0) {
        const int failed = errno;
        return interrupt_check(err) &&
               app_err_set(err, APP_UNREADABLE, "cannot open %s: %s; check the name",
                           path, APP_CAUSE(failed));
    }
    const bool ok =
        regular && (fstat(fd, &info) != 0 || !S_ISREG(info.st_mode))
            ? app_err_set(err, APP_UNREADABLE,
                          "cannot use %s: it is no ordinary file; move it away", path)
            : read_open(path, fd, regular, most, out, err);
    (void)close(fd);
    return ok;
}

bool read_whole(const char *path, size_t most, bytes *out, app_err *err)
{
    return strcmp(path, "-") == 0
               ? read_open("standard input", STDIN_FILENO, false, most, out, err)
               : read_path(path, false, most, out, err);
}

bool read_whole_regular(const char *path, size_t most, bytes *out, app_err *err)
{
    return read_path(path, true, most, out, err);
}
