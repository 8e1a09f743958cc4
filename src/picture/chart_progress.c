#include "src/picture/chart_plots.h"

#include "src/picture/chart_marks.h"

#include <math.h>
#include <stdio.h>

#define LEFT   44.0
#define RIGHT  16.0
#define TOP    40.0
#define HEIGHT 170.0
#define FOOT   58.0
#define WHOLE  (TOP + HEIGHT + FOOT)
#define WIDTH  (CHART_WIDTH - LEFT - RIGHT)
#define SMALL  12.0
#define SIZE   4.0
/* A wilder count is drawn at the edge, so that one slip does not flatten the rest. */
#define REACH_MOST 20.0

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
    const double held = fmax(-f->reach, fmin(f->reach, difference));
    return TOP + HEIGHT / 2.0 - held / f->reach * HEIGHT / 2.0;
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
    draw_line(s, y_of(f, 0.0), "#d0d0d0", NULL);
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

static void draw_points(svg *s, const frame *f)
{
    for (size_t i = 0; i < f->n; i++) {
        const double x = x_of(f, i);
        const double y = y_of(f, f->points[i].difference_per_min);
        if (f->points[i].uneven) {
            draw_uneven(s, x, y);
        } else {
            draw_even(s, x, y);
        }
    }
}

static void draw_foot(svg *s, const frame *f)
{
    const svg_type type = {SMALL, SVG_GREY, SVG_START, false};
    const svg_type end = {SMALL, SVG_GREY, SVG_END, false};
    char day[PROGRESS_UTC_BYTES];
    (void)snprintf(day, sizeof day, "%.10s", f->points[0].utc);
    svg_text(s, LEFT, TOP + HEIGHT + 20.0, type, day);
    (void)snprintf(day, sizeof day, "%.10s", f->points[f->n - 1].utc);
    svg_text(s, LEFT + WIDTH, TOP + HEIGHT + 20.0, end, day);
    const double y = TOP + HEIGHT + 42.0;
    draw_even(s, LEFT + 5.0, y - 4.0);
    svg_text(s, LEFT + 16.0, y, type, "even");
    draw_uneven(s, LEFT + 75.0, y - 4.0);
    svg_text(s, LEFT + 88.0, y, type, "uneven");
    svg_text(s, LEFT + 150.0, y, type, "dashed: the tolerance");
}

void chart_progress_draw(svg *s, const progress *p)
{
    static const char HEAD[] = "Count by count: yours less the second, per minute";
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
