/**
 * @file merge.h
 * Shards put together: the same bytes as one run over the whole list would have given.
 */
#ifndef BATCH_MERGE_H
#define BATCH_MERGE_H

#include "src/document/about.h"

/**
 * Merge files of rows. Every shard must be there once, whole, untouched since it was
 * written, and of the same list, options and engine.
 *
 * @param paths     paths[0..n-1], n >= 1, in any order
 * @param out       file, or "-"
 * @param[out] a    what out holds; free it. Empty on failure
 * @return false with err: APP_UNREADABLE (a shard is missing, double, damaged or of
 *         another run), APP_USAGE, APP_FAILED, APP_INTERRUPTED
 */
bool merge_rows(const char *const *paths,
                int n,
                const char *out,
                bool force,
                about *a,
                app_err *err);

#endif
