/**
 * @file chart_plots.h
 * The plots of many counts: the agreement of pairs, how often a number occurs, and a
 * learner's progress. Each is a whole picture of its own, to stand in a page.
 */
#ifndef SRC_PICTURE_CHART_PLOTS_H
#define SRC_PICTURE_CHART_PLOTS_H

#include "src/document/progress.h"
#include "src/document/summary.h"
#include "src/picture/svg.h"

enum {
    CHART_DIFFERENCES_MOST = 4000, /**< points drawn; of more, evenly every n-th */
    CHART_PROGRESS_MOST = 200      /**< the newest so many are drawn */
};

/**
 * Adds to s: measured less true over the mean of both, a point a pair, with the bias and
 * the limits of agreement. Pairs with a number that is not finite are not drawn.
 *
 * Source: Bland and Altman, Lancet 1986; 1:307 (from memory).
 */
void chart_differences_draw(svg *s, const char *title, const summary_pairs *pairs);

/** A histogram: bars over a scale with its unit. Texts are UTF-8 and borrowed. */
typedef struct chart_histogram {
    const char *title; /**< "Pulse" */
    const char *unit;  /**< of the scale: "beats per minute" */
    int decimals;      /**< of the scale's numbers, 0..2 */
    summary_bins bins; /**< none (n 0): the picture says so */
} chart_histogram;

/** Adds it to s, the counts written at the bars. */
void chart_histogram_draw(svg *s, const chart_histogram *h);

/**
 * Adds to s the learner's differences one after the other, inside and outside the
 * tolerance: a dot for an even rhythm, a square standing on its corner for an uneven one.
 */
void chart_progress_draw(svg *s, const progress *p);

#endif
