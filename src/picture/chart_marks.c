#include "src/picture/chart_marks.h"

#include <math.h>

#define SYMBOL_WIDTH  26.0 /* room for a symbol before its words */
#define ITEM_GAP      18.0
#define ROW_HEIGHT    23.0
#define SYMBOL_HALF   8.0
#define CROSS_HALF    5.0
#define FOOT_RADIUS   4.5
#define TRIANGLE_HALF 5.0
#define SHAPE_HALF    5.0
#define S1_STEM       13.0
#define S2_STEM       8.0
#define DOT_RADIUS    2.2
#define WEDGE_HALF    3.2
#define WEDGE_HEIGHT  6.5

static const unsigned INTERVAL_MARK[FM_INTERVAL_KIND_COUNT] = {
    [FM_INTERVAL_EARLY] = CHART_EARLY,
    [FM_INTERVAL_AFTER_EARLY] = CHART_AFTER_EARLY,
    [FM_INTERVAL_LATE] = CHART_LATE,
    [FM_INTERVAL_PAUSE] = CHART_PAUSE,
    [FM_INTERVAL_UNSURE] = CHART_INTERVAL_UNSURE,
};

static const struct {
    unsigned mark;
    const char *words;
} WORDS[] = {
    {CHART_BEAT, "S1 heard"},
    {CHART_BEAT_UNSURE, "S1, less sure"},
    {CHART_TAP, "tap, joined to its beat"},
    {CHART_NOT_TAPPED, "beat not tapped"},
    {CHART_EXTRA_TAP, "extra tap"},
    {CHART_BREATH, "breath begins"},
    {CHART_BREATH_PAUSE, "no breath heard"},
    {CHART_KNOWN_BREATH_PAUSE, "breathing paused"},
    {CHART_EARLY, "early"},
    {CHART_AFTER_EARLY, "long after an early one"},
    {CHART_LATE, "late"},
    {CHART_PAUSE, "pause"},
    {CHART_INTERVAL_UNSURE, "interval, less sure"},
    {CHART_SURENESS, "S1, the taller the surer"},
    {CHART_GAP, "no audio"},
    {CHART_NOT_HEARD, "not heard"},
    {CHART_UNUSABLE, "not usable"},
    {CHART_NOT_COUNTED, "not counted"},
    {CHART_S1, "S1 found"},
    {CHART_S2, "S2 found"},
    {CHART_TRUE_S1, "true S1"},
    {CHART_TRUE_S2, "true S2"},
};

enum {
    N_WORDS = sizeof WORDS / sizeof WORDS[0]
};

bool chart_is_flagged(fm_interval_kind kind)
{
    return chart_interval_mark(kind) != 0 && kind != FM_INTERVAL_UNSURE;
}

unsigned chart_gap_mark(const fm_span *gap)
{
    return gap->reason == FM_REASON_CONTACT_LOST ||
                   gap->reason == FM_REASON_CONTACT_OR_PAUSE
               ? CHART_NOT_HEARD
               : CHART_GAP;
}

fm_interval_kind chart_shown_kind(const fm_rhythm *rhythm, const fm_interval *interval)
{
    if (rhythm->pattern == FM_PATTERN_IRREGULARLY_IRREGULAR &&
        chart_is_flagged(interval->kind)) {
        return FM_INTERVAL_EXPECTED;
    }
    return interval->kind;
}

unsigned chart_interval_mark(fm_interval_kind kind)
{
    return (unsigned)kind < FM_INTERVAL_KIND_COUNT ? INTERVAL_MARK[kind] : 0;
}

bool chart_clip(
    const fm_span *span, double from_s, double to_s, double *a_s, double *b_s)
{
    const double end_s = span->start_s + span->length_s;
    *a_s = 0.0;
    *b_s = 0.0;
    if (!isfinite(end_s)) {
        return false;
    }
    *a_s = span->start_s > from_s ? span->start_s : from_s;
    *b_s = end_s < to_s ? end_s : to_s;
    return *b_s > *a_s;
}

static double x_of(const chart_axis *axis, double t_s)
{
    return axis->x + (t_s - axis->from_s) / axis->seconds * axis->width;
}

static void hatch(
    svg *s, double x, double y, double width, double height, unsigned mark)
{
    for (int back = 0; back < 2; back++) {
        if (chart_hatch_has(mark, back == 1)) {
            svg_hatch(s, x, y, width, height, back == 1);
        }
    }
}

unsigned chart_draw_spans(svg *s,
                          const fm_quality *quality,
                          const chart_axis *axis,
                          double top,
                          double height)
{
    unsigned marks = 0;
    double a_s = 0.0;
    double b_s = 0.0;
    for (size_t i = 0; i < quality->n_gaps && i < FM_SPANS_MAX; i++) {
        const fm_span *const gap = &quality->gaps[i];
        const unsigned mark = chart_gap_mark(gap);
        if (chart_clip(gap, axis->from_s, axis->to_s, &a_s, &b_s)) {
            const double left = x_of(axis, a_s);
            hatch(s, left, top, x_of(axis, b_s) - left, height, mark);
            marks |= mark;
        }
    }
    for (size_t i = 0; i < quality->n_unusable && i < FM_SPANS_MAX; i++) {
        if (chart_clip(&quality->unusable[i], axis->from_s, axis->to_s, &a_s, &b_s)) {
            const double left = x_of(axis, a_s);
            hatch(s, left, top, x_of(axis, b_s) - left, height, CHART_UNUSABLE);
            marks |= CHART_UNUSABLE;
        }
    }
    return marks;
}

void chart_plot(svg *s, double height, double x, const char *title, const char *desc)
{
    svg_begin(s, CHART_WIDTH, height, title, desc);
    svg_text(s, x, 20.0, (svg_type){16.0, SVG_INK, SVG_START, true}, title);
}

void chart_draw_cross(svg *s, double x, double y)
{
    svg_path(s);
    svg_segment(s, x - CROSS_HALF, y - CROSS_HALF, x + CROSS_HALF, y + CROSS_HALF);
    svg_segment(s, x - CROSS_HALF, y + CROSS_HALF, x + CROSS_HALF, y - CROSS_HALF);
    svg_path_end(s, (svg_stroke){SVG_ORANGE, 2.2, NULL});
}

void chart_draw_foot(svg *s, double x, double y)
{
    svg_circle(s, x, y, FOOT_RADIUS, (svg_stroke){SVG_ORANGE, 2.0, NULL});
}

void chart_draw_sound_mark(svg *s, double x, double y, bool is_s2)
{
    const double length = is_s2 ? S2_STEM : S1_STEM;
    svg_line(s, x, y, x, y + length, (svg_stroke){SVG_INK, is_s2 ? 1.0 : 1.8, NULL});
    svg_circle(s, x, y + length, DOT_RADIUS,
               (svg_stroke){SVG_INK, is_s2 ? 1.0 : 0.0, NULL});
}

void chart_draw_true_mark(svg *s, double x, double y, bool is_s2)
{
    const svg_point corners[] = {
        {x, y}, {x - WEDGE_HALF, y - WEDGE_HEIGHT}, {x + WEDGE_HALF, y - WEDGE_HEIGHT}};
    svg_path(s);
    svg_outline(s, corners, 3);
    if (is_s2) {
        svg_path_end(s, (svg_stroke){SVG_BLUE, 1.0, NULL});
    } else {
        svg_path_fill(s, SVG_BLUE);
    }
}

void chart_draw_interval_shape(svg *s, svg_point p, double deg, unsigned mark)
{
    const svg_point along = svg_polar(0.0, 0.0, SHAPE_HALF, deg);
    const svg_point across = svg_polar(0.0, 0.0, SHAPE_HALF, deg + 90.0);
    const double tip = mark == CHART_LATE ? 1.0 : -1.0;
    const svg_point arrow[] = {
        {p.x + tip * along.x, p.y + tip * along.y},
        {p.x - tip * along.x + across.x, p.y - tip * along.y + across.y},
        {p.x - tip * along.x - across.x, p.y - tip * along.y - across.y}};
    svg_path(s);
    if (mark == CHART_EARLY || mark == CHART_LATE) {
        svg_outline(s, arrow, 3);
        svg_path_fill(s, SVG_ORANGE);
    } else if (mark == CHART_PAUSE) {
        for (double side = -0.5; side < 1.0; side += 1.0) {
            const double x = p.x + side * along.x;
            const double y = p.y + side * along.y;
            svg_segment(s, x - across.x, y - across.y, x + across.x, y + across.y);
        }
        svg_path_end(s, (svg_stroke){SVG_ORANGE, 2.4, NULL});
    }
}

static void upright(svg *s, double x, double y, double half, const char *colour)
{
    svg_line(s, x, y - half, x, y + half, (svg_stroke){colour, 2.2, NULL});
}

static void draw_symbol(svg *s, double x, double y, unsigned mark)
{
    const double left = x - SYMBOL_HALF;
    const double top = y - SYMBOL_HALF;
    const double size = 2 * SYMBOL_HALF;
    const double up = y - TRIANGLE_HALF;
    const double down = y + TRIANGLE_HALF;
    const svg_point triangle[] = {
        {x, up}, {x - TRIANGLE_HALF, down}, {x + TRIANGLE_HALF, down}};
    const svg_point band[] = {
        {left, up}, {left + size, up}, {left + size, down}, {left, down}};
    switch ((chart_mark)mark) {
    case CHART_BEAT:
        upright(s, x, y, SYMBOL_HALF, SVG_INK);
        break;
    case CHART_BEAT_UNSURE:
        upright(s, x, y + SYMBOL_HALF / 2.0, SYMBOL_HALF / 2.0, SVG_INK);
        break;
    case CHART_TAP:
        upright(s, x, y, SYMBOL_HALF, SVG_BLUE);
        break;
    case CHART_NOT_TAPPED:
        chart_draw_foot(s, x, y);
        break;
    case CHART_EXTRA_TAP:
        upright(s, x, y - 2.0, SYMBOL_HALF, SVG_BLUE);
        chart_draw_cross(s, x, y + SYMBOL_HALF - 2.0);
        break;
    case CHART_BREATH:
        svg_path(s);
        svg_outline(s, triangle, 3);
        svg_path_fill(s, SVG_INK);
        break;
    case CHART_BREATH_PAUSE:
    case CHART_KNOWN_BREATH_PAUSE:
        svg_path(s);
        svg_outline(s, band, 4);
        svg_path_end(s, (svg_stroke){SVG_INK, 2.0, NULL});
        break;
    case CHART_INTERVAL_UNSURE:
        svg_line(s, left, y, left + size, y, (svg_stroke){SVG_INK, 2.6, "2.5 2"});
        break;
    case CHART_GAP:
    case CHART_NOT_HEARD:
    case CHART_UNUSABLE:
        hatch(s, left, top, size, size, mark);
        break;
    case CHART_NOT_COUNTED:
        svg_line(s, left - 2.0, y, left + size, y, (svg_stroke){SVG_PALE, 1.0, "4 4"});
        break;
    case CHART_SURENESS:
        for (int i = 0; i < 3; i++) {
            svg_line(s, left + 3.0 + 5.0 * i, down, left + 3.0 + 5.0 * i,
                     down - 4.0 - 3.0 * i, (svg_stroke){SVG_GREY, 1.4, NULL});
        }
        break;
    case CHART_S1:
    case CHART_S2:
        chart_draw_sound_mark(s, x, y - SYMBOL_HALF, mark == CHART_S2);
        break;
    case CHART_TRUE_S1:
    case CHART_TRUE_S2:
        chart_draw_true_mark(s, x, y + WEDGE_HEIGHT / 2.0, mark == CHART_TRUE_S2);
        break;
    case CHART_AFTER_EARLY:
        svg_line(s, left, y, left + size, y, (svg_stroke){SVG_ORANGE, 4.0, NULL});
        break;
    case CHART_EARLY:
    case CHART_LATE:
    case CHART_PAUSE:
        chart_draw_interval_shape(s, (svg_point){x, y}, 90.0, mark);
        break;
    }
}

double chart_legend_draw(svg *s, double x, double y, double width, unsigned marks)
{
    double at = x;
    double row = y;
    bool any = false;
    for (int i = 0; i < N_WORDS; i++) {
        if ((marks & WORDS[i].mark) == 0) {
            continue;
        }
        const double item = SYMBOL_WIDTH + svg_text_width(WORDS[i].words, SVG_TEXT_PX);
        if (any && at + item > x + width) {
            at = x;
            row += ROW_HEIGHT;
        }
        any = true;
        const double middle = row + ROW_HEIGHT / 2.0;
        draw_symbol(s, at + SYMBOL_HALF, middle, WORDS[i].mark);
        svg_text(s, at + SYMBOL_WIDTH, middle + SVG_TEXT_PX * 0.36,
                 (svg_type){SVG_TEXT_PX, SVG_INK, SVG_START, false}, WORDS[i].words);
        at += item + ITEM_GAP;
    }
    return any ? row + ROW_HEIGHT : y;
}
