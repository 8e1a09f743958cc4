/**
 * @file summary.h
 * A run at a glance: what a file of rows comes to, as plain numbers and as one JSON
 * document.
 * The numbers are gathered by src/usecase/summarise; nothing here judges again.
 */
#ifndef DOCUMENT_SUMMARY_H
#define DOCUMENT_SUMMARY_H

#include "dsp/compare/agreement.h"
#include "dsp/result.h"

#include <stdbool.h>
#include <stddef.h>

enum {
    SUMMARY_STATUSES = 4, /**< counted, caution, refused, error: as in the rows */
    SUMMARY_OTHER_REASON = FM_REASON_COUNT, /**< a reason this version does not know */
    SUMMARY_REASONS = FM_REASON_COUNT + 1,
    SUMMARY_NAMED = 10,       /**< files named: errors, and the greatest differences */
    SUMMARY_NAME_BYTES = 256, /**< longer names are cut */
    SUMMARY_BINS = 24
};

/** Numbers of many rows, ascending once gathered. */
typedef struct summary_series {
    double *value; /**< value[0..n-1], owned */
    size_t n;
    size_t room;
} summary_series;

/** Measured and true rates, pair by pair. */
typedef struct summary_pairs {
    summary_series measured;
    summary_series truth;
    fm_agreement agreement;
} summary_pairs;

/** A row that is named: an error, or one far from the truth. */
typedef struct summary_named {
    char file[SUMMARY_NAME_BYTES];
    double start_s;
    double measured_per_min;
    double truth_per_min;
    int status; /**< as in by_status */
    char reason[SUMMARY_NAME_BYTES];
} summary_named;

/** Everything a summary says. Start from zero, free with summary_free. */
typedef struct summary {
    size_t n_sources; /**< files of rows read */
    size_t n_rows;
    size_t n_files;       /**< recordings: rows in a row with one name are one */
    double counted_hours; /**< of windows, errors left out */
    double sound_hours;   /**< of recordings */
    size_t by_status[SUMMARY_STATUSES];
    size_t unknown_status; /**< rows with a word that is no status */
    size_t refused[SUMMARY_REASONS];
    size_t doubted[SUMMARY_REASONS];
    size_t breath_by_status[SUMMARY_STATUSES];
    size_t breath_patterns[FM_BREATH_PATTERN_COUNT];
    size_t with_breath_pause; /**< rows with a stretch without a breath */
    size_t patterns[FM_PATTERN_COUNT];
    size_t with_early; /**< rows with early beats, pauses */
    size_t with_pauses;
    summary_series rate_bpm;
    summary_series breath_per_min;
    summary_series quality;    /**< 0..1, refused rows included */
    summary_series confidence; /**< 0..1, of rows with a number */
    size_t n_errors_named;     /**< the first of them */
    summary_named errors[SUMMARY_NAMED];

    bool has_truth;
    size_t without_truth;    /**< readable rows with no truth */
    size_t truth_of_another; /**< of them: a document of another sound lies there */
    size_t truth_in_doubt; /**< compared, but no digest proves the document, and a sure
                                    count of the whole minute lies elsewhere */
    size_t truth_by_status[3]; /**< rows with a true rate: counted, caution, refused */
    summary_pairs rate;        /**< counted and caution */
    summary_pairs breath;
    size_t counted_wrong; /**< counted, and more than 3 from the truth */
    size_t pattern_known;
    size_t pattern_right;
    fm_forecast *forecasts; /**< one a pair of rates; sorted; owned */
    size_t forecast_room;
    fm_calibration calibration;
    size_t n_worst; /**< greatest differences first */
    summary_named worst[SUMMARY_NAMED];
} summary;

/** Frees what is inside; s is then empty. */
void summary_free(summary *s);

/** Adds one number; false without memory. NaN and infinities are left out: true. */
bool summary_series_add(summary_series *to, double value);

/** Counts of equal bins: n of them, from `from` on, `step` wide. Values outside go to the
 *  first or the last. */
typedef struct summary_bins {
    double from;
    double step;
    size_t n;
    size_t count[SUMMARY_BINS];
    size_t most;
} summary_bins;

/**
 * Bins of a sorted series, from the bin of its least to that of its greatest value.
 *
 * @param step   width of a bin, > 0; doubled until at most SUMMARY_BINS hold all
 * @param top    greatest value there can be: it belongs to the bin below it; INFINITY: none
 */
summary_bins summary_bins_of(const summary_series *series, double step, double top);

/** The document "fullminute.summary/1", one line. To be freed by the caller; NULL without
 *  memory. */
char *summary_document_format(const summary *s);

#endif
