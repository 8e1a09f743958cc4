/* Where a count slipped: each place that can be heard once more, and what the count looks
 * like. */
#include "src/words/first_look_private.h"
#include "src/words/running_count.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

enum {
    SLIP_PLACES_MOST = 8, /* more are told in one line */
    SLIP_SECONDS = 6      /* that are heard for one: ours, no source */
};

/* A slip is heard from here on before its first beat, and lies this far from the end. */
static const double LEAD_S = 2.0;
static const double TAIL_S = 1.0;
/* Less than this share of the beats tapped: no single slip is one (ours, no source). */
static const double LOST_SHARE = 0.5;

/* start_s NaN: without a place. */
static void add(first_view *to, first_slip slip, const char *text)
{
    if (text[0] != '\0' && to->n_slips < FIRST_SLIPS_MOST) {
        first_slip *const s = &to->slips[to->n_slips++];
        *s = slip;
        s->text[0] = '\0';
        PIECE_PUT(s->text, "%s", text);
    }
}

static void add_unplaced(first_view *to, fm_event_kind kind, const char *text)
{
    add(to, (first_slip){.kind = kind, .start_s = (double)NAN}, text);
}

/* Heard from a little before its first beat on. */
static void add_placed(
    first_view *to, const fm_comparison *c, double first_s, size_t n, const char *text)
{
    add(to,
        (first_slip){.kind = FM_EVENT_BEAT,
                     .start_s = fmax(c->start_s, first_s - LEAD_S),
                     .seconds = SLIP_SECONDS,
                     .n = n},
        text);
}

bool first_taps_lost_at_start(const check_view *view)
{
    const fm_taps *const t = view->taps;
    if (t == NULL || check_view_taps_end(view) > 0 ||
        view->comparison->slip == FM_SLIP_EVERY_OTHER) {
        return false;
    }
    const double beats = (double)(t->n_matched + t->n_not_tapped);
    return beats > 0.0 && (double)t->n_matched < LOST_SHARE * beats;
}

/* ---- At the wrist ---- */

static void put_known_wrist(const fm_comparison *c, char *out)
{
    const int deficit = c->apex_beats - c->counted;
    const char *const missed = PIECE_COUNTED(
        (size_t)abs(c->manual.entered - c->counted), "beat was", "beats were");
    const bool off_range = c->manual_per_min < c->low_per_min - 1e-6;
    if (deficit > 0) {
        PIECE_PUT(out, "Apex less wrist: %d, a pulse deficit in this recording.",
                  deficit);
        if (off_range) {
            PIECE_PUT(out, " Of those that reach the wrist, %s missed.", missed);
        }
    } else if (off_range) {
        PIECE_PUT(out,
                  "Here every beat reaches the wrist: %s missed. On a person it could "
                  "also be a pulse deficit, which takes two examiners.",
                  missed);
    }
}

static void put_unknown_wrist(const fm_comparison *c, char *out)
{
    const double fewer = c->minute_known ? c->minute_per_min - c->manual_per_min : 0.0;
    if (c->more_at_wrist) {
        PIECE_PUT(out, "More beats at the wrist than at the apex cannot be: a counting "
                       "error; count again.");
    } else if (c->fewer_at_wrist && c->manual.seconds == 60 &&
               fewer < (double)FM_DEFICIT_NAMED_FROM - 0.5) {
        PIECE_PUT(out,
                  "One or two fewer at the wrist than at the apex can be a counting "
                  "error: no deficit is named. Repeat it with two examiners, the same "
                  "full minute for both; the same again: report it.");
    } else if (c->fewer_at_wrist) {
        PIECE_PUT(
            out,
            "Fewer beats at the wrist than at the apex: a possible pulse deficit, "
            "or missed beats: repeat with two examiners%s.",
            c->manual.seconds < 60 ? ", both for the same full minute" : "");
    }
}

/* ---- Taps ---- */

/* Tapped too little and too much within a few seconds. */
typedef struct place {
    double from_s, until_s;
    size_t missed, extra;
} place;

/* Within what is told as one: a stretch that was lost, or that was not tapped at all. */
static bool is_told_whole(const check_view *view, double time_s)
{
    const fm_taps *const t = view->taps;
    const int end_s = check_view_taps_end(view);
    const double last_s = view->comparison->start_s + (double)end_s - TAIL_S;
    return (end_s > 0 && time_s >= last_s) ||
           (t->lost && time_s >= t->lost_from_s && time_s <= t->lost_until_s);
}

/* The earlier of the next beat not tapped and the next tap too many; false: no more. */
static bool next_event(const fm_taps *t, size_t at[2], double *time_s, bool *extra)
{
    const double missed_s =
        at[0] < t->n_not_tapped ? t->not_tapped_s[at[0]] : (double)INFINITY;
    const double extra_s = at[1] < t->n_extra ? t->extra_s[at[1]] : (double)INFINITY;
    *extra = extra_s < missed_s;
    *time_s = *extra ? extra_s : missed_s;
    at[*extra]++;
    return isfinite(*time_s);
}

static void put_counts(size_t missed, size_t extra, char *out)
{
    if (missed > 0) {
        PIECE_PUT(out, "%s not tapped", PIECE_COUNTED(missed, "beat", "beats"));
    }
    if (extra > 0) {
        PIECE_PUT(out, "%s%s", missed > 0 ? ", " : "",
                  PIECE_COUNTED(extra, "extra tap", "extra taps"));
    }
}

static void add_place(first_view *to, const fm_comparison *c, const place *p)
{
    char text[PIECE_WORDS_BYTES] = "";
    if (lround(p->until_s) > lround(p->from_s)) {
        PIECE_PUT(text, "%ld to %ld s: ", lround(p->from_s), lround(p->until_s));
    } else {
        PIECE_PUT(text, "At %ld s: ", lround(p->from_s));
    }
    put_counts(p->missed, p->extra, text);
    PIECE_PUT(text, ".");
    add_placed(to, c, p->from_s, p->missed + p->extra, text);
}

static void add_places(const check_view *view, first_view *to)
{
    const fm_taps *const t = view->taps;
    const double longest_s = (double)SLIP_SECONDS - LEAD_S - TAIL_S;
    place now = {0};
    place rest = {0};
    size_t places = 0;
    size_t at[2] = {0, 0};
    double time_s = 0.0;
    bool extra = false;
    while (next_event(t, at, &time_s, &extra)) {
        if (is_told_whole(view, time_s)) {
            continue;
        }
        const bool open = now.missed + now.extra > 0;
        if (open && time_s > now.from_s + longest_s) {
            add_place(to, view->comparison, &now);
            places++;
            now = (place){0};
        }
        place *const p = places < SLIP_PLACES_MOST ? &now : &rest;
        p->from_s = p->missed + p->extra == 0 ? time_s : p->from_s;
        p->until_s = time_s;
        p->missed += !extra;
        p->extra += extra;
    }
    if (now.missed + now.extra > 0) {
        add_place(to, view->comparison, &now);
    }
    if (rest.missed + rest.extra > 0) {
        char text[PIECE_WORDS_BYTES] = "After that: ";
        put_counts(rest.missed, rest.extra, text);
        PIECE_PUT(text, ".");
        add_unplaced(to, FM_EVENT_BEAT, text);
    }
}

static void add_lost(const check_view *view, first_view *to)
{
    const fm_taps *const t = view->taps;
    char text[PIECE_WORDS_BYTES] = "";
    if (view->comparison->slip == FM_SLIP_LOST_THREAD || !t->lost) {
        return;
    }
    if (check_view_taps_end(view) > 0) {
        add_unplaced(to, FM_EVENT_BEAT,
                     check_view_taps_end_text(view, (char[CHECK_WORDS_BYTES]){0}));
        return;
    }
    PIECE_PUT(text, "From %.0f s to %.0f s taps and beats did not match.",
              t->lost_from_s, t->lost_until_s);
    add_placed(to, view->comparison, t->lost_from_s, FM_BEATS_MAX, text);
}

/* Taps that were not entered as the count, or do not belong to these seconds. */
static void add_tapped(const check_view *view, first_view *to)
{
    const fm_comparison *const c = view->comparison;
    const size_t n = view->taps->n_taps;
    char text[PIECE_WORDS_BYTES] = "";
    if (!view->counted_taps && n != (size_t)c->manual.entered && n > 0) {
        PIECE_PUT(text, "You tapped %zu in those %d s and entered %d.", n,
                  c->manual.seconds, c->manual.entered);
    }
    if (view->n_taps_outside > 0) {
        PIECE_PUT(text, "%sNot counted: %s outside those seconds.",
                  text[0] != '\0' ? " " : "",
                  PIECE_COUNTED(view->n_taps_outside, "tap", "taps"));
    }
    add_unplaced(to, FM_EVENT_BEAT, text);
}

static void add_taps(const check_view *view, first_view *to)
{
    const fm_slip slip = view->comparison->slip;
    if (view->taps == NULL) {
        return;
    }
    if (first_taps_lost_at_start(view)) {
        add_unplaced(to, FM_EVENT_BEAT,
                     "Your taps matched the beats in less than half of this minute, so "
                     "no single slip is named: count it again and tap each S1.");
    } else if (slip != FM_SLIP_EVERY_OTHER && slip != FM_SLIP_BOTH_SOUNDS) {
        add_lost(view, to);
        add_places(view, to);
    }
    add_tapped(view, to);
}

/* ---- Notes at 15, 30 and 45 s ---- */

static void add_running(const check_view *view, fm_event_kind kind, first_view *to)
{
    const fm_comparison *const c = first_comparison(view, kind);
    const bool pulse = kind == FM_EVENT_BEAT;
    running_part parts[RUNNING_NOTES + 1];
    if (view->learner == NULL || !c->reference_known || c->manual.seconds != 60 ||
        c->manual.convention != FM_CONVENTION_CLOCK) {
        return;
    }
    const size_t n = running_count_slips(
        pulse ? view->learner->running : view->learner->breath_running,
        c->manual.entered, pulse ? view->beats_s : view->breaths->starts_s,
        pulse ? view->n_beats : view->breaths->n_starts, c->start_s, parts);
    for (size_t i = 0; i < n; i++) {
        const running_part *const p = &parts[i];
        char text[PIECE_WORDS_BYTES] = "";
        PIECE_PUT(text, "Between %d and %d s you counted %d, %s has %d.", p->from_s,
                  p->until_s, p->yours,
                  c->against_truth ? "the recording" : "the second count", p->second);
        add(to,
            (first_slip){.kind = kind,
                         .start_s = c->start_s + p->from_s,
                         .seconds = p->until_s - p->from_s,
                         .n = (size_t)abs(p->yours - p->second)},
            text);
    }
}

/* ---- Both sides ---- */

static void add_pulse(const check_view *view, first_view *to)
{
    const fm_comparison *const c = view->comparison;
    char slip[CHECK_WORDS_BYTES];
    char text[PIECE_WORDS_BYTES] = "";
    (void)check_view_slip_text(view, c, slip);
    if (c->slip != FM_SLIP_LOST_THREAD || check_view_taps_end(view) > 0) {
        add_unplaced(to, FM_EVENT_BEAT, slip);
    } else if (!first_taps_lost_at_start(view)) {
        add_placed(to, c, view->taps->lost_from_s, FM_BEATS_MAX, slip);
    }
    if (c->convention_explains) {
        PIECE_PUT(
            text,
            "The start explains exactly this one beat: with the watch started on a "
            "beat called '%s', the count is %d.",
            fm_convention_word(c->explaining), c->manual.entered);
        add_unplaced(to, FM_EVENT_BEAT, text);
        text[0] = '\0';
    }
    put_unknown_wrist(c, text);
    if (c->at_wrist) {
        put_known_wrist(c, text);
    }
    add_unplaced(to, FM_EVENT_BEAT, text);
    add_running(view, FM_EVENT_BEAT, to);
    add_taps(view, to);
}

static void add_breaths(const check_view *view, first_view *to)
{
    const fm_comparison *const c = view->breaths->comparison;
    char slip[CHECK_WORDS_BYTES];
    char text[PIECE_WORDS_BYTES] = "";
    add_unplaced(to, FM_EVENT_BREATH, check_view_slip_text(view, c, slip));
    add_running(view, FM_EVENT_BREATH, to);
    if (c->method_explains) {
        PIECE_PUT(
            text,
            "Not called a slip: in infants, and up to three years, listening gives "
            "about 2 per minute more than watching (Rusconi 1994), and you %s.",
            fm_breath_method_word(c->manual.method));
        add_unplaced(to, FM_EVENT_BREATH, text);
        text[0] = '\0';
    }
    if (c->tapped && !view->breaths->counted_taps && c->taps != c->manual.entered) {
        PIECE_PUT(text, "You tapped %d in those %d s and entered %d respirations.",
                  c->taps, c->manual.seconds, c->manual.entered);
        add_unplaced(to, FM_EVENT_BREATH, text);
    }
}

void first_slips_add(const check_view *view, first_view *to)
{
    const bool counted = view->count->heart.count.status != FM_REFUSED;
    if (view->comparison != NULL && counted && !view->could_not) {
        add_pulse(view, to);
    }
    if (view->breaths != NULL && !view->breaths->could_not) {
        add_breaths(view, to);
    }
}
