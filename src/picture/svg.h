/**
 * @file svg.h
 * A growing buffer of SVG text and the few elements our charts are made of. Numbers are
 * written digit by digit, so no locale touches them; text is escaped. No files, no
 * clock: same calls, same bytes.
 *
 * Running out of memory is remembered: later calls do nothing and svg_take returns
 * NULL, so that a chart checks once, at its end. An element with a coordinate that is
 * not finite is left out whole: an unknown number is a gap in the picture.
 *
 * Units are user units of the picture, y downwards, angles in degrees clockwise from
 * the top unless said otherwise.
 */
#ifndef SRC_PICTURE_SVG_H
#define SRC_PICTURE_SVG_H

#include "src/base/bytes.h"
#include "src/base/error.h"

#include <stdbool.h>
#include <stddef.h>

/*
 * Colours of marks, readable for every kind of colour vision. Source: Okabe & Ito,
 * "Color Universal Design", 2008 (from memory). No meaning depends on a colour alone.
 */
#define SVG_INK    "#000000" /**< beats, words, what was heard */
#define SVG_BLUE   "#0072b2" /**< what the learner tapped */
#define SVG_ORANGE "#d55e00" /**< what does not fit: not tapped, extra, flagged */
#define SVG_GREY                                                                       \
    "#5f5f5f" /**< scales and labels; 6.3:1 on white, by the WCAG 2 formula */
#define SVG_PALE "#8c8c8c" /**< hairlines and hatching, 3.4:1 on white; never text */
#define SVG_FONT "DejaVu Sans, Verdana, sans-serif"
#define SVG_TEXT_PX                                                                    \
    15.0 /**< usual text; 11 px when a 480 unit picture is 360 px wide */

/** State. Start it as {0}; svg_take ends it. */
typedef struct svg {
    bytes text;
    bool in_path; /**< between svg_path and svg_path_end */
} svg;

/**
 * The text, ended by a zero byte, to be freed by the caller; s is empty afterwards.
 * @param[out] n_bytes  length without the zero; may be NULL
 * @return NULL when memory ran out
 */
char *svg_take(svg *s, size_t *n_bytes);

/** Appends bytes as they are. */
void svg_raw(svg *s, const char *text);
/**
 * Appends text safe as content and as an attribute: & < > " escaped, control characters
 * and bytes that are not UTF-8 as U+FFFD. NULL is "".
 */
void svg_escaped(svg *s, const char *text);
/** Appends `<name>text</name>` and a line end, the text escaped. */
void svg_element(svg *s, const char *name, const char *text);
/** Appends what printf makes of it, as it is: less than SVG_PUT_BYTES. */
void svg_put(svg *s, const char *format, ...) APP_PRINTF_LIKE(2, 3);
enum {
    SVG_NUMBER_BYTES = 24,
    SVG_PUT_BYTES = 1024
};

/**
 * v with at most `decimals` (0..6) decimals, trailing zeros cut, never "-0". Not finite,
 * or beyond 1e9: "?"; elements with such a coordinate are not drawn at all.
 * @return out
 */
const char *svg_number_text(char out[SVG_NUMBER_BYTES], double v, int decimals);
/** The same in a place of its own, for as long as the block goes on. */
#define SVG_NUMBER(v, decimals)                                                        \
    svg_number_text((char[SVG_NUMBER_BYTES]){0}, v, decimals)

/**
 * Opens a picture of width x height units, white, with its title and description for
 * readers that do not see it. Its natural size fits one A4 page; where there is less
 * room, on a phone, it shrinks to the width there is.
 */
void svg_begin(
    svg *s, double width, double height, const char *title, const char *desc);
/** Closes what svg_begin opened. */
void svg_end(svg *s);
/**
 * A body drawn before its height was known, with svg_begin before it and svg_end behind.
 * The body is taken. @return as svg_take; NULL too without a desc
 */
char *svg_whole(svg *body,
                double width,
                double height,
                const char *title,
                const char *desc,
                size_t *n_bytes);
/** Opens a page of HTML of its own: its title, which is its heading too, and its style
 *  sheet behind the font. */
void svg_page(svg *s, const char *title, const char *style);
/** Closes it. @return as svg_take */
char *svg_page_take(svg *s, size_t *n_bytes);
/** Opens a group moved by (x, y), with an accessible title (NULL: none). */
void svg_group(svg *s, double x, double y, const char *title);
/** Closes a group. */
void svg_group_end(svg *s);

/** How a line is drawn. */
typedef struct svg_stroke {
    const char *colour; /**< one of the SVG_ colours */
    double width;
    const char *dash; /**< stroke-dasharray as "4 3"; NULL: unbroken */
} svg_stroke;

/** Starts a path of any number of lines; add to it with svg_move ... svg_arc. */
void svg_path(svg *s);
/** Ends the path, drawn as `stroke` says, not filled; an empty path leaves nothing. */
void svg_path_end(svg *s, svg_stroke stroke);
/** Ends the path, filled with colour and with no line. */
void svg_path_fill(svg *s, const char *colour);
/** One straight stretch from (x1, y1) to (x2, y2) within a path. */
void svg_segment(svg *s, double x1, double y1, double x2, double y2);
/** One straight line. */
void svg_line(svg *s, double x1, double y1, double x2, double y2, svg_stroke stroke);
/** Moves the pen within a path. */
void svg_move(svg *s, double x, double y);
/** Draws on to (x, y) within a path. */
void svg_draw(svg *s, double x, double y);
/** Closes the outline drawn since the last svg_move. */
void svg_close(svg *s);
/** A point. */
typedef struct svg_point {
    double x, y;
} svg_point;

/** Within a path: the closed outline through corners[0..n-1]; none where one of them is
 *  not finite. */
void svg_outline(svg *s, const svg_point *corners, size_t n);

/** The point at radius r and angle deg of a circle round (cx, cy). */
svg_point svg_polar(double cx, double cy, double r, double deg);
/**
 * Within a path: the arc round (cx, cy) at radius r clockwise from from_deg to to_deg;
 * a whole turn is drawn as two halves. Not drawn when to_deg <= from_deg.
 */
void svg_arc(svg *s, double cx, double cy, double r, double from_deg, double to_deg);

/** A circle, filled (stroke.width 0) or open with a white middle. */
void svg_circle(svg *s, double cx, double cy, double r, svg_stroke stroke);
/** A filled rectangle. */
void svg_rect(
    svg *s, double x, double y, double width, double height, const char *colour);

/** Where a text stands about its x. */
typedef enum svg_anchor {
    SVG_START,
    SVG_MIDDLE,
    SVG_END
} svg_anchor;

/** How text is drawn. */
typedef struct svg_type {
    double size;
    const char *colour;
    svg_anchor anchor;
    bool bold;
} svg_type;

/** One line of text, escaped, its baseline at y. */
void svg_text(svg *s, double x, double y, svg_type type, const char *text);

/**
 * About how wide text is drawn, in the widest of the fonts named (DejaVu Sans): other
 * fonts take less.
 */
double svg_text_width(const char *text, double size);
/**
 * Text broken at spaces into lines no wider than width.
 * @return the y after the last line; y itself for an empty or NULL text
 */
double svg_text_block(
    svg *s, double x, double y, double width, svg_type type, const char *text);

/** Diagonal strokes over a rectangle; `back` slants them the other way. */
void svg_hatch(svg *s, double x, double y, double width, double height, bool back);

#endif
