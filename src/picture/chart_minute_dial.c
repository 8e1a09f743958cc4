#include "src/picture/chart_minute_dial.h"

#include "src/picture/chart_dial_private.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

/* Radii, user units, from the outside in; more in chart_dial_private.h. */
#define TICK_UNSURE    12.0
#define SPAN_WORD      (DIAL_RIM + DIAL_TICK + 5.0)
#define OUTSIDE_PLAIN  (DIAL_RIM + DIAL_TICK + 10.0)
#define OUTSIDE        (DIAL_RIM + 70.0) /* with words round it */
#define MARK           5.0               /* one second */
#define MARK_FIVE      9.0
#define TAP_TOP        (DIAL_RIM - 15.0)
#define TAP_FOOT       (DIAL_RIM - 32.0)
#define TAP_MIDDLE     ((TAP_TOP + TAP_FOOT) / 2.0)
#define TAP_CROSS      (TAP_FOOT - 2.0)
#define NUMBER         (DIAL_RIM - 16.0) /* outer side of a scale number without taps */
#define NUMBER_TAPPED  (DIAL_RIM - 42.0)
#define BREATH_IN      16.0 /* from the inner side of a number to a breath */
#define BREATH_HALF    6.0
#define PAUSE_LABEL    8.0 /* from the band to its seconds */
#define PAUSE_CLEAR    9.0 /* from its end to the middle of the breath after it */
#define END_BAR        12.0
#define REST_LEAST_DEG 3.0  /* of half a second nothing is said */
#define HATCH_DEG      2.0  /* between strokes, about 5 units at the rim */
#define CAP_HALF       0.36 /* half the height of a capital, in sizes (DejaVu Sans) */
#define LINE           1.15 /* from one line of a label to the next, in sizes */
#define EDGE           2.0  /* no label nearer to the picture's side */

enum {
    LINE_BYTES = 64
};

double dial_angle(const dial_frame *f, double t_s)
{
    return (t_s - f->start_s) * DIAL_DEG_PER_S;
}

static svg_point at(const dial_frame *f, double r, double t_s)
{
    return svg_polar(DIAL_CENTRE_X, f->centre_y, r, dial_angle(f, t_s));
}

bool dial_inside(const dial_frame *f, double t_s)
{
    return t_s >= f->start_s && t_s < f->end_s;
}

void dial_radial(const dial_frame *f, double t_s, double from_r, double to_r)
{
    const svg_point a = at(f, from_r, t_s);
    const svg_point b = at(f, to_r, t_s);
    svg_segment(f->s, a.x, a.y, b.x, b.y);
}

/* Keeps a label's room; false where it meets another's, or the picture's side. */
static bool keep_room(dial_frame *f, dial_box box)
{
    bool free = box.left >= EDGE && box.right <= CHART_WIDTH - EDGE &&
                f->n_labels < DIAL_LABELS_MAX;
    for (size_t i = 0; i < f->n_labels; i++) {
        const dial_box *const o = &f->labels[i];
        free = free && (box.right < o->left || box.left > o->right ||
                        box.bottom < o->top || box.top > o->bottom);
    }
    if (free) {
        f->labels[f->n_labels++] = box;
    }
    return free;
}

bool dial_label(
    dial_frame *f, double r, double deg, bool outside, svg_type type, const char *words)
{
    const char *const below = outside ? strchr(words, ' ') : NULL;
    char line[LINE_BYTES];
    (void)snprintf(line, sizeof line, "%.*s",
                   (int)(below != NULL ? below - words : LINE_BYTES - 1), words);
    const svg_point out = svg_polar(0.0, 0.0, 1.0, deg);
    const double wide =
        fmax(svg_text_width(line, type.size),
             below != NULL ? svg_text_width(below + 1, type.size) : 0.0);
    const double step = below != NULL ? type.size * LINE : 0.0;
    const double half_x = wide / 2.0;
    const double half_y = type.size * 0.5 + step / 2.0;
    const double reach = half_x * fabs(out.x) + half_y * fabs(out.y);
    const svg_point p =
        svg_polar(DIAL_CENTRE_X, f->centre_y, outside ? r + reach : r - reach, deg);
    const double base = p.y - step / 2.0 + type.size * CAP_HALF;
    if (!keep_room(
            f, (dial_box){p.x - half_x, p.y - half_y, p.x + half_x, p.y + half_y})) {
        return false;
    }
    svg_text(f->s, p.x, base, type, line);
    svg_text(f->s, p.x, base + step, type, below != NULL ? below + 1 : NULL);
    return true;
}

/* The rim, a bar where it begins and ends, a mark a second, a number every five. */
static void draw_scale(dial_frame *f)
{
    svg *s = f->s;
    svg_path(s);
    svg_arc(s, DIAL_CENTRE_X, f->centre_y, DIAL_RIM, 0.0, dial_angle(f, f->end_s));
    svg_path_end(s, (svg_stroke){SVG_INK, 1.0, NULL});
    svg_path(s);
    for (double t = ceil(f->start_s); t <= f->end_s; t += 1.0) {
        dial_radial(f, t, DIAL_RIM, DIAL_RIM - MARK);
    }
    svg_path_end(s, (svg_stroke){SVG_GREY, 0.8, NULL});

    const double last_s = fmin(f->end_s, f->start_s + 60.0 - 1.0);
    const double first_s = 5.0 * ceil(f->start_s / 5.0);
    svg_path(s);
    for (double t = first_s; t <= last_s; t += 5.0) {
        dial_radial(f, t, DIAL_RIM, DIAL_RIM - MARK_FIVE);
    }
    svg_path_end(s, (svg_stroke){SVG_INK, 1.5, NULL});
    svg_path(s);
    dial_radial(f, f->start_s, DIAL_RIM, DIAL_RIM - END_BAR);
    dial_radial(f, f->end_s, DIAL_RIM, DIAL_RIM - END_BAR);
    svg_path_end(s, (svg_stroke){SVG_INK, 3.0, NULL});
    for (double t = first_s; t <= last_s; t += 5.0) {
        char text[SVG_NUMBER_BYTES + 8];
        (void)snprintf(text, sizeof text, "%s%s", SVG_NUMBER(t, 0),
                       t > first_s ? "" : " s");
        (void)dial_label(f, f->number_r, dial_angle(f, t), false,
                         (svg_type){SVG_TEXT_PX, SVG_GREY, SVG_MIDDLE, false}, text);
    }
}

/* The minute's rest beyond a short window: the ring goes on, faint, and says why. */
static void draw_rest(dial_frame *f)
{
    const double from = dial_angle(f, f->end_s);
    if (from < 360.0 - REST_LEAST_DEG) {
        svg_path(f->s);
        svg_arc(f->s, DIAL_CENTRE_X, f->centre_y, DIAL_RIM, from, 360.0);
        svg_path_end(f->s, (svg_stroke){SVG_PALE, 1.0, "4 4"});
        f->marks |= CHART_NOT_COUNTED;
        (void)dial_label(f, f->number_r, 0.5 * (from + 360.0), false,
                         (svg_type){DIAL_LABEL, SVG_GREY, SVG_MIDDLE, false},
                         "not counted");
    }
}

/* Slanted strokes across the band where S1 would stand; `back`: the other way. */
static void hatch_ring(const dial_frame *f, double from_deg, double to_deg, bool back)
{
    const double slant = DIAL_TICK / DIAL_RIM * DIAL_DEG_PER_RAD;
    for (double c = from_deg - slant + HATCH_DEG / 2.0; c < to_deg; c += HATCH_DEG) {
        const double u0 = fmax(0.0, (from_deg - c) / slant);
        const double u1 = fmin(1.0, (to_deg - c) / slant);
        const double r0 = back ? 1.0 - u0 : u0;
        const double r1 = back ? 1.0 - u1 : u1;
        const svg_point a = svg_polar(DIAL_CENTRE_X, f->centre_y,
                                      DIAL_RIM + DIAL_TICK * r0, c + slant * u0);
        const svg_point b = svg_polar(DIAL_CENTRE_X, f->centre_y,
                                      DIAL_RIM + DIAL_TICK * r1, c + slant * u1);
        svg_segment(f->s, a.x, a.y, b.x, b.y);
    }
}

/* One stretch, hatched as chart_marks says, with its word. */
static void draw_span(dial_frame *f, double from_s, double to_s, unsigned mark)
{
    svg_path(f->s);
    for (int back = 0; back < 2; back++) {
        if (chart_hatch_has(mark, back == 1)) {
            hatch_ring(f, dial_angle(f, from_s), dial_angle(f, to_s), back == 1);
        }
    }
    svg_path_end(f->s, (svg_stroke){SVG_PALE, 0.9, NULL});
    f->marks |= mark;
    (void)dial_label(f, SPAN_WORD, dial_angle(f, 0.5 * (from_s + to_s)), true,
                     (svg_type){DIAL_LABEL, SVG_INK, SVG_MIDDLE, false},
                     mark == CHART_GAP         ? "no audio"
                     : mark == CHART_NOT_HEARD ? "not heard"
                                               : "not usable");
}

/* What was not heard, and what could not be used: of a refused count all the rest. */
static void draw_spans(dial_frame *f, bool refused)
{
    const fm_quality *q = &f->in->count->heart.count.quality;
    double a = 0.0;
    double b = 0.0;
    double from_s = f->start_s;
    for (size_t i = 0; i < q->n_gaps && i < FM_SPANS_MAX; i++) {
        if (chart_clip(&q->gaps[i], f->start_s, f->end_s, &a, &b)) {
            draw_span(f, a, b, chart_gap_mark(&q->gaps[i]));
            if (refused && a > from_s) {
                draw_span(f, from_s, a, CHART_UNUSABLE);
            }
            from_s = fmax(from_s, b);
        }
    }
    for (size_t i = 0; !refused && i < q->n_unusable && i < FM_SPANS_MAX; i++) {
        if (chart_clip(&q->unusable[i], f->start_s, f->end_s, &a, &b)) {
            draw_span(f, a, b, CHART_UNUSABLE);
        }
    }
    if (refused && from_s < f->end_s) {
        draw_span(f, from_s, f->end_s, CHART_UNUSABLE);
    }
}

static void draw_beats(dial_frame *f)
{
    const fm_heart *h = &f->in->count->heart;
    svg_path(f->s);
    for (size_t i = 0; i < h->count.n && i < FM_BEATS_MAX; i++) {
        if (dial_inside(f, h->count.onsets_s[i])) {
            const bool sure = h->s1_sureness[i] >= CHART_SURE;
            dial_radial(f, h->count.onsets_s[i], DIAL_RIM,
                        DIAL_RIM + (sure ? DIAL_TICK : TICK_UNSURE));
            f->marks |= sure ? CHART_BEAT : CHART_BEAT_UNSURE;
        }
    }
    svg_path_end(f->s, (svg_stroke){SVG_INK, 2.2, NULL});
}

static void draw_taps(dial_frame *f)
{
    const fm_taps *taps = f->in->taps;
    svg *s = f->s;
    svg_path(s);
    for (size_t i = 0; i < taps->n_matched && i < FM_BEATS_MAX; i++) {
        const svg_point beat = at(f, DIAL_RIM, taps->matched[i].beat_s);
        const svg_point tap = at(f, TAP_TOP, taps->matched[i].tap_s);
        svg_segment(s, beat.x, beat.y, tap.x, tap.y);
    }
    for (size_t i = 0; i < taps->n_not_tapped && i < FM_BEATS_MAX; i++) {
        dial_radial(f, taps->not_tapped_s[i], DIAL_RIM, TAP_MIDDLE);
    }
    svg_path_end(s, (svg_stroke){SVG_GREY, 0.7, NULL});

    svg_path(s);
    for (size_t i = 0; i < taps->n_matched && i < FM_BEATS_MAX; i++) {
        dial_radial(f, taps->matched[i].tap_s, TAP_TOP, TAP_FOOT);
        f->marks |= CHART_TAP;
    }
    for (size_t i = 0; i < taps->n_extra && i < FM_TAPS_MAX; i++) {
        dial_radial(f, taps->extra_s[i], TAP_TOP, TAP_FOOT);
    }
    svg_path_end(s, (svg_stroke){SVG_BLUE, 2.2, NULL});
    for (size_t i = 0; i < taps->n_not_tapped && i < FM_BEATS_MAX; i++) {
        if (dial_inside(f, taps->not_tapped_s[i])) {
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
static void label_pause(dial_frame *f, double r, const fm_breath_pause *p)
{
    char text[2 * SVG_NUMBER_BYTES + 8];
    (void)snprintf(text, sizeof text, "%s-%s s", SVG_NUMBER(p->start_s, 0),
                   SVG_NUMBER(p->end_s, 0));
    const double middle_s =
        0.5 * (fmax(p->start_s, f->start_s) + fmin(p->end_s, f->end_s));
    (void)dial_label(f, r, dial_angle(f, middle_s), false,
                     (svg_type){SVG_TEXT_PX, SVG_INK, SVG_MIDDLE, false}, text);
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
        const double clear_s = PAUSE_CLEAR / r * DIAL_DEG_PER_RAD / DIAL_DEG_PER_S;
        const double drawn_to_s = fmax(from_s + 0.1, to_s - clear_s);
        svg_path(f->s);
        svg_arc(f->s, DIAL_CENTRE_X, f->centre_y, r + BREATH_HALF,
                dial_angle(f, from_s), dial_angle(f, drawn_to_s));
        svg_arc(f->s, DIAL_CENTRE_X, f->centre_y, r - BREATH_HALF,
                dial_angle(f, from_s), dial_angle(f, drawn_to_s));
        dial_radial(f, from_s, r - BREATH_HALF, r + BREATH_HALF);
        dial_radial(f, drawn_to_s, r - BREATH_HALF, r + BREATH_HALF);
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
        if (dial_inside(f, t_s)) {
            const double half_deg = BREATH_HALF / r * DIAL_DEG_PER_RAD;
            const double deg = dial_angle(f, t_s);
            const double foot = r - BREATH_HALF;
            const svg_point corners[] = {
                svg_polar(DIAL_CENTRE_X, f->centre_y, r + BREATH_HALF, deg),
                svg_polar(DIAL_CENTRE_X, f->centre_y, foot, deg - half_deg),
                svg_polar(DIAL_CENTRE_X, f->centre_y, foot, deg + half_deg)};
            svg_outline(f->s, corners, 3);
            f->marks |= CHART_BREATH;
        }
    }
    svg_path_fill(f->s, SVG_INK);
}

/* Words stand round it: of its rhythm, or of what was not heard or not usable. */
static bool has_words(const fm_count *count)
{
    const fm_event_count *const c = &count->heart.count;
    return c->status == FM_REFUSED || c->quality.n_gaps + c->quality.n_unusable > 0 ||
           dial_has_brackets(&count->rhythm);
}

double chart_minute_dial_height(const chart_minute_dial *dial)
{
    return 2.0 * (has_words(dial->count) ? OUTSIDE : OUTSIDE_PLAIN);
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
        draw_scale(&f);
        draw_rest(&f);
        draw_spans(&f, refused);
        if (!refused) {
            draw_beats(&f);
            dial_draw_brackets(&f);
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
