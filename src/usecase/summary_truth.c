#include "src/usecase/summary_truth.h"

#include "src/base/bytes.h"
#include "src/document/csv_table.h"
#include "src/document/truth_document.h"
#include "src/port/file.h"
#include "src/port/read_whole.h"
#include "src/usecase/document_files.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum {
    TRUTH_BYTES_MOST = 1 << 30
};

/* Rows name a window to the millisecond. */
static const double SAME_WINDOW_S = 0.002;
/* A whole minute's beats are its rate; any other window's rate is of its intervals. */
static const double MINUTE_S = 60.0;

typedef struct entry {
    const char *file;
    const char *base;
    double start_s; /* NaN: any window */
    truth_said said;
} entry;

struct summary_truth {
    char *folder; /* documents lie there; NULL: beside each recording */
    bool documents;
    bytes text; /* of the CSV file; entries point into it */
    entry *entries;
    size_t n_entries;
    size_t room;
    char *
        looked_at; /* the recording whose truth was looked at last, and what was found */
    truth_found found;
};

void summary_truth_close(summary_truth *t)
{
    if (t != NULL) {
        free(t->folder);
        free(t->looked_at);
        free(t->entries);
        bytes_free(&t->text);
        free(t);
    }
}

static truth_said nothing_said(void)
{
    return (truth_said){.rate_bpm = (double)NAN, .breath_per_min = (double)NAN};
}

/* ---- CSV ---- */

static const field_word PATTERNS[] = {FM_PATTERN_MAP(FIELD_WORD){NULL, 0}};

#define RATE(name, member)                                                             \
    MEMBER(name, FIELD_IN(entry, said.member, 0, 1e9), .decimals = 1)
static const member COLUMNS[] = {
    MEMBER("file", FIELD(entry, file), .how = MEMBER_NEEDED),
    RATE("rate_bpm", rate_bpm),
    RATE("breath_rate_per_min", breath_per_min),
    MEMBER("pattern",
           FIELD_ONE_OF(entry, said.pattern, PATTERNS),
           MEMBER_KNOWN(entry, said.pattern_known)),
    MEMBER("window_start_s", FIELD(entry, start_s), .decimals = 3),
    MEMBERS_END,
};

static bool read_names(csv_table *t, void *context, app_err *err)
{
    (void)context;
    int known = 0;
    const bool ok = csv_table_names(t, COLUMNS, NULL, NULL);
    for (int i = 0; ok && i < t->n; i++) {
        known += t->column[i] > &COLUMNS[0] && t->column[i] < &COLUMNS[4];
    }
    return known > 0 || app_err_set(err, APP_UNREADABLE,
                                    "%s: its first line must name the column file and "
                                    "at least one of rate_bpm, breath_rate_per_min and "
                                    "pattern",
                                    t->name);
}

static bool add_entry(summary_truth *t, const entry *e)
{
    entry *const entries =
        list_with_room(t->entries, t->n_entries + 1, &t->room, sizeof *entries);
    if (entries == NULL) {
        return false;
    }
    t->entries = entries;
    t->entries[t->n_entries++] = *e;
    return true;
}

static bool read_entry(csv_table *t, void *context, app_err *err)
{
    entry e = {.start_s = (double)NAN, .said = nothing_said()};
    if (!csv_table_fill(t, &e, NULL)) {
        return csv_table_wrong(t,
                               "a name, rates per minute not under 0 and a pattern in "
                               "the words of the rows are needed; leave empty what is "
                               "not known",
                               err);
    }
    e.base = file_base_name(e.file);
    return add_entry(context, &e) || app_err_memory(err);
}

static int compare_entries(const void *a, const void *b)
{
    const entry *const x = a;
    const entry *const y = b;
    const int by_base = strcmp(x->base, y->base);
    return by_base != 0 ? by_base : strcmp(x->file, y->file);
}

static bool read_csv(summary_truth *t, const char *path, app_err *err)
{
    csv_table table = {.name = path, .hint = ""};
    if (!read_whole(path, TRUTH_BYTES_MOST, &t->text, err) ||
        !csv_table_read(&table, t->text.data, t->text.n, read_names, read_entry, t,
                        err)) {
        return false;
    }
    if (t->n_entries > 0) {
        qsort(t->entries, t->n_entries, sizeof *t->entries, compare_entries);
    }
    return true;
}

/* First entry whose base name is not before this one. */
static size_t lower_bound(const summary_truth *t, const char *base)
{
    size_t low = 0;
    size_t high = t->n_entries;
    while (low < high) {
        const size_t mid = low + (high - low) / 2;
        if (strcmp(t->entries[mid].base, base) < 0) {
            low = mid + 1;
        } else {
            high = mid;
        }
    }
    return low;
}

static bool is_window(const entry *e, const truth_window *w)
{
    return isnan(e->start_s) || fabs(e->start_s - w->start_s) < SAME_WINDOW_S;
}

static void find_in_csv(const summary_truth *t,
                        const char *file,
                        const truth_window *w,
                        truth_said *out)
{
    const char *const base = file_base_name(file);
    const size_t first = lower_bound(t, base);
    const entry *whole = NULL;
    const entry *part = NULL;
    bool several = false;
    for (size_t i = first; i < t->n_entries && strcmp(t->entries[i].base, base) == 0;
         i++) {
        const entry *const e = &t->entries[i];
        several |= strcmp(e->file, t->entries[first].file) != 0;
        if (is_window(e, w)) {
            part = part != NULL ? part : e;
            whole = strcmp(e->file, file) == 0 ? e : whole;
        }
    }
    if (whole != NULL || (part != NULL && !several)) {
        *out = whole != NULL ? whole->said : part->said;
    }
}

/* ---- Documents ---- */

/* Rate of the onsets in [start, start + length): a minute's are its rate, otherwise by
 * the intervals between the first and the last. */
static double rate_of(const double *times_s, size_t n, double start_s, double length_s)
{
    size_t inside = 0;
    double first = 0.0;
    double last = 0.0;
    for (size_t i = 0; i < n; i++) {
        if (times_s[i] >= start_s && times_s[i] < start_s + length_s) {
            first = inside == 0 ? times_s[i] : first;
            last = times_s[i];
            inside++;
        }
    }
    if (fabs(length_s - MINUTE_S) < SAME_WINDOW_S) {
        return (double)inside;
    }
    return inside >= 2 ? 60.0 * (double)(inside - 1) / (last - first) : (double)NAN;
}

static void say(const fm_truth *truth, const truth_window *w, truth_said *out)
{
    if (truth->n_s1 > 0) {
        out->rate_bpm = rate_of(truth->s1_s, truth->n_s1, w->start_s, w->length_s);
    }
    if (truth->n_breaths > 0) {
        out->breath_per_min = rate_of(truth->breath_starts_s, truth->n_breaths,
                                      w->breath_start_s, w->breath_length_s);
    }
    /* The rule that was composed holds for the first minute. */
    out->pattern_known =
        truth->pattern_known && w->start_s < 1.0 && w->length_s > MINUTE_S - 1.0;
    out->pattern = truth->pattern;
}

static char *document_path(const summary_truth *t, const char *file)
{
    if (t->folder == NULL) {
        return truth_document_path(file);
    }
    const char *const base = file_base_name(file);
    char *const moved = malloc(strlen(t->folder) + strlen(base) + 2);
    if (moved == NULL) {
        return NULL;
    }
    (void)sprintf(moved, "%s/%s", t->folder, base);
    char *const path = truth_document_path(moved);
    free(moved);
    return path;
}

/* Once a recording: its windows come one after the other. */
static truth_found look(summary_truth *t, const truth_document *d, const char *file)
{
    app_err ignored = APP_ERR_NONE;
    if (t->looked_at == NULL || strcmp(t->looked_at, file) != 0) {
        free(t->looked_at);
        t->looked_at = strdup(file);
        if (!truth_beside_look(d, file, &t->found, &ignored)) {
            t->found = TRUTH_FOUND_FITS;
        }
    }
    return t->found;
}

static bool find_document(summary_truth *t,
                          const char *file,
                          const truth_window *w,
                          truth_said *out,
                          app_err *err)
{
    truth_document d = TRUTH_NONE;
    char *const path = document_path(t, file);
    if (path == NULL) {
        return app_err_memory(err);
    }
    bool ok = true;
    if (file_is_there(path)) {
        ok = truth_document_read(path, &d, err);
        out->found = ok ? look(t, &d, file) : TRUTH_FOUND_NONE;
        if (ok && out->found != TRUTH_FOUND_ANOTHER) {
            say(&d.truth, w, out);
        }
        truth_document_free(&d);
    }
    free(path);
    return ok;
}

summary_truth *summary_truth_open(const char *where, app_err *err)
{
    summary_truth *const t = calloc(1, sizeof *t);
    if (t == NULL) {
        (void)app_err_memory(err);
        return NULL;
    }
    bool ok = true;
    if (strcmp(where, "beside") == 0) {
        t->documents = true;
    } else if (file_is_folder(where)) {
        t->documents = true;
        t->folder = strdup(where);
        ok = t->folder != NULL || app_err_memory(err);
    } else {
        ok = read_csv(t, where, err);
    }
    if (!ok) {
        summary_truth_close(t);
        return NULL;
    }
    return t;
}

bool summary_truth_find(summary_truth *t,
                        const char *file,
                        const truth_window *window,
                        truth_said *out,
                        app_err *err)
{
    *out = nothing_said();
    if (t->documents) {
        return find_document(t, file, window, out, err);
    }
    find_in_csv(t, file, window, out);
    return true;
}
