#include "src/picture/chart_plots.h"

#include "src/picture/chart_marks.h"

#include <math.h>
#include <stdio.h>

#define LEFT   44.0
#define RIGHT  92.0 /* the lines' numbers */
#define TOP    40.0
#define HEIGHT 190.0
#define FOOT   44.0
#define WHOLE  (TOP + HEIGHT + FOOT)
#define WIDTH  (CHART_WIDTH - LEFT - RIGHT)
#define SMALL  14.0
#define APART  16.0 /* least height between the numbers of two lines */
#define INSET  5.0  /* from the scale's ends to where a point can lie: a whole dot */

typedef struct frame {
    double from_x, to_x;
    double reach; /* the scale of differences goes from -reach to reach */
} frame;

static double x_of(const frame *f, double mean)
{
    return LEFT + INSET +
           (mean - f->from_x) / (f->to_x - f->from_x) * (WIDTH - 2 * INSET);
}

static double y_of(const frame *f, double difference)
{
    return TOP + HEIGHT / 2.0 - difference / f->reach * (HEIGHT / 2.0 - INSET);
}

static bool has_limits(const fm_agreement *a)
{
    return isfinite(a->limits.low) && isfinite(a->limits.high);
}

/* The scales hold every point and every line that is drawn. */
static frame frame_of(const summary_pairs *p)
{
    frame f = {(double)INFINITY, -(double)INFINITY, 1.0};
    for (size_t i = 0; i < p->truth.n; i++) {
        const double mean = 0.5 * (p->measured.value[i] + p->truth.value[i]);
        f.from_x = fmin(f.from_x, mean);
        f.to_x = fmax(f.to_x, mean);
    }
    f.from_x = floor(f.from_x / 10.0) * 10.0;
    f.to_x = fmax(ceil(f.to_x / 10.0) * 10.0, f.from_x + 10.0);
    const double limit =
        fmax(fabs(p->agreement.limits.low), fabs(p->agreement.limits.high));
    f.reach = fmax(f.reach, p->agreement.worst_absolute);
    f.reach = has_limits(&p->agreement) ? fmax(f.reach, limit) : f.reach;
    f.reach *= 1.1; /* so that none lies at the scale's end */
    f.reach = f.reach <= 5.0 ? ceil(f.reach) : ceil(f.reach / 5.0) * 5.0;
    return f;
}

static void draw_axes(svg *s, const frame *f)
{
    const svg_type below = {SMALL, SVG_GREY, SVG_MIDDLE, false};
    const svg_type beside = {SMALL, SVG_GREY, SVG_END, false};
    svg_path(s);
    svg_segment(s, LEFT, TOP, LEFT, TOP + HEIGHT);
    svg_segment(s, LEFT, TOP + HEIGHT, LEFT + WIDTH, TOP + HEIGHT);
    svg_path_end(s, (svg_stroke){SVG_GREY, 1.0, NULL});
    svg_line(s, LEFT, y_of(f, 0.0), LEFT + WIDTH, y_of(f, 0.0),
             (svg_stroke){SVG_PALE, 0.8, NULL});
    for (int i = -2; i <= 2; i++) {
        const double v = f->reach * (double)i / 2.0;
        svg_text(s, LEFT - 6.0, y_of(f, v) + SMALL * 0.35, beside, SVG_NUMBER(v, 1));
    }
    const double step = f->to_x - f->from_x > 80.0 ? 20.0 : 10.0;
    for (double v = f->from_x; v <= f->to_x + 0.01; v += step) {
        svg_text(s, x_of(f, v), TOP + HEIGHT + 17.0, below, SVG_NUMBER(v, 0));
    }
    svg_text(s, LEFT + WIDTH / 2.0, TOP + HEIGHT + 36.0, below,
             "mean of both counts, per minute");
}

/* Bias unbroken, limits dashed, each with its number and far enough from the next. */
static void draw_lines(svg *s, const frame *f, const fm_agreement *a)
{
    const double at[] = {a->limits.high, a->bias, a->limits.low};
    double label_y = 0.0;
    for (int i = 0; i < 3; i++) {
        if (!isfinite(at[i]) || (i != 1 && !has_limits(a))) {
            continue;
        }
        const double y = y_of(f, at[i]);
        char text[SVG_NUMBER_BYTES + 16];
        svg_line(s, LEFT, y, LEFT + WIDTH, y,
                 (svg_stroke){SVG_ORANGE, 1.4, i == 1 ? NULL : "5 4"});
        (void)snprintf(text, sizeof text, "%s%s", i == 1 ? "bias " : "limit ",
                       SVG_NUMBER(at[i], 1));
        label_y = fmax(y + SMALL * 0.35, label_y + APART);
        svg_text(s, LEFT + WIDTH + 6.0, label_y,
                 (svg_type){SMALL, SVG_INK, SVG_START, false}, text);
    }
}

static void draw_points(svg *s, const frame *f, const summary_pairs *p)
{
    const size_t every = 1 + p->truth.n / CHART_DIFFERENCES_MOST;
    for (size_t i = 0; i < p->truth.n; i += every) {
        const double m = p->measured.value[i];
        const double t = p->truth.value[i];
        svg_circle(s, x_of(f, 0.5 * (m + t)), y_of(f, m - t), 3.0,
                   (svg_stroke){SVG_BLUE, 0.0, NULL});
    }
}

void chart_differences_draw(svg *s, const char *title, const summary_pairs *p)
{
    const fm_agreement *const a = &p->agreement;
    char desc[200];
    int n =
        snprintf(desc, sizeof desc, "%zu pairs; bias %.2f per minute", a->n, a->bias);
    if (has_limits(a)) {
        (void)snprintf(desc + n, sizeof desc - (size_t)n,
                       ", limits of agreement %.2f and %.2f", a->limits.low,
                       a->limits.high);
    }
    chart_plot(s, WHOLE, 14.0, title, a->n > 1 ? desc : "fewer than two pairs");
    if (a->n == 0) {
        svg_text(s, LEFT, TOP + HEIGHT / 2.0,
                 (svg_type){SVG_TEXT_PX, SVG_GREY, SVG_START, false},
                 "No row has both numbers.");
    } else {
        const frame f = frame_of(p);
        draw_axes(s, &f);
        draw_points(s, &f, p);
        draw_lines(s, &f, a);
    }
    svg_end(s);
}
