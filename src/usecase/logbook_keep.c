#include "src/usecase/logbook_keep.h"

#include "src/base/text.h"
#include "src/document/check_view.h"
#include "src/port/file.h"
#include "src/usecase/sound_digest.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const char *const STATUS[] = {
    [FM_REFUSED] = "refused", [FM_CAUTION] = "caution", [FM_COUNTED] = "counted"};

static void complain(logbook_keep *k, const char *what, const app_err *err)
{
    text_add(k->problem, sizeof k->problem, "%s%s: %s",
             k->problem[0] != '\0' ? "; " : "", what, err->text);
}

void logbook_keep_begin(logbook_keep *k,
                        const char *path,
                        bool make,
                        const char *learner)
{
    app_err err = APP_ERR_NONE;
    memset(k, 0, sizeof *k);
    k->row = entry_none();
    k->wanted = path != NULL;
    if (path == NULL) {
        return;
    }
    if (!entry_set(&k->row, entry_field_named("learner"), learner)) {
        (void)snprintf(
            k->problem, sizeof k->problem,
            "not stored in the logbook: '%.40s' cannot be a name there; give "
            "initials or a nickname of at most %d bytes",
            learner, ENTRY_LEARNER_BYTES - 1);
        return;
    }
    k->book = logbook_open(path, make, &err);
    if (k->book == NULL) {
        complain(k, "not stored in the logbook", &err);
    } else if (logbook_note(k->book) != NULL) {
        text_add(k->problem, sizeof k->problem, "%s", logbook_note(k->book));
    }
}

/* By the same name however it was given: attempts are counted by it. */
static bool put_recording(entry *e, const char *recording, app_err *err)
{
    char *const real = file_real_path(recording);
    if (real == NULL) {
        return app_err_memory(err);
    }
    entry_put(e->recording, sizeof e->recording, real);
    free(real);
    return true;
}

/* What could not be stored: the end of it, or only said. */
static bool unsealed(logbook_keep *k, app_err *err)
{
    if (!k->wanted || k->sealed_elsewhere) {
        return true;
    }
    (void)app_err_set(err, APP_FAILED, "%s; so the second count stays sealed",
                      k->problem);
    k->problem[0] = '\0';
    k->refused = true;
    return false;
}

static bool keep_entered(logbook_keep *k,
                         const fm_manual *pulse,
                         const fm_manual *breaths,
                         const char *recording,
                         app_err *err)
{
    app_err failed = APP_ERR_NONE;
    entry *const e = &k->row;
    if (k->book == NULL) {
        return unsealed(k, err);
    }
    if (pulse != NULL) {
        e->beats = pulse->could_not ? ENTRY_NO_WHOLE : pulse->entered;
        e->could_not = pulse->could_not ? 1 : ENTRY_NO_WHOLE;
        e->seconds = pulse->seconds;
        entry_put(e->site, sizeof e->site, fm_site_word(pulse->site));
        entry_put(e->convention, sizeof e->convention,
                  fm_convention_word(pulse->convention));
    }
    if (breaths != NULL) {
        e->breaths = breaths->could_not ? ENTRY_NO_WHOLE : breaths->entered;
        e->breath_could_not = breaths->could_not ? 1 : ENTRY_NO_WHOLE;
        e->breath_seconds = breaths->seconds;
        entry_put(e->breath_method, sizeof e->breath_method,
                  breaths->method == FM_BREATH_NOT_SAID
                      ? ""
                      : fm_breath_method_word(breaths->method));
    }
    if (put_recording(e, recording, &failed) && logbook_enter(k->book, e, &failed)) {
        return true;
    }
    complain(k, "not stored in the logbook", &failed);
    return unsealed(k, err);
}

/* 'agrees' and 'differs' need the instructor's limit; without it only the difference
 * stands, as on the screen. */
static const char *verdict_of(const fm_comparison *c, bool tolerance_set)
{
    const fm_verdict verdict = c->manual.could_not ? c->could_not : c->verdict;
    return tolerance_set || c->manual.could_not || verdict == FM_VERDICT_NOT_COMPARABLE
               ? fm_verdict_word(verdict)
               : "";
}

/* What stays sealed in the check stays out of the row. */
static void put_pulse(entry *e, const check_view *view)
{
    const fm_heart *const heart = &view->count->heart;
    const fm_comparison *const c = view->comparison;
    entry_put(e->device_status, sizeof e->device_status, STATUS[heart->count.status]);
    entry_put(e->verdict, sizeof e->verdict, verdict_of(c, view->tolerance_set));
    entry_put(e->judged_against, sizeof e->judged_against,
              c->against_truth ? "truth" : "device");
    e->tolerance_per_min = view->tolerance_set ? c->tolerance_per_min : (double)NAN;
    if (fm_is_known(&heart->count)) {
        e->device_beats = (int)heart->count.n;
        e->device_per_min = heart->count.rate_per_min;
        e->device_low_per_min = heart->count.rate_low_per_min;
        e->device_high_per_min = heart->count.rate_high_per_min;
        e->confidence = heart->count.confidence;
    }
    if (view->known_pattern || fm_is_known(&heart->count)) {
        entry_put(e->device_rhythm, sizeof e->device_rhythm,
                  fm_pattern_word(view->known_pattern ? view->pattern
                                                      : view->count->rhythm.pattern));
    }
    /* A wrist below the apex has no verdict; its difference is no error of counting. */
    if (c->reference_known &&
        (c->no_verdict == FM_NO_VERDICT_NONE || c->manual.could_not)) {
        e->reference_per_min = c->per_min;
        e->difference_per_min = c->difference_per_min;
    }
    if (c->slip != FM_SLIP_NONE) {
        entry_put(e->slip, sizeof e->slip, fm_slip_word(c->slip));
    }
}

/* "27.5-41.5, 50.0-61.2" */
static void put_pauses(entry *e, const check_breaths *b)
{
    char text[ENTRY_TEXT_BYTES] = "";
    for (size_t i = 0; i < b->n_pauses; i++) {
        text_add(text, sizeof text, "%s%.1f-%.1f", i > 0 ? ", " : "",
                 b->pauses[i].start_s, b->pauses[i].end_s);
    }
    entry_put(e->device_breath_pauses, sizeof e->device_breath_pauses, text);
}

static void put_breaths(entry *e, const check_view *view)
{
    put_pauses(e, view->breaths);
    entry_put(e->device_breath_pattern, sizeof e->device_breath_pattern,
              fm_breath_pattern_word(view->breaths->pattern));
    const fm_breath *const breath = &view->count->breath;
    const fm_comparison *const c = view->breaths->comparison;
    entry_put(e->device_breath_status, sizeof e->device_breath_status,
              STATUS[breath->count.status]);
    entry_put(e->breath_verdict, sizeof e->breath_verdict,
              verdict_of(c, view->breaths->tolerance_set));
    e->device_breath_per_min =
        fm_is_known(&breath->count) ? breath->count.rate_per_min : (double)NAN;
    if (c->reference_known &&
        (c->no_verdict == FM_NO_VERDICT_NONE || c->manual.could_not)) {
        e->breath_reference_per_min = c->per_min;
        e->breath_difference_per_min = c->difference_per_min;
    }
}

static bool keep_counted(logbook_keep *k,
                         const check_view *view,
                         double deficit_per_min,
                         app_err *err)
{
    app_err failed = APP_ERR_NONE;
    entry *const e = &k->row;
    if (k->book == NULL || e->number == 0) {
        return true;
    }
    char digits[DIGEST_TEXT_BYTES];
    entry_put(e->engine, sizeof e->engine, FM_VERSION);
    /* Without the digest of its sound a row could later be held to another one. */
    if (strcmp(e->recording, "-") != 0 &&
        !sound_digest_of_file(e->recording, digits, &failed)) {
        complain(k, "your count is in the logbook, the second one could not be added",
                 &failed);
        return unsealed(k, err);
    }
    if (strcmp(e->recording, "-") != 0) {
        entry_put(e->sound_blake2b, sizeof e->sound_blake2b, digits);
    }
    e->quality = view->count->heart.count.quality.overall;
    e->deficit_per_min = deficit_per_min;
    if (view->comparison != NULL) {
        put_pulse(e, view);
    }
    if (view->breaths != NULL) {
        put_breaths(e, view);
    }
    if (logbook_count(k->book, e, &failed)) {
        return true;
    }
    complain(k, "your count is in the logbook, the second one could not be added",
             &failed);
    return unsealed(k, err);
}

checked_count *logbook_keep_check(logbook_keep *k,
                                  const check_request *request,
                                  double deficit_per_min,
                                  app_err *err)
{
    checked_count *const c = checked_count_open(request, err);
    if (c == NULL) {
        return NULL;
    }
    own_words_put(&request->pulse.words, false, &k->row);
    own_words_put(&request->breaths.words, true, &k->row);
    const bool stored = keep_entered(k, checked_count_entered(c, FM_EVENT_BEAT),
                                     checked_count_entered(c, FM_EVENT_BREATH),
                                     request->analyse.path, err);
    (void)checked_count_tell(c, stored ? TAKING_STORED : TAKING_NOT_STORED);
    const bool counted = stored && checked_count_count(c, err) &&
                         keep_counted(k, checked_count_view(c), deficit_per_min, err);
    if (counted && checked_count_tell(c, TAKING_COUNTED)) {
        return c;
    }
    checked_count_free(c);
    return NULL;
}

void logbook_keep_end(logbook_keep *k)
{
    logbook_close(k->book);
    k->book = NULL;
}
