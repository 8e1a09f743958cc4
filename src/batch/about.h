/**
 * @file about.h
 * What a file of rows holds: "fullminute.batch/1", one JSON object in OUT.batch.json. The
 * same list, options and engine give the same bytes; nothing of the run's time or machine
 * is in it. `merge` believes no rows without it.
 */
#ifndef BATCH_ABOUT_H
#define BATCH_ABOUT_H

#include "src/batch/digest.h"
#include "src/document/row.h"

#include <jansson.h>
#include <stdint.h>

#define ABOUT_SCHEMA "fullminute.batch/1"

enum {
    ABOUT_ENGINE_BYTES = 64
};

typedef struct about {
    char engine[ABOUT_ENGINE_BYTES];
    row_format format;
    json_t *options;    /**< owned: an object */
    int shard;          /**< 1..shards */
    int shards;         /**< 1: everything */
    int64_t list_files; /**< on the whole list */
    digest list_digest; /**< of the whole list */
    int64_t files;      /**< with rows in this file */
    int64_t rows;
    int64_t by_status[ROW_STATUS_COUNT]; /**< rows */
    digest rows_digest;                  /**< of the file of rows, every byte */
} about;

/** An empty one. */
about about_none(void);

/** Free what is inside; a is then empty. */
void about_free(about *a);

/** OUT.batch.json; to be freed; NULL without memory. */
char *about_path(const char *rows_path);

/** The document with its line end, to be freed; NULL without memory. */
char *about_format(const about *a);

/**
 * Read and check the document beside a file of rows.
 *
 * @param[out] a  empty on failure
 * @return false with err APP_UNREADABLE or APP_FAILED
 */
bool about_read(const char *rows_path, about *a, app_err *err);

#endif
