#include "src/words/check_text.h"

#include "src/base/bytes.h"
#include "src/words/check_text_private.h"
#include "src/words/person_first.h"

#include <math.h>

/* ---- The numbers ---- */

/* What else a reader must know about the numbers in the first line. */
static void add_other_count(const check_view *view, char out[PIECE_WORDS_BYTES])
{
    const fm_comparison *const c = view->comparison;
    const fm_heart *const h = &view->count->heart;
    if (c->manual.convention != FM_CONVENTION_CLOCK) {
        PIECE_PUT(out, " Both from a beat that is called '%s'.",
                  fm_convention_word(c->manual.convention));
    }
    if (c->against_truth && isfinite(h->count.rate_per_min)) {
        PIECE_PUT(
            out,
            " Those are its known beats; fullminute's own count is %s per minute%s.",
            PIECE_NUMBER(
                count_source_rate(view->source, view->count, h->count.rate_per_min)),
            h->count.status == FM_CAUTION ? ", in doubt" : "");
    }
    if (view->n_inaudible > 0) {
        PIECE_PUT(out, " Of the known beats, %s be heard.",
                  PIECE_COUNTED(view->n_inaudible, "cannot", "cannot"));
    }
    if (view->source->channels > 1) {
        PIECE_PUT(out, " Channel %d of %d%s.", view->source->channel,
                  view->source->channels,
                  view->source->channel_chosen ? ", the clearest" : "");
    }
    if (h->band == FM_BAND_HIGH) {
        PIECE_PUT(out,
                  " Counted from the higher sounds only: the low ones are missing, "
                  "as with a small microphone.");
    }
}

static void add_compared_numbers(const check_view *view, char out[PIECE_WORDS_BYTES])
{
    const fm_comparison *const c = view->comparison;
    if (c->at_wrist) {
        PIECE_PUT(out, "You %d at the wrist", c->manual.entered);
        if (c->manual.seconds < 60) {
            PIECE_PUT(out, " in %d s, %s per minute", c->manual.seconds,
                      PIECE_NUMBER(c->manual_per_min));
        }
        PIECE_PUT(out, "; of the %d beats at the apex %s%d %s the wrist.",
                  c->apex_beats, c->counted == c->apex_beats ? "all " : "", c->counted,
                  c->counted == 1 ? "reaches" : "reach");
    } else {
        compared_put_numbers(view, FM_EVENT_BEAT, out);
    }
}

/* What the chest piece did not hear, and that nobody counted through it either. */
static void add_not_heard(const check_view *view, lines *to)
{
    const fm_quality *const q = &view->count->heart.count.quality;
    char line[PIECE_WORDS_BYTES] = "";
    char gap[REASON_TEXT_BYTES];
    for (size_t i = 0; i < q->n_gaps; i++) {
        if (q->gaps[i].reason == FM_REASON_CONTACT_LOST) {
            reason_text_gap(&q->gaps[i], gap);
            piece_capital(gap);
            PIECE_PUT(line, "%s ", gap);
        }
    }
    if (line[0] != '\0' && view->comparison->manual.site != FM_SITE_RADIAL) {
        PIECE_PUT(line, "Your own count through that chest piece was no full minute "
                        "either.");
    }
    if (line[0] != '\0') {
        lines_add(to, 0, "%s", line);
    }
}

static void add_headline(const check_view *view, lines *to)
{
    const fm_comparison *const c = view->comparison;
    char line[PIECE_WORDS_BYTES] = "";
    char reason[REASON_TEXT_BYTES];
    switch (c->no_verdict) {
    case FM_NO_VERDICT_REFUSED:
        PIECE_PUT(line, "You %s; fullminute could not count this recording: %s.",
                  PIECE_NUMBER(c->manual_per_min),
                  compared_reason(view, FM_EVENT_BEAT, reason));
        break;
    case FM_NO_VERDICT_TOO_SHORT:
    case FM_NO_VERDICT_GAP:
    case FM_NO_VERDICT_NO_RATE:
        compared_put_why_not(view, FM_EVENT_BEAT, line);
        break;
    case FM_NO_VERDICT_COULD_NOT:
        compared_put_could_not(view, FM_EVENT_BEAT, line);
        break;
    case FM_NO_VERDICT_TRUTH:
        PIECE_PUT(
            line,
            "You %d in %d s. The truth beside this recording names beats that are "
            "far from what fullminute surely counts, so neither is held against "
            "you: is it this recording's?",
            c->manual.entered, c->manual.seconds);
        break;
    case FM_NO_VERDICT_NONE:
    case FM_NO_VERDICT_WRIST:
    case FM_NO_VERDICT_COUNT:
        add_compared_numbers(view, line);
        break;
    }
    if (!c->reference_known && c->minute_known) {
        PIECE_PUT(line, " fullminute gives %s per minute%s.",
                  PIECE_NUMBER(c->minute_per_min),
                  c->no_verdict == FM_NO_VERDICT_TRUTH ? "" : " for what there is");
    }
    lines_add(to, 0, "%s", line);
    line[0] = '\0';
    if (c->reference_known) {
        add_other_count(view, line);
        lines_add(to, 0, "%s", line + (line[0] == ' '));
    }
}

static void put_convention(const fm_comparison *c, char out[PIECE_WORDS_BYTES])
{
    if (!c->convention_explains) {
        return;
    }
    PIECE_PUT(out,
              " The start explains exactly this one beat: with the watch started on a "
              "beat called '%s', the count is %d.",
              fm_convention_word(c->explaining), c->manual.entered);
}

static void add_difference(const check_view *view, lines *to)
{
    const fm_comparison *const c = view->comparison;
    char line[PIECE_WORDS_BYTES] = "";
    if (!c->reference_known || c->manual.could_not) {
        return;
    }
    if (c->no_verdict == FM_NO_VERDICT_WRIST) {
        lines_add(to, 0, "The sound at the apex cannot judge a count at the wrist.");
        return;
    }
    compared_put_difference(view, FM_EVENT_BEAT, line);
    lines_add(to, 0, "%s", line);
    line[0] = '\0';
    compared_put_doubt(view, FM_EVENT_BEAT, line);
    put_convention(c, line);
    if (line[0] != '\0') {
        lines_add(to, 0, "%s", line + 1);
    }
}

/* ---- Where it slipped ---- */

/* What the known pulse at the wrist makes of it. */
static void put_known_wrist(const fm_comparison *c, char out[PIECE_WORDS_BYTES])
{
    const int deficit = c->apex_beats - c->counted;
    const int off = c->manual.entered - c->counted;
    const bool off_range = c->manual_per_min < c->low_per_min - 1e-6;
    if (deficit > 0) {
        PIECE_PUT(out, "Apex less wrist: %d, a pulse deficit in this recording.",
                  deficit);
        if (off_range) {
            PIECE_PUT(out, " Of those that reach the wrist, %s missed.",
                      PIECE_COUNTED((size_t)-off, "was", "were"));
        }
    } else if (off_range) {
        PIECE_PUT(out,
                  "Here every beat reaches the wrist: %s missed. On a person it could "
                  "also be a pulse deficit, which takes two examiners.",
                  PIECE_COUNTED((size_t)-off, "was", "were"));
    }
}

static void add_wrist(const check_view *view, lines *to)
{
    const fm_comparison *const c = view->comparison;
    char line[PIECE_WORDS_BYTES] = "";
    if (c->more_at_wrist) {
        PIECE_PUT(line,
                  "More beats at the wrist than at the apex cannot be: a counting "
                  "error; count again.");
    }
    if (c->at_wrist) {
        PIECE_PUT(line, line[0] != '\0' ? " " : "");
        put_known_wrist(c, line);
    }
    const double fewer = c->minute_known ? c->minute_per_min - c->manual_per_min : 0.0;
    if (c->fewer_at_wrist && c->manual.seconds == 60 &&
        fewer < (double)FM_DEFICIT_NAMED_FROM - 0.5) {
        PIECE_PUT(line,
                  "One or two fewer at the wrist than at the apex can be a counting "
                  "error: no deficit is named. Repeat it with two examiners, the same "
                  "full minute for both; the same again: report it.");
    } else if (c->fewer_at_wrist) {
        PIECE_PUT(
            line,
            "Fewer beats at the wrist than at the apex: a possible pulse deficit, "
            "or missed beats: repeat with two examiners%s.",
            c->manual.seconds < 60 ? ", both for the same full minute" : "");
    }
    if (line[0] != '\0') {
        lines_add(to, 2, "%s", line);
    }
}

static const char *slip_heading(const check_view *view)
{
    if (view->taps != NULL) {
        return "Beat by beat";
    }
    return view->comparison->manual.site == FM_SITE_RADIAL ? "At the wrist"
                                                           : "Where the difference "
                                                             "may lie";
}

/* Taps that were not entered as the count, or do not belong to these seconds. */
static void put_tapped(const check_view *view, char out[PIECE_WORDS_BYTES])
{
    const fm_comparison *const c = view->comparison;
    const size_t n = view->taps->n_taps;
    if (!view->counted_taps && !c->manual.could_not && n != (size_t)c->manual.entered &&
        n > 0) {
        PIECE_PUT(out, " You tapped %zu in those %d s and entered %d.", n,
                  c->manual.seconds, c->manual.entered);
    }
    if (view->n_taps_outside > 0) {
        PIECE_PUT(out, " Not counted: %s outside those seconds.",
                  PIECE_COUNTED(view->n_taps_outside, "tap", "taps"));
    }
}

static void add_taps(const check_view *view, lines *to)
{
    const fm_taps *const t = view->taps;
    char line[PIECE_WORDS_BYTES] = "";
    if (t == NULL) {
        return;
    }
    if (t->n_not_tapped == 0 && t->n_matched > 0) {
        PIECE_PUT(line, "Every beat tapped");
        if (t->n_extra > 0) {
            PIECE_PUT(line, "; %s",
                      PIECE_COUNTED(t->n_extra, "extra tap", "extra taps"));
            piece_put_times(line, t->extra_s, t->n_extra);
        }
        PIECE_PUT(line, t->n_extra > 0 ? "." : ", no tap too many.");
    } else {
        PIECE_PUT(line, "%s not tapped",
                  PIECE_COUNTED(t->n_not_tapped, "beat", "beats"));
        piece_put_times(line, t->not_tapped_s, t->n_not_tapped);
        PIECE_PUT(line, "; %s", PIECE_COUNTED(t->n_extra, "extra tap", "extra taps"));
        piece_put_times(line, t->extra_s, t->n_extra);
        PIECE_PUT(line, ".");
        piece_capital(line);
    }
    if (t->lag_known) {
        PIECE_PUT(line, " Your taps came %.0f ms %s S1", fabs(t->lag_s) * 1000.0,
                  t->lag_s < 0.0 ? "before" : "after");
        if (isfinite(t->lag_sd_s)) {
            PIECE_PUT(line, ", give or take %.0f ms", t->lag_sd_s * 1000.0);
        }
        PIECE_PUT(line, ".");
    }
    if (check_view_taps_end(view) > 0 &&
        view->comparison->slip != FM_SLIP_LOST_THREAD) {
        PIECE_PUT(line, " %s",
                  check_view_taps_end_text(view, (char[CHECK_WORDS_BYTES]){0}));
    } else if (t->lost && view->comparison->slip != FM_SLIP_LOST_THREAD) {
        PIECE_PUT(line, " From %.0f s to %.0f s taps and beats did not match.",
                  t->lost_from_s, t->lost_until_s);
    }
    put_tapped(view, line);
    lines_add(to, 2, "%s", line);
}

static void add_slips(const check_view *view, lines *to)
{
    char slip[CHECK_WORDS_BYTES];
    lines body = BYTES_NONE;
    check_view_slip_text(view, view->comparison, slip);
    if (slip[0] != '\0') {
        lines_add(&body, 2, "%s", slip);
    }
    add_wrist(view, &body);
    add_taps(view, &body);
    if (body.n > 0) {
        lines_break(to);
        lines_add(to, 0, "%s", slip_heading(view));
        lines_append(to, &body);
    }
    bytes_free(&body);
}

/* The pulse stays sealed: nothing of it is told. */
static void add_respirations_alone(const check_view *view, lines *to)
{
    check_breaths_add(view, to);
    check_cautions_add(view, to);
    lines_break(to);
    const char *const person = person_first_next(view);
    lines_add(
        to, 0, "Next: %s",
        person != NULL ? person
        : check_breaths_far_off(view)
            ? "watch the chest and count the respirations again for a full minute."
            : hint_say(view->voice, HINT_CHECK_PULSE));
    lines_add(to, 0, "Learning and research aid, not a medical device.");
}

char *check_text_format(const check_view *view)
{
    lines to = BYTES_NONE;
    const person_first first = person_first_of(view);
    person_first_add(&first, &to);
    if (view->comparison == NULL) {
        add_respirations_alone(view, &to);
        return bytes_take(&to, NULL);
    }
    if (view->watched) {
        lines_add(&to, 0,
                  "Respirations, watched for a full minute before touching: %d. Stored "
                  "without a second count: the chest piece was off. A minute that is "
                  "heard later is another minute and no check of this one.",
                  view->watched_breaths);
        lines_break(&to);
    }
    add_headline(view, &to);
    add_not_heard(view, &to);
    add_difference(view, &to);
    if (view->count->heart.count.status != FM_REFUSED) {
        add_slips(view, &to);
    }
    check_advice_add(view, &to);
    lines_add(&to, 0, "Learning and research aid, not a medical device.");
    return bytes_take(&to, NULL);
}
