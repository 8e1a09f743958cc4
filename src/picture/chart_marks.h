/**
 * @file chart_marks.h
 * The marks that our charts share, and the legend that explains those that occur. One
 * look for one meaning in every picture: a chart says which marks it drew, the legend
 * shows these and no others.
 */
#ifndef SRC_PICTURE_CHART_MARKS_H
#define SRC_PICTURE_CHART_MARKS_H

#include "dsp/result.h"
#include "src/picture/svg.h"

/** Width of a chart, user units; 11 px text where it is shown 360 px wide. */
#define CHART_WIDTH 480.0

/**
 * Below this sureness an S1 is drawn as a less sure one: a drawing choice (no source);
 * nothing is judged by it.
 */
#define CHART_SURE 0.5F

/** What can occur in a chart; a set of them is an or of these. */
typedef enum chart_mark {
    CHART_BEAT = 1 << 0,
    CHART_BEAT_UNSURE = 1 << 1,
    CHART_TAP = 1 << 2,
    CHART_NOT_TAPPED = 1 << 3,
    CHART_EXTRA_TAP = 1 << 4,
    CHART_BREATH = 1 << 5,
    CHART_EARLY = 1 << 6,
    CHART_AFTER_EARLY = 1 << 7,
    CHART_LATE = 1 << 8,
    CHART_PAUSE = 1 << 9,
    CHART_INTERVAL_UNSURE = 1 << 10,
    CHART_GAP = 1 << 11,
    CHART_UNUSABLE = 1 << 12,
    CHART_S1 = 1 << 13, /**< of the sound strip, as the next three */
    CHART_S2 = 1 << 14,
    CHART_TRUE_S1 = 1 << 15,
    CHART_TRUE_S2 = 1 << 16,
    CHART_BREATH_PAUSE = 1 << 17,       /**< heard quiet */
    CHART_KNOWN_BREATH_PAUSE = 1 << 18, /**< of a recording with known truth */
    CHART_NOT_HEARD = 1 << 19, /**< a gap because contact was lost, or perhaps */
    CHART_NOT_COUNTED =
        1 << 20,             /**< of the dial: the minute's rest beyond the window */
    CHART_SURENESS = 1 << 21 /**< of the interval strip: one tick an S1 */
} chart_mark;

/** Is an interval of that kind flagged: early, after an early one, late or a pause? */
bool chart_is_flagged(fm_interval_kind kind);

/**
 * The kind an interval is drawn as: its own, but plain where the rhythm is irregularly
 * irregular, which has no basic interval to call a beat early or late against.
 */
fm_interval_kind chart_shown_kind(const fm_rhythm *rhythm, const fm_interval *interval);

/**
 * The shape of a flagged interval, in the middle of it: an arrow against the time (early)
 * or along it (late), two bars (pause). The interval after an early one has none.
 * @param deg  where time runs to, as of svg_polar: 90 to the right
 */
void chart_draw_interval_shape(svg *s, svg_point p, double deg, unsigned mark);

/** CHART_GAP where audio is lost, CHART_NOT_HEARD where contact was, or perhaps. */
unsigned chart_gap_mark(const fm_span *gap);

/** The mark of an interval kind; 0 for an expected one. */
unsigned chart_interval_mark(fm_interval_kind kind);

/**
 * Part of a span that lies in [from_s, to_s).
 * @return false when none does, or the span is not finite
 */
bool chart_clip(
    const fm_span *span, double from_s, double to_s, double *a_s, double *b_s);

/** Time along a straight line: from_s stands at x, and so many seconds are so wide. */
typedef struct chart_axis {
    double from_s, to_s; /**< what is drawn */
    double x, seconds, width;
} chart_axis;

/** How a stretch is hatched: "/" where it could not be used, "\\" where nothing was heard,
 *  both where audio is lost. */
static inline bool chart_hatch_has(unsigned mark, bool back)
{
    return mark == CHART_GAP || (mark == CHART_NOT_HEARD) == back;
}

/**
 * What of an axis was not heard or could not be used, hatched.
 *
 * @return the marks drawn
 */
unsigned chart_draw_spans(svg *s,
                          const fm_quality *quality,
                          const chart_axis *axis,
                          double top,
                          double height);

/** Opens a plot of CHART_WIDTH with its title at x; ends with svg_end. */
void chart_plot(svg *s, double height, double x, const char *title, const char *desc);

/** Cross through (x, y), as on an extra tap. */
void chart_draw_cross(svg *s, double x, double y);
/** Open foot at (x, y), as of a beat not tapped. */
void chart_draw_foot(svg *s, double x, double y);

/** Mark of an S1 (or S2) found, hanging from (x, y): a dot, filled (or open), on a stem. */
void chart_draw_sound_mark(svg *s, double x, double y, bool is_s2);
/** Mark of where an S1 (or S2) truly is, its tip at (x, y): a wedge, filled (or open). */
void chart_draw_true_mark(svg *s, double x, double y, bool is_s2);

/**
 * The legend for a set of marks, in rows from y down, between x and x + width.
 * @return the y below it; y itself for an empty set
 */
double chart_legend_draw(svg *s, double x, double y, double width, unsigned marks);

#endif
