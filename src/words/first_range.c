/* The rate beside its range; the learner's own where the second count is not known. */
#include "src/words/first_look_private.h"

#include <math.h>

static void put_rate(const fm_comparison *c, char out[PIECE_WORDS_BYTES])
{
    const check_rate rate = check_rate_of(c);
    PIECE_PUT(out, rate.own ? "yours, %s per minute, is" : "%s per minute is",
              PIECE_NUMBER(rate.per_min));
}

/* " (adult, usual at rest)": that this is common practice without a source is said once,
 * for both, beside the limits. */
static void put_which(const fm_reference_range *r, char out[PIECE_WORDS_BYTES])
{
    PIECE_PUT(out, " (%s, %s", r->age_band, r->meaning);
    if (fm_reference_range_is_centiles(r)) {
        PIECE_PUT(out, "; %s%s", r->source,
                  r->from_memory ? ", this row from memory, unchecked" : "");
    }
    PIECE_PUT(out, ")");
}

static void put_row(const fm_reference_range *r, char out[PIECE_WORDS_BYTES])
{
    PIECE_PUT(out, "%.0f-%.0f", r->low_per_min, r->high_per_min);
    put_which(r, out);
}

static void put_place(const fm_comparison *c,
                      const fm_reference_range *row,
                      const fm_reference_range *judge,
                      char out[PIECE_WORDS_BYTES])
{
    const fm_range_place place = check_rate_place(c, row);
    if (judge == NULL || place == FM_RANGE_UNKNOWN) {
        PIECE_PUT(out, "Range: ");
        put_row(judge != NULL ? judge : row, out);
        if (judge == NULL) {
            PIECE_PUT(out, "; nobody has read that row in its source, so it judges "
                           "nothing here: see the local chart");
        }
        return;
    }
    if (place == FM_RANGE_EDGE) {
        char which[PIECE_WORDS_BYTES] = "";
        put_which(judge, which);
        piece_put_edge(out, check_rate_of(c).low, check_rate_of(c).high, judge, which);
        return;
    }
    put_rate(c, out);
    if (place == FM_RANGE_WITHIN && fm_reference_range_is_centiles(judge)) {
        PIECE_PUT(out, " not among the lowest or highest 1 in 100, outside ");
        put_row(judge, out);
        PIECE_PUT(out, ", and no more is said by that: see the local chart");
        return;
    }
    PIECE_PUT(out, place == FM_RANGE_WITHIN  ? " within "
                   : place == FM_RANGE_BELOW ? " below "
                                             : " above ");
    put_row(judge, out);
}

static void put_who(const check_view *view, char out[PIECE_WORDS_BYTES])
{
    const fm_who_breathing who = check_breaths_who(view);
    if (!view->age_known || isnan(fm_who_fast_per_min(view->age_months))) {
        return;
    }
    PIECE_PUT(
        out,
        " WHO's limit for fast breathing in a calm child of this age with cough or "
        "difficult breathing, counted for a full minute, is %.0f a minute (%s)",
        fm_who_fast_per_min(view->age_months), fm_who_source());
    if (who != FM_WHO_NOT_KNOWN) {
        PIECE_PUT(out, "; ");
        put_rate(view->breaths->comparison, out);
        PIECE_PUT(out, " %s", who == FM_WHO_FAST ? "not below it" : "below it");
    }
    PIECE_PUT(out, ".");
}

/* The learner's own number outside where the second count is not. */
static void put_own_outside(const fm_comparison *c,
                            const fm_reference_range *row,
                            char out[PIECE_WORDS_BYTES])
{
    const fm_range_place place = check_rate_place(c, row);
    const fm_reference_range *const by = fm_reference_range_judge(row);
    const fm_range_place own =
        by != NULL ? fm_reference_range_place(by, c->manual_per_min) : FM_RANGE_WITHIN;
    if (c->manual.seconds == 60 && c->minute_known &&
        (place == FM_RANGE_WITHIN || place == FM_RANGE_EDGE) &&
        (own == FM_RANGE_BELOW || own == FM_RANGE_ABOVE)) {
        PIECE_PUT(out,
                  " Yours, %d per minute, is outside it: say so to the instructor, and "
                  "count again or with a second examiner.",
                  c->manual.entered);
    }
}

void first_range_put(const check_view *view,
                     fm_event_kind kind,
                     char out[PIECE_WORDS_BYTES])
{
    const bool pulse = kind == FM_EVENT_BEAT;
    const fm_comparison *const c = first_comparison(view, kind);
    const fm_reference_range *const row = pulse ? view->range : view->breaths->range;
    const fm_reference_range *const judge = fm_reference_range_judge(row);
    const bool taught = judge != NULL && fm_reference_range_is_centiles(row) &&
                        !fm_reference_range_is_centiles(judge);
    if (pulse && view->count->heart.count.status == FM_REFUSED &&
        !check_view_outside(view)) {
        return;
    }
    put_place(c, row, judge, out);
    piece_capital(out);
    PIECE_PUT(out, taught ? ", as taught from 12 years on." : ".");
    if (taught) {
        PIECE_PUT(out, " By age, ");
        put_row(row, out);
        PIECE_PUT(out, ": no verdict from that.");
    }
    if (!pulse) {
        put_own_outside(c, row, out);
        put_who(view, out);
    }
}
