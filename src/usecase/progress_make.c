#include "src/usecase/progress_make.h"

#include "dsp/compare/compare.h"
#include "src/base/bytes.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum {
    TREND_MOST = 10,
    TREND_LEAST = 3
};

/* One compared first attempt. */
typedef struct pair {
    double mine, reference;
    int seconds;
    int rhythm; /* 0 even, 1 uneven, 2 not known */
} pair;

typedef struct gathering {
    progress *p;
    pair *pairs;
    size_t n, room;
    pair *breaths;
    size_t n_breaths, breath_room;
    double deficits;
    bool run_ended; /* by one that can be counted, and could not be */
    bool failed;
} gathering;

static int rhythm_of(const entry *e)
{
    if (e->device_rhythm[0] == '\0' || strcmp(e->device_rhythm, "undetermined") == 0) {
        return 2;
    }
    return strcmp(e->device_rhythm, "regular") == 0 ? 0 : 1;
}

/* A full minute at the apex; the second count neither refused nor doubted. */
static bool is_for_goal(const entry *e)
{
    return e->seconds == 60 && strcmp(e->site, "apical") == 0 &&
           (strcmp(e->judged_against, "truth") == 0 ||
            strcmp(e->device_status, "counted") == 0);
}

/* Could not count what can be counted ends a run of right ones; where the second count could
 * not either, or doubts its own, it neither helps nor harms. */
static bool ends_a_run(const char *verdict)
{
    return strcmp(verdict, fm_verdict_word(FM_VERDICT_DIFFERS)) == 0;
}

static void take_could_not(gathering *g, const entry *e)
{
    progress *const p = g->p;
    if (e->could_not != ENTRY_NO_WHOLE) {
        p->could_not++;
        p->could_not_rightly +=
            strcmp(e->verdict, fm_verdict_word(FM_VERDICT_AGREES)) == 0;
        g->run_ended = g->run_ended || (is_for_goal(e) && ends_a_run(e->verdict));
    }
    if (e->breath_could_not != ENTRY_NO_WHOLE && e->breath_seconds == 60 &&
        ends_a_run(e->breath_verdict)) {
        p->goal.breath_now_in_a_row = 0;
    }
}

static bool take_point(gathering *g, const entry *e)
{
    progress *const p = g->p;
    progress_point *const points =
        list_with_room(p->points, p->n_points + 1, &p->point_room, sizeof *points);
    if (points == NULL) {
        return false;
    }
    p->points = points;
    progress_point *const q = &p->points[p->n_points++];
    *q = (progress_point){.number = e->number,
                          .difference_per_min = e->difference_per_min,
                          .for_goal = is_for_goal(e),
                          .after_could_not = g->run_ended,
                          .uneven = rhythm_of(e) == 1,
                          .word_right = rhythm_of(e) == 1 &&
                                        strcmp(e->rhythm, e->device_rhythm) == 0};
    g->run_ended = false;
    entry_put(q->utc, sizeof q->utc, e->entered_utc);
    return summary_series_add(&p->pairs.measured, entry_per_min(e)) &&
           summary_series_add(&p->pairs.truth, e->reference_per_min);
}

static bool take_pair(pair **rows, size_t *n, size_t *room, pair one)
{
    pair *const grown = list_with_room(*rows, *n + 1, room, sizeof one);
    if (grown == NULL) {
        return false;
    }
    *rows = grown;
    (*rows)[(*n)++] = one;
    return true;
}

static void take_deficit(gathering *g, double deficit)
{
    progress *const p = g->p;
    if (!isfinite(deficit)) {
        return;
    }
    p->deficit_least = p->n_deficits > 0 ? fmin(p->deficit_least, deficit) : deficit;
    p->deficit_most = p->n_deficits > 0 ? fmax(p->deficit_most, deficit) : deficit;
    g->deficits += deficit;
    p->n_deficits++;
}

/* Respirations have a goal of their own: full minutes, neither refused nor doubted. */
static void count_breath_goal(progress *p, const entry *e)
{
    progress_goal *const g = &p->goal;
    if (e->breath_seconds != 60 || (strcmp(e->judged_against, "truth") != 0 &&
                                    strcmp(e->device_breath_status, "counted") != 0)) {
        return;
    }
    const bool inside =
        fabs(e->breath_difference_per_min) <= g->breath_within_per_min + 1e-9;
    g->breath_now_in_a_row = inside ? g->breath_now_in_a_row + 1 : 0;
    g->breath_met |=
        g->breath_in_a_row > 0 && g->breath_now_in_a_row >= g->breath_in_a_row;
}

static bool take_row(void *context, const entry *e)
{
    gathering *const g = context;
    const bool first = e->attempt == 1 || e->attempt == ENTRY_NO_WHOLE;
    const bool compared = isfinite(e->difference_per_min) &&
                          isfinite(entry_per_min(e)) && isfinite(e->reference_per_min);
    const bool breaths = isfinite(e->breath_difference_per_min) &&
                         isfinite(entry_breath_per_min(e)) &&
                         isfinite(e->breath_reference_per_min);
    g->p->rows++;
    g->p->repeated += !first;
    g->p->not_compared += first && !compared;
    take_deficit(g, e->deficit_per_min);
    if (first) {
        take_could_not(g, e);
    }
    if (first && compared) {
        const pair one = {entry_per_min(e), e->reference_per_min, e->seconds,
                          rhythm_of(e)};
        g->failed |= !take_point(g, e) || !take_pair(&g->pairs, &g->n, &g->room, one);
    }
    if (first && breaths) {
        count_breath_goal(g->p, e);
        const pair one = {entry_breath_per_min(e), e->breath_reference_per_min,
                          e->breath_seconds, 2};
        g->failed |= !take_pair(&g->breaths, &g->n_breaths, &g->breath_room, one);
    }
    return !g->failed;
}

/* ---- Groups ---- */

enum {
    BY_METHOD,
    BY_RATE,
    BY_RHYTHM
};

static int class_of(const pair *q, int by)
{
    return by == BY_METHOD ? q->seconds
           : by == BY_RATE ? (q->reference >= 60.0) + (q->reference > 100.0)
                           : q->rhythm;
}

static const struct kind {
    const char *by, *label;
    int how, is;
} KINDS[PROGRESS_GROUPS] = {
    {"method", "full minute", BY_METHOD, 60},
    {"method", "30 s x 2", BY_METHOD, 30},
    {"method", "15 s x 4", BY_METHOD, 15},
    {"rate", "under 60 a minute", BY_RATE, 0},
    {"rate", "60 to 100 a minute", BY_RATE, 1},
    {"rate", "over 100 a minute", BY_RATE, 2},
    {"rhythm", "regular", BY_RHYTHM, 0},
    {"rhythm", "irregular", BY_RHYTHM, 1},
    {"rhythm", "rhythm not known", BY_RHYTHM, 2},
};

/* Of one kind; NULL: of all. */
static bool sum_up(const pair *rows,
                   size_t n,
                   const struct kind *kind,
                   double within,
                   progress_group *out)
{
    double *const mine = malloc((n > 0 ? n : 1) * 2 * sizeof *mine);
    if (mine == NULL) {
        return false;
    }
    double *const reference = mine + n;
    size_t m = 0;
    out->within = 0;
    for (size_t i = 0; i < n; i++) {
        if (kind == NULL || class_of(&rows[i], kind->how) == kind->is) {
            mine[m] = rows[i].mine;
            reference[m++] = rows[i].reference;
            out->within += fabs(rows[i].mine - rows[i].reference) <= within + 1e-9;
        }
    }
    out->agreement = fm_agreement_of(mine, reference, m);
    out->share_95 = fm_share_exact_95((long)out->within, (long)m);
    free(mine);
    return true;
}

static bool sum_up_all(gathering *g)
{
    progress *const p = g->p;
    p->all = (progress_group){.by = "all", .label = "all"};
    p->breaths = (progress_group){.by = "respirations", .label = "respirations"};
    bool ok =
        sum_up(g->pairs, g->n, NULL, p->within_per_min, &p->all) &&
        sum_up(g->breaths, g->n_breaths, NULL, p->breaths_within_per_min, &p->breaths);
    for (size_t i = 0; i < PROGRESS_GROUPS && ok; i++) {
        progress_group *const out = &p->groups[p->n_groups++];
        out->by = KINDS[i].by;
        (void)snprintf(out->label, sizeof out->label, "%s", KINDS[i].label);
        ok = sum_up(g->pairs, g->n, &KINDS[i], p->within_per_min, out);
    }
    p->pairs.agreement = p->all.agreement;
    return ok;
}

/* Median |difference| of points[from..from+n-1]; n at most TREND_MOST. */
static double median_off(const progress *p, size_t from, size_t n)
{
    double off[TREND_MOST];
    for (size_t i = 0; i < n; i++) {
        off[i] = fabs(p->points[from + i].difference_per_min);
    }
    fm_sort_ascending(off, n);
    return fm_sorted_quantile(off, n, 0.5);
}

static void find_trend(progress *p)
{
    size_t n = p->n_points / 2;
    n = n < TREND_MOST ? n : TREND_MOST;
    if (n >= TREND_LEAST) {
        p->trend_n = n;
        p->trend_first = median_off(p, 0, n);
        p->trend_last = median_off(p, p->n_points - n, n);
    }
}

/* Of the newest n that count for the goal, up to point last: uneven with its word right. */
static int newest_irregular(const progress *p, size_t last, int n)
{
    int right = 0;
    for (size_t k = last + 1; k > 0 && n > 0; k--) {
        const progress_point *const q = &p->points[k - 1];
        n -= q->for_goal;
        right += q->for_goal && q->word_right;
    }
    return right;
}

/* Met by any so many in a row of those that count for it: the first such count is named.
 * The others, short ones, at the wrist, refused or doubted, neither help nor harm. */
static void judge_goal(progress *p, bool run_ended)
{
    progress_goal *const g = &p->goal;
    for (size_t i = 0; i < p->n_points && g->set; i++) {
        const progress_point *const q = &p->points[i];
        g->now_in_a_row = q->after_could_not ? 0 : g->now_in_a_row;
        if (!q->for_goal) {
            continue;
        }
        const bool inside = fabs(q->difference_per_min) <= g->within_per_min + 1e-9;
        g->now_in_a_row = inside ? g->now_in_a_row + 1 : 0;
        g->now_irregular = newest_irregular(p, i, g->now_in_a_row);
        if (!g->met && g->now_in_a_row >= g->in_a_row &&
            newest_irregular(p, i, g->in_a_row) >= g->irregular) {
            g->met = true;
            memcpy(g->met_utc, q->utc, sizeof g->met_utc);
        }
    }
    if (run_ended) {
        g->now_in_a_row = 0;
        g->now_irregular = 0;
    }
}

static bool read_learner(logbook *l, const char *learner, progress *p, app_err *err)
{
    logbook_goal goal;
    logbook_signature signature;
    if (!logbook_get_goal(l, learner, &goal, err) ||
        !logbook_get_signature(l, learner, &signature, err)) {
        return false;
    }
    (void)snprintf(p->learner, sizeof p->learner, "%s", learner);
    p->goal = (progress_goal){.set = goal.in_a_row > 0,
                              .in_a_row = goal.in_a_row,
                              .within_per_min = goal.within_per_min,
                              .irregular = goal.irregular,
                              .breath_in_a_row = goal.breath_in_a_row,
                              .breath_within_per_min = goal.breath_within_per_min};
    p->is_signed = signature.by[0] != '\0';
    p->signed_goal_met = signature.goal_met;
    entry_put(p->signed_by, sizeof p->signed_by, signature.by);
    entry_put(p->signed_utc, sizeof p->signed_utc, signature.signed_utc);
    entry_put(p->signed_watched, sizeof p->signed_watched, signature.watched);
    return true;
}

bool progress_make(
    logbook *l, const char *learner, double within, progress *out, app_err *err)
{
    *out = (progress){0};
    const logbook_query everything = {learner, 0};
    gathering g = {.p = out};
    if (learner != NULL && !read_learner(l, learner, out, err)) {
        return false;
    }
    out->within_set = isfinite(within) || out->goal.set;
    out->within_per_min = isfinite(within) ? within
                          : out->goal.set  ? out->goal.within_per_min
                                           : FM_TOLERANCE_EXAMPLE_PER_MIN;
    out->breaths_within_per_min = FM_BREATH_TOLERANCE_EXAMPLE_PER_MIN;
    bool ok = logbook_each(l, &everything, take_row, &g, err);
    if (ok && (g.failed || !sum_up_all(&g))) {
        ok = app_err_memory(err);
    }
    if (ok && learner != NULL && out->rows == 0 && !out->goal.set) {
        ok = app_err_set(err, APP_USAGE, "the logbook knows no learner %s", learner);
    }
    if (ok) {
        find_trend(out);
        judge_goal(out, g.run_ended);
        out->deficit_mean =
            out->n_deficits > 0 ? g.deficits / (double)out->n_deficits : (double)NAN;
    }
    free(g.pairs);
    free(g.breaths);
    return ok;
}
