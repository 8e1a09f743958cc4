#include "src/picture/chart_plots.h"

#include "src/picture/chart_marks.h"

#include <stdio.h>
#include <stdlib.h>

#define LEFT   30.0
#define RIGHT  14.0
#define TOP    40.0
#define HEIGHT 130.0
#define FOOT   44.0
#define WHOLE  (TOP + HEIGHT + FOOT)
#define WIDTH  (CHART_WIDTH - LEFT - RIGHT)
#define SPACE  1.5 /* between two bars */
#define SMALL  14.0
#define COUNTS 12 /* with more bars than this their counts would touch */

static double x_of(const summary_bins *b, double bin)
{
    return LEFT + bin / (double)b->n * WIDTH;
}

static void draw_bars(svg *s, const summary_bins *b)
{
    for (size_t i = 0; i < b->n; i++) {
        const double height = (double)b->count[i] / (double)b->most * HEIGHT;
        const double x = x_of(b, (double)i) + SPACE / 2.0;
        if (b->count[i] > 0) {
            svg_rect(s, x, TOP + HEIGHT - height, WIDTH / (double)b->n - SPACE, height,
                     SVG_BLUE);
        }
    }
    const svg_type type = {SMALL, SVG_INK, SVG_MIDDLE, false};
    for (size_t i = 0; i < b->n && b->n <= COUNTS; i++) {
        char text[24];
        const double height = (double)b->count[i] / (double)b->most * HEIGHT;
        (void)snprintf(text, sizeof text, "%zu", b->count[i]);
        if (b->count[i] > 0) {
            svg_text(s, x_of(b, (double)i + 0.5), TOP + HEIGHT - height - 4.0, type,
                     text);
        }
    }
}

/* As many numbers as have room: every bin's edge, every second, ... */
static void draw_scale(svg *s, const chart_histogram *h)
{
    const summary_bins *const b = &h->bins;
    const svg_type type = {SMALL, SVG_GREY, SVG_MIDDLE, false};
    const size_t every = 1 + b->n / 13;
    svg_path(s);
    svg_segment(s, LEFT, TOP + HEIGHT, LEFT + WIDTH, TOP + HEIGHT);
    for (size_t i = 0; i <= b->n; i += every) {
        const double x = x_of(b, (double)i);
        svg_segment(s, x, TOP + HEIGHT, x, TOP + HEIGHT + 4.0);
    }
    svg_path_end(s, (svg_stroke){SVG_GREY, 1.0, NULL});
    for (size_t i = 0; i <= b->n; i += every) {
        svg_text(s, x_of(b, (double)i), TOP + HEIGHT + 17.0, type,
                 SVG_NUMBER(b->from + (double)i * b->step, h->decimals));
    }
    svg_text(s, LEFT + WIDTH / 2.0, TOP + HEIGHT + 36.0,
             (svg_type){SMALL, SVG_GREY, SVG_MIDDLE, false}, h->unit);
}

/* The bars in words, for who does not see them. */
static void describe(svg *to, const chart_histogram *h)
{
    const summary_bins *const b = &h->bins;
    svg_put(to, "%s:", h->unit);
    for (size_t i = 0; i < b->n; i++) {
        const double low = b->from + (double)i * b->step;
        if (b->count[i] > 0) {
            svg_put(to, " from %s to under %s: %zu.", SVG_NUMBER(low, h->decimals),
                    SVG_NUMBER(low + b->step, h->decimals), b->count[i]);
        }
    }
    svg_raw(to, b->n == 0 ? " none" : "");
}

void chart_histogram_draw(svg *s, const chart_histogram *h)
{
    svg words = {0};
    describe(&words, h);
    char *const text = svg_take(&words, NULL);
    chart_plot(s, WHOLE, LEFT, h->title, text != NULL ? text : "");
    free(text);
    if (h->bins.n == 0) {
        svg_text(s, LEFT, TOP + HEIGHT / 2.0,
                 (svg_type){SVG_TEXT_PX, SVG_GREY, SVG_START, false},
                 "No row has this number.");
    } else {
        draw_bars(s, &h->bins);
        draw_scale(s, h);
    }
    svg_end(s);
}
