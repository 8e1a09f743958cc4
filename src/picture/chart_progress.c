#include "src/picture/chart_plots.h"

#include "src/picture/chart_marks.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define LEFT   44.0
#define RIGHT  20.0
#define TOP    40.0
#define HEIGHT 170.0
#define FOOT   58.0
#define WHOLE  (TOP + HEIGHT + FOOT)
#define WIDTH  (CHART_WIDTH - LEFT - RIGHT)
#define SMALL  14.0
#define SIZE   4.0
/* A wilder count is an arrow at the edge with its number, so that one slip does not
 * flatten the rest and is not taken for one that lies there. */
#define REACH_MOST 20.0

#define ARROW 16.0

enum {
    DATE_LENGTH = 10, /* of "2026-11-30T10:05:00Z" */
    TIME_LENGTH = 5,
    BEYOND_ROWS =
        3 /* numbers above one another; one more has no room and only its arrow */
};

/* The numbers beyond one end of the scale: where the last one ends, and its row. */
typedef struct beyond {
    double to_x;
    int row;
} beyond;

typedef struct frame {
    const progress_point *points;
    size_t n;
    double reach;
} frame;

static double x_of(const frame *f, size_t i)
{
    return LEFT + 10.0 + ((double)i + 0.5) / (double)f->n * (WIDTH - 20.0);
}

static double y_of(const frame *f, double difference)
{
    return TOP + HEIGHT / 2.0 - difference / f->reach * HEIGHT / 2.0;
}

static frame frame_of(const progress *p)
{
    frame f = {p->points, p->n_points, fmax(1.0, p->within_per_min * 1.5)};
    if (f.n > CHART_PROGRESS_MOST) {
        f.points += f.n - CHART_PROGRESS_MOST;
        f.n = CHART_PROGRESS_MOST;
    }
    for (size_t i = 0; i < f.n; i++) {
        f.reach = fmax(f.reach, fabs(f.points[i].difference_per_min));
    }
    f.reach = fmin(f.reach, fmax(REACH_MOST, p->within_per_min * 1.5));
    return f;
}

static void draw_line(svg *s, double y, const char *colour, const char *dash)
{
    svg_line(s, LEFT, y, LEFT + WIDTH, y, (svg_stroke){colour, 1.0, dash});
}

static void draw_axes(svg *s, const frame *f, const progress *p)
{
    const svg_type beside = {SMALL, SVG_GREY, SVG_END, false};
    const double at[] = {f->reach, p->within_per_min, 0.0, -p->within_per_min,
                         -f->reach};
    for (int i = 0; i < 5; i++) {
        if ((i == 1 || i == 3) && f->reach - p->within_per_min < 0.1 * f->reach) {
            continue;
        }
        svg_text(s, LEFT - 6.0, y_of(f, at[i]) + SMALL * 0.35, beside,
                 SVG_NUMBER(at[i], 1));
    }
    draw_line(s, y_of(f, 0.0), SVG_PALE, NULL);
    draw_line(s, y_of(f, p->within_per_min), SVG_ORANGE, "5 4");
    draw_line(s, y_of(f, -p->within_per_min), SVG_ORANGE, "5 4");
}

static void draw_uneven(svg *s, double x, double y)
{
    const double r = SIZE * 1.3;
    const svg_point corners[] = {{x, y - r}, {x + r, y}, {x, y + r}, {x - r, y}};
    svg_path(s);
    svg_outline(s, corners, 4);
    svg_path_end(s, (svg_stroke){SVG_INK, 1.4, NULL});
}

static void draw_even(svg *s, double x, double y)
{
    svg_circle(s, x, y, SIZE * 0.8, (svg_stroke){SVG_BLUE, 0.0, NULL});
}

/* Out of the scale by its tip, on a stem; @return the arrow's inner end. */
static double draw_arrow(svg *s, double x, double edge, double inward)
{
    const double foot = edge + inward * ARROW;
    const svg_point head[] = {{x, edge},
                              {x - SIZE, edge + inward * SIZE * 2.0},
                              {x + SIZE, edge + inward * SIZE * 2.0}};
    svg_line(s, x, edge + inward * SIZE, x, foot, (svg_stroke){SVG_ORANGE, 1.8, NULL});
    svg_path(s);
    svg_outline(s, head, 3);
    svg_path_fill(s, SVG_ORANGE);
    return foot;
}

/* Its number beside the arrow, or a row further in where the one before it is too near. */
static void draw_beyond(
    svg *s, const frame *f, double x, double difference, beyond *last)
{
    const double inward = difference > 0.0 ? 1.0 : -1.0;
    const double foot =
        draw_arrow(s, x, y_of(f, difference > 0.0 ? f->reach : -f->reach), inward);
    const char *const text = SVG_NUMBER(difference, 0);
    const double half = svg_text_width(text, SMALL) / 2.0;
    const double middle = fmax(LEFT + half, fmin(LEFT + WIDTH - half, x));
    last->row = middle - half < last->to_x + 4.0 ? last->row + 1 : 0;
    last->to_x = fmax(last->to_x, middle + half);
    if (last->row < BEYOND_ROWS) {
        const double y =
            foot + inward * ((last->row + 0.5) * SMALL * 1.1) + SMALL * 0.36;
        svg_text(s, middle, y, (svg_type){SMALL, SVG_INK, SVG_MIDDLE, false}, text);
    }
}

static void draw_points(svg *s, const frame *f)
{
    beyond last[2] = {{-1e9, 0}, {-1e9, 0}};
    for (size_t i = 0; i < f->n; i++) {
        const double x = x_of(f, i);
        const double difference = f->points[i].difference_per_min;
        const double y = y_of(f, difference);
        if (fabs(difference) > f->reach) {
            draw_beyond(s, f, x, difference, &last[difference > 0.0]);
        } else if (f->points[i].uneven) {
            draw_uneven(s, x, y);
        } else {
            draw_even(s, x, y);
        }
    }
}

/* "10:05" of "2026-11-30T10:05:00Z"; "" where there is none. */
static const char *time_in(const char *utc)
{
    return strlen(utc) > DATE_LENGTH ? utc + DATE_LENGTH + 1 : "";
}

static bool any_beyond(const frame *f)
{
    bool any = false;
    for (size_t i = 0; i < f->n; i++) {
        any = any || fabs(f->points[i].difference_per_min) > f->reach;
    }
    return any;
}

static void draw_foot(svg *s, const frame *f)
{
    const svg_type type = {SMALL, SVG_GREY, SVG_START, false};
    const svg_type end = {SMALL, SVG_GREY, SVG_END, false};
    const char *const first = f->points[0].utc;
    const char *const last = f->points[f->n - 1].utc;
    char from[PROGRESS_UTC_BYTES + 8];
    char to[PROGRESS_UTC_BYTES + 8] = "";
    if (strncmp(first, last, DATE_LENGTH) != 0) {
        (void)snprintf(from, sizeof from, "%.10s", first);
        (void)snprintf(to, sizeof to, "%.10s", last);
    } else { /* all of one day: the date once, the times at the ends */
        (void)snprintf(from, sizeof from, "%.10s, %.5s UTC", first, time_in(first));
        if (strncmp(time_in(first), time_in(last), TIME_LENGTH) != 0) {
            (void)snprintf(to, sizeof to, "%.5s UTC", time_in(last));
        }
    }
    svg_text(s, LEFT, TOP + HEIGHT + 24.0, type, from);
    svg_text(s, LEFT + WIDTH, TOP + HEIGHT + 24.0, end, to);
    const double y = TOP + HEIGHT + 50.0;
    draw_even(s, LEFT + 5.0, y - 5.0);
    svg_text(s, LEFT + 15.0, y, type, "even");
    draw_uneven(s, LEFT + 73.0, y - 5.0);
    svg_text(s, LEFT + 85.0, y, type, "uneven");
    svg_line(s, LEFT + 152.0, y - 5.0, LEFT + 176.0, y - 5.0,
             (svg_stroke){SVG_ORANGE, 1.0, "5 4"});
    svg_text(s, LEFT + 182.0, y, type, "tolerance");
    if (any_beyond(f)) {
        (void)draw_arrow(s, LEFT + 275.0, y - 12.0, 1.0);
        svg_text(s, LEFT + 285.0, y, type, "beyond the scale");
    }
}

void chart_progress_draw(svg *s, const progress *p)
{
    static const char HEAD[] = "Yours less the second count, per minute";
    char desc[160];
    (void)snprintf(desc, sizeof desc,
                   "%zu counts in the order of time, %zu of them within %g per minute",
                   p->n_points, p->all.within, p->within_per_min);
    chart_plot(s, WHOLE, 14.0, HEAD, desc);
    if (p->n_points == 0) {
        svg_text(s, LEFT, TOP + HEIGHT / 2.0,
                 (svg_type){SVG_TEXT_PX, SVG_GREY, SVG_START, false},
                 "Nothing has been compared yet.");
    } else {
        const frame f = frame_of(p);
        draw_axes(s, &f, p);
        draw_points(s, &f);
        draw_foot(s, &f);
    }
    svg_end(s);
}
