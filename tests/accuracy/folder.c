/* Recordings with truth: analysed, then scored once the lag of the set is known. */
#include "accuracy.h"
#include "analyse.h"
#include "calibration.h"
#include "dump.h"
#include "ecg_rhythm.h"
#include "match.h"
#include "pool.h"
#include "saved.h"
#include "stats.h"
#include "truth.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* A window this short at the end of a long recording is left out. */
static const double LEAST_WINDOW_S = 10.0;

/* S1 in [first R - 0.05, last R + 0.15] counts (the data's own README). */
static const double BEFORE_SPAN_S = 0.05;
static const double AFTER_SPAN_S = 0.15;

/* The span is written to 1 ms, the R peaks to 0.1 ms. */
static const double ROUNDING_S = 0.001;

/* What is kept of one window. */
typedef struct window_kept {
    double start_s;
    double end_s;
    scored score;
    double *s1_s;
    double *s2_s;
    size_t n_s1;
    size_t n_s2;
} window_kept;

typedef struct recording_kept {
    const recording *truth;
    FILE *save;        /* where results are written to, or NULL */
    const saved *load; /* results to take instead of analysing, or NULL */
    window_kept *windows;
    size_t n;
    bool good;
} recording_kept;

static double *copy_times(const double *v, size_t n)
{
    double *copy = malloc((n + 1) * sizeof *copy);
    if (copy != NULL) {
        memcpy(copy, v, n * sizeof *copy);
    }
    return copy;
}

/* Called at each window: the one loop in which a count is at hand. */
static void keep_window(const fm_count *count, void *context)
{
    recording_kept *r = context;
    if (r->save != NULL && !saved_write(r->save, r->truth->name, count)) {
        r->good = false;
    }
    window_kept *grown = realloc(r->windows, (r->n + 1) * sizeof *grown);
    if (grown == NULL) {
        r->good = false;
        return;
    }
    r->windows = grown;
    window_kept *w = &grown[r->n++];
    *w = (window_kept){.start_s = count->heart.count.window.start_s,
                       .end_s = count->heart.count.window.end_s};
    w->n_s1 = count->heart.count.n;
    w->n_s2 = count->heart.n_s2;
    w->s1_s = copy_times(count->heart.count.onsets_s, w->n_s1);
    w->s2_s = copy_times(count->heart.s2_s, w->n_s2);
    r->good = r->good && w->s1_s != NULL && w->s2_s != NULL;
    w->score.status = count->heart.count.status;
    w->score.reason = count->heart.count.reason;
    w->score.printed_rate_bpm = count->heart.count.rate_per_min;
    w->score.low_bpm = floor(count->heart.count.rate_low_per_min + 0.05);
    w->score.high_bpm = ceil(count->heart.count.rate_high_per_min - 0.05);
    for (size_t i = 0; i < count->heart.count.quality.n_gaps; i++) {
        const fm_reason reason = count->heart.count.quality.gaps[i].reason;
        w->score.gap_for_contact = w->score.gap_for_contact ||
                                   reason == FM_REASON_CONTACT_LOST ||
                                   reason == FM_REASON_CONTACT_OR_PAUSE;
    }
    w->score.confidence = count->heart.count.confidence;
    w->score.rhythm = score_rhythm(&r->truth->rhythm, count);
}

static void analyse_recording(size_t i, void *context)
{
    recording_kept *r = &((recording_kept *)context)[i];
    sound s;
    r->good = true;
    if (r->load != NULL) {
        r->good = saved_visit(r->load, r->truth->name, keep_window, r) > 0 && r->good;
        return;
    }
    r->good = sound_read(&s, r->truth->path) &&
              analyse_windows(&s, LEAST_WINDOW_S, 0, keep_window, r) && r->good;
    sound_free(&s);
}

static beats_pair compare_window(const recording *r, const window_kept *w)
{
    beats_pair b;
    double low = w->start_s;
    double high = nextafter(w->end_s, 0.0);
    if (r->whole) {
        b.truth = times_between(r->beats_s, r->n_beats, low, high, &b.n_truth);
        b.found = times_between(w->s1_s, w->n_s1, low, high, &b.n_found);
        return b;
    }
    low = fmax(low, r->span_start_s);
    high = fmin(high, r->span_end_s);
    b.truth = times_between(r->beats_s, r->n_beats, low - ROUNDING_S, high + ROUNDING_S,
                            &b.n_truth);
    b.found = times_between(w->s1_s, w->n_s1, low - BEFORE_SPAN_S, high + AFTER_SPAN_S,
                            &b.n_found);
    return b;
}

static void dump_kept(const settings *options, const recording *r, const window_kept *w)
{
    if (options->dump == NULL || !(options->dump_all || dump_is_worth_it(&w->score))) {
        return;
    }
    const beats_pair s1 = {r->beats_s, w->s1_s, r->n_beats, w->n_s1};
    const dump_view v = {&w->score, r->path, w->start_s, w->end_s,
                         s1,        w->s2_s, w->n_s2};
    (void)dump_window(options->dump, &v);
}

static void score_pair(const recording *r,
                       window_kept *w,
                       const beats_pair *b,
                       double set_lag_s)
{
    scored *s = &w->score;
    (void)snprintf(s->name, sizeof s->name, "%s", r->name);
    (void)snprintf(s->group, sizeof s->group, "%s", r->group);
    score_beats(s, b, set_lag_s, r->from_ecg);
    if (r->whole && w->end_s - w->start_s >= FM_WINDOW_MAX_S - 1e-6) {
        score_rates(s, (double)b->n_truth, (double)b->n_found);
    } else {
        score_rates(s, rate_of(b->truth, b->n_truth), rate_of(b->found, b->n_found));
    }
}

/* Scores a window, with what cannot be heard left out; false when out of memory. */
static bool score_window(const recording *r, window_kept *w, double set_lag_s)
{
    const beats_pair all = compare_window(r, w);
    double *truth = copy_times(all.truth, all.n_truth);
    double *found = copy_times(all.found, all.n_found);
    const bool good = truth != NULL && found != NULL;
    if (good) {
        beats_pair b = {truth, found, all.n_truth, all.n_found};
        if (r->inaudible != NULL) {
            const bool *inaudible = r->inaudible + (all.truth - r->beats_s);
            leave_out_inaudible(truth, &b.n_truth, inaudible, found, &b.n_found);
        }
        score_pair(r, w, &b, set_lag_s);
    }
    free(truth);
    free(found);
    return good;
}

/* The lag of the set: the median of the recordings' own lags that are plausible. Prints
 * how those lie. */
static double set_lag(const recording_kept *kept, size_t n)
{
    double *lags = malloc((n + 1) * sizeof *lags);
    size_t n_lags = 0;
    size_t n_ecg = 0;
    for (size_t i = 0; lags != NULL && i < n; i++) {
        const recording *r = kept[i].truth;
        if (kept[i].n == 0 || !r->from_ecg) {
            continue;
        }
        const beats_pair b = compare_window(r, &kept[i].windows[0]);
        const double lag = median_lag(b.truth, b.n_truth, b.found, b.n_found);
        n_ecg++;
        if (lag_is_plausible(lag)) {
            lags[n_lags++] = lag;
        }
    }
    double lag = 0.0;
    if (n_lags > 0) {
        sort_doubles(lags, n_lags);
        lag = sorted_quantile(lags, n_lags, 0.5);
        (void)printf("constant lag of the set: S1 %.0f ms after R; own lags: 5th "
                     "percentile %.0f, 95th %.0f ms; %zu of %zu not plausible\n",
                     1000.0 * lag, 1000.0 * sorted_quantile(lags, n_lags, 0.05),
                     1000.0 * sorted_quantile(lags, n_lags, 0.95), n_ecg - n_lags,
                     n_ecg);
    }
    free(lags);
    return lag;
}

enum {
    GROUPS_MAX = 8
};

static tally *group_tally(tally *groups, size_t *n, const char *name)
{
    for (size_t i = 0; i < *n; i++) {
        if (strcmp(groups[i].name, name) == 0) {
            return &groups[i];
        }
    }
    tally *t = &groups[*n < GROUPS_MAX ? (*n)++ : GROUPS_MAX - 1];
    (void)snprintf(t->name, sizeof t->name, "%s", name);
    return t;
}

static void print_calibration(const recording_kept *kept, size_t n)
{
    size_t n_windows = 0;
    for (size_t i = 0; i < n; i++) {
        n_windows += kept[i].n;
    }
    forecast *f = malloc((n_windows + 1) * sizeof *f);
    size_t at = 0;
    for (size_t i = 0; f != NULL && i < n; i++) {
        for (size_t k = 0; k < kept[i].n; k++) {
            f[at++] = forecast_of(&kept[i].windows[k].score);
        }
    }
    if (f != NULL) {
        calibration_print(stdout, f, at);
    }
    free(f);
}

/* With the heart this far under everything else nobody counts it. */
static const double MUST_REFUSE_DB = -10.0;

/* Under everything else, but not far: a doubt is right, a wrong number is not. */
static const double MAY_DOUBT_DB = 0.0;

static bool is_as_it_must_be(const recording *r, const scored *s)
{
    if (r->snr_db < MUST_REFUSE_DB) {
        return s->status == FM_REFUSED;
    }
    if (r->contact_lost) {
        size_t n = 0; /* those that cannot be heard too */
        (void)times_between(r->beats_s, r->n_beats, 0.0,
                            nextafter(FM_WINDOW_MAX_S, 0.0), &n);
        return s->status != FM_REFUSED && s->gap_for_contact &&
               s->low_bpm <= (double)n && (double)n <= s->high_bpm &&
               s->rhythm.pattern_right && s->rhythm.findings_right;
    }
    const bool doubted = s->status == FM_CAUTION && r->snr_db < MAY_DOUBT_DB;
    return (s->status == FM_COUNTED || doubted) && s->exact &&
           s->rhythm.pattern_right && s->rhythm.findings_right;
}

static long count_documents_wrong(const recording_kept *kept, size_t n)
{
    long wrong = 0;
    for (size_t i = 0; i < n; i++) {
        for (size_t k = 0; k < kept[i].n; k++) {
            const window_kept *w = &kept[i].windows[k];
            if (!kept[i].truth->rhythm.known ||
                w->end_s - w->start_s < FM_WINDOW_MAX_S - 1e-6) {
                continue;
            }
            const bool right = is_as_it_must_be(kept[i].truth, &w->score);
            if (!right) {
                (void)printf("not as it must be: %s\n", w->score.name);
            }
            wrong += !right;
        }
    }
    return wrong;
}

static void take_figures(const tally *t, folder_figures *f)
{
    *f = (folder_figures){.n = t->n,
                          .counted = t->by_status[FM_COUNTED],
                          .counted_wrong = t->counted_wrong,
                          .delivered3 = t->delivered3,
                          .f1_set = f1_of(t->hits[LAG_SET][1], t->n_truth, t->n_found),
                          .f1_own = f1_of(t->hits[LAG_OWN][1], t->n_truth, t->n_found)};
}

/* Rhythm beside the ECG, of recordings that were not refused. */
static void print_rhythm(const recording_kept *kept, size_t n, double lag_s)
{
    ecg_rhythm sums = {0};
    for (size_t i = 0; i < n; i++) {
        for (size_t k = 0; kept[i].truth->from_ecg && k < kept[i].n; k++) {
            const window_kept *w = &kept[i].windows[k];
            if (w->score.status != FM_REFUSED) {
                const beats_pair b = compare_window(kept[i].truth, w);
                ecg_rhythm_add(&sums, b.truth, b.n_truth, b.found, b.n_found, lag_s);
            }
        }
    }
    ecg_rhythm_print(&sums);
    ecg_rhythm_free(&sums);
}

static bool print_tables(const settings *options,
                         recording_kept *kept,
                         size_t n,
                         const char *group,
                         folder_figures *figures)
{
    const double lag_s = set_lag(kept, n);
    tally groups[GROUPS_MAX] = {{.name = "all"}};
    size_t n_groups = 1;
    bool from_ecg = false;
    bool good = true;
    if (options->each) {
        scored_print_heading(stdout);
    }
    for (size_t i = 0; i < n; i++) {
        from_ecg = from_ecg || kept[i].truth->from_ecg;
        for (size_t k = 0; k < kept[i].n; k++) {
            window_kept *w = &kept[i].windows[k];
            const recording *r = kept[i].truth;
            good = score_window(r, w, r->from_ecg ? lag_s : 0.0) && good;
            dump_kept(options, r, w);
            (void)tally_add(&groups[0], &w->score);
            (void)tally_add(group_tally(groups, &n_groups, w->score.group), &w->score);
            if (options->each) {
                scored_print(stdout, &w->score);
            }
        }
    }
    const size_t first = n_groups == 2 ? 1 : 0; /* one group is the same as all */
    for (size_t i = first; i < n_groups; i++) {
        tally_print(stdout, &groups[i], from_ecg);
        if (figures != NULL && strcmp(groups[i].name, group) == 0) {
            take_figures(&groups[i], figures);
        }
    }
    for (size_t i = 0; i < n_groups; i++) {
        tally_free(&groups[i]);
    }
    print_rhythm(kept, n, lag_s);
    print_calibration(kept, n);
    if (figures != NULL) {
        figures->documents_wrong = count_documents_wrong(kept, n);
    }
    return good;
}

static void free_kept(recording_kept *kept, size_t n)
{
    for (size_t i = 0; kept != NULL && i < n; i++) {
        for (size_t k = 0; k < kept[i].n; k++) {
            free(kept[i].windows[k].s1_s);
            free(kept[i].windows[k].s2_s);
        }
        free(kept[i].windows);
    }
    free(kept);
}

int accuracy_folders(const settings *s,
                     char *const folders[],
                     size_t n,
                     const char *group,
                     folder_figures *figures)
{
    recordings list = {0};
    for (size_t i = 0; i < n; i++) {
        if (recordings_add_folder(&list, folders[i]) < 0) {
            recordings_free(&list);
            return EXIT_FAILED;
        }
    }
    if (list.n == 0) {
        (void)fprintf(stderr, "accuracy: no truth.csv and no truth document found\n");
        return EXIT_SKIPPED;
    }
    recording_kept *kept = calloc(list.n, sizeof *kept);
    FILE *save = s->save != NULL ? fopen(s->save, "wb") : NULL;
    saved load = {0};
    bool good = kept != NULL && (s->save == NULL || save != NULL) &&
                (s->load == NULL || saved_read(&load, s->load));
    for (size_t i = 0; good && i < list.n; i++) {
        kept[i] = (recording_kept){&list.items[i], save, s->load ? &load : NULL,
                                   NULL,           0,    true};
    }
    if (good) {
        pool_run(list.n, s->jobs, analyse_recording, kept);
        for (size_t i = 0; i < list.n; i++) {
            good = good && kept[i].good;
        }
        good = print_tables(s, kept, list.n, group, figures) && good;
    }
    if (save != NULL) {
        good = fclose(save) == 0 && good;
    }
    free_kept(kept, list.n);
    saved_free(&load);
    recordings_free(&list);
    return good ? EXIT_DONE : EXIT_FAILED;
}
