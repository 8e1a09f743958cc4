/**
 * @file chart_interval_strip.h
 * The interval strip: length of each S1-S1 interval against time, in rows of half a
 * minute. An interval is a bar as wide as it lasts and as high as it is long, so a steady
 * rhythm is a level row and an early beat a short low step before a long high one. The
 * scale begins at 0, so that ordinary small changes stay small. A dashed line marks the
 * median of the sure intervals. Along the foot stands one tick an S1, the taller the
 * surer. An unsure interval too long for the scale, which the sure ones set, is left
 * blank: its length is not known.
 */
#ifndef SRC_PICTURE_CHART_INTERVAL_STRIP_H
#define SRC_PICTURE_CHART_INTERVAL_STRIP_H

#include "dsp/result.h"
#include "src/picture/svg.h"

/** Height the strip takes for a window. */
double chart_interval_strip_height(const fm_window *window);

/**
 * Draws CHART_WIDTH wide with its upper left corner at (x, y). Intervals with a number
 * that is not finite are left out. A refused count gives empty rows: gaps and unusable
 * stretches only.
 *
 * @return the marks that occur, an or of chart_mark, for the legend
 */
unsigned chart_interval_strip_draw(svg *s, double x, double y, const fm_count *count);

#endif
