#include "saved.h"

#include <pthread.h>
#include <stdlib.h>
#include <string.h>

struct saved_window {
    char name[128];
    fm_count count;
};

static pthread_mutex_t writing = PTHREAD_MUTEX_INITIALIZER;

bool saved_write(FILE *out, const char *name, const fm_count *count)
{
    struct saved_window *w = calloc(1, sizeof *w);
    if (w == NULL) {
        return false;
    }
    (void)snprintf(w->name, sizeof w->name, "%s", name);
    w->count = *count;
    (void)pthread_mutex_lock(&writing);
    const bool good = fwrite(w, sizeof *w, 1, out) == 1;
    (void)pthread_mutex_unlock(&writing);
    free(w);
    return good;
}

bool saved_read(saved *list, const char *path)
{
    FILE *in = fopen(path, "rb");
    struct saved_window *w = malloc(sizeof *w);
    bool good = in != NULL && w != NULL;
    while (good && fread(w, sizeof *w, 1, in) == 1) {
        struct saved_window *grown =
            realloc(list->windows, (list->n + 1) * sizeof *grown);
        good = grown != NULL;
        if (good) {
            list->windows = grown;
            grown[list->n++] = *w;
        }
    }
    if (in != NULL) {
        (void)fclose(in);
    }
    free(w);
    if (!good) {
        (void)fprintf(stderr, "accuracy: cannot read results from %s\n", path);
    }
    return good;
}

size_t saved_visit(const saved *list,
                   const char *name,
                   void (*visit)(const fm_count *count, void *context),
                   void *context)
{
    size_t n = 0;
    for (size_t i = 0; i < list->n; i++) {
        if (strcmp(list->windows[i].name, name) == 0) {
            visit(&list->windows[i].count, context);
            n++;
        }
    }
    return n;
}

void saved_free(saved *list)
{
    free(list->windows);
    *list = (saved){0};
}
