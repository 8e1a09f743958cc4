/**
 * @file compose_make.h
 * A composed recording and its truth beside it: both files, or neither.
 */
#ifndef USECASE_COMPOSE_MAKE_H
#define USECASE_COMPOSE_MAKE_H

#include "dsp/fullminute_compose.h"
#include "src/document/truth_document.h"
#include "src/port/file.h"

/** One recording on its way to two files. */
typedef struct compose_make {
    const char *path; /**< borrowed */
    char *truth_path;
    truth_document document; /**< its licence and recipe are the caller's to fill */
    char *text;              /**< the document as it was written */
    file_draft sound, truth;
} compose_make;

/**
 * Take both names, before any work is done: an existing file costs no waiting.
 *
 * @param path  .wav or .flac
 * @return false with err as sound_writer_knows and file_draft_open. In either case
 *         compose_make_close is next, or compose_make_write
 */
bool compose_make_open(compose_make *m, const char *path, bool force, app_err *err);

/**
 * Compose, and write both.
 *
 * @return false with err APP_USAGE (a recipe that cannot be composed), APP_FAILED
 */
bool compose_make_write(compose_make *m, const fm_recipe *recipe, app_err *err);

/** Free; of what was not written nothing is left. */
void compose_make_close(compose_make *m);

#endif
