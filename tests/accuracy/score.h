/**
 * @file score.h
 * What one window was worth against its truth, and sums of many for a table's row.
 */
#ifndef ACCURACY_SCORE_H
#define ACCURACY_SCORE_H

#include "describe.h"
#include "dsp/result.h"

#include <stdio.h>

/** Matching tolerances, and how the lag between ECG and sound is allowed for. */
enum {
    TOLERANCES = 3,
    LAG_SET = 0,
    LAG_OWN = 1,
    LAGS = 2
};

/** 60, 100 and 150 ms, in s. */
extern const double TOLERANCE_S[TOLERANCES];

/** One window against its truth. Rates are NaN when there were too few beats. */
typedef struct scored {
    char name[128];
    char group[32];
    fm_outcome status;
    fm_reason reason;
    rhythm_score rhythm;
    double confidence;
    double truth_rate_bpm;
    double found_rate_bpm;   /**< of what was decoded, also when refused */
    double printed_rate_bpm; /**< what the result prints; NaN when refused */
    double low_bpm; /**< the range it prints, whole and outward; NaN when refused */
    double high_bpm;
    bool gap_for_contact; /**< a gap is named because contact was lost, or perhaps */
    double error; /**< |found - truth|, per minute or beats; INFINITY: no rate */
    double lag_s; /**< the recording's own lag */
    bool exact;   /**< as many as there are, each within 30 ms of its own */
    size_t n_truth;
    size_t n_found;
    size_t hits[LAGS][TOLERANCES];
} scored;

/** Sums of many scored windows; start from {0}, free with tally_free. */
typedef struct tally {
    char name[48];
    long n;
    long by_status[3];   /**< by fm_outcome */
    long within[3];      /**< error <= 1, 2, 3, decoded */
    long delivered3;     /**< error <= 3 and not refused */
    long printed3;       /**< not refused, and the printed rate within 3 */
    long iec;            /**< within the greater of 10 % and 5 per minute, decoded */
    long counted2;       /**< counted, error <= 2 */
    long counted_wrong;  /**< counted, error > 3 */
    long exact;          /**< counted or caution, and exact */
    long with_rhythm;    /**< the true rhythm is known */
    long pattern_right;  /**< of those, pattern and repeat said as they are */
    long findings_right; /**< of those, findings said as they are */
    long half;
    long doubled;
    size_t n_truth;
    size_t n_found;
    size_t hits[LAGS][TOLERANCES];
    size_t found_delivered;
    size_t hits_delivered[LAGS][TOLERANCES];
    double *errors; /**< errors[0..n_errors-1]: the finite ones */
    size_t n_errors;
    long no_rate; /**< windows in which fewer than two beats were decoded */
} tally;

/** True and found beats to be compared; both ascending, borrowed. */
typedef struct beats_pair {
    const double *truth;
    const double *found;
    size_t n_truth;
    size_t n_found;
} beats_pair;

/**
 * Fills the beats part of a score: numbers, hits, own lag.
 *
 * @param set_lag_s  constant lag of the set
 * @param own_lag    also allow the recording's own lag where it is plausible
 */
void score_beats(scored *s, const beats_pair *b, double set_lag_s, bool own_lag);

/** A lag of S1 after R that is believable: -60..200 ms. */
bool lag_is_plausible(double lag_s);

/** Sets the rates and the error; the error is INFINITY where a rate is not known. */
void score_rates(scored *s, double truth, double found);

/** Adds one window; false when out of memory. */
bool tally_add(tally *t, const scored *s);

/** Frees what it holds. */
void tally_free(tally *t);

/** F1 of hits among truth and found; NaN when there is neither. */
double f1_of(size_t hits, size_t n_truth, size_t n_found);

/** Prints "94.0 % (158/168, 89.3-97.1)": a share with its exact 95 % interval. */
void print_share(FILE *out, long k, long n);

/** Prints every figure of a tally as a block of lines. The lag kinds are told apart
 *  only when the truth is an ECG. */
void tally_print(FILE *out, tally *t, bool from_ecg);

/** Prints one window as a line, after its heading. */
void scored_print(FILE *out, const scored *s);

/** Prints the heading of scored_print. */
void scored_print_heading(FILE *out);

/** "counted", "caution" or "refused". */
const char *status_word(fm_outcome status);

#endif
