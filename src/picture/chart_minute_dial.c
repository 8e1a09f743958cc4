#include "src/picture/chart_minute_dial.h"

#include "src/picture/chart_marks.h"

#include <math.h>
#include <stdio.h>

/* Radii, user units, from the outside in. */
#define CENTRE_X      (CHART_WIDTH / 2.0)
#define RIM           176.0 /* the seconds scale; S1 stand on it */
#define TICK          25.0
#define TICK_UNSURE   12.0
#define BRACKET       (RIM + 30.0)
#define BRACKET_FOOT  5.0
#define LETTER        (RIM + 42.0)
#define LETTER_OUT    14.0 /* a letter with a near neighbour steps out by this */
#define LETTER_ROOM   12.0 /* between the middles of two letters side by side */
#define LETTER_SIZE   14.0
#define OUTSIDE_PLAIN (RIM + TICK + 12.0)
#define OUTSIDE       (RIM + 62.0) /* with brackets and letters */
#define MARK          5.0          /* one second */
#define MARK_FIVE     9.0
#define TAP_TOP       (RIM - 15.0)
#define TAP_FOOT      (RIM - 32.0)
#define TAP_MIDDLE    ((TAP_TOP + TAP_FOOT) / 2.0)
#define TAP_CROSS     (TAP_FOOT - 2.0)
#define NUMBER        (RIM - 16.0) /* outer side of a scale number without taps */
#define NUMBER_TAPPED (RIM - 42.0)
#define BREATH_IN     16.0 /* from the inner side of a number to a breath */
#define BREATH_HALF   6.0
#define PAUSE_LABEL   8.0 /* from the band to its seconds */
#define PAUSE_CLEAR   9.0 /* from its end to the middle of the breath after it */
#define END_BAR       12.0
#define DEG_PER_S     6.0
#define DEG_PER_RAD   57.29577951308232
#define HATCH_DEG     1.8  /* between strokes, about 5 units at the rim */
#define CAP_HALF      0.36 /* half the height of a capital, in sizes (DejaVu Sans) */

typedef struct dial_frame {
    svg *s;
    const chart_minute_dial *in;
    double start_s, end_s;
    double centre_y;
    double number_r; /* outer side of the scale numbers */
    unsigned marks;
} dial_frame;

static double angle(const dial_frame *f, double t_s)
{
    return (t_s - f->start_s) * DEG_PER_S;
}

static svg_point at(const dial_frame *f, double r, double t_s)
{
    return svg_polar(CENTRE_X, f->centre_y, r, angle(f, t_s));
}

static bool inside(const dial_frame *f, double t_s)
{
    return t_s >= f->start_s && t_s < f->end_s;
}

static void radial(const dial_frame *f, double t_s, double from_r, double to_r)
{
    const svg_point a = at(f, from_r, t_s);
    const svg_point b = at(f, to_r, t_s);
    svg_segment(f->s, a.x, a.y, b.x, b.y);
}

/* The rim, a bar where it begins and ends, a mark a second, a number every five. */
static void draw_scale(const dial_frame *f)
{
    svg *s = f->s;
    svg_path(s);
    svg_arc(s, CENTRE_X, f->centre_y, RIM, 0.0, angle(f, f->end_s));
    svg_path_end(s, (svg_stroke){SVG_INK, 1.0, NULL});
    svg_path(s);
    for (double t = ceil(f->start_s); t <= f->end_s; t += 1.0) {
        radial(f, t, RIM, RIM - MARK);
    }
    svg_path_end(s, (svg_stroke){SVG_GREY, 0.8, NULL});

    const svg_type type = {SVG_TEXT_PX, SVG_GREY, SVG_MIDDLE, false};
    const double last_s = fmin(f->end_s, f->start_s + 60.0 - 1.0);
    const double first_s = 5.0 * ceil(f->start_s / 5.0);
    svg_path(s);
    for (double t = first_s; t <= last_s; t += 5.0) {
        radial(f, t, RIM, RIM - MARK_FIVE);
    }
    svg_path_end(s, (svg_stroke){SVG_INK, 1.5, NULL});
    svg_path(s);
    radial(f, f->start_s, RIM, RIM - END_BAR);
    radial(f, f->end_s, RIM, RIM - END_BAR);
    svg_path_end(s, (svg_stroke){SVG_INK, 3.0, NULL});
    for (double t = first_s; t <= last_s; t += 5.0) {
        const char *const text = SVG_NUMBER(t, 0);
        const svg_point out = svg_polar(0.0, 0.0, 1.0, angle(f, t));
        const double half = svg_text_width(text, SVG_TEXT_PX) / 2.0;
        const double r =
            f->number_r - half * fabs(out.x) - SVG_TEXT_PX * CAP_HALF * fabs(out.y);
        const svg_point p = at(f, r, t);
        svg_text(s, p.x, p.y + SVG_TEXT_PX * CAP_HALF, type, text);
    }
}

/* Slanted strokes across the band where S1 would stand; `back`: the other way. */
static void hatch_ring(const dial_frame *f, double from_deg, double to_deg, bool back)
{
    const double slant = TICK / RIM * DEG_PER_RAD;
    for (double c = from_deg - slant + HATCH_DEG / 2.0; c < to_deg; c += HATCH_DEG) {
        const double u0 = fmax(0.0, (from_deg - c) / slant);
        const double u1 = fmin(1.0, (to_deg - c) / slant);
        const double r0 = back ? 1.0 - u0 : u0;
        const double r1 = back ? 1.0 - u1 : u1;
        const svg_point a =
            svg_polar(CENTRE_X, f->centre_y, RIM + TICK * r0, c + slant * u0);
        const svg_point b =
            svg_polar(CENTRE_X, f->centre_y, RIM + TICK * r1, c + slant * u1);
        svg_segment(f->s, a.x, a.y, b.x, b.y);
    }
}

static void draw_gaps(dial_frame *f)
{
    const fm_quality *q = &f->in->count->heart.count.quality;
    double a = 0.0;
    double b = 0.0;
    svg_path(f->s);
    for (size_t i = 0; i < q->n_gaps && i < FM_SPANS_MAX; i++) {
        if (chart_clip(&q->gaps[i], f->start_s, f->end_s, &a, &b)) {
            const unsigned mark = chart_gap_mark(&q->gaps[i]);
            hatch_ring(f, angle(f, a), angle(f, b), mark == CHART_NOT_HEARD);
            f->marks |= mark;
        }
    }
    svg_path_end(f->s, (svg_stroke){SVG_PALE, 0.9, NULL});
}

static void draw_unusable(dial_frame *f)
{
    const fm_quality *q = &f->in->count->heart.count.quality;
    double a = 0.0;
    double b = 0.0;
    svg_path(f->s);
    for (size_t i = 0; i < q->n_unusable && i < FM_SPANS_MAX; i++) {
        if (!chart_clip(&q->unusable[i], f->start_s, f->end_s, &a, &b)) {
            continue;
        }
        f->marks |= CHART_UNUSABLE;
        int row = 0;
        for (double r = RIM + 4.0; r < RIM + TICK; r += 5.0, row++) {
            const double shift = row % 2 == 0 ? 0.0 : 2.5 / r * DEG_PER_RAD;
            svg_arc(f->s, CENTRE_X, f->centre_y, r, angle(f, a) + shift, angle(f, b));
        }
    }
    svg_path_end(f->s, (svg_stroke){SVG_PALE, 1.6, SVG_DOTTED});
}

static void draw_beats(dial_frame *f)
{
    const fm_heart *h = &f->in->count->heart;
    svg_path(f->s);
    for (size_t i = 0; i < h->count.n && i < FM_BEATS_MAX; i++) {
        if (inside(f, h->count.onsets_s[i])) {
            const bool sure = h->s1_sureness[i] >= CHART_SURE;
            radial(f, h->count.onsets_s[i], RIM, RIM + (sure ? TICK : TICK_UNSURE));
            f->marks |= sure ? CHART_BEAT : CHART_BEAT_UNSURE;
        }
    }
    svg_path_end(f->s, (svg_stroke){SVG_INK, 2.2, NULL});
}

/* Where two letters would touch, the second steps outward. */
static double letter_radius(double deg, double *previous_deg, bool *stepped_out)
{
    const double apart = (deg - *previous_deg) * LETTER / DEG_PER_RAD;
    *stepped_out = apart < LETTER_ROOM && !*stepped_out;
    *previous_deg = deg;
    return *stepped_out ? LETTER + LETTER_OUT : LETTER;
}

static void draw_intervals(dial_frame *f)
{
    const fm_rhythm *r = &f->in->count->rhythm;
    double previous_deg = -360.0;
    bool stepped_out = false;
    for (size_t i = 0; i < r->n_intervals && i < FM_BEATS_MAX; i++) {
        const fm_interval *v = &r->intervals[i];
        const char *letter = chart_interval_letter(chart_shown_kind(r, v));
        const double end_s = v->start_s + v->length_s;
        if (letter == NULL || !inside(f, v->start_s) || !(end_s <= f->end_s)) {
            continue;
        }
        f->marks |= chart_interval_mark(v->kind);
        svg_path(f->s);
        radial(f, v->start_s, BRACKET - BRACKET_FOOT, BRACKET);
        radial(f, end_s, BRACKET - BRACKET_FOOT, BRACKET);
        svg_arc(f->s, CENTRE_X, f->centre_y, BRACKET, angle(f, v->start_s),
                angle(f, end_s));
        svg_path_end(f->s, (svg_stroke){SVG_INK, 1.5, NULL});
        const double middle = angle(f, v->start_s + v->length_s / 2.0);
        const double radius = letter_radius(middle, &previous_deg, &stepped_out);
        const svg_point p = svg_polar(CENTRE_X, f->centre_y, radius, middle);
        svg_text(f->s, p.x, p.y + LETTER_SIZE * CAP_HALF,
                 (svg_type){LETTER_SIZE, SVG_INK, SVG_MIDDLE, true}, letter);
    }
}

static void draw_taps(dial_frame *f)
{
    const fm_taps *taps = f->in->taps;
    svg *s = f->s;
    svg_path(s);
    for (size_t i = 0; i < taps->n_matched && i < FM_BEATS_MAX; i++) {
        const svg_point beat = at(f, RIM, taps->matched[i].beat_s);
        const svg_point tap = at(f, TAP_TOP, taps->matched[i].tap_s);
        svg_segment(s, beat.x, beat.y, tap.x, tap.y);
    }
    for (size_t i = 0; i < taps->n_not_tapped && i < FM_BEATS_MAX; i++) {
        radial(f, taps->not_tapped_s[i], RIM, TAP_MIDDLE);
    }
    svg_path_end(s, (svg_stroke){SVG_GREY, 0.7, NULL});

    svg_path(s);
    for (size_t i = 0; i < taps->n_matched && i < FM_BEATS_MAX; i++) {
        radial(f, taps->matched[i].tap_s, TAP_TOP, TAP_FOOT);
        f->marks |= CHART_TAP;
    }
    for (size_t i = 0; i < taps->n_extra && i < FM_TAPS_MAX; i++) {
        radial(f, taps->extra_s[i], TAP_TOP, TAP_FOOT);
    }
    svg_path_end(s, (svg_stroke){SVG_BLUE, 2.2, NULL});
    for (size_t i = 0; i < taps->n_not_tapped && i < FM_BEATS_MAX; i++) {
        if (inside(f, taps->not_tapped_s[i])) {
            const svg_point p = at(f, TAP_MIDDLE, taps->not_tapped_s[i]);
            chart_draw_foot(s, p.x, p.y);
            f->marks |= CHART_NOT_TAPPED;
        }
    }
    for (size_t i = 0; i < taps->n_extra && i < FM_TAPS_MAX; i++) {
        const svg_point p = at(f, TAP_CROSS, taps->extra_s[i]);
        chart_draw_cross(s, p.x, p.y);
        f->marks |= CHART_EXTRA_TAP;
    }
}

static double breath_radius(const dial_frame *f)
{
    return f->number_r - svg_text_width(SVG_NUMBER(f->end_s, 0), SVG_TEXT_PX) -
           BREATH_IN;
}

/* "27-41 s", its outer side just inside the band. */
static void label_pause(const dial_frame *f, double r, const fm_breath_pause *p)
{
    char text[2 * SVG_NUMBER_BYTES + 8];
    (void)snprintf(text, sizeof text, "%s-%s s", SVG_NUMBER(p->start_s, 0),
                   SVG_NUMBER(p->end_s, 0));
    const double middle_s =
        0.5 * (fmax(p->start_s, f->start_s) + fmin(p->end_s, f->end_s));
    const svg_point out = svg_polar(0.0, 0.0, 1.0, angle(f, middle_s));
    const double half = svg_text_width(text, SVG_TEXT_PX) / 2.0;
    const svg_point at_label =
        at(f, r - half * fabs(out.x) - SVG_TEXT_PX * CAP_HALF * fabs(out.y), middle_s);
    svg_text(f->s, at_label.x, at_label.y + SVG_TEXT_PX * CAP_HALF,
             (svg_type){SVG_TEXT_PX, SVG_INK, SVG_MIDDLE, true}, text);
}

/* An empty band closed at both ends: looked for, and no breath found. */
static void draw_pauses(dial_frame *f)
{
    const double r = breath_radius(f);
    for (size_t i = 0; i < f->in->n_pauses && i < FM_BREATH_PAUSES_MAX; i++) {
        const fm_breath_pause *const p = &f->in->pauses[i];
        const double from_s = fmax(p->start_s, f->start_s);
        const double to_s = fmin(p->end_s, f->end_s);
        if (!(to_s > from_s) || !isfinite(p->start_s + p->end_s)) {
            continue;
        }
        const double clear_s = PAUSE_CLEAR / r * DEG_PER_RAD / DEG_PER_S;
        const double drawn_to_s = fmax(from_s + 0.1, to_s - clear_s);
        svg_path(f->s);
        svg_arc(f->s, CENTRE_X, f->centre_y, r + BREATH_HALF, angle(f, from_s),
                angle(f, drawn_to_s));
        svg_arc(f->s, CENTRE_X, f->centre_y, r - BREATH_HALF, angle(f, from_s),
                angle(f, drawn_to_s));
        radial(f, from_s, r - BREATH_HALF, r + BREATH_HALF);
        radial(f, drawn_to_s, r - BREATH_HALF, r + BREATH_HALF);
        svg_path_end(f->s, (svg_stroke){SVG_INK, 1.8, NULL});
        label_pause(f, r - BREATH_HALF - PAUSE_LABEL, p);
        f->marks |= f->in->pauses_known ? CHART_KNOWN_BREATH_PAUSE : CHART_BREATH_PAUSE;
    }
}

static void draw_breaths(dial_frame *f)
{
    const double r = breath_radius(f);
    svg_path(f->s);
    for (size_t i = 0; i < f->in->n_breaths; i++) {
        const double t_s = f->in->breath_s[i];
        if (inside(f, t_s)) {
            const double half_deg = BREATH_HALF / r * DEG_PER_RAD;
            const double deg = angle(f, t_s);
            const double foot = r - BREATH_HALF;
            const svg_point corners[] = {
                svg_polar(CENTRE_X, f->centre_y, r + BREATH_HALF, deg),
                svg_polar(CENTRE_X, f->centre_y, foot, deg - half_deg),
                svg_polar(CENTRE_X, f->centre_y, foot, deg + half_deg)};
            svg_outline(f->s, corners, 3);
            f->marks |= CHART_BREATH;
        }
    }
    svg_path_fill(f->s, SVG_INK);
}

static bool has_letters(const fm_count *count)
{
    const fm_rhythm *r = &count->rhythm;
    for (size_t i = 0; i < r->n_intervals && i < FM_BEATS_MAX; i++) {
        if (chart_interval_letter(chart_shown_kind(r, &r->intervals[i])) != NULL) {
            return count->heart.count.status != FM_REFUSED;
        }
    }
    return false;
}

double chart_minute_dial_height(const chart_minute_dial *dial)
{
    return 2.0 * (has_letters(dial->count) ? OUTSIDE : OUTSIDE_PLAIN);
}

unsigned chart_minute_dial_draw(svg *s,
                                double x,
                                double y,
                                const chart_minute_dial *dial)
{
    const fm_window *w = &dial->count->heart.count.window;
    const bool refused = dial->count->heart.count.status == FM_REFUSED;
    const bool tapped = dial->taps != NULL && (!refused || dial->taps_on_known);
    dial_frame f = {
        .s = s,
        .in = dial,
        .start_s = w->start_s,
        .end_s = fmin(w->end_s, w->start_s + 60.0),
        .centre_y = chart_minute_dial_height(dial) / 2.0,
        .number_r = tapped ? NUMBER_TAPPED : NUMBER,
    };
    svg_group(s, x, y, "Minute dial");
    if (f.end_s > f.start_s) {
        draw_gaps(&f);
        draw_unusable(&f);
        draw_scale(&f);
        if (!refused) {
            draw_beats(&f);
            draw_intervals(&f);
        }
        if (tapped) {
            draw_taps(&f);
        }
        draw_pauses(&f);
        draw_breaths(&f);
    }
    svg_group_end(s);
    return f.marks;
}
