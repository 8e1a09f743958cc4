/**
 * @file chart_histogram.h
 * How often a number occurs: bars over a scale with its unit, the counts written at the
 * bars. A whole picture of its own, to stand in a page.
 */
#ifndef SRC_PICTURE_CHART_HISTOGRAM_H
#define SRC_PICTURE_CHART_HISTOGRAM_H

#include "src/document/summary.h"
#include "src/picture/svg.h"

/** What to draw; texts are UTF-8 and borrowed. */
typedef struct chart_histogram {
    const char *title; /**< "Pulse" */
    const char *unit;  /**< of the scale: "beats per minute" */
    int decimals;      /**< of the scale's numbers, 0..2 */
    summary_bins bins; /**< none (n 0): the picture says so */
} chart_histogram;

/** Adds the picture to s. */
void chart_histogram_draw(svg *s, const chart_histogram *h);

#endif
