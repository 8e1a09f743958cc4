/**
 * @file document_files.h
 * Documents of src/document as files: which file it is, how large it may be, and that it is
 * written whole or not at all. What the bytes mean is said there, not here.
 */
#ifndef USECASE_DOCUMENT_FILES_H
#define USECASE_DOCUMENT_FILES_H

#include "src/document/recipe_file.h"
#include "src/document/sitting_document.h"
#include "src/document/times_file.h"
#include "src/document/truth_document.h"
#include "src/document/worksheet_key.h"

/** NAME.truth.json or NAME.sitting.json for NAME.wav; to be freed; NULL without memory. */
char *truth_document_path(const char *sound_path);
char *sitting_document_path(const char *sound_path);

/**
 * Read and check; a pipe or device of that name is refused. The document is empty on failure.
 *
 * @return false with err APP_UNREADABLE (the file, and what is wrong with it) or APP_FAILED
 */
bool truth_document_read(const char *path, truth_document *d, app_err *err);
bool sitting_document_read(const char *path, sitting_document *d, app_err *err);

/** Write it, whole or not at all, in place of an older one; mode 0600. */
bool sitting_document_write(const sitting_document *d, const char *path, app_err *err);

/**
 * The same for the text files that a person names; "-" is standard input.
 *
 * @return false also with APP_INTERRUPTED (stopped while waiting for a pipe)
 */
bool times_file_read(const char *path, times_kind kind, times *out, app_err *err);
bool rhythm_file_read(const char *path, times *out, app_err *err);
bool recipe_file_read(const char *path, recipe_file *out, app_err *err);

/** Seal and write a worksheet's key, readable by this person only; or read and open it. */
bool worksheet_key_write(const worksheet_key *k,
                         const char *path,
                         const char *phrase,
                         app_err *err);
bool worksheet_key_read(const char *path,
                        const char *phrase,
                        worksheet_key *k,
                        app_err *err);

#endif
