/**
 * @file chart_dial_private.h
 * What the parts of the minute dial share: its frame, the labels round it, and the
 * brackets of its rhythm. Private to src/picture/chart_dial*.c and chart_minute_dial.c.
 */
#ifndef SRC_PICTURE_CHART_DIAL_PRIVATE_H
#define SRC_PICTURE_CHART_DIAL_PRIVATE_H

#include "src/picture/chart_marks.h"
#include "src/picture/chart_minute_dial.h"

/* Radii, user units, from the outside in. */
#define DIAL_CENTRE_X    (CHART_WIDTH / 2.0)
#define DIAL_RIM         160.0 /* the seconds scale; S1 stand on it */
#define DIAL_TICK        25.0
#define DIAL_DEG_PER_S   6.0
#define DIAL_DEG_PER_RAD 57.29577951308232
#define DIAL_LABEL       14.0 /* size of a word beside the dial */

enum {
    DIAL_LABELS_MAX = 128
};

/** A label's room: what no other label may meet. */
typedef struct dial_box {
    double left, top, right, bottom;
} dial_box;

typedef struct dial_frame {
    svg *s;
    const chart_minute_dial *in;
    double start_s, end_s;
    double centre_y;
    double number_r; /* outer side of the scale numbers */
    unsigned marks;
    size_t n_labels;
    dial_box labels[DIAL_LABELS_MAX];
} dial_frame;

/** Degrees clockwise from the top of a time. */
double dial_angle(const dial_frame *f, double t_s);
/** Does a time lie in the window? */
bool dial_inside(const dial_frame *f, double t_s);
/** Within a path: a stretch from one radius to another at a time. */
void dial_radial(const dial_frame *f, double t_s, double from_r, double to_r);

/**
 * Words beside a circle of radius r: inside it, or outside and then two words one below the
 * other. Not drawn where they would meet a label that stands, or leave the picture.
 * @return whether they are drawn
 */
bool dial_label(dial_frame *f,
                double r,
                double deg,
                bool outside,
                svg_type type,
                const char *words);

/** Does the rhythm carry a bracket? */
bool dial_has_brackets(const fm_rhythm *r);
/**
 * One bracket over each early beat and the long interval after it, a late interval, a pause
 * or a run of them, and over a run of fast beats; with its word, or its shape where there
 * are many.
 */
void dial_draw_brackets(dial_frame *f);

#endif
