/* Real chests: recordings of hearts, whose ECG's intervals tell of the breathing, and
 * recordings of breathing whose rate is known. */
#include "breath_case.h"
#include "ecg_breath.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

bool breath_case_chest(const recording *r, breath_case *c)
{
    *c = (breath_case){.kind = BREATH_CHEST, .snr_db = (double)NAN, .speed = 1.0};
    (void)snprintf(c->name, sizeof c->name, "%.79s", r->name);
    if (!sound_read(&c->sound, r->path)) {
        return false;
    }
    c->window_s = fmin(60.0, (double)c->sound.n / c->sound.rate_hz);
    c->true_per_min = ecg_breath_rate(r->beats_s, r->n_beats);
    return true;
}

/* A path in a list: what is not absolute is meant from the list's own folder. */
static bool path_from_list(char *out,
                           size_t size,
                           const char *list_path,
                           const char *path)
{
    const char *slash = path[0] == '/' ? NULL : strrchr(list_path, '/');
    const int folder = slash != NULL ? (int)(slash - list_path + 1) : 0;
    const int n = snprintf(out, size, "%.*s%s", folder, list_path, path);
    return n > 0 && (size_t)n < size;
}

bool breath_list_read(breath_list *list, const char *path)
{
    enum {
        MOST = 65536
    };
    char line[8192];
    FILE *file = fopen(path, "r");
    *list = (breath_list){0};
    if (file == NULL) {
        (void)fprintf(stderr, "accuracy: cannot open %s\n", path);
        return false;
    }
    list->items = calloc(MOST, sizeof *list->items);
    while (list->items != NULL && list->n < MOST &&
           fgets(line, sizeof line, file) != NULL) {
        breath_real *r = &list->items[list->n];
        char *end = strchr(line, ',');
        if (end == NULL) {
            continue;
        }
        *end = '\0';
        if (!path_from_list(r->path, sizeof r->path, path, line)) {
            continue;
        }
        r->true_per_min = strtod(end + 1, &end);
        r->start_s = *end == ',' ? strtod(end + 1, &end) : 0.0;
        r->seconds = *end == ',' ? strtod(end + 1, &end) : 0.0;
        list->n += r->seconds > 0.0 ? 1 : 0;
    }
    (void)fclose(file);
    return list->n > 0;
}

bool breath_case_real(const breath_list *list, size_t i, breath_case *c)
{
    const breath_real *r = &list->items[i];
    *c = (breath_case){.kind = BREATH_REAL, .snr_db = (double)NAN, .speed = 1.0};
    if (!sound_read(&c->sound, r->path)) {
        return false;
    }
    const double length_s = (double)c->sound.n / c->sound.rate_hz;
    char name[640];
    (void)snprintf(name, sizeof name, "%s@%g+%g", r->path, r->start_s, r->seconds);
    const size_t n = strlen(name);
    const size_t room = sizeof c->name - 1;
    (void)memcpy(c->name, n > room ? name + n - room : name, (n > room ? room : n) + 1);
    c->start_s = r->start_s;
    c->window_s = fmin(60.0, fmin(r->seconds, length_s - r->start_s));
    c->true_per_min = r->true_per_min;
    return c->window_s > 0.0;
}
