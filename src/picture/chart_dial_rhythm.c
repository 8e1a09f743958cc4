/* What the rhythm has of its own on the dial: brackets round the beats. */
#include "dsp/rhythm/rhythm.h"

#include "src/picture/chart_dial_private.h"

#include <math.h>
#include <stdio.h>

#define BRACKET      (DIAL_RIM + 30.0)
#define BRACKET_FOOT 5.0
#define WORD         (BRACKET + 5.0)
#define SHAPE        (BRACKET + 9.0)
#define SAME_S       1e-6 /* one interval ends where the next begins */

enum {
    /* With more brackets than this only runs have words, the others shapes: ours. */
    WORDS_MOST = 10,
    RUN_LEAST = 3 /* early, late or paused in a row: a run has its word */
};

/* Intervals in a row that are told together. */
typedef struct bracket {
    double start_s, end_s;
    unsigned mark;       /* of what is in it; 0: a run of fast beats */
    size_t n;            /* how many of that */
    size_t first, after; /* intervals[first..after-1] */
} bracket;

typedef struct brackets {
    size_t n;
    bracket all[FM_BEATS_MAX];
} brackets;

static double end_of(const fm_interval *v)
{
    return v->start_s + v->length_s;
}

static bool in_run(const brackets *b, double t_s)
{
    bool in = false;
    for (size_t i = 0; i < b->n; i++) {
        in = in ||
             (b->all[i].mark == 0 && t_s >= b->all[i].start_s && t_s < b->all[i].end_s);
    }
    return in;
}

static void gather_runs(brackets *b, const fm_rhythm *r)
{
    for (size_t i = 0; i < r->n_findings && i < FM_FINDINGS_MAX; i++) {
        const fm_finding *const found = &r->findings[i];
        for (size_t k = 0; found->kind == FM_FINDING_FAST_RUN && k < found->count &&
                           k < FM_FINDING_TIMES;
             k++) {
            const double end_s = fm_rhythm_run_end_s(r, found->times_s[k]);
            if (isfinite(end_s)) {
                b->all[b->n++] = (bracket){found->times_s[k], end_s, 0, 0, 0, 0};
            }
        }
    }
}

/* An early beat's bracket holds the interval after it, and the next early one. */
static void gather(brackets *b, const fm_rhythm *r)
{
    b->n = 0;
    gather_runs(b, r);
    for (size_t i = 0; i < r->n_intervals && i < FM_BEATS_MAX; i++) {
        const fm_interval *const v = &r->intervals[i];
        const fm_interval_kind kind = chart_shown_kind(r, v);
        if (!chart_is_flagged(kind) || !isfinite(end_of(v)) || in_run(b, v->start_s)) {
            continue;
        }
        const bool after = kind == FM_INTERVAL_AFTER_EARLY;
        const unsigned mark = after ? (unsigned)CHART_EARLY : chart_interval_mark(kind);
        bracket *const last = b->n > 0 ? &b->all[b->n - 1] : NULL;
        if (last != NULL && last->mark == mark && last->after == i &&
            fabs(last->end_s - v->start_s) < SAME_S) {
            last->end_s = end_of(v);
            last->after = i + 1;
            last->n += !after;
        } else if (b->n < FM_BEATS_MAX) {
            b->all[b->n++] =
                (bracket){v->start_s, end_of(v), mark, after ? 0 : 1, i, i + 1};
        }
    }
}

bool dial_has_brackets(const fm_rhythm *r)
{
    brackets b;
    gather(&b, r);
    return b.n > 0;
}

/* An arc with a foot at either end, and one where each early, late or paused interval of it
 * begins. */
static void draw_arc(const dial_frame *f, const bracket *b)
{
    const fm_rhythm *const r = &f->in->count->rhythm;
    svg_path(f->s);
    dial_radial(f, b->start_s, BRACKET - BRACKET_FOOT, BRACKET);
    for (size_t i = b->first + 1; i < b->after; i++) {
        if (chart_interval_mark(chart_shown_kind(r, &r->intervals[i])) == b->mark) {
            dial_radial(f, r->intervals[i].start_s, BRACKET - BRACKET_FOOT, BRACKET);
        }
    }
    dial_radial(f, b->end_s, BRACKET - BRACKET_FOOT, BRACKET);
    svg_arc(f->s, DIAL_CENTRE_X, f->centre_y, BRACKET, dial_angle(f, b->start_s),
            dial_angle(f, b->end_s));
    svg_path_end(f->s, (svg_stroke){SVG_INK, 1.6, NULL});
}

static bool draw_word(dial_frame *f, const bracket *b, double deg)
{
    static const svg_type type = {DIAL_LABEL, SVG_INK, SVG_MIDDLE, false};
    const char *const word = b->mark == 0             ? "fast run"
                             : b->mark == CHART_EARLY ? "early"
                             : b->mark == CHART_LATE  ? "late"
                             : b->n > 1               ? "pauses"
                                                      : "pause";
    char many[SVG_NUMBER_BYTES + 16];
    (void)snprintf(many, sizeof many, "%zu %s", b->n, word);
    return dial_label(f, WORD, deg, true, type, b->n > 1 ? many : word);
}

void dial_draw_brackets(dial_frame *f)
{
    brackets b;
    gather(&b, &f->in->count->rhythm);
    for (size_t i = 0; i < b.n; i++) {
        const bracket *const one = &b.all[i];
        if (!dial_inside(f, one->start_s) || !(one->end_s <= f->end_s)) {
            continue;
        }
        const double deg = dial_angle(f, 0.5 * (one->start_s + one->end_s));
        const bool worded = b.n <= WORDS_MOST || one->mark == 0 || one->n >= RUN_LEAST;
        draw_arc(f, one);
        if (one->mark != 0 && one->n > 0 && !(worded && draw_word(f, one, deg))) {
            chart_draw_interval_shape(f->s,
                                      svg_polar(DIAL_CENTRE_X, f->centre_y, SHAPE, deg),
                                      deg + 90.0, one->mark);
            f->marks |= one->mark;
        } else if (one->mark == 0) {
            (void)draw_word(f, one, deg);
        }
    }
}
