/**
 * @file paced_file.h
 * A sound file in place of an input, played at its own speed: to try a whole sitting
 * without a chest piece.
 */
#ifndef USECASE_PACED_FILE_H
#define USECASE_PACED_FILE_H

#include "src/base/error.h"
#include "src/port/capture.h"

/** Opaque; see paced_file_close. */
typedef struct paced_file paced_file;

/**
 * @param path   a file of 1 to 8 channels; not standard input
 * @param loops  begin again at its end, for ever: an input does not end
 * @return NULL with err APP_UNREADABLE, APP_FAILED
 */
paced_file *paced_file_open(const char *path, bool loops, app_err *err);

/** What a capture reads from; valid until paced_file_close. */
capture_reader paced_file_reader(paced_file *p);

/** Only after capture_close. NULL is allowed. */
void paced_file_close(paced_file *p);

#endif
