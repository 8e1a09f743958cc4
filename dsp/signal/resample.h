/**
 * @file resample.h
 * Streaming change of sample rate with libsoxr (HQ, one thread), delay removed; mono.
 *
 * The library is fed blocks of one fixed size whatever the caller's cuts, so the output
 * does not depend on them. Output sample k is the input at k/out_rate seconds.
 */
#ifndef FM_RESAMPLE_H
#define FM_RESAMPLE_H

#include "dsp/status.h"

#include <stdbool.h>
#include <stddef.h>

enum {
    FM_RESAMPLE_BLOCK = 1024 /**< input samples handed on at once */
};

/** Opaque; see fm_resampler_destroy. */
typedef struct fm_resampler fm_resampler;

/**
 * New resampler, warmed so that later calls find their memory in place.
 *
 * @param in_rate_hz, out_rate_hz  > 0
 * @return the resampler; NULL on a bad rate or when memory is short
 */
fm_resampler *fm_resampler_create(double in_rate_hz, double out_rate_hz);

/** Frees r; NULL is allowed. */
void fm_resampler_destroy(fm_resampler *r);

/**
 * Forget everything: the next sample is time 0 again.
 *
 * @return FM_OK; FM_ERR_NOMEM: the library could not begin again
 */
fm_status fm_resampler_reset(fm_resampler *r);

/** Has the library failed since the last reset (for want of memory)? What came out then is
 *  not whole. */
bool fm_resampler_has_failed(const fm_resampler *r);

/**
 * Feed n samples; take up to max samples of output.
 *
 * @param[in]  in   in[0..n-1]
 * @param[out] out  out[0..max-1]; output beyond max is dropped
 * @return samples written
 */
size_t fm_resampler_push(
    fm_resampler *r, const float *in, size_t n, float *out, size_t max);

/** No more input: take what is left, up to max samples. */
size_t fm_resampler_flush(fm_resampler *r, float *out, size_t max);

#endif
