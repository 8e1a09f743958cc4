#include "src/words/first_look.h"

#include "src/words/cautions.h"
#include "src/words/first_look_private.h"
#include "src/words/person_first.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

void first_lines_add(first_lines *to, const char *text)
{
    if (text[0] != '\0' && to->n < FIRST_LINES_MOST) {
        (void)snprintf(to->text[to->n++], FIRST_TEXT_BYTES, "%.*s",
                       FIRST_TEXT_BYTES - 1, text);
    }
}

/* ---- The person ---- */

/* Of a pulse that is sealed or refused nothing is told. */
static cautions cautions_of(const check_view *view, const person_first *first)
{
    const fm_outcome status = view->count->heart.count.status;
    const bool told = view->comparison != NULL && status != FM_REFUSED;
    const bool irregular = told && check_view_irregular(view);
    return (cautions){.uneven = irregular,
                      .with_breathing = irregular && check_view_with_breathing(view),
                      .unsure = status == FM_CAUTION && !view->known_pattern,
                      .pulse_outside =
                          view->comparison != NULL && check_view_outside(view),
                      .breaths_outside = check_breaths_outside(view),
                      .signs_said = !first->composed,
                      .composed = first->composed};
}

static void add_person(const check_view *view, first_view *to)
{
    const person_first first = person_first_of(view);
    const cautions found = cautions_of(view, &first);
    char text[LINES_PARAGRAPH_BYTES];
    to->now = person_first_is_reached(&first);
    for (int n = 0; person_first_say(&first, n, text)[0] != '\0'; n++) {
        first_lines_add(&to->person, text);
    }
    for (int n = 0; cautions_say(&found, n, text)[0] != '\0'; n++) {
        first_lines_add(&to->person, text);
    }
}

/* ---- Both sides ---- */

/* An infant's, watched by the clock before the chest piece was on. */
static void add_watched(const check_view *view, first_side *side)
{
    const double none = (double)NAN;
    side->entered = view->watched_breaths;
    side->seconds = 60;
    side->you_per_min = (double)view->watched_breaths;
    side->second_per_min = side->low_per_min = side->high_per_min = none;
    (void)snprintf(side->second_text, sizeof side->second_text, "no count");
    PIECE_PUT(
        side->numbers,
        "You watched for a full minute before touching, and counted %d respirations.",
        view->watched_breaths);
    PIECE_PUT(
        side->difference,
        "Stored without a second count: the chest piece was off. A minute that is "
        "heard later is another minute and no check of this one.");
}

static void add_sides(const check_view *view, first_view *to)
{
    for (int k = 0; k < FM_EVENT_KINDS; k++) {
        const fm_event_kind kind = (fm_event_kind)k;
        const bool compared = first_is_compared(view, kind);
        if (compared || (kind == FM_EVENT_BREATH && view->watched)) {
            first_side *const side = &to->sides[to->n_sides++];
            side->kind = kind;
            if (compared) {
                first_side_fill(view, side);
            } else {
                add_watched(view, side);
            }
        }
    }
}

/* ---- Better than last time? ---- */

static double off_now(const check_view *view, fm_event_kind kind)
{
    if (!first_is_compared(view, kind) || first_could_not(view, kind)) {
        return (double)NAN;
    }
    const fm_comparison *const c = first_comparison(view, kind);
    return c->reference_known && c->no_verdict == FM_NO_VERDICT_NONE
               ? fabs(c->difference_per_min)
               : (double)NAN;
}

static double off_before(const check_view *view, fm_event_kind kind)
{
    return view->before != NULL ? fabs(view->before->off_per_min[kind]) : (double)NAN;
}

static bool put_trend(const check_view *view, fm_event_kind kind, char *out)
{
    const double now = off_now(view, kind);
    const double then = off_before(view, kind);
    const char *const whose =
        kind == FM_EVENT_BEAT ? "The pulse is" : "The respirations are";
    if (isnan(now) || isnan(then)) {
        return false;
    }
    if (fabs(now - then) < 0.05) {
        PIECE_PUT(out, "%s as close as last time: %s per minute off.", whose,
                  PIECE_NUMBER(now));
    } else {
        PIECE_PUT(out, "%s %s than last time: %s per minute off then, %s now.", whose,
                  now < then ? "closer" : "further off", PIECE_NUMBER(then),
                  PIECE_NUMBER(now));
    }
    return true;
}

/* ---- All of it ---- */

first_view *first_look_make(const check_view *view)
{
    first_view *const v = calloc(1, sizeof *v);
    if (v == NULL) {
        return NULL;
    }
    add_person(view, v);
    add_sides(view, v);
    first_slips_add(view, v);
    first_method_add(view, v);
    first_next_fill(view, v);
    if (!put_trend(view, v->next.kind, v->trend)) {
        (void)put_trend(view,
                        v->next.kind == FM_EVENT_BEAT ? FM_EVENT_BREATH : FM_EVENT_BEAT,
                        v->trend);
    }
    return v;
}

json_t *first_look_document(const check_view *view)
{
    first_view *const v = first_look_make(view);
    json_t *const out = v != NULL ? first_view_document(v) : NULL;
    free(v);
    return out;
}
