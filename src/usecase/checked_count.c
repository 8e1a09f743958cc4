#include "src/usecase/checked_count.h"

#include "dsp/breath/respiration_pause.h"

#include "src/usecase/document_files.h"
#include "src/usecase/truth_beside.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* What was brought of one event, and what came of it. */
typedef struct side {
    const check_entry *entry;
    fm_manual manual;      /* entered is CHECK_BY_TAPS until the taps are counted */
    times tapped;          /* borrowed */
    times read;            /* where they came from a file */
    fm_known_events known; /* n 0: none */
    fm_comparison comparison;
    fm_reference_range range;
} side;

struct checked_count {
    const check_request *request; /* while it is made */
    taking taking;
    analyse_opened *opened;
    side sides[FM_EVENT_KINDS];
    analysed *own; /* the result, where it was made here */
    const analysed *result;
    truth_found truth_found;
    truth_document document;
    const fm_truth *truth; /* the document's, or the caller's */
    bool truth_in_doubt;
    fm_taps taps;
    fm_breath_pause pauses[FM_BREATH_PAUSES_MAX];
    check_breaths breaths;
    own_words pulse_words, breath_words; /* the request may go before the view does */
    check_learner learner;
    check_view view;
};

/* What differs between a pulse and respirations: nouns, limits. */
static const struct {
    const char *name;
    int most_per_min;
    double tolerance_per_min;
} KINDS[FM_EVENT_KINDS] = {
    [FM_EVENT_BEAT] = {"beats", FM_MANUAL_MAX, FM_TOLERANCE_EXAMPLE_PER_MIN},
    [FM_EVENT_BREATH] = {"respirations", FM_BREATHS_MANUAL_MAX,
                         FM_BREATH_TOLERANCE_EXAMPLE_PER_MIN},
};

/* The truth names the pattern of its first minute only. */
static const double FIRST_MINUTE_SLACK_S = 1.5;

check_request check_request_default(const char *path)
{
    const check_entry none = {
        .manual = {.entered = CHECK_BY_TAPS, .seconds = 60, .site = FM_SITE_APICAL},
        .words = own_words_none(),
        .tolerance_per_min = (double)NAN};
    check_request r = {.analyse = analyse_request_default(path),
                       .pulse = none,
                       .breaths = none,
                       .use_truth = true};
    r.pulse.asked = true;
    return r;
}

/* ---- What the learner brought ---- */

static bool is_tapped(const check_entry *e)
{
    return e->taps_path != NULL || e->given_taps.n > 0;
}

static const char *taps_name(const check_entry *e)
{
    return e->taps_path != NULL ? e->taps_path : "the sitting's taps";
}

static bool take_taps(side *s, app_err *err)
{
    const char *const path = s->entry->taps_path;
    if (path != NULL && !times_file_read(path, TIMES_TAPS, &s->read, err)) {
        return false;
    }
    s->tapped = path != NULL ? s->read : s->entry->given_taps;
    return true;
}

static bool check_speed(const side *s, fm_event_kind kind, app_err *err)
{
    const fm_manual *const m = &s->manual;
    const int per_min = m->entered * (60 / m->seconds);
    const int most = KINDS[kind].most_per_min;
    if (per_min <= most) {
        return true;
    }
    if (s->entry->manual.entered == CHECK_BY_TAPS) {
        return app_err_set(
            err, APP_UNREADABLE, "cannot use %s: %d taps in %d s are too many for %s",
            taps_name(s->entry), m->entered, m->seconds, KINDS[kind].name);
    }
    return app_err_set(
        err, APP_USAGE,
        "%d %s in %d s are %d per minute, more than the %d this "
        "program takes; give the raw count, not the rate, and its seconds",
        m->entered, KINDS[kind].name, m->seconds, per_min, most);
}

/*
 * The count of a learner who only tapped: on the clock the taps inside the seconds, on a
 * beat those from the first tap on. Their gaps say nothing.
 */
static bool count_taps(side *s, fm_event_kind kind, double start_s, app_err *err)
{
    fm_manual *const m = &s->manual;
    const times *const t = &s->tapped;
    double from_s = start_s;
    if (m->entered != CHECK_BY_TAPS) {
        return true;
    }
    if (m->convention != FM_CONVENTION_CLOCK) {
        size_t first = 0;
        while (first < t->n && t->s[first] < start_s) {
            first++;
        }
        from_s = first < t->n ? t->s[first] : start_s;
    }
    m->entered =
        fm_compare_beats_in(t->s, t->n, from_s, (double)m->seconds, m->convention);
    if (m->entered == 0) {
        return app_err_set(err, APP_USAGE,
                           "%s has no tap in the %d s from %g s on; check where they "
                           "start, or enter the %s counted",
                           taps_name(s->entry), m->seconds, start_s, KINDS[kind].name);
    }
    return check_speed(s, kind, err);
}

/* The person's age in months, or the other where it is not known. */
static double age_or(const checked_count *c, double other)
{
    const analyse_request *const a = &c->request->analyse;
    return a->age_known ? a->age_months : other;
}

/* Before anything is analysed. The window of the respirations is still to be found, and
 * with it those of their taps that are counted. */
static bool enter(checked_count *c, fm_event_kind kind, app_err *err)
{
    const check_request *const r = c->request;
    const bool pulse = kind == FM_EVENT_BEAT;
    const double months = age_or(c, FM_AGE_ADULT_MONTHS);
    side *const s = &c->sides[kind];
    s->entry = pulse ? &r->pulse : &r->breaths;
    s->manual = s->entry->manual;
    if (pulse) {
        s->manual.convention = r->analyse.convention;
    }
    if (fm_reference_range_find(kind, months, &s->range) != FM_OK) {
        return app_err_set(err, APP_USAGE, "an age of %g months is out of range",
                           months);
    }
    return !s->entry->asked ||
           (take_taps(s, err) && check_speed(s, kind, err) &&
            (!pulse || count_taps(s, kind, r->analyse.start_s, err)));
}

/* ---- The truth beside the recording ---- */

static void take_truth(checked_count *c, const fm_truth *t)
{
    c->truth = t;
    c->sides[FM_EVENT_BEAT].known = (fm_known_events){.n = t->n_s1,
                                                      .onsets_s = t->s1_s,
                                                      .n_inaudible = t->n_inaudible_s1,
                                                      .inaudible = t->inaudible_s1,
                                                      .has_wrist = t->has_radial,
                                                      .n_wrist = t->n_radial,
                                                      .wrist_s = t->radial_s};
    c->sides[FM_EVENT_BREATH].known =
        (fm_known_events){.n = t->n_breaths, .onsets_s = t->breath_starts_s};
}

static bool find_truth(checked_count *c, app_err *err)
{
    const char *const path = c->request->analyse.path;
    return !c->request->use_truth || strcmp(path, "-") == 0 ||
           truth_beside_read(path, &c->document, &c->truth_found, err);
}

/* A truth that carries no digest may be of another recording. Where the second count is
 * sure, and the truth's beats of its window lie outside its range, neither is held against
 * the learner. */
static bool is_truth_in_doubt(const checked_count *c)
{
    const fm_event_count *const count = &c->result->count.heart.count;
    const fm_known_events *const known = &c->sides[FM_EVENT_BEAT].known;
    const fm_window *const w = &count->window;
    if (known->n == 0 || count->status != FM_COUNTED || !w->full_minute) {
        return false;
    }
    size_t n = 0;
    for (size_t i = 0; i < known->n; i++) {
        n += known->onsets_s[i] >= w->start_s && known->onsets_s[i] < w->end_s;
    }
    const double per_min = 60.0 * (double)n / (w->end_s - w->start_s);
    return truth_beside_is_doubtful(c->truth_found, per_min, count->rate_low_per_min,
                                    count->rate_high_per_min);
}

/* The known events that judge; NULL: the device's count does. Breaths that nobody can hear
 * do not judge where the device could not hear them either. */
static const fm_known_events *known_of(const checked_count *c, fm_event_kind kind)
{
    const fm_known_events *const known = &c->sides[kind].known;
    const bool unheard = kind == FM_EVENT_BREATH &&
                         c->result->count.breath.count.status == FM_REFUSED &&
                         !isfinite(c->truth->breath_snr_db);
    return known->n > 0 && !c->truth_in_doubt && !unheard ? known : NULL;
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
    const fm_known_events *const known = known_of(c, FM_EVENT_BEAT);
    const fm_comparison *const compared = &c->sides[FM_EVENT_BEAT].comparison;
    if (known == NULL) {
        return;
    }
    for (size_t i = 0; i < known->n_inaudible && !compared->at_wrist; i++) {
        const double s1_s = known->onsets_s[known->inaudible[i]];
        c->view.n_inaudible += s1_s >= compared->start_s && s1_s < compared->end_s;
    }
    c->view.known_pattern = c->truth->pattern_known &&
                            w->start_s <= FIRST_MINUTE_SLACK_S &&
                            w->end_s - w->start_s >= 60.0;
    c->view.pattern = c->truth->pattern;
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
    const fm_event_count *const count = &c->result->count.heart.count;
    const fm_known_events *const known = known_of(c, FM_EVENT_BEAT);
    const fm_comparison *const compared = &c->sides[FM_EVENT_BEAT].comparison;
    const double *s1_s = count->onsets_s;
    size_t n_s1 = count->n;
    if (known != NULL) {
        s1_s = compared->at_wrist ? known->wrist_s : known->onsets_s;
        n_s1 = compared->at_wrist ? known->n_wrist : known->n;
    }
    size_t first = 0;
    while (first < n_s1 && s1_s[first] < compared->start_s) {
        first++;
    }
    size_t n = 0;
    while (first + n < n_s1 && s1_s[first + n] < compared->end_s && n < FM_BEATS_MAX) {
        n++;
    }
    *beats_s = s1_s + first;
    return n;
}

static bool align_taps(checked_count *c, app_err *err)
{
    const side *const s = &c->sides[FM_EVENT_BEAT];
    const fm_known_events *const known = known_of(c, FM_EVENT_BEAT);
    fm_taps_input in = {
        .taps_s = s->tapped.s,
        .n_taps = s->tapped.n,
        .window = {.start_s = s->comparison.start_s, .end_s = s->comparison.end_s},
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
            "cannot use %s: more than %d taps in one window are too many",
            taps_name(s->entry), (int)FM_TAPS_MAX);
    }
    c->view.n_taps_outside = s->tapped.n - c->taps.n_taps;
    if (known != NULL) {
        forgive_inaudible(known, &c->taps);
    }
    c->view.taps = &c->taps;
    return true;
}

/* ---- The comparison ---- */

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
    out->no_verdict = out->manual.could_not ? out->no_verdict : FM_NO_VERDICT_TRUTH;
    out->slip = FM_SLIP_NONE;
    out->convention_explains = false;
    out->fewer_at_wrist = false;
    out->more_at_wrist = false;
}

/* A tapped pulse twice: the first tells the learner's seconds, the second knows the taps in
 * them. */
static bool compare(checked_count *c, fm_event_kind kind, app_err *err)
{
    side *const s = &c->sides[kind];
    const fm_count *const count = &c->result->count;
    const bool pulse = kind == FM_EVENT_BEAT;
    const bool tapped = is_tapped(s->entry);
    fm_compare_input in = {
        .kind = kind,
        .manual = s->manual,
        .count = pulse ? &count->heart.count : &count->breath.count,
        .known = known_of(c, kind),
        .tapped = tapped && !pulse,
        .n_taps = s->tapped.n,
        .taps_s = s->tapped.s,
        .young = age_or(c, FM_AGE_ADULT_MONTHS) < FM_BREATH_METHOD_MONTHS,
        .tolerance_per_min = isfinite(s->entry->tolerance_per_min)
                                 ? s->entry->tolerance_per_min
                                 : KINDS[kind].tolerance_per_min,
    };
    fm_status status = fm_compare(&in, &s->comparison);
    if (status == FM_OK && pulse && c->truth_in_doubt) {
        withdraw(&s->comparison);
    } else if (status == FM_OK && pulse && tapped && s->comparison.reference_known) {
        if (!align_taps(c, err)) {
            return false;
        }
        in.taps = &c->taps;
        status = fm_compare(&in, &s->comparison);
    }
    return status == FM_OK || app_err_set(err, APP_USAGE, "cannot compare the %s: %s",
                                          KINDS[kind].name, fm_status_text(status));
}

/* ---- What is shown ---- */

/* The pauses of the learner's own seconds, of those named at the age. */
static void take_pauses(checked_count *c, const fm_breath_pause *pauses, size_t n)
{
    const fm_comparison *const compared = c->breaths.comparison;
    size_t kept = 0;
    for (size_t i = 0; i < n && kept < FM_BREATH_PAUSES_MAX; i++) {
        if (pauses[i].end_s > compared->start_s &&
            pauses[i].start_s < compared->end_s) {
            c->pauses[kept++] = pauses[i];
        }
    }
    c->breaths.n_pauses =
        fm_breath_pauses_keep(c->pauses, kept, age_or(c, (double)NAN));
    c->breaths.pauses = c->pauses;
}

/* How the breathing went: the truth's word where it has one. */
static void take_breathing(checked_count *c, const fm_truth *truth)
{
    const fm_breath *const breath = &c->result->count.breath;
    const bool known = truth != NULL && truth->breathing_known;
    c->breaths.pattern = known ? truth->breath_pattern : breath->pattern;
    c->breaths.breathing_known = known;
    take_pauses(c, known ? truth->breath_pauses : breath->pauses,
                known ? truth->n_breath_pauses : breath->n_pauses);
    if (c->breaths.n_pauses == 0 &&
        c->breaths.pattern == FM_BREATH_PATTERN_WITH_PAUSES) {
        c->breaths.pattern = FM_BREATH_PATTERN_UNEVEN;
    }
}

static void show_breaths(checked_count *c)
{
    const side *const s = &c->sides[FM_EVENT_BREATH];
    const fm_event_count *const count = &c->result->count.breath.count;
    const fm_known_events *const known = known_of(c, FM_EVENT_BREATH);
    c->breaths =
        (check_breaths){.comparison = &s->comparison,
                        .range = &s->range,
                        .tolerance_set = isfinite(s->entry->tolerance_per_min),
                        .counted_taps = s->entry->manual.entered == CHECK_BY_TAPS,
                        .n_starts = known != NULL ? known->n : count->n,
                        .starts_s = known != NULL ? known->onsets_s : count->onsets_s};
    take_breathing(c, known != NULL ? c->truth : NULL);
    c->breaths.could_not = s->manual.could_not;
    c->view.breaths = &c->breaths;
}

/* What was said beside the numbers. */
static void show_learner(checked_count *c)
{
    const own_words *const pulse = &c->pulse_words;
    const own_words *const breaths = &c->breath_words;
    c->pulse_words = c->request->pulse.words;
    c->breath_words = c->request->breaths.words;
    c->learner = (check_learner){.rhythm = pulse->rhythm,
                                 .breathing = breaths->rhythm,
                                 .depth = breaths->depth,
                                 .effort = breaths->effort};
    memcpy(c->learner.running, pulse->running, sizeof c->learner.running);
    memcpy(c->learner.breath_running, breaths->running,
           sizeof c->learner.breath_running);
    c->view.learner = &c->learner;
}

static void show(checked_count *c)
{
    show_learner(c);
    const check_request *const r = c->request;
    const side *const s = &c->sides[FM_EVENT_BEAT];
    if (r->pulse.asked) {
        describe_truth(c);
        c->view.comparison = &s->comparison;
        c->view.could_not = s->manual.could_not;
        c->view.counted_taps = r->pulse.manual.entered == CHECK_BY_TAPS;
        c->view.n_beats =
            s->comparison.reference_known ? find_beats(c, &c->view.beats_s) : 0;
    }
    if (r->breaths.asked) {
        show_breaths(c);
    }
    c->view.source = &c->result->source;
    c->view.count = &c->result->count;
    c->view.range = &s->range;
    c->view.watched = r->watched;
    c->view.watched_breaths = r->watched_breaths;
    c->view.age_known = r->analyse.age_known;
    c->view.age_months = r->analyse.age_months;
    c->view.tolerance_set = isfinite(r->pulse.tolerance_per_min);
}

/* ---- In order ---- */

const fm_manual *checked_count_entered(const checked_count *c, fm_event_kind kind)
{
    const side *const s = &c->sides[kind];
    return s->entry->asked && s->manual.entered != CHECK_BY_TAPS ? &s->manual : NULL;
}

bool checked_count_judge(checked_count *c,
                         const analysed *result,
                         const fm_truth *truth,
                         app_err *err)
{
    const check_request *const r = c->request;
    c->result = result;
    take_truth(c, truth != NULL ? truth : &c->document.truth);
    c->truth_in_doubt = is_truth_in_doubt(c);
    if ((r->pulse.asked && !compare(c, FM_EVENT_BEAT, err)) ||
        (r->breaths.asked &&
         (!count_taps(&c->sides[FM_EVENT_BREATH], FM_EVENT_BREATH,
                      result->count.breath.count.window.start_s, err) ||
          !compare(c, FM_EVENT_BREATH, err)))) {
        return false;
    }
    show(c);
    return true;
}

/* All that is entered comes at once; the recording is known to hold what was asked for
 * before anything is stored. */
checked_count *checked_count_open(const check_request *request, app_err *err)
{
    checked_count *const c = calloc(1, sizeof *c);
    if (c == NULL) {
        app_err_memory(err);
        return NULL;
    }
    c->request = request;
    c->document = (truth_document)TRUTH_NONE;
    taking_begin(&c->taking);
    (void)taking_tell(&c->taking, TAKING_ENTERED, 0);
    if (enter(c, FM_EVENT_BEAT, err) && enter(c, FM_EVENT_BREATH, err) &&
        find_truth(c, err)) {
        c->opened = analyse_open(&request->analyse, err);
    }
    if (c->opened != NULL) {
        return c;
    }
    checked_count_free(c);
    return NULL;
}

bool checked_count_tell(checked_count *c, taking_event event)
{
    return taking_tell(&c->taking, event, 0);
}

bool checked_count_count(checked_count *c, app_err *err)
{
    if (c->taking.phase != TAKING_COUNTING) {
        return app_err_set(err, APP_FAILED, "not stored, so nothing is counted");
    }
    c->own = analyse_count(c->opened, err);
    return c->own != NULL && checked_count_judge(c, c->own, NULL, err);
}

checked_count *checked_count_make(const check_request *request, app_err *err)
{
    checked_count *const c = checked_count_open(request, err);
    if (c != NULL && checked_count_tell(c, TAKING_STORED) &&
        checked_count_count(c, err)) {
        (void)checked_count_tell(c, TAKING_COUNTED);
        return c;
    }
    checked_count_free(c);
    return NULL;
}

const check_view *checked_count_view(const checked_count *c)
{
    return c->result != NULL ? &c->view : NULL;
}

void checked_count_free(checked_count *c)
{
    if (c != NULL) {
        truth_document_free(&c->document);
        analyse_close(c->opened);
        for (int kind = 0; kind < FM_EVENT_KINDS; kind++) {
            times_free(&c->sides[kind].read);
        }
        free(c->own);
        free(c);
    }
}
