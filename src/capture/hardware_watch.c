#include "src/capture/hardware_watch.h"

#include <glob.h>
#include <stdio.h>
#include <string.h>

enum {
    LOOKS_STOPPED =
        3 /* a card that is started again after an overflow stops for a moment */
};

static bool records(const char *status_path)
{
    char line[32] = "";
    FILE *const file = fopen(status_path, "r");
    if (file == NULL) {
        return false;
    }
    const bool told = fgets(line, sizeof line, file) != NULL;
    (void)fclose(file);
    return told && strncmp(line, "state: RUNNING", strlen("state: RUNNING")) == 0;
}

/* Names of the files of what records now: names[0..n-1]. */
static size_t list(const char *root, char names[HARDWARE_MOST][HARDWARE_NAME_BYTES])
{
    char pattern[2 * HARDWARE_NAME_BYTES];
    glob_t found = {0};
    size_t n = 0;
    (void)snprintf(pattern, sizeof pattern, "%s/card*/pcm*c/sub*/status", root);
    /* Without a tilde it reads no environment. NOLINTNEXTLINE(concurrency-mt-unsafe) */
    if (glob(pattern, 0, NULL, &found) == 0) {
        for (size_t i = 0; i < found.gl_pathc && n < HARDWARE_MOST; i++) {
            const char *const path = found.gl_pathv[i];
            if (strlen(path) < HARDWARE_NAME_BYTES && records(path)) {
                (void)strcpy(names[n++], path);
            }
        }
    }
    globfree(&found);
    return n;
}

static bool was_before(const hardware_watch *w, const char *name)
{
    for (size_t i = 0; i < w->n_before; i++) {
        if (strcmp(w->before[i], name) == 0) {
            return true;
        }
    }
    return false;
}

/* Ours is the one that began with the stream; of two nothing is known. */
static void choose(hardware_watch *w)
{
    char now[HARDWARE_MOST][HARDWARE_NAME_BYTES];
    const size_t n = list(w->root, now);
    size_t begun = 0;
    for (size_t i = 0; i < n; i++) {
        if (!was_before(w, now[i])) {
            begun++;
            (void)strcpy(w->ours, now[i]);
        }
    }
    if (begun != 1) {
        w->ours[0] = '\0';
    }
    w->chosen = true;
}

void hardware_watch_init(hardware_watch *w, const char *root)
{
    *w = (hardware_watch){.root = root};
    w->n_before = list(root, w->before);
}

bool hardware_watch_is_lost(hardware_watch *w, double now_s)
{
    if (w->lost || now_s < w->look_at_s) {
        return w->lost;
    }
    w->look_at_s = now_s + HARDWARE_LOOK_S;
    if (!w->chosen) {
        choose(w);
    } else if (w->ours[0] != '\0') {
        w->stopped = records(w->ours) ? 0 : w->stopped + 1;
        w->lost = w->stopped >= LOOKS_STOPPED;
    }
    return w->lost;
}
