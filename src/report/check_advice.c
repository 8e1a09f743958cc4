#include "src/report/check_breaths.h"
#include "src/report/check_text_private.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

/* ---- Rhythm ---- */

static void put_findings(const fm_rhythm *r, char out[PIECE_WORDS_BYTES])
{
    static const char *const one[FM_FINDING_KIND_COUNT] = {
        [FM_FINDING_EARLY_BEATS] = "early beat",
        [FM_FINDING_PAUSES] = "pause",
        [FM_FINDING_RATE_CHANGE] = "sudden rate change",
        [FM_FINDING_FAST_RUN] = "run of fast beats",
    };
    static const char *const many[FM_FINDING_KIND_COUNT] = {
        [FM_FINDING_EARLY_BEATS] = "early beats",
        [FM_FINDING_PAUSES] = "pauses",
        [FM_FINDING_RATE_CHANGE] = "sudden rate changes",
        [FM_FINDING_FAST_RUN] = "runs of fast beats",
    };
    for (size_t i = 0; i < r->n_findings; i++) {
        const fm_finding *const f = &r->findings[i];
        char words[PIECE_RANGE_BYTES];
        piece_put(out, "%s%s", i == 0 ? ": " : "; ",
                  piece_counted(f->count, one[f->kind], many[f->kind], words));
        if (f->count <= FM_FINDING_TIMES) {
            piece_put_times(out, f->times_s, f->count);
        }
    }
}

static void add_rhythm(const check_view *view, lines *to)
{
    const fm_rhythm *const r = &view->count->rhythm;
    char line[PIECE_WORDS_BYTES] = "Rhythm: ";
    piece_put(line, "%s", fm_pattern_word(r->pattern));
    if (strcmp(r->repeat, "breathing") == 0) {
        piece_put(line, ", in step with breathing");
    } else if (r->repeat[0] != '\0') {
        piece_put(line, ", repeating %s", r->repeat);
    } else if (r->varies_with_breathing) {
        piece_put(line, ", varies with breathing");
    }
    put_findings(r, line);
    piece_put(line, ".");
    if (view->known_pattern && view->pattern != r->pattern) {
        piece_put(line, " The recording was made %s.", fm_pattern_word(view->pattern));
    }
    if (r->pattern == FM_PATTERN_REGULAR) {
        piece_put(line, " Even spacing in this minute only, not a check of the heart.");
    }
    lines_break(to);
    lines_add(to, 0, "%s", line);
}

/* ---- The short-count lesson ---- */

static void add_lesson_sentence(const check_view *view, lines *to)
{
    const fm_comparison *const c = view->comparison;
    if (c->manual.seconds < 60 && c->minute_whole && !c->at_wrist &&
        !c->fewer_at_wrist) {
        char own[PIECE_NUMBER_BYTES];
        char minute[PIECE_NUMBER_BYTES];
        char off[PIECE_NUMBER_BYTES];
        const double d = c->manual_per_min - c->minute_per_min;
        if (fabs(d) < 0.05) {
            lines_add(to, 2, "Your %d s said %s; so did the whole minute, this time.",
                      c->manual.seconds, piece_number(c->manual_per_min, own));
        } else {
            lines_add(to, 2, "Your %d s said %s, the whole minute %s: %s %s.",
                      c->manual.seconds, piece_number(c->manual_per_min, own),
                      piece_number(c->minute_per_min, minute),
                      piece_number(fabs(d), off), d < 0.0 ? "too few" : "too many");
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
              "Had you counted less of this recording (one try from every second)");
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

static bool outside_range(const check_view *view)
{
    const fm_range_place place = check_view_place(view);
    return place == FM_RANGE_BELOW || place == FM_RANGE_ABOVE;
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
            "at or just outside the mid-clavicular line; asleep or calm, "
            "respirations first, before touching.");
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
    } else if (check_view_irregular(view) || outside_range(view)) {
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
        lines_add(
            to, 0,
            "In %d s one beat is %d per minute; among 103 nurses 15 s counts of fast "
            "pulses were the least accurate (Hollerbach and Sneed 1990).",
            c->manual.seconds, 60 / c->manual.seconds);
    }
}

/* ---- Cautions, and what to do ---- */

static void add_range(const check_view *view, lines *to)
{
    const fm_reference_range *const r = view->range;
    const fm_range_place place = check_view_place(view);
    static const char *const places[] = {[FM_RANGE_UNKNOWN] = "",
                                         [FM_RANGE_BELOW] = "below it",
                                         [FM_RANGE_WITHIN] = "within it",
                                         [FM_RANGE_ABOVE] = "above it"};
    char n[PIECE_NUMBER_BYTES];
    char line[PIECE_WORDS_BYTES] = "";
    piece_put(line, "Reference, %s: %.0f-%.0f per minute (%s; %s%s)", r->age_band,
              r->low_per_min, r->high_per_min, r->meaning, r->source,
              r->from_memory ? ", this row from memory, unchecked" : "");
    if (place != FM_RANGE_UNKNOWN) {
        piece_put(line, "; %s is %s", piece_number(view->comparison->minute_per_min, n),
                  places[place]);
    }
    piece_put(line, ".%s", view->age_known ? "" : " For a child give --age.");
    if (outside_range(view)) {
        piece_put(line, " Context decides what that means: effort, fever, medicines or "
                        "training may explain it, and never replace counting again and "
                        "reporting it.");
    } else {
        piece_put(line, " Context decides what that means.");
    }
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
    const bool refused = view->count->heart.status == FM_REFUSED;
    const bool told = view->comparison != NULL && !refused;
    const bool irregular = told && check_view_irregular(view);
    const bool outside = (told && outside_range(view)) || check_breaths_outside(view);
    if (view->comparison != NULL && refused) {
        lines_add(to, 0, "No count is not a normal finding: count by hand.");
    }
    if (!irregular && !outside) {
        return;
    }
    const char *const one = irregular ? "Irregular" : "Outside the range";
    const bool person = !judged_by_truth(view);
    lines_break(to);
    lines_add(
        to, 0,
        "%s. %s the person first. Faint, breathless, chest pain, grey or confused: "
        "stop and call for help now. Otherwise count again at the apex for a full "
        "minute and tell the instructor or the responsible clinician by local "
        "protocol, even if the person feels well.%s",
        irregular && outside ? "Irregular, and outside the range" : one,
        person ? "Look at" : "If this were a person: look at",
        person ? " A friend's unexpected finding is theirs: tell them privately, "
                 "with the instructor."
               : "");
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
    if (c->no_verdict != FM_NO_VERDICT_NONE) {
        return "record a longer stretch, and check again with the same seconds.";
    }
    if (c->at_wrist && c->beats < c->apex_beats) {
        return "on a person, two examiners, apex and wrist, the same full minute.";
    }
    if (irregular && !c->against_truth) {
        return "a second examiner at the wrist, the same minute: do all beats arrive?";
    }
    if (c->manual.seconds < 60) {
        return "count the whole minute of this recording: --manual N --seconds 60.";
    }
    if (c->verdict == FM_VERDICT_AGREES) {
        return irregular
                   ? "another uneven rhythm, or this one again with --taps FILE."
                   : "an uneven rhythm, counted the same way for the full minute.";
    }
    if (view->taps == NULL) {
        return "tap along as you count and add --taps FILE: it names what slipped.";
    }
    return "listen again at the seconds named above, then count the minute anew.";
}

void check_advice_add(const check_view *view, lines *to)
{
    if (view->count->heart.status != FM_REFUSED) {
        add_rhythm(view, to);
        add_short_counts(view, to);
        add_range(view, to);
    }
    add_method(view, to);
    if (view->breaths != NULL) {
        check_breaths_add(view, to);
    }
    check_cautions_add(view, to);
    lines_break(to);
    lines_add(to, 0, "Next: %s", next_step(view));
}
