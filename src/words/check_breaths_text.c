#include "dsp/breath/respiration_pause.h"
#include "src/document/check_view.h"
#include "src/document/whole_range.h"
#include "src/words/breath_text.h"
#include "src/words/check_text_private.h"

#include <math.h>

/* Too uncertain for one number: a range wider than +-5 per minute (ours, no source). */
static bool too_wide(double low, double high)
{
    return high - low > 2.0 * BREATH_NUMBER_HALF_WIDTH;
}

/* ---- The numbers ---- */

static void put_compared(const check_view *view, char out[PIECE_WORDS_BYTES])
{
    const fm_comparison *const c = view->breaths->comparison;
    if (!c->against_truth && too_wide(c->low_per_min, c->high_per_min)) {
        PIECE_PUT(
            out,
            "You %d in %d s%s; fullminute heard between %.0f and %.0f per minute, "
            "too uncertain for one number.",
            c->manual.entered, c->manual.seconds, compared_how(c),
            whole_range_low(c->low_per_min), whole_range_high(c->high_per_min));
    } else {
        compared_put_numbers(view, FM_EVENT_BREATH, out);
    }
}

static void put_not_compared(const check_view *view, char out[PIECE_WORDS_BYTES])
{
    const fm_comparison *const c = view->breaths->comparison;
    char reason[REASON_TEXT_BYTES];
    if (c->no_verdict == FM_NO_VERDICT_REFUSED) {
        PIECE_PUT(out, "You %d in %d s%s; ", c->manual.entered, c->manual.seconds,
                  compared_how(c));
        PIECE_PUT(out, "fullminute could not count the respirations: %s.",
                  compared_reason(view, FM_EVENT_BREATH, reason));
    } else {
        compared_put_why_not(view, FM_EVENT_BREATH, out);
    }
    if (c->minute_known) {
        PIECE_PUT(out, " fullminute gives %s per minute for what there is.",
                  too_wide(c->minute_low_per_min, c->minute_high_per_min)
                      ? PIECE_RANGE(c->minute_low_per_min, c->minute_high_per_min)
                      : PIECE_NUMBER(c->minute_per_min));
    }
}

static void add_numbers(const check_view *view, lines *to)
{
    const fm_comparison *const c = view->breaths->comparison;
    char line[PIECE_WORDS_BYTES] = "";
    if (c->manual.could_not) {
        compared_put_could_not(view, FM_EVENT_BREATH, line);
        lines_add(to, 2, "%s", line);
        return;
    }
    if (!c->reference_known) {
        put_not_compared(view, line);
        lines_add(to, 2, "%s", line);
        if (c->no_verdict == FM_NO_VERDICT_REFUSED) {
            lines_add(to, 2, "No count is not a normal finding.");
        }
        return;
    }
    put_compared(view, line);
    lines_add(to, 2, "%s", line);
    line[0] = '\0';
    compared_put_difference(view, FM_EVENT_BREATH, line);
    compared_put_doubt(view, FM_EVENT_BREATH, line);
    lines_add(to, 2, "%s", line);
}

/* ---- What stands beside them ---- */

/* What the device itself made of it, where known breaths judge. */
static void put_device(const check_view *view, char out[PIECE_WORDS_BYTES])
{
    const fm_breath *const b = &view->count->breath;
    if (!view->breaths->comparison->against_truth) {
        return;
    }
    if (b->count.status == FM_REFUSED || isnan(b->count.rate_per_min)) {
        PIECE_PUT(out, " fullminute itself could not count them.");
    } else {
        const bool wide =
            too_wide(b->count.rate_low_per_min, b->count.rate_high_per_min);
        PIECE_PUT(
            out, " fullminute's own count is %s per minute%s.",
            wide ? PIECE_RANGE(b->count.rate_low_per_min, b->count.rate_high_per_min)
                 : PIECE_NUMBER(b->count.rate_per_min),
            b->count.status == FM_CAUTION ? ", in doubt" : "");
    }
}

static void add_window(const check_view *view, lines *to)
{
    const fm_window *const w = &view->count->breath.count.window;
    char line[PIECE_WORDS_BYTES] = "";
    if (!breath_text_own_window(view->count)) {
        PIECE_PUT(line, "Counted %s, from %.0f s on.", breath_text_where(view->count),
                  w->start_s);
    } else {
        PIECE_PUT(line, "Counted from %.0f s to %.0f s, %s.", w->start_s, w->end_s,
                  breath_text_where(view->count));
    }
    put_device(view, line);
    lines_add(to, 2, "%s", line);
}

/* How the breathing went, and a stretch without a breath before all else of it. */
static void add_breathing(const check_view *view, lines *to)
{
    const check_breaths *const b = view->breaths;
    const bool whole = b->comparison->manual.seconds == 60;
    char pattern[BREATH_PATTERN_BYTES];
    char pauses[BREATH_PAUSES_BYTES];
    char line[PIECE_WORDS_BYTES] = "";
    breath_text_pauses(b->pauses, b->n_pauses, b->breathing_known, pauses);
    if (pauses[0] != '\0') {
        PIECE_PUT(line, "%s. ", pauses);
        piece_capital(line);
    }
    if (b->breathing_known) {
        PIECE_PUT(line, "Breathing of this recording, known: %s.",
                  fm_breath_pattern_word(b->pattern));
    } else {
        PIECE_PUT(line, "Breathing: %s.",
                  breath_text_pattern(b->pattern, whole, pattern));
    }
    if (b->n_pauses > 0) {
        PIECE_PUT(
            line, " A pause is named from %s.",
            fm_breath_pause_source(view->age_known ? view->age_months : (double)NAN));
    }
    if (b->n_pauses > 0 || b->pattern == FM_BREATH_PATTERN_WAXING) {
        PIECE_PUT(line,
                  " %s report it beside the number, even where the number is "
                  "within the range.",
                  b->breathing_known ? "If this were a person:" : "If you saw it too,");
    }
    lines_add(to, 2, "%s", line);
}

static void add_slip(const check_view *view, lines *to)
{
    const fm_comparison *const c = view->breaths->comparison;
    char words[CHECK_WORDS_BYTES];
    check_view_slip_text(view, c, words);
    if (words[0] != '\0') {
        lines_add(to, 2, "%s", words);
    }
    if (c->method_explains) {
        lines_add(
            to, 2,
            "Not called a slip: in infants, and up to three years, listening gives "
            "about 2 per minute more than watching (Rusconi 1994), and you %s.",
            fm_breath_method_word(c->manual.method));
    }
    if (c->tapped && view->breaths->counted_taps) {
        lines_add(to, 2, "Your count is the number of your taps in those %d s.",
                  c->manual.seconds);
    } else if (c->tapped) {
        lines_add(to, 2, "You tapped %d in those %d s and entered %d.", c->taps,
                  c->manual.seconds, c->manual.entered);
    }
}

/* What a short count would have said. Simoes 1991 and Rimbi 2019 found the full minute
 * better in children and in the acutely ill. */
static void add_short_counts(const check_view *view, lines *to)
{
    const fm_comparison *const c = view->breaths->comparison;
    char line[PIECE_WORDS_BYTES] = "";
    const bool unsure =
        !c->against_truth && too_wide(c->minute_low_per_min, c->minute_high_per_min);
    if (c->n_short < 2 || !c->minute_whole || unsure) {
        return;
    }
    for (size_t i = 0; i < c->n_short; i++) {
        const fm_short_count *const w = &c->short_counts[i];
        PIECE_PUT(line, "%s%d s x %d would have said %.0f to %.0f", i == 0 ? "" : ", ",
                  w->seconds, 60 / w->seconds, w->min_per_min, w->max_per_min);
    }
    PIECE_PUT(line,
              "; the full minute is %s. Respirations are counted for a full minute.",
              PIECE_NUMBER(c->minute_per_min));
    lines_add(to, 2, "%s", line);
}

static void put_place(const check_view *view, char out[PIECE_WORDS_BYTES])
{
    piece_put_reference(out, view, view->breaths->comparison, view->breaths->range);
}

static void put_who(const check_view *view, char out[PIECE_WORDS_BYTES])
{
    const fm_who_breathing who = check_breaths_who(view);
    if (!view->age_known || isnan(fm_who_fast_per_min(view->age_months))) {
        return;
    }
    PIECE_PUT(out,
              " WHO's limit for fast breathing in a child of this age with cough or "
              "difficult breathing is %.0f a minute (%s)",
              fm_who_fast_per_min(view->age_months), fm_who_source());
    if (who != FM_WHO_NOT_KNOWN) {
        PIECE_PUT(out, "; ");
        compared_put_rate(view->breaths->comparison, out);
        PIECE_PUT(out, " %s", who == FM_WHO_FAST ? "not below it" : "below it");
    }
    PIECE_PUT(out, ". The limit holds for a calm child counted for a full minute.");
}

/* The learner's own number outside where the second count is not. */
static void put_own_outside(const check_view *view, char out[PIECE_WORDS_BYTES])
{
    const fm_comparison *const c = view->breaths->comparison;
    const fm_range_place place = check_rate_place(c, view->breaths->range);
    const fm_reference_range *const by = fm_reference_range_judge(view->breaths->range);
    const fm_range_place own =
        by != NULL ? fm_reference_range_place(by, c->manual_per_min) : FM_RANGE_WITHIN;
    if (c->manual.seconds == 60 && c->minute_known &&
        (place == FM_RANGE_WITHIN || place == FM_RANGE_EDGE) &&
        own != FM_RANGE_WITHIN) {
        PIECE_PUT(out,
                  " Yours, %d, is outside it: say so to the instructor, and count "
                  "again or with a second examiner.",
                  c->manual.entered);
    }
}

static void add_range(const check_view *view, lines *to)
{
    char line[PIECE_WORDS_BYTES] = "";
    put_place(view, line);
    put_own_outside(view, line);
    PIECE_PUT(line, " Context decides what that means.");
    put_who(view, line);
    lines_add(to, 2, "%s", line);
}

void check_breaths_add(const check_view *view, lines *to)
{
    lines_break(to);
    lines_add(to, 0, "Respirations");
    add_numbers(view, to);
    add_window(view, to);
    add_breathing(view, to);
    add_slip(view, to);
    add_short_counts(view, to);
    add_range(view, to);
    if (view->age_known && view->breaths->range->infant) {
        lines_add(to, 2,
                  "Infants: asleep or calm, respirations first, before touching.");
    }
    if (view->breaths->comparison->slip != FM_SLIP_BOTH_PHASES) {
        lines_add(to, 2, "One rise and one fall of the chest is one respiration.");
    }
}
