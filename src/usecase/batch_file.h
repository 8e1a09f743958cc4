/**
 * @file batch_file.h
 * What a batch does with one file: counts it, gives out its rows, and writes its count
 * document, picture and marks where they are asked for.
 */
#ifndef USECASE_BATCH_FILE_H
#define USECASE_BATCH_FILE_H

#include "src/port/pool_work.h"
#include "src/usecase/analyse_file.h"

/** What to do with every file. Texts are borrowed. */
typedef struct batch_file_plan {
    analyse_request request;  /**< path is left out; whole: a row a window */
    const char *documents;    /**< folder for count documents; NULL: none */
    const char *pictures;     /**< folder for pictures (SVG); NULL: none */
    const char *marks;        /**< folder for marks; NULL: none */
    const char *const *words; /**< as app_err_word has them */
} batch_file_plan;

/**
 * One file; a pool_work, with a batch_file_plan as its context.
 *
 * @return POOL_ERROR: the file is to blame; POOL_STOP: an output cannot be written, which
 *         would be so for every file
 */
pool_verdict batch_file_count(void *context,
                              const char *path,
                              const pool_emit *emit,
                              app_err *err);

/**
 * The options that rows depend on, as a JSON object; to be freed; NULL without memory.
 */
char *batch_file_options(const batch_file_plan *plan);

/** The other outputs as one text, "" for none; to be freed; NULL without memory. */
char *batch_file_outputs(const batch_file_plan *plan);

/**
 * Where a file's output goes: the file's own path under the folder, "a/b.wav" in "out"
 * with ".count.json" gives "out/a/b.wav.count.json". A step up is called "up", and a path
 * too long for that is shortened to its digest.
 *
 * @return to be freed; NULL without memory
 */
char *batch_file_place(const char *folder, const char *path, const char *suffix);

#endif
