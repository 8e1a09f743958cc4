/* The learner's word for the rhythm and for the breathing beside the one that was found. */
#include "dsp/breath/respiration_pause.h"
#include "src/words/breath_text.h"
#include "src/words/first_look_private.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

/* " You said the same.": where the learner said a word. */
static void put_yours(const first_word *w, char out[PIECE_WORDS_BYTES])
{
    if (w->yours[0] != '\0' && w->found[0] != '\0' && w->same) {
        PIECE_PUT(out, " You said the same.");
    } else if (w->yours[0] != '\0') {
        PIECE_PUT(out, " You said '%s'.", w->yours);
    }
}

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

static void put_heard(const fm_rhythm *r, char out[PIECE_WORDS_BYTES])
{
    PIECE_PUT(out, "%s", fm_pattern_word(r->pattern));
    piece_put_repeat(out, r);
    if (r->varies_with_breathing && r->repeat[0] == '\0') {
        PIECE_PUT(out, ", varies with breathing");
    }
    put_findings(r, out);
    if (r->pattern == FM_PATTERN_UNDETERMINED && r->n_findings == 0) {
        PIECE_PUT(out, ": listen again for a full minute");
    }
}

static void put_found(const check_view *view, char out[FIRST_WORD_BYTES])
{
    const fm_rhythm *const r = &view->count->rhythm;
    const bool made = view->known_pattern;
    const fm_pattern pattern = made ? view->pattern : r->pattern;
    char repeat[PIECE_WORDS_BYTES] = "";
    if (pattern == r->pattern) {
        piece_put_repeat(repeat, r);
    }
    (void)snprintf(out, FIRST_WORD_BYTES, "%s%.90s", fm_pattern_word(pattern), repeat);
}

static void fill_rhythm(const check_view *view, first_word *w)
{
    const fm_rhythm *const r = &view->count->rhythm;
    const fm_outcome status = view->count->heart.count.status;
    const bool doubtful = status == FM_CAUTION;
    const bool made = view->known_pattern;
    if (status == FM_REFUSED) {
        return;
    }
    if (!doubtful || made) {
        put_found(view, w->found);
        w->same =
            strcmp(w->yours, fm_pattern_word(made ? view->pattern : r->pattern)) == 0;
    }
    if (doubtful && made) {
        PIECE_PUT(w->text,
                  "Rhythm: this recording was made %s; fullminute, in doubt, "
                  "names none.",
                  fm_pattern_word(view->pattern));
    } else if (doubtful) {
        PIECE_PUT(w->text, "Rhythm: not named, because the count itself is in doubt.");
    } else if (made && view->pattern != r->pattern) {
        PIECE_PUT(w->text,
                  "Rhythm: this recording was made %s; fullminute heard it as %s.",
                  fm_pattern_word(view->pattern), fm_pattern_word(r->pattern));
    } else {
        PIECE_PUT(w->text, "Rhythm: ");
        put_heard(r, w->text);
        PIECE_PUT(w->text, ".");
    }
    put_yours(w, w->text);
}

/* ---- Breathing ---- */

/* 'regular' and 'irregular' are the words of older rows. */
static bool same_breathing(const char *yours, fm_breath_pattern found)
{
    const bool uneven = found == FM_BREATH_PATTERN_UNEVEN ||
                        found == FM_BREATH_PATTERN_WITH_PAUSES ||
                        found == FM_BREATH_PATTERN_WAXING;
    return strcmp(yours, fm_breath_pattern_word(found)) == 0 ||
           (strcmp(yours, "regular") == 0 && found == FM_BREATH_PATTERN_EVEN) ||
           (strcmp(yours, "irregular") == 0 && uneven);
}

/* Depth and effort are seen: no sound tells them, so nothing is held against them. */
static void put_looked(const check_learner *l, char out[PIECE_WORDS_BYTES])
{
    const bool depth = l != NULL && l->depth != NULL && l->depth[0] != '\0';
    const bool effort = l != NULL && l->effort != NULL && l->effort[0] != '\0';
    if (depth || effort) {
        PIECE_PUT(out, " You saw: %s%s%s.", depth ? l->depth : "",
                  depth && effort ? ", " : "", effort ? l->effort : "");
    }
}

/* A stretch without a breath before all else of it. */
static void fill_breathing(const check_view *view, first_word *w)
{
    const check_breaths *const b = view->breaths;
    char pattern[BREATH_PATTERN_BYTES];
    char pauses[BREATH_PAUSES_BYTES];
    breath_text_pauses(b->pauses, b->n_pauses, b->breathing_known, pauses);
    if (pauses[0] != '\0') {
        piece_capital(pauses);
        PIECE_PUT(w->text, "%s. ", pauses);
    }
    PIECE_PUT(w->text, "Breathing%s: %s.",
              b->breathing_known ? " of this recording, known" : "",
              b->breathing_known
                  ? fm_breath_pattern_word(b->pattern)
                  : breath_text_pattern(b->pattern, b->comparison->manual.seconds == 60,
                                        pattern));
    if (b->pattern != FM_BREATH_PATTERN_UNDETERMINED) {
        (void)snprintf(w->found, sizeof w->found, "%s",
                       fm_breath_pattern_word(b->pattern));
        w->same = same_breathing(w->yours, b->pattern);
    }
    put_yours(w, w->text);
    put_looked(view->learner, w->text);
    if (b->n_pauses > 0 || b->pattern == FM_BREATH_PATTERN_WAXING) {
        PIECE_PUT(w->text,
                  " %s report it beside the number, even where the number is within "
                  "the range.",
                  b->breathing_known ? "If this were a person:" : "If you saw it too,");
    }
}

void first_word_fill(const check_view *view, fm_event_kind kind, first_word *w)
{
    const check_learner *const l = view->learner;
    const char *const yours = l == NULL               ? NULL
                              : kind == FM_EVENT_BEAT ? l->rhythm
                                                      : l->breathing;
    (void)snprintf(w->yours, sizeof w->yours, "%s", yours != NULL ? yours : "");
    if (kind == FM_EVENT_BEAT) {
        fill_rhythm(view, w);
    } else {
        fill_breathing(view, w);
    }
}
