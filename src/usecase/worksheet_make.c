#include "src/usecase/worksheet_make.h"

#include "dsp/signal/random.h"
#include "src/document/truth_document.h"
#include "src/port/file.h"
#include "src/port/folder.h"
#include "src/port/interrupt.h"
#include "src/port/sealed.h"
#include "src/port/sound_writer.h"
#include "src/port/utc.h"
#include "src/sheet/worksheet_sheet.h"
#include "src/usecase/document_files.h"
#include "src/usecase/sound_stretch.h"
#include "src/usecase/truth_beside.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum {
    PATH_BYTES = 4096,
    CANDIDATES_MOST = 10000
};

/* ---- Which recordings ---- */

typedef struct candidates {
    const char *folder;
    char **path;
    size_t n;
    bool failed; /* no memory */
} candidates;

static void free_candidates(candidates *c)
{
    for (size_t i = 0; i < c->n; i++) {
        free(c->path[i]);
    }
    free(c->path);
    *c = (candidates){0};
}

/* NAME.truth.json names its recording by what lies beside it: .flac or .wav. */
static bool add_candidate(void *context, const char *name)
{
    candidates *const c = context;
    static const char SUFFIX[] = ".truth.json";
    static const char *const SOUNDS[] = {".flac", ".wav"};
    const size_t n = strlen(name);
    char path[PATH_BYTES];
    if (n < sizeof SUFFIX || strcmp(name + n - (sizeof SUFFIX - 1), SUFFIX) != 0 ||
        c->n == CANDIDATES_MOST) {
        return true;
    }
    for (size_t i = 0; i < 2; i++) {
        const int wrote = snprintf(path, sizeof path, "%s/%.*s%s", c->folder,
                                   (int)(n - (sizeof SUFFIX - 1)), name, SOUNDS[i]);
        if (wrote > 0 && (size_t)wrote < sizeof path && file_is_there(path)) {
            char *const own = strdup(path);
            c->path[c->n] = own;
            c->n += own != NULL;
            c->failed = own == NULL;
            return !c->failed;
        }
    }
    return true;
}

static int by_name(const void *a, const void *b)
{
    return strcmp(*(char *const *)a, *(char *const *)b);
}

/* In the order of names, then shuffled by the seed: the same everywhere. */
static bool find_candidates(const worksheet_plan *plan, candidates *c, app_err *err)
{
    c->folder = plan->from;
    c->path = calloc(CANDIDATES_MOST, sizeof *c->path);
    c->failed = c->path == NULL;
    if (!c->failed && !folder_each(plan->from, add_candidate, c, err)) {
        return false;
    }
    if (c->failed) {
        return app_err_memory(err);
    }
    qsort(c->path, c->n, sizeof *c->path, by_name);
    fm_random state = fm_random_init(plan->seed, 0x6b65);
    for (size_t i = c->n; i > 1; i--) {
        const size_t k = (size_t)(fm_random_next(&state) % i);
        char *const other = c->path[i - 1];
        c->path[i - 1] = c->path[k];
        c->path[k] = other;
    }
    return true;
}

/* ---- What is true of its seconds ---- */

static int count_in(const double *at_s, size_t n, double from_s, double to_s)
{
    int inside = 0;
    for (size_t i = 0; i < n; i++) {
        inside += at_s[i] >= from_s && at_s[i] < to_s;
    }
    return inside;
}

static worksheet_short short_counts(const fm_truth *t, int seconds)
{
    worksheet_short s = {WORKSHEET_UNKNOWN, WORKSHEET_UNKNOWN};
    for (int from = 0; from + seconds <= WORKSHEET_SECONDS; from++) {
        const int per_min =
            count_in(t->s1_s, t->n_s1, from, from + seconds) * (60 / seconds);
        s.low_per_min = s.low_per_min == WORKSHEET_UNKNOWN || per_min < s.low_per_min
                            ? per_min
                            : s.low_per_min;
        s.high_per_min = per_min > s.high_per_min ? per_min : s.high_per_min;
    }
    return s;
}

static int early_beats(const fm_truth *t)
{
    for (size_t i = 0; i < t->n_findings; i++) {
        if (t->findings[i].kind == FM_FINDING_EARLY_BEATS) {
            return (int)t->findings[i].count;
        }
    }
    return 0;
}

/* A beat that nobody can hear is not asked for. */
static int heard_beats(const fm_truth *t, double end_s)
{
    int n = count_in(t->s1_s, t->n_s1, 0.0, end_s);
    for (size_t i = 0; i < t->n_inaudible_s1; i++) {
        n -= t->s1_s[t->inaudible_s1[i]] < end_s;
    }
    return n;
}

static void describe(const truth_document *d, const char *path, worksheet_item *i)
{
    const fm_truth *const t = &d->truth;
    const double end_s = WORKSHEET_SECONDS;
    (void)snprintf(i->source, sizeof i->source, "%.250s", file_base_name(path));
    (void)snprintf(i->recipe, sizeof i->recipe, "%.1000s", d->recipe);
    if (t->pattern_known) {
        (void)snprintf(i->pattern, sizeof i->pattern, "%s",
                       fm_pattern_word(t->pattern));
    }
    (void)snprintf(i->repeat, sizeof i->repeat, "%s", t->repeat);
    i->beats = heard_beats(t, end_s);
    i->early = early_beats(t);
    i->breaths = t->n_breaths > 0
                     ? count_in(t->breath_starts_s, t->n_breaths, 0.0, end_s)
                     : WORKSHEET_UNKNOWN;
    i->wrist = t->has_radial ? count_in(t->radial_s, t->n_radial, 0.0, end_s)
                             : WORKSHEET_UNKNOWN;
    i->by_15_s = short_counts(t, 15);
    i->by_30_s = short_counts(t, 30);
}

/* ---- The item's own file ---- */

/* Exactly the seconds, one channel, no tags: nothing tells one item from another. */
static bool read_seconds(const char *path, sound_stretch *s, app_err *err)
{
    sound_file *const file = sound_file_open(path, err);
    if (file == NULL) {
        return false;
    }
    const size_t n = (size_t)lround(WORKSHEET_SECONDS * sound_file_info(file).rate_hz);
    const bool read = sound_stretch_read(file, 0, n, 1, s, err);
    sound_file_close(file);
    return read && (s->n == n ||
                    app_err_set(err, APP_USAGE, "%s is shorter than a minute", path));
}

/* All items at the rate of the first: another would tell by its size. */
static bool write_item(const worksheet_plan *plan,
                       const char *from,
                       const worksheet_item *item,
                       int *all_rate_hz,
                       app_err *err)
{
    char path[PATH_BYTES];
    sound_stretch s = {0};
    file_draft draft = FILE_DRAFT_NONE;
    bool ok = read_seconds(from, &s, err);
    const int rate_hz = (int)lround(s.rate_hz);
    if (ok && *all_rate_hz != 0 && rate_hz != *all_rate_hz) {
        ok = app_err_set(err, APP_USAGE, "%s has another sample rate", from);
    }
    if (ok) {
        *all_rate_hz = rate_hz;
        (void)snprintf(path, sizeof path, "%s/%s.wav", plan->to, item->item);
        ok = file_draft_open(&draft, path, false, err) &&
             sound_writer_fill(&draft, path, s.x, s.n, rate_hz, err) &&
             file_draft_commit(&draft, err);
        file_draft_drop(&draft);
    }
    free(s.x);
    return ok;
}

/* ---- All of it ---- */

/* Does the recording fit: a truth with beats, and a whole minute of sound? */
static bool try_candidate(const worksheet_plan *plan,
                          const char *path,
                          worksheet_key *k,
                          int *rate_hz,
                          app_err *err)
{
    truth_document truth = TRUTH_NONE;
    app_err why = APP_ERR_NONE;
    char *const beside = truth_document_path(path);
    truth_found found = TRUTH_FOUND_NONE;
    if (beside == NULL) {
        return app_err_memory(err);
    }
    bool ok = truth_document_read(beside, &truth, &why) &&
              truth_beside_fits(&truth, beside, path, &found, &why);
    free(beside);
    worksheet_item *const item = &k->items[k->n];
    memset(item, 0, sizeof *item);
    (void)snprintf(item->item, sizeof item->item, "item-%02zu", k->n + 1);
    if (ok) {
        describe(&truth, path, item);
        ok = item->beats > 0 && write_item(plan, path, item, rate_hz, &why);
    }
    truth_document_free(&truth);
    k->n += ok;
    if (!ok && (why.code == APP_FAILED || why.code == APP_INTERRUPTED)) {
        *err = why;
        return false;
    }
    return interrupt_check(err);
}

static bool count_name(void *context, const char *name)
{
    (void)name;
    ++*(int *)context;
    return true;
}

static bool check_folder(const char *to, app_err *err)
{
    char probe[PATH_BYTES];
    app_err why = APP_ERR_NONE;
    int n = 0;
    if (!file_is_there(to)) {
        (void)snprintf(probe, sizeof probe, "%s/sheet.html", to);
        return file_make_folders(probe, false, err);
    }
    if (!folder_each(to, count_name, &n, &why)) {
        return app_err_set(err, APP_USAGE, "%s is no folder", to);
    }
    return n == 0 || app_err_set(err, APP_USAGE,
                                 "the folder %s is not empty; a worksheet needs one of "
                                 "its own",
                                 to);
}

static bool write_sheet(const worksheet_plan *plan,
                        const worksheet_key *k,
                        app_err *err)
{
    char path[PATH_BYTES];
    size_t n = 0;
    char *const page = worksheet_sheet_format(plan->title, k->n, &n);
    (void)snprintf(path, sizeof path, "%s/sheet.html", plan->to);
    const bool ok =
        page != NULL ? file_write(path, page, n, false, err) : app_err_memory(err);
    free(page);
    return ok;
}

static bool make_items(const worksheet_plan *plan,
                       const candidates *c,
                       worksheet_key *k,
                       app_err *err)
{
    int rate_hz = 0;
    size_t wanted = plan->n_items > 0 ? plan->n_items : c->n;
    wanted = wanted < WORKSHEET_ITEMS_MOST ? wanted : WORKSHEET_ITEMS_MOST;
    for (size_t i = 0; i < c->n && k->n < wanted; i++) {
        if (!try_candidate(plan, c->path[i], k, &rate_hz, err)) {
            return false;
        }
    }
    if (k->n == 0 || k->n < plan->n_items) {
        return app_err_set(err, APP_USAGE,
                           "%s has %zu recordings of a whole minute with their truth "
                           "beside them, %zu are wanted; compose some",
                           plan->from, k->n, plan->n_items > 0 ? plan->n_items : 1);
    }
    return true;
}

/* What was made of one that is not complete goes: the next run wants an empty folder. */
static void remove_made(const worksheet_plan *plan, const worksheet_key *k)
{
    char path[PATH_BYTES];
    for (size_t i = 0; i < k->n; i++) {
        (void)snprintf(path, sizeof path, "%s/%s.wav", plan->to, k->items[i].item);
        (void)file_remove(path);
    }
    (void)snprintf(path, sizeof path, "%s/sheet.html", plan->to);
    (void)file_remove(path);
}

bool worksheet_make(const worksheet_plan *plan, size_t *n, app_err *err)
{
    char path[PATH_BYTES];
    worksheet_key k = {.n = 0};
    candidates c = {0};
    if (strlen(plan->phrase) < SEALED_PHRASE_LEAST) {
        return app_err_set(err, APP_USAGE,
                           "the pass phrase is too short: at least %d characters",
                           SEALED_PHRASE_LEAST);
    }
    utc_now(k.made_utc, NULL);
    k.items = calloc(WORKSHEET_ITEMS_MOST, sizeof *k.items);
    (void)snprintf(path, sizeof path, "%s/key.sealed", plan->to);
    if (k.items == NULL) {
        return app_err_memory(err);
    }
    const bool begun = find_candidates(plan, &c, err) && check_folder(plan->to, err);
    const bool ok = begun && make_items(plan, &c, &k, err) &&
                    write_sheet(plan, &k, err) &&
                    worksheet_key_write(&k, path, plan->phrase, err);
    if (begun && !ok) {
        remove_made(plan, &k);
    }
    *n = k.n;
    worksheet_key_free(&k);
    free_candidates(&c);
    return ok;
}
