#include "src/usecase/checked_breaths.h"
#include "src/usecase/document_files.h"

#include "dsp/breath/respiration_pause.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

bool checked_taps_take(const char *path, const times *given, times *to, app_err *err)
{
    if (path != NULL) {
        return times_file_read(path, TIMES_TAPS, to, err);
    }
    *to = (times)TIMES_NONE;
    if (given->n == 0) {
        return true;
    }
    to->s = calloc(given->n, sizeof *to->s);
    if (to->s == NULL) {
        return app_err_memory(err);
    }
    memcpy(to->s, given->s, given->n * sizeof *to->s);
    to->n = given->n;
    return true;
}

bool checked_breaths_enter(checked_breaths *c,
                           const breaths_request *request,
                           app_err *err)
{
    if (!checked_taps_take(request->taps_path, &request->given_taps, &c->tapped, err)) {
        return false;
    }
    const int per_min = request->entered * (60 / request->seconds);
    if (request->entered_given && per_min > FM_BREATHS_MANUAL_MAX) {
        return app_err_set(
            err, APP_USAGE,
            "%d respirations in %d s are %d per minute, more than the %d "
            "this program takes; give the raw count, not the rate, and its "
            "--breath-seconds",
            request->entered, request->seconds, per_min, FM_BREATHS_MANUAL_MAX);
    }
    return true;
}

static bool find_entry(const checked_breaths *c,
                       const breaths_request *request,
                       double start_s,
                       int *entered,
                       app_err *err)
{
    *entered = request->entered;
    if (request->entered_given) {
        return true;
    }
    /* taps are counted over the seconds; their gaps say nothing */
    *entered = fm_compare_beats_in(c->tapped.s, c->tapped.n, start_s,
                                   (double)request->seconds, FM_CONVENTION_CLOCK);
    if (*entered == 0) {
        return app_err_set(
            err, APP_USAGE,
            "%s has no tap in the %d s from %g s on; check --breath-window, or enter "
            "the count with --manual-breaths",
            request->taps_path, request->seconds, start_s);
    }
    if (*entered * (60 / request->seconds) > FM_BREATHS_MANUAL_MAX) {
        return app_err_set(
            err, APP_UNREADABLE,
            "cannot use %s: %d taps in %d s are too many for respirations",
            request->taps_path, *entered, request->seconds);
    }
    return true;
}

/* Known breaths judge, unless nobody can hear them and the device could not either. */
static bool truth_judges(const fm_truth *truth, const fm_breath *breath)
{
    return truth != NULL && truth->n_breaths > 0 &&
           (breath->count.status != FM_REFUSED || isfinite(truth->breath_snr_db));
}

/* The pauses of the learner's own seconds, of those named at the age. */
static void take_pauses(checked_breaths *c,
                        const fm_breath_pause *pauses,
                        size_t n,
                        double age_months)
{
    size_t kept = 0;
    for (size_t i = 0; i < n && kept < FM_BREATH_PAUSES_MAX; i++) {
        if (pauses[i].end_s > c->comparison.start_s &&
            pauses[i].start_s < c->comparison.end_s) {
            c->pauses[kept++] = pauses[i];
        }
    }
    c->shown.n_pauses = fm_breath_pauses_keep(c->pauses, kept, age_months);
    c->shown.pauses = c->pauses;
}

/* How the breathing went: the truth's word where it has one. */
static void take_breathing(checked_breaths *c,
                           const fm_breath *breath,
                           const fm_truth *truth,
                           double age_months)
{
    const bool known = truth != NULL && truth->breathing_known;
    c->shown.pattern = known ? truth->breath_pattern : breath->pattern;
    c->shown.breathing_known = known;
    take_pauses(c, known ? truth->breath_pauses : breath->pauses,
                known ? truth->n_breath_pauses : breath->n_pauses, age_months);
    if (c->shown.n_pauses == 0 && c->shown.pattern == FM_BREATH_PATTERN_WITH_PAUSES) {
        c->shown.pattern = FM_BREATH_PATTERN_UNEVEN;
    }
}

bool checked_breaths_compare(checked_breaths *c,
                             const breaths_request *request,
                             const analysed *result,
                             double age_months,
                             const fm_truth *truth,
                             app_err *err)
{
    const fm_breath *const breath = &result->count.breath;
    const bool age_known = isfinite(age_months);
    const bool known = truth_judges(truth, breath);
    const fm_known_events starts = {.n = known ? truth->n_breaths : 0,
                                    .onsets_s = known ? truth->breath_starts_s : NULL};
    fm_compare_input in = {
        .kind = FM_EVENT_BREATH,
        .manual = {.seconds = request->seconds, .method = request->method},
        .count = &breath->count,
        .known = known ? &starts : NULL,
        .tapped = request->taps_path != NULL || c->tapped.n > 0,
        .n_taps = c->tapped.n,
        .taps_s = c->tapped.s,
        .young = age_known && age_months < FM_BREATH_METHOD_MONTHS,
        .tolerance_per_min = request->tolerance_set
                                 ? request->tolerance_per_min
                                 : FM_BREATH_TOLERANCE_EXAMPLE_PER_MIN,
    };
    if (!find_entry(c, request, breath->count.window.start_s, &in.manual.entered,
                    err)) {
        return false;
    }
    fm_status status = fm_compare(&in, &c->comparison);
    if (status == FM_OK) {
        status = fm_reference_range_find(
            FM_EVENT_BREATH, age_known ? age_months : FM_AGE_ADULT_MONTHS, &c->range);
    }
    c->shown = (check_breaths){.comparison = &c->comparison,
                               .range = &c->range,
                               .tolerance_set = request->tolerance_set,
                               .counted_taps = !request->entered_given};
    if (known) {
        c->shown.n_starts = truth->n_breaths;
        c->shown.starts_s = truth->breath_starts_s;
    } else if (breath->count.status != FM_REFUSED) {
        c->shown.n_starts = breath->count.n;
        c->shown.starts_s = breath->count.onsets_s;
    }
    if (status == FM_OK) {
        take_breathing(c, breath, known ? truth : NULL, age_months);
    }
    return status == FM_OK ||
           app_err_set(err, APP_USAGE, "cannot compare the respirations: %s",
                       fm_status_text(status));
}

void checked_breaths_free(checked_breaths *c)
{
    times_free(&c->tapped);
}
