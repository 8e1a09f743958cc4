/**
 * @file chart_progress.h
 * The learner's differences one after the other, inside and outside the tolerance: a dot
 * for an even rhythm, a square standing on its corner for an uneven one. A whole picture of
 * its own, to stand in a page.
 */
#ifndef PICTURE_CHART_PROGRESS_H
#define PICTURE_CHART_PROGRESS_H

#include "src/document/progress.h"
#include "src/picture/svg.h"

enum {
    CHART_PROGRESS_MOST = 200 /**< the newest so many are drawn */
};

/** Adds the picture to s. */
void chart_progress_draw(svg *s, const progress *p);

#endif
