/**
 * @file demonstrate.h
 * A recording made ready to be played with its marks: the stretch at the output's rate,
 * where its S1 and S2 are and who says so, its loudness, and what short counts of it say.
 *
 * All times are seconds of the stretch: 0 is its first sample.
 */
#ifndef USECASE_DEMONSTRATE_H
#define USECASE_DEMONSTRATE_H

#include "dsp/compare/compare.h"
#include "src/base/error.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

enum {
    DEMONSTRATE_ENVELOPE_HZ = 100
};

/** What to play. */
typedef struct demonstrate_request {
    const char *path;   /**< a file; not standard input, which can be read only once */
    double start_s;     /**< >= 0 */
    double seconds;     /**< more than 0, at most FM_WINDOW_MAX_S */
    int channel;        /**< 1..; 0: the counted one, or the first beside a truth */
    bool small_speaker; /**< add harmonics, see dsp/signal/loudspeaker.h */
    bool sealed;        /**< the sound alone, of the first channel where none is named:
                             nothing is counted, no truth is read, there are no marks */
    double rate_hz;     /**< of the output */
} demonstrate_request;

/** One heart sound. */
typedef struct demonstrate_mark {
    double at_s;
    bool is_s2;
    bool unheard; /**< the truth says that nobody can hear it */
} demonstrate_mark;

/** Who says where the marks are. */
typedef enum demonstrate_origin {
    DEMONSTRATE_TRUTH, /**< the truth document beside the recording */
    DEMONSTRATE_COUNT, /**< the analyser */
    DEMONSTRATE_NONE   /**< the analyser refuses: there are no marks */
} demonstrate_origin;

/** Owned; free with demonstration_free. */
typedef struct demonstration {
    double start_s; /**< of the stretch, in the recording */
    double seconds; /**< how long it is: less than asked for where the recording ends */
    int channel;    /**< the one that is played */
    int channels;
    double rate_hz;
    int64_t n;
    float *plain;   /**< plain[0..n-1] */
    float *clicked; /**< the same with a click at each S1 */
    size_t n_marks;
    demonstrate_mark *marks; /**< ascending */
    demonstrate_origin origin;
    fm_reason reason; /**< DEMONSTRATE_NONE: why */
    bool doubtful;    /**< DEMONSTRATE_COUNT: counted with caution */
    size_t n_envelope;
    float
        *envelope; /**< envelope[0..n_envelope-1], DEMONSTRATE_ENVELOPE_HZ a second: the
                          most of 25-400 Hz in each, 1 is the loudest of the stretch */
    int beats;     /**< S1 in the stretch */
    fm_short_count short_counts[2]; /**< of 15 s and of 30 s */
} demonstration;

/**
 * Read, find the marks, and make ready.
 *
 * @param[out] out  filled; empty on failure
 * @return false with err: as analyse_file and truth_document_read
 */
bool demonstration_load(const demonstrate_request *request,
                        demonstration *out,
                        app_err *err);

/** Frees what is inside; out is then empty. */
void demonstration_free(demonstration *d);

#endif
