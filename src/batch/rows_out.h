/**
 * @file rows_out.h
 * The final file of rows: written under a temporary name, forced to disk, renamed; what it
 * holds beside it (about.h). Or the rows alone, to standard output.
 */
#ifndef BATCH_ROWS_OUT_H
#define BATCH_ROWS_OUT_H

#include "src/document/about.h"
#include "src/port/digest.h"
#include "src/port/file.h"

/** A file in the making. Start it with rows_out_open, also to be dropped. */
typedef struct rows_out {
    file_draft draft;
    char *path; /**< owned; NULL: standard output */
    row_format format;
    digest_stream *stream;
    bytes block; /**< not written yet */
    int64_t rows;
    int64_t by_status[ROW_STATUS_COUNT];
} rows_out;

/**
 * May path be written? An existing file only with force.
 *
 * @return false with err APP_USAGE; "-" is standard output and always may
 */
bool rows_out_check(const char *path, bool force, app_err *err);

/** Start; what a killed run left behind is written over. False with err. */
bool rows_out_open(rows_out *o, const char *path, row_format format, app_err *err);

/**
 * Add a row.
 *
 * @param text  the row as it is to stand there, text[0..n-1]; NULL: made from r
 */
bool rows_out_add(rows_out *o, const row *r, const char *text, size_t n, app_err *err);

/**
 * Finish: the document beside it first, then the rows take their name. Empties o.
 *
 * @param[in,out] a  engine, options, shard, list and files are given; the rest is filled in
 */
bool rows_out_commit(rows_out *o, about *a, app_err *err);

/** Throw it away. */
void rows_out_drop(rows_out *o);

#endif
