#include "src/usecase/sitting_entries.h"

#include "src/port/utc.h"

#include <math.h>
#include <stdlib.h>

enum {
    TAPPING = 6
};

static int whole_seconds(const sitting_window *w)
{
    return (int)lround(w->end_s - w->start_s);
}

static bool is_there(const sitting_window *w, double duration_s)
{
    return w != NULL && !isgreater(w->end_s, duration_s + 0.001);
}

taking sitting_entries_missing(const sitting_document *d, double duration_s)
{
    const sitting_window *const w = sitting_document_window(d, SITTING_PULSE);
    const bool sealed = d->checked && d->sealed;
    const bool pulse = sealed && is_there(w, duration_s);
    const bool breath =
        sealed && is_there(sitting_document_window(d, SITTING_BREATH), duration_s);
    const int seconds = pulse ? whole_seconds(w) : 60;
    taking t = {.phase = TAKING_ENDED};
    taking_add(&t, pulse && !d->pulse.given,
               (taking_step){TAKING_PULSE, seconds, .with_next = true});
    taking_add(&t, pulse && d->second_asked && !d->second.given,
               (taking_step){TAKING_SECOND, seconds, .with_next = true});
    taking_add(&t, breath && !d->breath.given,
               (taking_step){TAKING_BREATH, 60, .with_next = true});
    if (t.n_steps > 0) {
        taking_begin(&t);
    }
    return t;
}

bool sitting_entries_take(sitting_document *d,
                          taking_entry kind,
                          const own_count *own,
                          int seconds,
                          app_err *err)
{
    sitting_entry *const all[] = {&d->pulse, &d->second, &d->breath};
    const int entered = own->could_not ? 0 : own->entered;
    const int most = (kind == TAKING_BREATH ? FM_BREATHS_MANUAL_MAX : FM_MANUAL_MAX) /
                     (60 / seconds);
    const int least = kind == TAKING_BREATH ? 0 : 1;
    if (!own->could_not && (entered < least || entered > most)) {
        return app_err_set(err, APP_USAGE, "give a whole number from %d to %d", least,
                           most);
    }
    if (!own_words_check(&own->words, kind, err)) {
        return false;
    }
    *all[kind] = (sitting_entry){.given = true,
                                 .could_not = own->could_not,
                                 .entered = entered,
                                 .seconds = seconds,
                                 .words = own->words};
    utc_now(all[kind]->entered_utc, NULL);
    /* Apical less radial of the same full minute; below zero it is a counting error, and
     * one or two can be: no deficit. */
    const int fewer = d->pulse.entered - entered;
    const sitting_window *const w = sitting_document_window(d, SITTING_PULSE);
    if (own->could_not || d->pulse.could_not) {
        return true;
    }
    if (kind == TAKING_SECOND && d->pulse.given && w != NULL && seconds == 60 &&
        d->pulse.seconds == 60 && (fewer == 0 || fewer >= FM_DEFICIT_NAMED_FROM) &&
        !(sitting_document_missing_s(d, w->start_s, w->end_s) > 0.0)) {
        d->deficit_per_min = (double)fewer;
    }
    return true;
}

static bool fill_taps(const sitting_document *d, times *taps)
{
    *taps = (times)TIMES_NONE;
    if (d->n_taps == 0) {
        return true;
    }
    taps->s = calloc(d->n_taps, sizeof *taps->s);
    if (taps->s == NULL) {
        return false;
    }
    for (size_t i = 0; i < d->n_taps; i++) {
        taps->s[taps->n++] = d->taps_s[i] - d->tap_delay_s;
    }
    return true;
}

static size_t taps_in(const times *taps, const sitting_window *w)
{
    size_t n = 0;
    for (size_t i = 0; w != NULL && i < taps->n; i++) {
        n += taps->s[i] >= w->start_s && taps->s[i] < w->end_s;
    }
    return n;
}

/* A key or two pressed by mistake is no tapping along. */
static bool is_tapping(size_t n_taps, const sitting_entry *e)
{
    return n_taps >= TAPPING ||
           (n_taps > 0 && !e->could_not && 4 * n_taps >= (size_t)e->entered);
}

/* Only the taps of one window go into its comparison. */
static times slice(const times *taps, const sitting_window *w)
{
    times part = TIMES_NONE;
    size_t first = 0;
    while (first < taps->n && taps->s[first] < w->start_s) {
        first++;
    }
    part.s = taps->s + first;
    part.n = taps_in(taps, w);
    return part;
}

static void fill_breath(const sitting_document *d, check_request *r, const times *taps)
{
    check_entry *const b = &r->breaths;
    const sitting_window *const w = sitting_document_window(d, SITTING_BREATH);
    if (b->asked || !d->breath.given || w == NULL) {
        return;
    }
    b->asked = true;
    b->manual.entered = d->breath.entered;
    b->manual.could_not = d->breath.could_not;
    b->manual.seconds = d->breath.seconds;
    b->words = d->breath.words;
    if (b->manual.method == FM_BREATH_NOT_SAID) {
        b->manual.method = d->method;
    }
    if (is_tapping(taps_in(taps, w), &d->breath)) {
        b->given_taps = slice(taps, w);
    }
}

/* Were respirations watched by the clock alone, with no second count of them? How many, in a
 * full minute. */
static bool watched_alone(const sitting_document *d, int *breaths)
{
    *breaths = d->breath.entered;
    return d->breath.given && !d->breath.could_not &&
           sitting_document_window(d, SITTING_BREATH) == NULL;
}

bool sitting_entries_fill(const sitting_document *d,
                          check_request *request,
                          times *taps)
{
    const sitting_window *const w = sitting_document_window(d, SITTING_PULSE);
    check_entry *const p = &request->pulse;
    if (!fill_taps(d, taps)) {
        return false;
    }
    if (p->manual.entered == CHECK_BY_TAPS && d->pulse.given) {
        p->asked = true;
        p->manual.entered = d->pulse.entered;
        p->manual.could_not = d->pulse.could_not;
        p->words = d->pulse.words;
        p->manual.seconds = d->pulse.seconds;
        p->manual.site = d->site;
    } else if (p->manual.entered == CHECK_BY_TAPS && p->taps_path == NULL) {
        p->asked = false;
    }
    if (p->taps_path == NULL && w != NULL && is_tapping(taps_in(taps, w), &d->pulse)) {
        p->given_taps = slice(taps, w);
    }
    request->watched = watched_alone(d, &request->watched_breaths);
    if (isnan(p->tolerance_per_min)) {
        p->tolerance_per_min = d->tolerance_per_min;
    }
    fill_breath(d, request, taps);
    return true;
}

void sitting_entries_describe(const sitting_document *d, entry *row)
{
    const sitting_entry *const e = d->pulse.given ? &d->pulse : &d->breath;
    char now[ENTRY_UTC_BYTES];
    row->own_recording = 1;
    if (entry_is_utc(e->entered_utc)) {
        utc_now(now, &row->offset_min);
        entry_put(row->entered_utc, sizeof row->entered_utc, e->entered_utc);
    }
    own_words_put(&d->pulse.words, false, row);
    own_words_put(&d->breath.words, true, row);
    if (d->second.given && !d->second.could_not) {
        row->wrist_beats = d->second.entered;
    }
    int watched = 0;
    if (d->breath.given && d->breath.could_not) {
        row->breath_could_not = 1;
        row->breath_seconds = d->breath.seconds;
    }
    if (watched_alone(d, &watched)) {
        row->breaths = watched;
        row->breath_seconds = 60;
        entry_put(row->breath_method, sizeof row->breath_method,
                  fm_breath_method_word(FM_BREATH_WATCHED));
    }
}
