/**
 * @file about.h
 * What a file of rows holds: "fullminute.batch/1", one JSON object in OUT.batch.json. The
 * same list, options and engine give the same bytes; nothing of the run's time or machine
 * is in it. `merge` believes no rows without it.
 */
#ifndef DOCUMENT_ABOUT_H
#define DOCUMENT_ABOUT_H

#include "src/base/error.h"
#include "src/document/row.h"

#include <jansson.h>
#include <stdint.h>

#define ABOUT_SCHEMA "fullminute.batch/1"

enum {
    ABOUT_ENGINE_BYTES = 64,
    ABOUT_DIGEST_BYTES = 65 /**< 64 hexadecimal digits */
};

typedef struct about {
    char engine[ABOUT_ENGINE_BYTES];
    row_format format;
    json_t *options;                       /**< owned: an object */
    int shard;                             /**< 1..shards */
    int shards;                            /**< 1: everything */
    int64_t list_files;                    /**< on the whole list */
    char list_blake2b[ABOUT_DIGEST_BYTES]; /**< of the whole list */
    int64_t files;                         /**< with rows in this file */
    int64_t rows;
    int64_t by_status[ROW_STATUS_COUNT];   /**< rows */
    char rows_blake2b[ABOUT_DIGEST_BYTES]; /**< of the file of rows, every byte */
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
 * Read and check.
 *
 * @param name    for errors
 * @param[out] a  empty on failure
 * @return false with err APP_UNREADABLE or APP_FAILED
 */
bool about_parse(const char *name, const char *text, size_t n, about *a, app_err *err);

#endif
