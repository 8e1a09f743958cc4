/**
 * @file summary_truth.h
 * What is true of the rows of a batch: from truth documents (NAME.truth.json), beside the
 * recordings or in one folder, or from one CSV file.
 *
 * The CSV file has a header. `file` must be there, and at least one of `rate_bpm`,
 * `breath_rate_per_min` and `pattern`; `window_start_s` tells windows of one recording
 * apart. Other columns are passed over. A row is found by its whole name, else by the
 * part after the last '/' where only one recording has it.
 */
#ifndef USECASE_SUMMARY_TRUTH_H
#define USECASE_SUMMARY_TRUTH_H

#include "dsp/result.h"
#include "src/base/error.h"
#include "src/usecase/truth_beside.h"

/** The window of a row, and where its respirations were counted. */
typedef struct truth_window {
    double start_s;
    double length_s;
    double breath_start_s;
    double breath_length_s;
} truth_window;

/** What is true of it; NaN and false: not known. */
typedef struct truth_said {
    double rate_bpm;
    double breath_per_min;
    bool pattern_known;
    fm_pattern pattern;
    truth_found
        found; /**< of a document: is it of this sound? NONE: of a CSV file, or none */
} truth_said;

/** Opaque; see summary_truth_close. */
typedef struct summary_truth summary_truth;

/**
 * Open a truth.
 *
 * @param where  "beside": NAME.truth.json beside each recording; a folder that holds
 *               these; or a CSV file
 * @return the truth; NULL with err APP_UNREADABLE or APP_FAILED
 */
summary_truth *summary_truth_open(const char *where, app_err *err);

/** Close and free; NULL is allowed. */
void summary_truth_close(summary_truth *t);

/**
 * What is true of one window. No truth for it is not an error: all unknown. Nor is a document
 * of another sound (found is TRUTH_FOUND_ANOTHER), of which nothing is taken; where the
 * recording cannot be read from here it is taken as one that fits.
 *
 * @param file  the recording as its row names it
 * @return false with err when a document is there and cannot be read
 */
bool summary_truth_find(summary_truth *t,
                        const char *file,
                        const truth_window *window,
                        truth_said *out,
                        app_err *err);

#endif
