#include "src/page/page_open.h"

#include <fcntl.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <sys/types.h>
#include <sys/wait.h>
#include <unistd.h>

enum {
    PATH_BYTES = 512
};

static char file[PATH_BYTES];

static bool has_screen(void)
{
    /* Nothing changes the environment. NOLINTBEGIN(concurrency-mt-unsafe) */
    const char *const x = getenv("DISPLAY");
    const char *const wayland = getenv("WAYLAND_DISPLAY");
    /* NOLINTEND(concurrency-mt-unsafe) */
    return (x != NULL && x[0] != '\0') || (wayland != NULL && wayland[0] != '\0');
}

/* Readable by this person only. */
static bool write_file(const char *host, const char *token)
{
    /* Nothing changes the environment. NOLINTNEXTLINE(concurrency-mt-unsafe) */
    const char *const folder = getenv("XDG_RUNTIME_DIR");
    char text[PATH_BYTES];
    (void)snprintf(file, sizeof file, "%s/fullminute-XXXXXX",
                   folder != NULL && folder[0] == '/' ? folder : "/tmp");
    const int fd = mkstemp(file);
    if (fd < 0) {
        file[0] = '\0';
        return false;
    }
    const int n = snprintf(text, sizeof text,
                           "<!DOCTYPE html><meta charset=\"utf-8\">"
                           "<meta http-equiv=\"refresh\" "
                           "content=\"0;url=http://%s/open?token=%s\">\n",
                           host, token);
    const bool ok = n > 0 && write(fd, text, (size_t)n) == n;
    return close(fd) == 0 && ok;
}

void page_open_browser(const char *host, const char *token)
{
    char name[PATH_BYTES + 8];
    if (!has_screen() || !write_file(host, token)) {
        return;
    }
    (void)snprintf(name, sizeof name, "%s.html", file);
    if (rename(file, name) != 0) {
        return;
    }
    (void)snprintf(file, sizeof file, "%.*s", (int)sizeof file - 1, name);
    const pid_t child = fork();
    if (child == 0) {
        /* Twice, so that nobody has to wait for the browser. */
        if (fork() == 0) {
            (void)execlp("xdg-open", "xdg-open", file, (char *)NULL);
        }
        _exit(0);
    }
    if (child > 0) {
        (void)waitpid(child, NULL, 0);
    }
}

void page_open_forget(void)
{
    if (file[0] != '\0') {
        (void)unlink(file);
        file[0] = '\0';
    }
}
