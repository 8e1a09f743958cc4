#include "src/port/home.h"

#include <limits.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

enum {
    ROOM_BYTES = 4096,      /* no path is longer */
    FOR_A_NAME_BYTES = 128, /* of them, for what is made in the folder */
};

char *home_path(
    home_kind kind, const char *name, const char *none, hint_kind advice, app_err *err)
{
    /* Nothing changes the environment. NOLINTBEGIN(concurrency-mt-unsafe) */
    const char *base = getenv(kind == HOME_DATA ? "XDG_DATA_HOME" : "XDG_CONFIG_HOME");
    const char *between = "";
    if (base == NULL || base[0] != '/') {
        base = getenv("HOME");
        between = kind == HOME_DATA ? "/.local/share" : "/.config";
    }
    /* NOLINTEND(concurrency-mt-unsafe) */
    char path[ROOM_BYTES];
    const int n =
        base != NULL && base[0] == '/'
            ? snprintf(path, sizeof path, "%s%s/fullminute/%s", base, between, name)
            : -1;
    char *out = NULL;
    if (n >= 0 && n < ROOM_BYTES - FOR_A_NAME_BYTES) {
        out = strdup(path);
        if (out == NULL) {
            (void)app_err_memory(err);
        }
    } else if (none != NULL) {
        (void)app_err_set(err, APP_FAILED, "%s", none);
        (void)app_err_hint(err, HINT_NONE, advice);
    }
    return out;
}

char *home_of_program(void)
{
    char path[PATH_MAX];
    const ssize_t n = readlink("/proc/self/exe", path, sizeof path - 1);
    if (n <= 0 || n >= PATH_MAX - 1) {
        return NULL;
    }
    path[n] = '\0';
    char *const slash = strrchr(path, '/');
    if (slash == NULL) {
        return NULL;
    }
    *slash = '\0';
    return strdup(path);
}
