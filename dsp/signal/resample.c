#include "dsp/signal/resample.h"

#include <soxr.h>
#include <stdlib.h>
#include <string.h>

struct fm_resampler {
    soxr_t soxr; /* NULL when both rates are the same: samples pass through */
    bool failed; /* since create or the last reset */
    size_t n_waiting;
    float waiting[FM_RESAMPLE_BLOCK];
};

static void warm(fm_resampler *r, double in_rate_hz);

fm_resampler *fm_resampler_create(double in_rate_hz, double out_rate_hz)
{
    if (!(in_rate_hz > 0.0) || !(out_rate_hz > 0.0)) {
        return NULL;
    }
    fm_resampler *r = calloc(1, sizeof(*r));
    if (!r) {
        return NULL;
    }
    if (in_rate_hz < out_rate_hz || in_rate_hz > out_rate_hz) {
        const soxr_io_spec_t io = soxr_io_spec(SOXR_FLOAT32_I, SOXR_FLOAT32_I);
        const soxr_quality_spec_t quality = soxr_quality_spec(SOXR_HQ, 0);
        const soxr_runtime_spec_t runtime = soxr_runtime_spec(1);
        soxr_error_t error = NULL;
        r->soxr =
            soxr_create(in_rate_hz, out_rate_hz, 1, &error, &io, &quality, &runtime);
        if (error || !r->soxr) {
            free(r);
            return NULL;
        }
        warm(r, in_rate_hz);
        if (r->failed) {
            fm_resampler_destroy(r);
            return NULL;
        }
    }
    return r;
}

void fm_resampler_destroy(fm_resampler *r)
{
    if (!r) {
        return;
    }
    if (r->soxr) {
        soxr_delete(r->soxr);
    }
    free(r);
}

fm_status fm_resampler_reset(fm_resampler *r)
{
    r->n_waiting = 0;
    r->failed = r->soxr && soxr_clear(r->soxr);
    return r->failed ? FM_ERR_NOMEM : FM_OK;
}

bool fm_resampler_has_failed(const fm_resampler *r)
{
    return r->failed;
}

static size_t process(
    fm_resampler *r, const float *in, size_t n, float *out, size_t max)
{
    size_t written = 0;
    size_t used = 0;
    float overflow[256];
    do {
        size_t done_in = 0;
        size_t done_out = 0;
        const bool full = written >= max;
        const soxr_error_t error = soxr_process(
            r->soxr, in ? in + used : NULL, n - used, &done_in,
            full ? overflow : out + written, full ? 256 : max - written, &done_out);
        used += done_in;
        r->failed = r->failed || error;
        if (error || (done_in == 0 && done_out == 0)) {
            break;
        }
        written += full ? 0 : done_out;
    } while (used < n || !in);
    return written;
}

size_t fm_resampler_push(
    fm_resampler *r, const float *in, size_t n, float *out, size_t max)
{
    if (!r->soxr) {
        const size_t count = n < max ? n : max;
        memcpy(out, in, count * sizeof(*out));
        return count;
    }
    size_t written = 0;
    while (n > 0) {
        const size_t room = FM_RESAMPLE_BLOCK - r->n_waiting;
        const size_t count = n < room ? n : room;
        memcpy(r->waiting + r->n_waiting, in, count * sizeof(*in));
        r->n_waiting += count;
        in += count;
        n -= count;
        if (r->n_waiting == FM_RESAMPLE_BLOCK) {
            written +=
                process(r, r->waiting, FM_RESAMPLE_BLOCK, out + written, max - written);
            r->n_waiting = 0;
        }
    }
    return written;
}

size_t fm_resampler_flush(fm_resampler *r, float *out, size_t max)
{
    if (!r->soxr) {
        return 0;
    }
    size_t written = process(r, r->waiting, r->n_waiting, out, max);
    r->n_waiting = 0;
    written += process(r, NULL, 0, out + written, max - written);
    return written;
}

/* The library may grow its queues at first use: let that happen here, with a second of
 * silence and a flush, and not on somebody's time. */
static void warm(fm_resampler *r, double in_rate_hz)
{
    static const float silence[FM_RESAMPLE_BLOCK] = {0};
    float out[FM_RESAMPLE_BLOCK];
    for (double fed = 0.0; fed < in_rate_hz; fed += FM_RESAMPLE_BLOCK) {
        (void)fm_resampler_push(r, silence, FM_RESAMPLE_BLOCK, out, FM_RESAMPLE_BLOCK);
    }
    (void)fm_resampler_flush(r, out, FM_RESAMPLE_BLOCK);
    if (!r->failed) {
        (void)fm_resampler_reset(r);
    }
}
