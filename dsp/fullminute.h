/**
 * @file fullminute.h
 * The library's door: samples in, counts and comparisons out; mono. The other one,
 * fullminute_compose.h, makes recordings with known truth. No
 * files, clock, threads, printing; nothing is kept between calls but in the objects the
 * caller holds. Link libfullminute.a, libkissfft-float, libsoxr, libm.
 *
 * The usual case, all samples at hand: fm_count_samples(x, n, rate_hz, &count).
 *
 * For the rest, in short (errors left out; tests/dsp/test_fullminute.c is the same, compiled
 * and run):
 *
 *     fm_analyser *a = fm_analyser_create(rate_hz, NULL);
 *     fm_analyser_open(a, 0, n);              one window, at most 60 s of samples
 *     fm_analyser_push(a, x, n);              any block size, again and again
 *     fm_analyser_finish(a);
 *     fm_count *count = malloc(sizeof *count);
 *     fm_analyser_take(a, count);             beats, rate, rhythm, quality, or the reason
 *                                             why there is no number
 *     fm_compare(&input, &comparison);        a learner's own count beside it
 *     fm_analyser_destroy(a);
 *
 * From simple to advanced:
 *   status.h             status codes, each with its text
 *   result.h             what a finished window says
 *   analyser.h           the push analyser
 *   provisional.h        quick marks for a live screen, which may be wrong
 *   compare.h, taps.h    a learner's count and taps beside it
 *   reference_range.h    what is usual at an age, and who says so
 *   respiration_pause.h  from which length a stretch without a breath is named, by age
 *   interval_measures.h, rhythm.h   the same measures and words for intervals of your own
 *   agreement.h          bias, limits of agreement and calibration of many counts
 * Everything else in dsp/ serves these and may change without notice.
 *
 * For learning and research; not a medical device.
 */
#ifndef FM_FULLMINUTE_H
#define FM_FULLMINUTE_H

#include "dsp/status.h"

#include "dsp/result.h"

#include "dsp/analyser.h"
#include "dsp/provisional.h"

#include "dsp/compare/compare.h"
#include "dsp/compare/taps.h"

#include "dsp/breath/respiration_pause.h"
#include "dsp/compare/reference_range.h"

#include "dsp/compare/agreement.h"
#include "dsp/rhythm/interval_measures.h"
#include "dsp/rhythm/rhythm.h"

/** Of these headers; the build reads it here. The library's own says fm_version. */
#define FM_LIBRARY_VERSION "0.1.0"

/** The version of the library that runs, "0.1.0"; never NULL, not to be freed. */
const char *fm_version(void);

/**
 * The usual case in one call: counts the first minute, or all where there is less, and uses
 * what follows it as context. The same as a push analyser with one window.
 *
 * @param[in] samples  samples[0..n-1], one channel, full scale +/-1, as fm_analyser_push
 *                     takes them; read only during the call; what is no number is a gap
 * @param n            1 or more
 * @param rate_hz      FM_RATE_MIN_HZ..FM_RATE_MAX_HZ
 * @param[out] out     the caller's (about 40 KB); untouched on error
 * @return FM_OK: counted, or refused with the reason in `out`; FM_ERR_ARG (NULL, or n is 0),
 *         FM_ERR_RATE, FM_ERR_NOMEM
 */
fm_status fm_count_samples(const float *samples,
                           size_t n,
                           double rate_hz,
                           fm_count *out);

#endif
