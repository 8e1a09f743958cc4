#include "src/picture/chart_sound_strip.h"

#include "src/picture/chart_marks.h"

#include <math.h>

#define ROW_S       10.0 /* 43 units a second: S1 and S2 stand well apart */
#define MARGIN      16.0
#define LEFT        22.0
#define RIGHT       16.0
#define PLOT_WIDTH  (CHART_WIDTH - LEFT - RIGHT)
#define PLOT_HEIGHT 46.0
#define HEAD        26.0
#define TRUTH       10.0 /* above a row: true marks */
#define MARKS       20.0 /* below it: marks found */
#define SECONDS     22.0 /* and its seconds */
#define ROW_HEIGHT  (TRUTH + PLOT_HEIGHT + MARKS + SECONDS)
#define FOOT        18.0
#define LABEL_SIZE  14.0
#define SHADE       SVG_PALE

enum {
    ROWS_MAX = 60,
    COLUMNS = 442 /* PLOT_WIDTH in whole units: the loudest of each is drawn */
};

typedef struct sound_frame {
    svg *s;
    const chart_sound_strip *in;
    double loudest;
    unsigned marks;
} sound_frame;

static int n_rows(const chart_sound_strip *strip)
{
    const double length_s = strip->to_s - strip->from_s;
    if (!isfinite(length_s) || !(length_s > 0.0)) {
        return 0;
    }
    const double n = ceil(length_s / ROW_S);
    return n < ROWS_MAX ? (int)n : ROWS_MAX;
}

/* Its legend not counted. */
static double strip_height(const chart_sound_strip *strip)
{
    return HEAD + n_rows(strip) * ROW_HEIGHT + FOOT;
}

static double row_start(const sound_frame *f, int row)
{
    return f->in->from_s + row * ROW_S;
}

static double row_end(const sound_frame *f, int row)
{
    return fmin(f->in->to_s, row_start(f, row) + ROW_S);
}

static double row_zero(int row)
{
    return HEAD + row * ROW_HEIGHT + TRUTH + PLOT_HEIGHT;
}

static double x_of(const sound_frame *f, int row, double t_s)
{
    return LEFT + (t_s - row_start(f, row)) / ROW_S * PLOT_WIDTH;
}

/* First value at or after t_s, kept in 0..n. */
static size_t index_at(const chart_sound_strip *in, double t_s)
{
    const double i = ceil((t_s - in->envelope_start_s) * in->rate_hz);
    if (!(i > 0.0)) {
        return 0;
    }
    return i < (double)in->n ? (size_t)i : in->n;
}

/* Loudest value in [a_s, b_s); NaN where there is none. */
static double loudest_in(const chart_sound_strip *in, double a_s, double b_s)
{
    double loudest = (double)NAN;
    const size_t end = index_at(in, b_s);
    for (size_t i = index_at(in, a_s); i < end; i++) {
        const double v = (double)in->envelope[i];
        if (isfinite(v) && v >= 0.0 && !(v <= loudest)) {
            loudest = v;
        }
    }
    return loudest;
}

/* Where values are fewer than columns, a column takes the value it lies in. */
static double column_value(const chart_sound_strip *in, double a_s, double b_s)
{
    const double loudest = loudest_in(in, a_s, b_s);
    if (isfinite(loudest)) {
        return loudest;
    }
    return loudest_in(in, b_s - 1.0 / in->rate_hz, b_s);
}

static void draw_envelope(const sound_frame *f, int row)
{
    const double from_s = row_start(f, row);
    const double zero = row_zero(row);
    bool open = false;
    double right = LEFT;
    svg_path(f->s);
    for (int c = 0; c < COLUMNS; c++) {
        const double a_s = from_s + ROW_S * c / COLUMNS;
        const double b_s = from_s + ROW_S * (c + 1) / COLUMNS;
        const double v =
            b_s <= f->in->to_s + 1e-9 ? column_value(f->in, a_s, b_s) : (double)NAN;
        const double x = LEFT + PLOT_WIDTH * (c + 0.5) / COLUMNS;
        if (isfinite(v) && !open) {
            svg_move(f->s, x, zero);
        } else if (!isfinite(v) && open) {
            svg_draw(f->s, right, zero);
            svg_close(f->s);
        }
        open = isfinite(v);
        if (open) {
            svg_draw(f->s, x, zero - round(v / f->loudest * PLOT_HEIGHT * 10.0) / 10.0);
            right = x;
        }
    }
    if (open) {
        svg_draw(f->s, right, zero);
        svg_close(f->s);
    }
    svg_path_fill(f->s, SHADE);
}

static void draw_axis(const sound_frame *f, int row)
{
    const double zero = row_zero(row);
    const double foot = zero + MARKS;
    const svg_type type = {LABEL_SIZE, SVG_GREY, SVG_MIDDLE, false};
    svg_path(f->s);
    svg_segment(f->s, LEFT, zero, x_of(f, row, row_end(f, row)), zero);
    for (double t = ceil(row_start(f, row)); t <= row_end(f, row); t += 1.0) {
        svg_segment(f->s, x_of(f, row, t), foot, x_of(f, row, t), foot + 4.0);
    }
    svg_path_end(f->s, (svg_stroke){SVG_INK, 1.0, NULL});
    for (double t = 2.0 * ceil(row_start(f, row) / 2.0); t <= row_end(f, row);
         t += 2.0) {
        svg_text(f->s, x_of(f, row, t), foot + 17.0, type, SVG_NUMBER(t, 0));
    }
}

static void draw_spans(sound_frame *f, int row)
{
    const chart_axis axis = {row_start(f, row), row_end(f, row), LEFT, ROW_S,
                             PLOT_WIDTH};
    if (f->in->quality != NULL) {
        f->marks |= chart_draw_spans(f->s, f->in->quality, &axis,
                                     row_zero(row) - PLOT_HEIGHT, PLOT_HEIGHT);
    }
}

typedef void mark_function(svg *s, double x, double y, bool is_s2);

/* Marks of one kind in a row. */
static void draw_marks(sound_frame *f,
                       int row,
                       chart_times times,
                       double y,
                       mark_function *draw,
                       unsigned mark)
{
    for (size_t i = 0; i < times.n; i++) {
        if (times.at_s[i] >= row_start(f, row) && times.at_s[i] < row_end(f, row)) {
            draw(f->s, x_of(f, row, times.at_s[i]), y,
                 mark == CHART_S2 || mark == CHART_TRUE_S2);
            f->marks |= mark;
        }
    }
}

static void draw_row(sound_frame *f, int row)
{
    const chart_sound_strip *in = f->in;
    const double zero = row_zero(row);
    const double above = zero - PLOT_HEIGHT - 1.0;
    draw_spans(f, row);
    if (f->loudest > 0.0) {
        draw_envelope(f, row);
    }
    draw_axis(f, row);
    draw_marks(f, row, in->s2, zero, chart_draw_sound_mark, CHART_S2);
    draw_marks(f, row, in->s1, zero, chart_draw_sound_mark, CHART_S1);
    draw_marks(f, row, in->true_s2, above, chart_draw_true_mark, CHART_TRUE_S2);
    draw_marks(f, row, in->true_s1, above, chart_draw_true_mark, CHART_TRUE_S1);
}

/* From y down; the marks that occur, for the legend. */
static unsigned draw_strip(svg *s, double y, const chart_sound_strip *strip)
{
    const bool has_envelope =
        strip->n > 0 && isfinite(strip->rate_hz) && strip->rate_hz > 0.0;
    sound_frame f = {s, strip, 0.0, 0};
    if (has_envelope) {
        f.loudest = loudest_in(strip, strip->from_s, strip->to_s);
    }
    svg_group(s, 0.0, y, "Sound strip");
    svg_text(s, MARGIN, 14.0, (svg_type){LABEL_SIZE, SVG_GREY, SVG_START, false},
             "loudness of the heart band, against its loudest");
    for (int row = 0; row < n_rows(strip); row++) {
        draw_row(&f, row);
    }
    svg_text(s, LEFT + PLOT_WIDTH / 2.0, strip_height(strip) - FOOT + 12.0,
             (svg_type){LABEL_SIZE, SVG_GREY, SVG_MIDDLE, false},
             "seconds of the recording");
    svg_group_end(s);
    return f.marks;
}

char *chart_sound_strip_format(const chart_sound_strip *strip, const char *title)
{
    const svg_type type = {17.0, SVG_INK, SVG_START, true};
    svg body = {0};
    double y =
        svg_text_block(&body, MARGIN, 26.0, CHART_WIDTH - 2.0 * MARGIN, type, title);
    y = y > 26.0 ? y - 8.0 : 10.0;
    const unsigned marks = draw_strip(&body, y, strip);
    y = chart_legend_draw(&body, MARGIN, y + strip_height(strip) + 4.0,
                          CHART_WIDTH - 2.0 * MARGIN, marks);
    return svg_whole(
        &body, CHART_WIDTH, ceil(y + 10.0), title != NULL ? title : "Sound strip",
        "How loud the heart band was, second by second, with the heart sounds found.",
        NULL);
}
