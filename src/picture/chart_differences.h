/**
 * @file chart_differences.h
 * Measured less true over the mean of both, a point a pair, with the bias and the limits
 * of agreement. A whole picture of its own, to stand in a page.
 *
 * Source: Bland and Altman, Lancet 1986; 1:307 (from memory).
 */
#ifndef SRC_PICTURE_CHART_DIFFERENCES_H
#define SRC_PICTURE_CHART_DIFFERENCES_H

#include "src/document/summary.h"
#include "src/picture/svg.h"

enum {
    CHART_DIFFERENCES_MOST = 4000 /**< points drawn; of more, evenly every n-th */
};

/** Adds the picture to s. Pairs with a number that is not finite are not drawn. */
void chart_differences_draw(svg *s, const char *title, const summary_pairs *pairs);

#endif
