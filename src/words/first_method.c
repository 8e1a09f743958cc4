/* What a shorter count would have said, and what is worth knowing of how it was counted. */
#include "dsp/breath/respiration_pause.h"
#include "src/words/breath_text.h"
#include "src/words/first_look_private.h"

#include <math.h>

/* ---- Shorter counts ---- */

static void add_short_counts(const check_view *view,
                             fm_event_kind kind,
                             first_lines *to)
{
    if (!first_is_compared(view, kind)) {
        return;
    }
    const fm_comparison *const c = first_comparison(view, kind);
    char line[PIECE_WORDS_BYTES] = "";
    if (c->n_short == 0 || first_count(view, kind)->status == FM_REFUSED ||
        (kind == FM_EVENT_BREATH && (!c->minute_whole || first_is_wide(view, kind)))) {
        return;
    }
    PIECE_PUT(line, "Shorter counts, %s per minute: ",
              kind == FM_EVENT_BEAT ? "beats" : "respirations");
    for (size_t i = 0; i < c->n_short; i++) {
        const fm_short_count *const w = &c->short_counts[i];
        PIECE_PUT(line, "%s%s in %d s", i == 0 ? "" : ", ",
                  PIECE_RANGE(w->min_per_min, w->max_per_min), w->seconds);
    }
    if (c->minute_whole && c->manual.seconds < 60) {
        PIECE_PUT(line, "; %s in the full minute", PIECE_NUMBER(c->minute_per_min));
    }
    PIECE_PUT(line, ".");
    first_lines_add(to, line);
}

/* ---- Method ---- */

static bool adult(const check_view *view)
{
    return !view->age_known || view->range->from_months >= FM_AGE_ADULT_MONTHS;
}

/* When a full minute is asked for: common practice, no source; fast 15 s counts: Hollerbach
 * and Sneed, Heart Lung 1990;19:258 (abstract). */
static void add_seconds(const check_view *view, first_lines *to)
{
    const fm_comparison *const c = view->comparison;
    if (c->manual.seconds == 60) {
        return;
    }
    if (c->manual.site == FM_SITE_APICAL) {
        first_lines_add(to, "An apical pulse is counted for the full minute.");
    } else if (check_view_irregular(view) || check_view_outside(view)) {
        first_lines_add(to,
                        "An irregular or out-of-range pulse is counted for the full "
                        "minute, at the apex.");
    } else if (c->manual.seconds == 30 && adult(view)) {
        first_lines_add(to,
                        "A regular adult radial pulse counted 30 s x 2 is accepted by "
                        "many local protocols; a first count, or one before a medicine "
                        "that needs it, takes the full minute.");
    } else if (c->manual.seconds == 30) {
        first_lines_add(to,
                        "Count the full minute when it is a first count, irregular or "
                        "outside the range.");
    } else {
        first_lines_add(
            to,
            "Count at least 30 s; the full minute when it is a first count, irregular "
            "or outside the range. In 15 s one beat is 4 per minute; among 103 nurses "
            "15 s counts of fast pulses were the least accurate (Hollerbach and Sneed "
            "1990).");
    }
}

static void add_site(const check_view *view, first_lines *to)
{
    if (view->age_known && view->range->small_child) {
        char line[PIECE_WORDS_BYTES] = "";
        PIECE_PUT(
            line,
            "At this age: a full minute at the apex, fourth left intercostal space, "
            "at or just outside the mid-clavicular line; %s.",
            view->range->infant ? "asleep or calm, respirations first, before touching"
                                : "calm");
        first_lines_add(to, line);
    } else if (view->age_known && view->comparison->manual.site == FM_SITE_APICAL) {
        first_lines_add(to, "Apical site at this age: fifth left intercostal space, "
                            "mid-clavicular line.");
    }
}

static void put_source(const check_view *view, char *out)
{
    const fm_comparison *const c = view->comparison;
    if (c->manual.convention != FM_CONVENTION_CLOCK) {
        PIECE_PUT(out, " Both from a beat that is called '%s'.",
                  fm_convention_word(c->manual.convention));
    }
    if (view->source->channels > 1) {
        PIECE_PUT(out, " Channel %d of %d%s.", view->source->channel,
                  view->source->channels,
                  view->source->channel_chosen ? ", the clearest" : "");
    }
    if (view->count->heart.band == FM_BAND_HIGH) {
        PIECE_PUT(out,
                  " Counted from the higher sounds only: the low ones are missing, as "
                  "with a small microphone.");
    }
    if (!count_is_uneven(view->count) && !check_view_irregular(view) &&
        view->count->heart.count.status == FM_COUNTED) {
        piece_put_spacing(out, &view->count->heart.count);
    }
}

static void add_taps(const check_view *view, first_lines *to)
{
    const fm_taps *const t = view->taps;
    char line[PIECE_WORDS_BYTES] = "";
    if (t == NULL || first_taps_lost_at_start(view)) {
        return;
    }
    if (t->n_not_tapped == 0 && t->n_matched > 0) {
        PIECE_PUT(line, "Every beat was tapped%s.",
                  t->n_extra == 0 ? ", and no tap was too many" : "");
    }
    if (t->lag_known) {
        PIECE_PUT(line, "%sYour taps came %.0f ms %s S1", line[0] != '\0' ? " " : "",
                  fabs(t->lag_s) * 1000.0, t->lag_s < 0.0 ? "before" : "after");
        if (isfinite(t->lag_sd_s)) {
            PIECE_PUT(line, ", give or take %.0f ms", t->lag_sd_s * 1000.0);
        }
        PIECE_PUT(line, ".");
    }
    first_lines_add(to, line);
}

static void add_breath_window(const check_view *view, first_lines *to)
{
    const fm_window *const w = &view->count->breath.count.window;
    char line[PIECE_WORDS_BYTES] = "";
    if (breath_text_own_window(view->count)) {
        PIECE_PUT(line, "Respirations counted from %.0f s to %.0f s, %s. ", w->start_s,
                  w->end_s, breath_text_where(view->count));
    }
    if (view->breaths->comparison->slip != FM_SLIP_BOTH_PHASES) {
        PIECE_PUT(line,
                  "One rise and one fall of the chest is one respiration, counted "
                  "for a full minute.");
    }
    if (view->breaths->n_pauses > 0) {
        PIECE_PUT(
            line, " A pause is named from %s.",
            fm_breath_pause_source(view->age_known ? view->age_months : (double)NAN));
    }
    if (view->comparison == NULL && view->age_known && view->breaths->range->infant) {
        PIECE_PUT(line,
                  " Infants: asleep or calm, respirations first, before touching.");
    }
    first_lines_add(to, line + (line[0] == ' '));
}

static bool has_example_limit(const check_view *view)
{
    return (view->comparison != NULL && view->comparison->reference_known &&
            !view->tolerance_set) ||
           (view->breaths != NULL && view->breaths->comparison->reference_known &&
            !view->breaths->tolerance_set);
}

/* What ranges and limits are, once for both. */
static void add_meaning(const check_view *view, first_lines *to)
{
    const bool pulse = view->comparison != NULL;
    char line[PIECE_WORDS_BYTES] = "";
    if (view->breaths == NULL && view->count->heart.count.status == FM_REFUSED &&
        !check_view_outside(view)) {
        return;
    }
    const char *const ranges = adult(view) ? " and an adult's ranges" : "";
    if (has_example_limit(view)) {
        PIECE_PUT(
            line,
            "Example limits%s: common practice, no source; your instructor sets the "
            "limit%s. ",
            ranges,
            hint_say(view->voice, pulse ? HINT_TOLERANCE : HINT_BREATH_TOLERANCE));
    } else if (adult(view)) {
        PIECE_PUT(line, "An adult's ranges: common practice, no source. ");
    }
    PIECE_PUT(line, "Context decides what a number means");
    if (check_breaths_outside(view) || (pulse && check_view_outside(view))) {
        PIECE_PUT(line,
                  ": effort, fever, medicines or training may explain it, and never "
                  "replace counting again and reporting it");
    }
    PIECE_PUT(line, ".");
    if (!view->age_known) {
        PIECE_PUT(line, " For a child %s.", hint_say(view->voice, HINT_AGE));
    }
    first_lines_add(to, line);
}

void first_method_add(const check_view *view, first_view *to)
{
    first_lines *const m = &to->method;
    add_short_counts(view, FM_EVENT_BEAT, &to->shorter);
    add_short_counts(view, FM_EVENT_BREATH, &to->shorter);
    if (view->comparison != NULL) {
        add_seconds(view, m);
        add_site(view, m);
        if (view->count->heart.count.status != FM_REFUSED) {
            char line[PIECE_WORDS_BYTES] = "";
            put_source(view, line);
            first_lines_add(m, line + (line[0] == ' '));
            add_taps(view, m);
        }
    }
    if (view->breaths != NULL) {
        add_breath_window(view, m);
    }
    add_meaning(view, m);
}
