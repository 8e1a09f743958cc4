/**
 * @file batch_row.h
 * One counted window as a batch row and as marks: the same numbers, to the same decimals,
 * as in its count document.
 */
#ifndef USECASE_BATCH_ROW_H
#define USECASE_BATCH_ROW_H

#include "src/document/row.h"
#include "src/usecase/analyse_file.h"
#include "src/words/reason_text.h"

enum {
    BATCH_DIGITS = 32,
    BATCH_FINDINGS_BYTES = 256
};

/** A row and the texts it borrows: keep it where it is. */
typedef struct batch_row {
    row row; /**< file, schema and engine are left out */
    char digits[ROW_COLUMN_COUNT][BATCH_DIGITS];
    char reason[REASON_TEXT_BYTES];
    char findings[BATCH_FINDINGS_BYTES];
    char breath_findings[BATCH_FINDINGS_BYTES];
} batch_row;

/** Fill a row. What a refused count decoded is not in it. */
void batch_row_fill(batch_row *out, const analysed *result);

/** Add the head of a file of marks: "start_s<tab>end_s<tab>mark<tab>sureness". */
void batch_marks_header(bytes *to);

/**
 * Add the marks of one window, in order of time, one a line: S1 (with its sureness, 0 to
 * 1), S2 and breath, which start and end at once; 'no breath', a stretch without one, also
 * of a refused count; gap, and stretches that could not be
 * used, called by their reason. Of a refused count only the stretches.
 */
void batch_marks_add(const analysed *result, bytes *to);

#endif
