#include "src/picture/chart_interval_strip.h"

#include "dsp/compare/agreement.h"

#include "src/picture/chart_marks.h"

#include <math.h>
#include <stdio.h>

#define ROW_S       30.0 /* a row: neighbouring shapes still have room */
#define LEFT        38.0
#define RIGHT       16.0
#define PLOT_WIDTH  (CHART_WIDTH - LEFT - RIGHT)
#define PLOT_HEIGHT 94.0
#define LANE        13.0 /* below zero: one tick an S1 */
#define HEAD        28.0
#define ROW_GAP     24.0 /* below a row: its seconds */
#define ROW_HEIGHT  (PLOT_HEIGHT + LANE + ROW_GAP)
#define FOOT        20.0 /* below the last row: what the seconds are */
#define BAR         3.0
#define BAR_SPACE   0.7  /* left blank at either end of a bar */
#define SURE_TICK   10.0 /* height of a fully sure S1 */
#define SHAPE_AWAY  10.0 /* from a bar to the middle of its shape */
#define SHAPE_ROOM  11.0
#define SHAPE_STEP  11.5
#define LABEL_SIZE  14.0

typedef struct strip_frame {
    svg *s;
    const fm_count *count;
    double start_s, end_s;
    double top_s; /* interval length at the top of a row */
    unsigned marks;
} strip_frame;

static int n_rows(const fm_window *window)
{
    const double n = ceil((window->end_s - window->start_s) / ROW_S);
    return n >= 2.0 ? 2 : 1;
}

double chart_interval_strip_height(const fm_window *window)
{
    return HEAD + n_rows(window) * ROW_HEIGHT + FOOT;
}

static bool drawable(const fm_interval *v)
{
    return isfinite(v->start_s) && isfinite(v->length_s) && v->length_s > 0.0;
}

/* Median and greatest length of the sure intervals; NaN and 0 for none. */
static double median_length(const fm_rhythm *r, double *greatest)
{
    double sorted[FM_BEATS_MAX];
    size_t n = 0;
    for (size_t i = 0; i < r->n_intervals && i < FM_BEATS_MAX; i++) {
        if (drawable(&r->intervals[i]) && r->intervals[i].kind != FM_INTERVAL_UNSURE) {
            sorted[n++] = r->intervals[i].length_s;
        }
    }
    *greatest = 0.0;
    if (n == 0) {
        return (double)NAN;
    }
    fm_sort_ascending(sorted, n);
    *greatest = sorted[n - 1];
    return n % 2 == 1 ? sorted[n / 2] : (sorted[n / 2 - 1] + sorted[n / 2]) / 2.0;
}

static double row_start(const strip_frame *f, int row)
{
    return f->start_s + row * ROW_S;
}

/* Where the row's intervals stand: zero; the seconds are LANE below. */
static double row_zero(int row)
{
    return HEAD + PLOT_HEIGHT + row * ROW_HEIGHT;
}

static double x_of(const strip_frame *f, int row, double t_s)
{
    return LEFT + (t_s - row_start(f, row)) / ROW_S * PLOT_WIDTH;
}

static double y_of(const strip_frame *f, int row, double length_s)
{
    return row_zero(row) - length_s / f->top_s * PLOT_HEIGHT;
}

static void draw_lengths(const strip_frame *f, int row, double to_s)
{
    svg *s = f->s;
    const double step_s = f->top_s > 4.0 ? 2.0 : (f->top_s > 1.6 ? 1.0 : 0.5);
    const svg_type type = {LABEL_SIZE, SVG_GREY, SVG_END, false};
    svg_path(s);
    for (double v = 0.0; v < f->top_s; v += step_s) {
        svg_segment(s, LEFT, y_of(f, row, v), x_of(f, row, to_s), y_of(f, row, v));
    }
    svg_path_end(s, (svg_stroke){SVG_PALE, 0.4, NULL});
    for (double v = 0.0; v < f->top_s; v += step_s) {
        svg_text(s, LEFT - 6.0, y_of(f, row, v) + LABEL_SIZE * 0.3, type,
                 SVG_NUMBER(v, 1));
    }
}

static void draw_axes(const strip_frame *f, int row)
{
    svg *s = f->s;
    const double from_s = row_start(f, row);
    const double to_s = fmin(f->end_s, from_s + ROW_S);
    const double foot = row_zero(row) + LANE;
    draw_lengths(f, row, to_s);
    svg_path(s);
    svg_segment(s, LEFT, foot, x_of(f, row, to_s), foot);
    svg_segment(s, LEFT, foot, LEFT, row_zero(row) - PLOT_HEIGHT);
    for (double t = ceil(from_s); t <= to_s; t += 1.0) {
        const bool five = fmod(t, 5.0) < 0.5;
        svg_segment(s, x_of(f, row, t), foot, x_of(f, row, t),
                    foot + (five ? 6.0 : 3.0));
    }
    svg_path_end(s, (svg_stroke){SVG_INK, 1.0, NULL});
    const svg_type type = {LABEL_SIZE, SVG_GREY, SVG_MIDDLE, false};
    for (double t = 5.0 * ceil(from_s / 5.0); t <= to_s; t += 5.0) {
        svg_text(s, x_of(f, row, t), foot + 19.0, type, SVG_NUMBER(t, 0));
    }
}

static void draw_spans(strip_frame *f, int row)
{
    const double from_s = row_start(f, row);
    const chart_axis axis = {from_s, fmin(f->end_s, from_s + ROW_S), LEFT, ROW_S,
                             PLOT_WIDTH};
    f->marks |= chart_draw_spans(f->s, &f->count->heart.count.quality, &axis,
                                 row_zero(row) - PLOT_HEIGHT, PLOT_HEIGHT + LANE);
}

/* One tick an S1 between zero and the seconds, the taller the surer. */
static void draw_sureness(strip_frame *f, int row)
{
    const fm_heart *h = &f->count->heart;
    const double from_s = row_start(f, row);
    const double to_s = fmin(f->end_s, from_s + ROW_S);
    const double foot = row_zero(row) + LANE;
    svg_path(f->s);
    for (size_t i = 0; i < h->count.n && i < FM_BEATS_MAX; i++) {
        const double t = h->count.onsets_s[i];
        const double sure = fmin(1.0, fmax(0.0, (double)h->s1_sureness[i]));
        if (t >= from_s && t < to_s) {
            svg_segment(f->s, x_of(f, row, t), foot, x_of(f, row, t),
                        foot - 1.0 - SURE_TICK * sure);
            f->marks |= CHART_SURENESS;
        }
    }
    svg_path_end(f->s, (svg_stroke){SVG_GREY, 1.4, NULL});
}

/* The part of an interval's bar that lies in a row. */
static void draw_bar(const strip_frame *f, int row, const fm_interval *v)
{
    const double from_s = row_start(f, row);
    const double a = fmax(v->start_s, from_s);
    const double b = fmin(v->start_s + v->length_s, fmin(f->end_s, from_s + ROW_S));
    if (b > a) {
        const double y = y_of(f, row, v->length_s);
        svg_segment(f->s, x_of(f, row, a) + BAR_SPACE, y, x_of(f, row, b) - BAR_SPACE,
                    y);
    }
}

static void draw_bars(strip_frame *f, int row, fm_interval_kind only, svg_stroke stroke)
{
    const fm_rhythm *r = &f->count->rhythm;
    svg_path(f->s);
    for (size_t i = 0; i < r->n_intervals && i < FM_BEATS_MAX; i++) {
        const fm_interval *v = &r->intervals[i];
        if (chart_shown_kind(r, v) == only && drawable(v) && v->length_s <= f->top_s) {
            draw_bar(f, row, v);
            f->marks |= chart_interval_mark(only);
        }
    }
    svg_path_end(f->s, stroke);
}

/* Where two shapes would touch, the second steps away from its bar. */
static bool steps_away(double x, double *last_x, bool stepped)
{
    const bool near = x - *last_x < SHAPE_ROOM;
    *last_x = x;
    return near && !stepped;
}

/* Early stands below its low bar, the others above: neighbours never share a place. */
static void draw_shapes(const strip_frame *f, int row)
{
    const fm_rhythm *r = &f->count->rhythm;
    double last_x[2] = {-SHAPE_ROOM, -SHAPE_ROOM};
    bool stepped[2] = {false, false};
    for (size_t i = 0; i < r->n_intervals && i < FM_BEATS_MAX; i++) {
        const fm_interval *v = &r->intervals[i];
        const fm_interval_kind kind = chart_shown_kind(r, v);
        const double middle_s = v->start_s + v->length_s / 2.0;
        const double into_s = middle_s - row_start(f, row);
        if (!chart_is_flagged(kind) || kind == FM_INTERVAL_AFTER_EARLY ||
            !drawable(v) || into_s < 0.0 || into_s >= ROW_S) {
            continue;
        }
        const bool below = v->kind == FM_INTERVAL_EARLY;
        const double x = x_of(f, row, middle_s);
        stepped[below] = steps_away(x, &last_x[below], stepped[below]);
        const double away = SHAPE_AWAY + (stepped[below] ? SHAPE_STEP : 0.0);
        const double y = y_of(f, row, v->length_s) + (below ? away : -away);
        chart_draw_interval_shape(f->s, (svg_point){x, y}, 90.0,
                                  chart_interval_mark(kind));
    }
}

static void draw_median(const strip_frame *f, int row, double median_s)
{
    const double to_s = fmin(f->end_s, row_start(f, row) + ROW_S);
    const double y = y_of(f, row, median_s);
    svg_line(f->s, LEFT, y, x_of(f, row, to_s), y, (svg_stroke){SVG_GREY, 1.0, "5 4"});
}

static void draw_head(const strip_frame *f, double median_s)
{
    const svg_type type = {LABEL_SIZE, SVG_GREY, SVG_START, false};
    svg_text(f->s, 16.0, 14.0, type, "interval from S1 to S1, s");
    if (isfinite(median_s)) {
        char text[48];
        (void)snprintf(text, sizeof text, "median %s s", SVG_NUMBER(median_s, 2));
        const double x = CHART_WIDTH - RIGHT;
        svg_text(f->s, x, 14.0, (svg_type){LABEL_SIZE, SVG_GREY, SVG_END, false}, text);
        const double left = x - svg_text_width(text, LABEL_SIZE) - 32.0;
        svg_line(f->s, left, 9.0, left + 24.0, 9.0, (svg_stroke){SVG_GREY, 1.0, "5 4"});
    }
}

static void draw_rhythm(strip_frame *f, int row, double median_s)
{
    static const svg_stroke plain = {SVG_INK, BAR, NULL};
    static const svg_stroke flagged = {SVG_ORANGE, BAR + 1.0, NULL};
    static const svg_stroke unsure = {SVG_INK, BAR, "2.5 2"};
    draw_sureness(f, row);
    draw_median(f, row, median_s);
    draw_bars(f, row, FM_INTERVAL_EXPECTED, plain);
    draw_bars(f, row, FM_INTERVAL_UNSURE, unsure);
    draw_bars(f, row, FM_INTERVAL_EARLY, flagged);
    draw_bars(f, row, FM_INTERVAL_AFTER_EARLY, flagged);
    draw_bars(f, row, FM_INTERVAL_LATE, flagged);
    draw_bars(f, row, FM_INTERVAL_PAUSE, flagged);
    draw_shapes(f, row);
}

unsigned chart_interval_strip_draw(svg *s, double x, double y, const fm_count *count)
{
    const fm_window *w = &count->heart.count.window;
    const bool refused = count->heart.count.status == FM_REFUSED;
    double greatest_s = 0.0;
    const double median_s =
        refused ? (double)NAN : median_length(&count->rhythm, &greatest_s);
    strip_frame f = {s, count, w->start_s, fmin(w->end_s, w->start_s + 60.0), 0.0, 0};
    f.top_s = fmax(1.2, greatest_s * 1.22); /* the shape above the longest has room */
    svg_group(s, x, y, "Interval strip");
    draw_head(&f, median_s);
    for (int row = 0; row < n_rows(w) && f.end_s > f.start_s; row++) {
        draw_spans(&f, row);
        draw_axes(&f, row);
        if (!refused) {
            draw_rhythm(&f, row, median_s);
        }
    }
    const double foot = chart_interval_strip_height(w) - FOOT;
    svg_text(s, LEFT + PLOT_WIDTH / 2.0, foot + 12.0,
             (svg_type){LABEL_SIZE, SVG_GREY, SVG_MIDDLE, false},
             "seconds of the recording");
    svg_group_end(s);
    return f.marks;
}
