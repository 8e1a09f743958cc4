#include "src/usecase/checked_count.h"

#include "src/document/times_file.h"
#include "src/usecase/document_files.h"
#include "src/usecase/truth_beside.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

struct checked_count {
    analysed *result;
    times tapped;
    bool has_truth;
    truth_found truth_found;
    truth_document truth;
    fm_known_events known;
    fm_comparison comparison;
    fm_reference_range range;
    fm_taps taps;
    checked_breaths breaths;
    check_view view;
};

/* The truth names the pattern of its first minute only. */
static const double FIRST_MINUTE_SLACK_S = 1.5;

check_request check_request_default(const char *path)
{
    return (check_request){
        .analyse = analyse_request_default(path),
        .pulse = true,
        .breaths = {.seconds = 60},
        .seconds = 60,
        .site = FM_SITE_APICAL,
        .tolerance_per_min = FM_TOLERANCE_EXAMPLE_PER_MIN,
        .use_truth = true,
    };
}

/* ---- What the learner brought ---- */

static bool check_speed(int entered, int seconds, app_err *err)
{
    const int per_min = entered * (60 / seconds);
    if (per_min <= FM_MANUAL_MAX) {
        return true;
    }
    return app_err_set(
        err, APP_USAGE,
        "a count of %d in %d s is %d per minute, more than the %d this "
        "program takes; give the raw count, not the rate, and its --seconds",
        entered, seconds, per_min, FM_MANUAL_MAX);
}

/*
 * The count of a learner who only tapped: on the clock the taps inside the seconds, on a
 * beat those from the first tap on.
 */
static int count_taps(const check_request *request, const times *tapped)
{
    double start_s = request->analyse.start_s;
    if (request->analyse.convention != FM_CONVENTION_CLOCK) {
        size_t first = 0;
        while (first < tapped->n && tapped->s[first] < start_s) {
            first++;
        }
        if (first < tapped->n) {
            start_s = tapped->s[first];
        }
    }
    return fm_compare_beats_in(tapped->s, tapped->n, start_s, (double)request->seconds,
                               request->analyse.convention);
}

static bool take_entry(checked_count *c,
                       const check_request *request,
                       fm_manual *manual,
                       app_err *err)
{
    *manual = (fm_manual){.entered = request->entered,
                          .seconds = request->seconds,
                          .convention = request->analyse.convention,
                          .site = request->site};
    if (!checked_taps_take(request->taps_path, &request->given_taps, &c->tapped, err)) {
        return false;
    }
    if (manual->entered == 0) {
        manual->entered = count_taps(request, &c->tapped);
        c->view.counted_taps = true;
        if (manual->entered == 0) {
            return app_err_set(
                err, APP_USAGE,
                "%s has no tap in the %d s from %g s on; check --start, or "
                "enter the count with --manual",
                request->taps_path, request->seconds, request->analyse.start_s);
        }
    }
    return check_speed(manual->entered, manual->seconds, err);
}

/* ---- The truth beside the recording ---- */

static bool find_truth(checked_count *c, const check_request *request, app_err *err)
{
    if (!request->use_truth || strcmp(request->analyse.path, "-") == 0) {
        return true;
    }
    const bool ok =
        truth_beside_read(request->analyse.path, &c->truth, &c->truth_found, err);
    c->has_truth = ok && c->truth.truth.n_s1 > 0; /* else it knows no beats */
    if (ok && c->has_truth) {
        const fm_truth *const t = &c->truth.truth;
        c->known = (fm_known_events){.n = t->n_s1,
                                     .onsets_s = t->s1_s,
                                     .n_inaudible = t->n_inaudible_s1,
                                     .inaudible = t->inaudible_s1,
                                     .has_wrist = t->has_radial,
                                     .n_wrist = t->n_radial,
                                     .wrist_s = t->radial_s};
    }
    return ok;
}

static bool is_inaudible(const fm_known_events *known, double time_s)
{
    for (size_t i = 0; i < known->n_inaudible; i++) {
        const double s1_s = known->onsets_s[known->inaudible[i]];
        if (s1_s >= time_s && s1_s <= time_s) {
            return true;
        }
    }
    return false;
}

static void describe_truth(checked_count *c)
{
    const fm_window *const w = &c->result->count.heart.count.window;
    const fm_truth *const t = &c->truth.truth;
    if (!c->has_truth || c->comparison.no_verdict == FM_NO_VERDICT_TRUTH) {
        return;
    }
    for (size_t i = 0; i < c->known.n_inaudible && !c->comparison.at_wrist; i++) {
        const double s1_s = c->known.onsets_s[c->known.inaudible[i]];
        c->view.n_inaudible +=
            s1_s >= c->comparison.start_s && s1_s < c->comparison.end_s;
    }
    c->view.known_pattern = t->pattern_known && w->start_s <= FIRST_MINUTE_SLACK_S &&
                            w->end_s - w->start_s >= 60.0;
    c->view.pattern = t->pattern;
}

/* ---- Taps ---- */

/* A beat nobody can hear is not held against the learner. */
static void forgive_inaudible(const fm_known_events *known, fm_taps *taps)
{
    size_t n = 0;
    for (size_t i = 0; i < taps->n_not_tapped; i++) {
        if (!is_inaudible(known, taps->not_tapped_s[i])) {
            taps->not_tapped_s[n++] = taps->not_tapped_s[i];
        }
    }
    taps->n_not_tapped = n;
}

/* The beats of the learner's seconds, at most FM_BEATS_MAX. */
static size_t find_beats(const checked_count *c, const double **beats_s)
{
    const fm_heart *const h = &c->result->count.heart;
    const bool wrist = c->comparison.at_wrist;
    const double *const known_s = wrist ? c->known.wrist_s : c->known.onsets_s;
    const double *const s1_s = c->has_truth ? known_s : h->count.onsets_s;
    const size_t n_known = wrist ? c->known.n_wrist : c->known.n;
    const size_t n_s1 = c->has_truth ? n_known : h->count.n;
    size_t first = 0;
    while (first < n_s1 && s1_s[first] < c->comparison.start_s) {
        first++;
    }
    size_t n = 0;
    while (first + n < n_s1 && s1_s[first + n] < c->comparison.end_s &&
           n < FM_BEATS_MAX) {
        n++;
    }
    *beats_s = s1_s + first;
    return n;
}

static bool align_taps(checked_count *c, const char *path, app_err *err)
{
    fm_taps_input in = {
        .taps_s = c->tapped.s,
        .n_taps = c->tapped.n,
        .window = {.start_s = c->comparison.start_s, .end_s = c->comparison.end_s},
    };
    in.n_beats = find_beats(c, &in.beats_s);
    fm_taps_work *const work = malloc(sizeof *work);
    if (work == NULL) {
        return app_err_memory(err);
    }
    const fm_status status = fm_taps_align(&in, work, &c->taps);
    free(work);
    if (status != FM_OK) {
        return app_err_set(
            err, APP_UNREADABLE,
            "cannot use %s: more than %d taps in one window are too many", path,
            (int)FM_TAPS_MAX);
    }
    c->view.n_taps_outside = c->tapped.n - c->taps.n_taps;
    if (c->has_truth) {
        forgive_inaudible(&c->known, &c->taps);
    }
    c->view.taps = &c->taps;
    return true;
}

/* ---- The comparison ---- */

/* A truth that carries no digest may be of another recording. Where the second count is
 * sure, and the truth's beats of its window lie outside its range, neither is held against
 * the learner. */
static bool is_truth_in_doubt(const checked_count *c)
{
    const fm_heart *const h = &c->result->count.heart;
    const fm_window *const w = &c->result->count.heart.count.window;
    if (!c->has_truth || h->count.status != FM_COUNTED || !w->full_minute) {
        return false;
    }
    size_t n = 0;
    for (size_t i = 0; i < c->known.n; i++) {
        n += c->known.onsets_s[i] >= w->start_s && c->known.onsets_s[i] < w->end_s;
    }
    const double per_min = 60.0 * (double)n / (w->end_s - w->start_s);
    return truth_beside_is_doubtful(c->truth_found, per_min, h->count.rate_low_per_min,
                                    h->count.rate_high_per_min);
}

/* Nothing is judged: not the difference, nor what would follow from it. */
static void withdraw(fm_comparison *out)
{
    out->reference_known = false;
    out->counted = 0;
    out->apex_beats = 0;
    out->per_min = (double)NAN;
    out->low_per_min = (double)NAN;
    out->high_per_min = (double)NAN;
    out->difference_per_min = (double)NAN;
    out->verdict = FM_VERDICT_NOT_COMPARABLE;
    out->no_verdict = FM_NO_VERDICT_TRUTH;
    out->slip = FM_SLIP_NONE;
    out->convention_explains = false;
    out->fewer_at_wrist = false;
    out->more_at_wrist = false;
}

/* Twice: the first tells the learner's seconds, the second knows the taps in them. */
static bool compare(checked_count *c,
                    const check_request *request,
                    const fm_manual *manual,
                    app_err *err)
{
    fm_compare_input in = {
        .manual = *manual,
        .count = &c->result->count.heart.count,
        .known = c->has_truth ? &c->known : NULL,
        .tolerance_per_min = request->tolerance_set ? request->tolerance_per_min
                                                    : FM_TOLERANCE_EXAMPLE_PER_MIN,
    };
    fm_status status = fm_compare(&in, &c->comparison);
    if (status == FM_OK && is_truth_in_doubt(c)) {
        in.known = NULL;
        status = fm_compare(&in, &c->comparison);
        withdraw(&c->comparison);
        return status == FM_OK;
    }
    if (status == FM_OK && c->comparison.reference_known &&
        (request->taps_path != NULL || c->tapped.n > 0)) {
        const char *const name = request->taps_path;
        if (!align_taps(c, name != NULL ? name : "the sitting's taps", err)) {
            return false;
        }
        in.taps = &c->taps;
        status = fm_compare(&in, &c->comparison);
    }
    return status == FM_OK ||
           app_err_set(err, APP_USAGE, "cannot compare: %s", fm_status_text(status));
}

static bool set_range(checked_count *c, const check_request *request, app_err *err)
{
    const double months =
        request->age_known ? request->age_months : FM_AGE_ADULT_MONTHS;
    return fm_reference_range_find(FM_EVENT_BEAT, months, &c->range) == FM_OK ||
           app_err_set(err, APP_USAGE, "an age of %g months is out of range", months);
}

static bool compare_breaths(checked_count *c,
                            const check_request *request,
                            app_err *err)
{
    const double months = request->age_known ? request->age_months : (double)NAN;
    const bool known = c->truth.truth.n_breaths > 0 && !is_truth_in_doubt(c);
    const fm_truth *const truth = known ? &c->truth.truth : NULL;
    if (!request->breaths.asked) {
        return true;
    }
    c->view.breaths = &c->breaths.shown;
    return checked_breaths_compare(&c->breaths, &request->breaths, c->result, months,
                                   truth, err);
}

/* What is told once the recording is known to hold what was asked for. */
typedef struct entered {
    const check_request *request;
    const fm_manual *manual;
} entered;

/* The seal: whoever keeps entries has them now, and no later. */
static bool tell_entered(void *context, app_err *err)
{
    const entered *const e = context;
    const breaths_request *const b = &e->request->breaths;
    const fm_manual breaths = {
        .entered = b->entered, .seconds = b->seconds, .method = b->method};
    return e->request->when_entered(
        e->request->entered_context, e->request->pulse ? e->manual : NULL,
        b->asked && b->entered_given ? &breaths : NULL, err);
}

static bool make(checked_count *c, const check_request *request, app_err *err)
{
    fm_manual manual = {0};
    if ((request->pulse && !take_entry(c, request, &manual, err)) ||
        (request->breaths.asked &&
         !checked_breaths_enter(&c->breaths, &request->breaths, err)) ||
        !set_range(c, request, err) || !find_truth(c, request, err)) {
        return false;
    }
    entered told = {request, &manual};
    analyse_request analyse = request->analyse;
    analyse.when_ready = request->when_entered != NULL ? tell_entered : NULL;
    analyse.ready_context = &told;
    analyse.age_known = request->age_known;
    analyse.age_months = request->age_months;
    c->result = analyse_file_window(&analyse, err);
    if (c->result == NULL || (request->pulse && !compare(c, request, &manual, err)) ||
        !compare_breaths(c, request, err)) {
        return false;
    }
    if (request->pulse) {
        describe_truth(c);
        c->view.comparison = &c->comparison;
    }
    c->view.source = &c->result->source;
    c->view.count = &c->result->count;
    c->view.range = &c->range;
    c->view.watched = request->watched;
    c->view.watched_breaths = request->watched_breaths;
    c->view.age_known = request->age_known;
    c->view.age_months = request->age_months;
    c->view.tolerance_set = request->tolerance_set;
    return true;
}

checked_count *checked_count_make(const check_request *request, app_err *err)
{
    checked_count *c = calloc(1, sizeof *c);
    if (c == NULL) {
        app_err_memory(err);
        return NULL;
    }
    c->truth = (truth_document)TRUTH_NONE;
    if (!make(c, request, err)) {
        checked_count_free(c);
        return NULL;
    }
    return c;
}

const check_view *checked_count_view(const checked_count *c)
{
    return &c->view;
}

void checked_count_free(checked_count *c)
{
    if (c != NULL) {
        truth_document_free(&c->truth);
        times_free(&c->tapped);
        checked_breaths_free(&c->breaths);
        free(c->result);
        free(c);
    }
}
