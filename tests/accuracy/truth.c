#include "truth.h"

#include "stats.h"

#include <dirent.h>
#include <jansson.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

enum {
    FIELDS_MAX = 16,
    LINE_MAX_BYTES = 1024
};

static bool join_path(char *out, size_t size, const char *folder, const char *name)
{
    const int n = snprintf(out, size, "%s/%s", folder, name);
    return n > 0 && (size_t)n < size;
}

static void copy_text(char *out, size_t size, const char *text)
{
    (void)snprintf(out, size, "%s", text);
}

static recording *add_recording(recordings *list)
{
    recording *grown = realloc(list->items, (list->n + 1) * sizeof *grown);
    if (grown == NULL) {
        return NULL;
    }
    list->items = grown;
    recording *r = &grown[list->n++];
    *r = (recording){0};
    return r;
}

void recordings_free(recordings *list)
{
    for (size_t i = 0; i < list->n; i++) {
        free(list->items[i].beats_s);
        free(list->items[i].inaudible);
    }
    free(list->items);
    *list = (recordings){0};
}

/* Reads one number a line. */
static bool read_times(const char *path, double **times, size_t *n)
{
    FILE *f = fopen(path, "r");
    if (f == NULL) {
        return false;
    }
    double *v = NULL;
    size_t count = 0;
    char line[64];
    bool good = true;
    while (good && fgets(line, sizeof line, f) != NULL) {
        char *end = NULL;
        const double t = strtod(line, &end);
        if (end == line) {
            continue;
        }
        double *grown = realloc(v, (count + 1) * sizeof *v);
        good = grown != NULL;
        if (good) {
            v = grown;
            v[count++] = t;
        }
    }
    (void)fclose(f);
    *times = v;
    *n = count;
    return good;
}

/* Cuts a line of plain CSV (no quotes in these files) into fields, in place. */
static size_t cut_fields(char *line, char *fields[FIELDS_MAX])
{
    size_t n = 0;
    line[strcspn(line, "\r\n")] = '\0';
    char *at = line;
    while (n < FIELDS_MAX) {
        fields[n++] = at;
        at = strchr(at, ',');
        if (at == NULL) {
            break;
        }
        *at++ = '\0';
    }
    return n;
}

static long column_of(char *const fields[], size_t n, const char *name)
{
    for (size_t i = 0; i < n; i++) {
        if (strcmp(fields[i], name) == 0) {
            return (long)i;
        }
    }
    return -1;
}

/* rpeaks/a0002.txt for a/a0002.wav. */
static bool peaks_path(char *out, size_t size, const char *folder, const char *file)
{
    const char *slash = strrchr(file, '/');
    const char *base = slash != NULL ? slash + 1 : file;
    const char *dot = strrchr(base, '.');
    const int length = dot != NULL ? (int)(dot - base) : (int)strlen(base);
    const int n = snprintf(out, size, "%s/rpeaks/%.*s.txt", folder, length, base);
    return n > 0 && (size_t)n < size;
}

typedef struct csv_columns {
    long file;
    long start;
    long end;
    long confidence;
} csv_columns;

static bool add_csv_row(recordings *list,
                        const char *folder,
                        char *const fields[],
                        size_t n,
                        const csv_columns *c)
{
    if ((long)n <= c->file || (long)n <= c->end || (long)n <= c->confidence) {
        return false;
    }
    recording *r = add_recording(list);
    if (r == NULL) {
        return false;
    }
    copy_text(r->name, sizeof r->name, fields[c->file]);
    copy_text(r->group, sizeof r->group, fields[c->confidence]);
    r->from_ecg = true;
    r->span_start_s = strtod(fields[c->start], NULL);
    r->span_end_s = strtod(fields[c->end], NULL);
    char peaks[1024];
    if (!join_path(r->path, sizeof r->path, folder, r->name) ||
        !peaks_path(peaks, sizeof peaks, folder, r->name)) {
        return false;
    }
    if (!read_times(peaks, &r->beats_s, &r->n_beats)) {
        (void)fprintf(stderr, "accuracy: cannot read %s\n", peaks);
        return false;
    }
    return true;
}

static long add_csv(recordings *list, const char *folder, FILE *f)
{
    char line[LINE_MAX_BYTES];
    char *fields[FIELDS_MAX];
    if (fgets(line, sizeof line, f) == NULL) {
        return -1;
    }
    const size_t n_columns = cut_fields(line, fields);
    const csv_columns c = {column_of(fields, n_columns, "file"),
                           column_of(fields, n_columns, "span_start_s"),
                           column_of(fields, n_columns, "span_end_s"),
                           column_of(fields, n_columns, "confidence")};
    if (c.file < 0 || c.start < 0 || c.end < 0 || c.confidence < 0) {
        (void)fprintf(stderr, "accuracy: %s has no beat truth: left out\n", folder);
        return 0;
    }
    long added = 0;
    while (fgets(line, sizeof line, f) != NULL) {
        const size_t n = cut_fields(line, fields);
        if (!add_csv_row(list, folder, fields, n, &c)) {
            (void)fprintf(stderr, "accuracy: %s/truth.csv: bad row %ld\n", folder,
                          added + 2);
            return -1;
        }
        added++;
    }
    return added;
}

static bool read_json_beats(recording *r, const json_t *root)
{
    const json_t *s1 = json_object_get(root, "s1_s");
    r->n_beats = json_array_size(s1);
    r->beats_s = calloc(r->n_beats + 1, sizeof *r->beats_s);
    r->inaudible = calloc(r->n_beats + 1, sizeof *r->inaudible);
    if (!json_is_array(s1) || r->beats_s == NULL || r->inaudible == NULL) {
        return false;
    }
    for (size_t i = 0; i < r->n_beats; i++) {
        r->beats_s[i] = json_number_value(json_array_get(s1, i));
    }
    const json_t *silent = json_object_get(root, "inaudible_s1");
    for (size_t i = 0; i < json_array_size(silent); i++) {
        const json_int_t at = json_integer_value(json_array_get(silent, i));
        if (at >= 0 && (size_t)at < r->n_beats) {
            r->inaudible[at] = true;
        }
    }
    return true;
}

static void read_json_finding(fm_finding *f, const json_t *finding)
{
    const char *kind = json_string_value(json_object_get(finding, "kind"));
    const json_t *times = json_object_get(finding, "times_s");
    *f = (fm_finding){.kind = finding_of_word(kind != NULL ? kind : "")};
    for (size_t i = 0; i < json_array_size(times) && i < FM_FINDING_TIMES; i++) {
        f->times_s[f->count++] = json_number_value(json_array_get(times, i));
    }
}

static void read_json_rhythm(rhythm_truth *r, const json_t *root)
{
    const char *pattern = json_string_value(json_object_get(root, "pattern"));
    const char *repeat = json_string_value(json_object_get(root, "repeat"));
    r->pattern = pattern_of_word(pattern != NULL ? pattern : "");
    r->known = r->pattern != FM_PATTERN_COUNT;
    copy_text(r->repeat, sizeof r->repeat, repeat != NULL ? repeat : "");
    const json_t *findings = json_object_get(root, "findings");
    for (size_t i = 0; i < json_array_size(findings) && i < FM_FINDINGS_MAX; i++) {
        read_json_finding(&r->findings[r->n_findings++], json_array_get(findings, i));
    }
}

/* The sound beside NAME.truth.json: the first of these that is there. */
static bool find_sound(char *path, size_t size, const char *folder, const char *stem)
{
    static const char *const endings[] = {".flac", ".wav", ".ogg", ".aiff"};
    for (size_t i = 0; i < sizeof endings / sizeof *endings; i++) {
        const int n = snprintf(path, size, "%s/%s%s", folder, stem, endings[i]);
        if (n > 0 && (size_t)n < size && access(path, R_OK) == 0) {
            return true;
        }
    }
    return false;
}

static bool add_document(recordings *list, const char *folder, const char *file)
{
    char path[1024];
    char stem[128];
    recording *r = add_recording(list);
    if (r == NULL || !join_path(path, sizeof path, folder, file)) {
        return false;
    }
    copy_text(stem, sizeof stem, file);
    stem[strlen(stem) - strlen(".truth.json")] = '\0';
    copy_text(r->name, sizeof r->name, stem);
    r->whole = true;
    json_error_t error;
    json_t *root = json_load_file(path, 0, &error);
    bool good = root != NULL && find_sound(r->path, sizeof r->path, folder, stem) &&
                read_json_beats(r, root);
    if (good) {
        const char *origin = json_string_value(json_object_get(root, "origin"));
        copy_text(r->group, sizeof r->group, origin != NULL ? origin : "documents");
        read_json_rhythm(&r->rhythm, root);
        r->contact_lost = json_is_object(json_object_get(root, "contact_lost"));
        const json_t *snr = json_object_get(root, "snr_db");
        r->snr_db = json_is_number(snr) ? json_number_value(snr) : (double)NAN;
    } else {
        (void)fprintf(stderr, "accuracy: cannot read %s or its sound\n", path);
    }
    json_decref(root);
    return good;
}

static int compare_names(const void *a, const void *b)
{
    return strcmp(((const recording *)a)->name, ((const recording *)b)->name);
}

static bool ends_with(const char *text, const char *ending)
{
    const size_t n = strlen(text);
    const size_t m = strlen(ending);
    return n > m && strcmp(text + n - m, ending) == 0;
}

static long add_documents(recordings *list, const char *folder)
{
    DIR *d = opendir(folder);
    if (d == NULL) {
        (void)fprintf(stderr, "accuracy: cannot open folder %s\n", folder);
        return -1;
    }
    const size_t before = list->n;
    bool good = true;
    const struct dirent *entry = NULL;
    /* cppcheck-suppress readdirCalled */
    /* NOLINTNEXTLINE(concurrency-mt-unsafe): no thread is running yet */
    while (good && (entry = readdir(d)) != NULL) {
        if (ends_with(entry->d_name, ".truth.json") && strlen(entry->d_name) < 128) {
            good = add_document(list, folder, entry->d_name);
        }
    }
    (void)closedir(d);
    if (good && list->n > before) {
        qsort(list->items + before, list->n - before, sizeof *list->items,
              compare_names);
    }
    return good ? (long)(list->n - before) : -1;
}

/* Any folder inside that holds a truth.csv: open-data/ finds open-data/heart-2016/. */
static long add_inner_folders(recordings *list, const char *folder)
{
    DIR *d = opendir(folder);
    long added = 0;
    const struct dirent *entry = NULL;
    /* cppcheck-suppress readdirCalled */
    /* NOLINTNEXTLINE(concurrency-mt-unsafe): no thread is running yet */
    while (d != NULL && added >= 0 && (entry = readdir(d)) != NULL) {
        char inner[1024];
        char csv[1024];
        if (entry->d_name[0] == '.' ||
            !join_path(inner, sizeof inner, folder, entry->d_name) ||
            !join_path(csv, sizeof csv, inner, "truth.csv") || access(csv, R_OK) != 0) {
            continue;
        }
        const long n = recordings_add_folder(list, inner);
        added = n < 0 ? -1 : added + n;
    }
    if (d != NULL) {
        (void)closedir(d);
    }
    return added;
}

long recordings_add_folder(recordings *list, const char *folder)
{
    char csv[1024];
    if (!join_path(csv, sizeof csv, folder, "truth.csv")) {
        return -1;
    }
    FILE *f = fopen(csv, "r");
    if (f != NULL) {
        const long added = add_csv(list, folder, f);
        (void)fclose(f);
        return added;
    }
    const long added = add_documents(list, folder);
    return added == 0 ? add_inner_folders(list, folder) : added;
}
