/**
 * @file sitting_document.h
 * The sitting document, NAME.sitting.json beside a live recording, "fullminute.sitting/1":
 * which seconds were counted, where audio is missing, and what the learner entered. No
 * count and nothing derived from one is ever in it.
 *
 * Times are seconds from the first sample of the recording, to a millionth, so that they
 * lead back to whole samples.
 *
 * Members beside the contract's own, which a reader may ignore: windows[].set_aside (a
 * minute begun again), input, ticks, age_months, tolerance_per_min, breath_method,
 * deficit_per_min, sealed_breath, and of a manual count could_not (entered is then null), rhythm,
 * depth, effort and running, what was found beside it.
 */
#ifndef DOCUMENT_SITTING_DOCUMENT_H
#define DOCUMENT_SITTING_DOCUMENT_H

#include "dsp/compare/compare.h"
#include "src/base/error.h"
#include "src/document/own_count.h"

#include <stdbool.h>
#include <stddef.h>

enum {
    SITTING_WINDOWS_MAX = 2048, /**< a day of minutes */
    SITTING_GAPS_MAX = 4096,
    SITTING_TAPS_MAX = 100000,
    SITTING_TEXT_BYTES = 64
};

/** What was counted in a window. */
typedef enum sitting_kind {
    SITTING_PULSE,
    SITTING_BREATH
} sitting_kind;

/** What a person answered. */
typedef enum sitting_answer {
    SITTING_NO_ANSWER,
    SITTING_YES,
    SITTING_NO
} sitting_answer;

/** One window: [start_s, end_s). */
typedef struct sitting_window {
    sitting_kind kind;
    double start_s;
    double end_s;
    bool set_aside;       /**< broken off or begun again: not counted */
    double lost_start_s;  /**< contact was lost, by the level alone */
    double lost_length_s; /**< 0: it was not, or nobody looked */
    sitting_answer moved; /**< did the chest piece move? Changes no number */
} sitting_window;

/** A stretch without audio; the recording holds zeros there. */
typedef struct sitting_gap {
    double start_s;
    double length_s;
    char cause[SITTING_TEXT_BYTES];
} sitting_gap;

/** What one person entered. */
typedef struct sitting_entry {
    bool given;
    bool could_not; /**< that is the answer, and entered 0 */
    int entered;    /**< raw count, not multiplied */
    int seconds;
    own_words words;
    char entered_utc[SITTING_TEXT_BYTES];
} sitting_entry;

/** The whole document. Owned; free with sitting_document_free. */
typedef struct sitting_document {
    char started_utc[SITTING_TEXT_BYTES];
    char engine[SITTING_TEXT_BYTES];
    char input[SITTING_TEXT_BYTES * 4];
    sitting_window *windows; /**< in the order of time */
    size_t n_windows;
    sitting_gap *gaps;
    size_t n_gaps;
    int channel;    /**< of the input, from 1; the recording holds that one only */
    double rate_hz; /**< of the recording */
    double gain_db;
    fm_site site;
    fm_convention convention;
    bool ticks;   /**< the lead-in could be heard */
    bool checked; /**< entries belong to it; false: an open count */
    bool sealed;  /**< entries are still missing: nothing may be shown */
    sitting_entry pulse;
    sitting_entry breath;
    sitting_entry second; /**< a second examiner's, at the wrist */
    bool second_asked;
    fm_breath_method method;
    double *taps_s; /**< as they came: nothing subtracted */
    size_t n_taps;
    double tap_delay_s;       /**< to be subtracted from each tap */
    double age_months;        /**< NaN: not given */
    double tolerance_per_min; /**< NaN: not set by the instructor */
    double deficit_per_min;   /**< NaN: none */
} sitting_document;

/** An empty one. */
sitting_document sitting_document_none(void);

/** Free what is inside; d is then empty. */
void sitting_document_free(sitting_document *d);

/** @return false without memory or room */
bool sitting_document_add_window(sitting_document *d, const sitting_window *w);
bool sitting_document_add_gap(sitting_document *d, const sitting_gap *g);
bool sitting_document_add_tap(sitting_document *d, double time_s);

/** The last window of a kind that is not set aside; NULL: none. */
const sitting_window *sitting_document_window(const sitting_document *d,
                                              sitting_kind kind);

/** Seconds of a stretch that are missing. */
double sitting_document_missing_s(const sitting_document *d,
                                  double start_s,
                                  double end_s);

/** Document as text with a line end, to be freed; NULL without memory. */
char *sitting_document_format(const sitting_document *d);

/**
 * Read and check.
 *
 * @param name    for errors
 * @param bytes   bytes[0..n-1], any bytes
 * @param[out] d  empty on failure
 * @return false with err APP_UNREADABLE (what is wrong and where) or APP_FAILED
 */
bool sitting_document_parse(
    const char *name, const char *bytes, size_t n, sitting_document *d, app_err *err);

#endif
