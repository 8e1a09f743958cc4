/* Recordings that people labelled as usable or too noisy, without beat truth: does
 * confidence tell them apart, and what is refused. */
#include "accuracy.h"
#include "analyse.h"
#include "calibration.h"
#include "pool.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

typedef struct labelled {
    char path[1024];
    bool usable;
    bool heard;
    fm_outcome status;
    double confidence;
} labelled;

typedef struct labels {
    labelled *items;
    size_t n;
} labels;

static bool add_label(labels *list, const char *folder, char *line)
{
    labelled *grown = realloc(list->items, (list->n + 1) * sizeof *grown);
    if (grown == NULL) {
        return false;
    }
    list->items = grown;
    line[strcspn(line, "\r\n")] = '\0';
    const char *label = strrchr(line, ','); /* file,abnormal,publisher_quality */
    labelled *l = &grown[list->n++];
    *l = (labelled){.usable = label != NULL && strcmp(label, ",1") == 0};
    const int n = snprintf(l->path, sizeof l->path, "%s/%.*s", folder,
                           (int)strcspn(line, ","), line);
    return n > 0 && (size_t)n < sizeof l->path;
}

static bool read_labels(labels *list, const char *folder)
{
    char path[1024];
    char line[256];
    (void)snprintf(path, sizeof path, "%s/quality.csv", folder);
    FILE *f = fopen(path, "r");
    if (f == NULL) {
        (void)fprintf(stderr, "accuracy: cannot open %s\n", path);
        return false;
    }
    bool good = fgets(line, sizeof line, f) != NULL; /* the heading */
    while (good && fgets(line, sizeof line, f) != NULL) {
        good = add_label(list, folder, line);
    }
    (void)fclose(f);
    return good;
}

static void keep_label(const fm_count *count, void *context)
{
    labelled *l = context;
    if (!l->heard) { /* the first window stands for the recording */
        l->heard = true;
        l->status = count->heart.count.status;
        l->confidence = isfinite(count->heart.count.confidence)
                            ? count->heart.count.confidence
                            : 0.0;
    }
}

static void analyse_labelled(size_t i, void *context)
{
    labelled *l = &((labelled *)context)[i];
    sound s;
    if (sound_read(&s, l->path)) {
        (void)analyse_windows(&s, 0.0, 1, keep_label, l);
    }
    sound_free(&s);
}

static void print_shares(const labels *list, bool usable)
{
    long n = 0;
    long by_status[3] = {0};
    for (size_t i = 0; i < list->n; i++) {
        if (list->items[i].usable == usable && list->items[i].heard) {
            n++;
            by_status[list->items[i].status]++;
        }
    }
    (void)printf("labelled %s: %ld recordings\n", usable ? "usable" : "too noisy", n);
    for (int status = (int)FM_COUNTED; status >= (int)FM_REFUSED; status--) {
        (void)printf("  %-8s ", status_word((fm_outcome)status));
        print_share(stdout, by_status[status], n);
        (void)putchar('\n');
    }
}

int accuracy_quality(const settings *s, const char *folder)
{
    labels list = {0};
    bool good = read_labels(&list, folder);
    forecast *f = malloc((list.n + 1) * sizeof *f);
    if (good && f != NULL) {
        pool_run(list.n, s->jobs, analyse_labelled, list.items);
        for (size_t i = 0; i < list.n; i++) {
            f[i] = (forecast){list.items[i].confidence, list.items[i].usable};
            good = good && list.items[i].heard;
        }
        print_shares(&list, true);
        print_shares(&list, false);
        const calibration c = calibration_of(f, list.n);
        (void)printf("confidence against the label: area under the curve %.3f\n",
                     c.area);
    }
    free(f);
    free(list.items);
    return good ? EXIT_DONE : EXIT_FAILED;
}
