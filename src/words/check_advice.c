#include "src/document/check_view.h"
#include "src/words/cautions.h"
#include "src/words/check_text_private.h"
#include "src/words/person_first.h"

#include <math.h>
#include <stdio.h>

/* ---- Rhythm ---- */

static void put_findings(const fm_rhythm *r, char out[PIECE_WORDS_BYTES])
{
    for (size_t i = 0; i < r->n_findings; i++) {
        const fm_finding *const f = &r->findings[i];
        const char *const noun = piece_finding(f->kind, f->count);
        PIECE_PUT(out, "%s%s", i == 0 ? ": " : "; ",
                  PIECE_COUNTED(f->count, noun, noun));
        if (f->count <= FM_FINDING_TIMES) {
            piece_put_times(out, f->times_s, f->count);
        }
    }
}

static void put_heard_rhythm(const fm_count *count, char out[PIECE_WORDS_BYTES])
{
    const fm_rhythm *const r = &count->rhythm;
    PIECE_PUT(out, "%s", fm_pattern_word(r->pattern));
    piece_put_repeat(out, r);
    if (r->varies_with_breathing && r->repeat[0] == '\0') {
        PIECE_PUT(out, ", varies with breathing");
    }
    put_findings(r, out);
    if (r->pattern == FM_PATTERN_UNDETERMINED && r->n_findings == 0) {
        PIECE_PUT(out, ": listen again for a full minute");
    }
    PIECE_PUT(out, ".");
    if (r->pattern == FM_PATTERN_REGULAR) {
        piece_put_spacing(out, &count->heart.count);
    }
}

static void add_rhythm(const check_view *view, lines *to)
{
    const fm_rhythm *const r = &view->count->rhythm;
    const bool doubtful = view->count->heart.count.status == FM_CAUTION;
    char line[PIECE_WORDS_BYTES] = "Rhythm: ";
    if (doubtful) {
        PIECE_PUT(line, "not named, because the count itself is in doubt.");
        if (view->known_pattern) {
            PIECE_PUT(line, " This recording was made %s.",
                      fm_pattern_word(view->pattern));
        }
    } else if (view->known_pattern && view->pattern != r->pattern) {
        PIECE_PUT(line, "this recording was made %s; fullminute heard it as %s.",
                  fm_pattern_word(view->pattern), fm_pattern_word(r->pattern));
    } else {
        put_heard_rhythm(view->count, line);
    }
    lines_break(to);
    lines_add(to, 0, "%s", line);
}

/* ---- The short-count lesson ---- */

static void add_lesson_sentence(const check_view *view, lines *to)
{
    const fm_comparison *const c = view->comparison;
    if (c->manual.seconds < 60 && !c->manual.could_not && c->minute_whole &&
        !c->at_wrist && !c->fewer_at_wrist) {
        const double d = c->manual_per_min - c->minute_per_min;
        if (fabs(d) < 0.05) {
            lines_add(to, 2, "Your %d s said %s; so did the whole minute, this time.",
                      c->manual.seconds, PIECE_NUMBER(c->manual_per_min));
        } else {
            lines_add(to, 2, "Your %d s said %s, the whole minute %s: %s %s.",
                      c->manual.seconds, PIECE_NUMBER(c->manual_per_min),
                      PIECE_NUMBER(c->minute_per_min), PIECE_NUMBER(fabs(d)),
                      d < 0.0 ? "too few" : "too many");
        }
    }
}

static void add_short_counts(const check_view *view, lines *to)
{
    const fm_comparison *const c = view->comparison;
    if (c->n_short == 0) {
        return;
    }
    lines_break(to);
    lines_add(to, 0,
              "Had you counted less (started on the clock, one try from every second)");
    lines_add_row(to, "  %-14s %7s %7s %8s %6s", "", "lowest", "mean", "highest",
                  "tries");
    for (size_t i = 0; i < c->n_short; i++) {
        const fm_short_count *const w = &c->short_counts[i];
        char label[PIECE_RANGE_BYTES];
        (void)snprintf(label, sizeof label, "%d s x %d", w->seconds, 60 / w->seconds);
        lines_add_row(to, "  %-14s %7.0f %7.1f %8.0f %6zu", label, w->min_per_min,
                      w->mean_per_min, w->max_per_min, w->n_windows);
    }
    if (c->minute_whole) {
        lines_add_row(to, "  %-14s %15.0f", "full minute", c->minute_per_min);
    }
    add_lesson_sentence(view, to);
}

static bool adult(const check_view *view)
{
    return !view->age_known || view->range->from_months >= FM_AGE_ADULT_MONTHS;
}

/* Regular and within the range, but not as long as a wrist is counted. */
static void add_short_radial(int seconds, lines *to)
{
    if (seconds == 30) {
        lines_add(
            to, 0,
            "Count the full minute when it is a first count, irregular or outside "
            "the range.");
        return;
    }
    lines_add(
        to, 0,
        "Count at least 30 s; the full minute when it is a first count, irregular "
        "or outside the range. In 15 s one beat is 4 per minute; among 103 nurses "
        "15 s counts of fast pulses were the least accurate (Hollerbach and Sneed "
        "1990).");
}

/*
 * When a full minute is asked for: common practice, no source; fast 15 s counts: Hollerbach
 * and Sneed, Heart Lung 1990;19:258 (abstract).
 */
static void add_method(const check_view *view, lines *to)
{
    const fm_comparison *const c = view->comparison;
    if (view->age_known && view->range->small_child) {
        lines_add(
            to, 0,
            "At this age: a full minute at the apex, fourth left intercostal space, "
            "at or just outside the mid-clavicular line; %s.",
            view->range->infant ? "asleep or calm, respirations first, before touching"
                                : "calm");
    } else if (view->age_known && c->manual.site == FM_SITE_APICAL) {
        lines_add(to, 0,
                  "Apical site at this age: fifth left intercostal space, "
                  "mid-clavicular line.");
    }
    if (c->manual.seconds == 60) {
        return;
    }
    if (c->manual.site == FM_SITE_APICAL) {
        lines_add(to, 0, "An apical pulse is counted for the full minute.");
    } else if (check_view_irregular(view) || check_view_outside(view)) {
        lines_add(
            to, 0,
            "An irregular or out-of-range pulse is counted for the full minute, at "
            "the apex.");
    } else if (c->manual.seconds == 30 && adult(view)) {
        lines_add(to, 0,
                  "A regular adult radial pulse counted 30 s x 2 is accepted by "
                  "many local protocols; a first count, or one before a medicine "
                  "that needs it, takes the full minute.");
    } else {
        add_short_radial(c->manual.seconds, to);
    }
}

/* ---- Cautions, and what to do ---- */

static const char *what_it_means(const check_view *view)
{
    if (check_view_outside(view)) {
        return " Context decides what that means: effort, fever, medicines or training "
               "may explain it, and never replace counting again and reporting it.";
    }
    return " Context decides what that means.";
}

static void add_range(const check_view *view, lines *to)
{
    char line[PIECE_WORDS_BYTES] = "";
    piece_put_reference(line, view, view->comparison, view->range);
    PIECE_PUT(line, "%s", what_it_means(view));
    lines_break(to);
    lines_add(to, 0, "%s", line);
}

static bool judged_by_truth(const check_view *view)
{
    return view->comparison != NULL ? view->comparison->against_truth
                                    : view->breaths->comparison->against_truth;
}

void check_cautions_add(const check_view *view, lines *to)
{
    /* of a pulse that is sealed or refused nothing is told */
    const bool refused = view->count->heart.count.status == FM_REFUSED;
    const bool told = view->comparison != NULL && !refused;
    const bool irregular = told && check_view_irregular(view);
    const cautions found = {
        .uneven = irregular,
        .with_breathing = irregular && check_view_with_breathing(view),
        .unsure = view->count->heart.count.status == FM_CAUTION && !view->known_pattern,
        .pulse_outside = view->comparison != NULL && check_view_outside(view),
        .breaths_outside = check_breaths_outside(view),
        .composed = judged_by_truth(view)};
    cautions_add(&found, to);
}

/* Refused: nothing of the heart is shown, and the learner's number has no second. */
static void add_no_count(const check_view *view, lines *to)
{
    const fm_comparison *const c = view->comparison;
    if (c->no_verdict != FM_NO_VERDICT_REFUSED) {
        return;
    }
    lines_break(to);
    if (c->manual.seconds == 60) {
        lines_add(to, 0,
                  "No count is not a normal finding: your %d stands alone; count again "
                  "by hand for a full minute.",
                  c->manual.entered);
    } else {
        lines_add(to, 0,
                  "No count is not a normal finding: count by hand for a full minute.");
    }
}

static bool taps_slipped(const check_view *view)
{
    const fm_taps *const t = view->taps;
    return t != NULL && (t->lost || t->n_not_tapped > 0 || t->n_extra > 0);
}

static const char *next_step(const check_view *view)
{
    const fm_comparison *const c = view->comparison;
    const bool irregular = check_view_irregular(view);
    if (c->no_verdict == FM_NO_VERDICT_REFUSED) {
        return "put the cause right, then record another minute; your count is kept.";
    }
    if (c->fewer_at_wrist) {
        return c->against_truth
                   ? "on a person, two examiners, apex and wrist, the same full minute."
                   : "two examiners, apex and wrist, the same full minute.";
    }
    if (c->no_verdict == FM_NO_VERDICT_TRUTH) {
        return hint_say(view->voice, HINT_TRUTH_DOUBTED);
    }
    if (c->no_verdict != FM_NO_VERDICT_NONE) {
        return "record a longer stretch, and check again with the same seconds.";
    }
    if (c->at_wrist && c->counted < c->apex_beats) {
        return "on a person, two examiners, apex and wrist, the same full minute.";
    }
    if (irregular && check_view_with_breathing(view)) {
        return "another calm minute: does it still come and go with the breathing?";
    }
    if (irregular && !c->against_truth) {
        return "a second examiner at the wrist, the same minute: do all beats arrive?";
    }
    if (taps_slipped(view)) {
        return "listen again at the seconds named above. Missed and extra beats can "
               "cancel out in the total.";
    }
    if (c->manual.seconds < 60) {
        return "another recording, for the full minute; you now know this one's count.";
    }
    if (c->verdict == FM_VERDICT_AGREES) {
        return irregular
                   ? hint_say(view->voice, HINT_TAP_AGAIN)
                   : "an uneven rhythm, counted the same way for the full minute.";
    }
    if (view->taps == NULL) {
        return hint_say(view->voice, HINT_TAP_ALONG);
    }
    return "another recording, tapped along the same way.";
}

void check_advice_add(const check_view *view, lines *to)
{
    if (view->count->heart.count.status != FM_REFUSED) {
        add_rhythm(view, to);
        add_short_counts(view, to);
    }
    if (view->count->heart.count.status != FM_REFUSED || check_view_outside(view)) {
        add_range(view, to);
    }
    add_method(view, to);
    if (view->breaths != NULL) {
        check_breaths_add(view, to);
    }
    check_cautions_add(view, to);
    add_no_count(view, to);
    lines_break(to);
    const char *const person = person_first_next(view);
    lines_add(to, 0, "Next: %s", person != NULL ? person : next_step(view));
}
