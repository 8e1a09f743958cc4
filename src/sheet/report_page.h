/**
 * @file report_page.h
 * One self-contained page of HTML for a sitting or for a learner: no script, nothing
 * loaded, prints on A4 and Letter, reads on a phone. Renders what it is given; recomputes
 * nothing.
 */
#ifndef SHEET_REPORT_PAGE_H
#define SHEET_REPORT_PAGE_H

#include "src/document/first_view.h"
#include "src/document/progress.h"

#include <stddef.h>

/** A sitting, in words and pictures; every text is UTF-8 and borrowed, NULL: none. */
typedef struct report_sitting {
    const char *heading; /**< never NULL */
    const char *charted; /**< the charted line; never NULL */
    const char
        *ranges; /**< reference ranges, sources; shown where nothing is compared */
    const first_view *comparison; /**< NULL: none */
    const char *picture;          /**< SVG: minute dial and interval strip */
    const char *strip;            /**< SVG: sound strip */
    const char *missing;          /**< why there are no pictures */
} report_sitting;

/** One row of a learner's list. */
typedef struct report_row {
    const char *charted, *second, *verdict; /**< never NULL */
} report_row;

/**
 * The page, to be freed; NULL without memory.
 *
 * @param[out] n  bytes without the end mark
 */
char *report_page_sitting(const report_sitting *sitting, size_t *n);

/** The same for a learner: goal, agreement, the plots, and the rows, the newest
 *  first. */
char *report_page_learner(const progress *p,
                          const report_row *rows,
                          size_t n_rows,
                          size_t *n);

#endif
