#include "dsp/signal/autocorrelation.h"

#include "dsp/signal/lanes.h"

enum {
    AT_ONCE = FM_AUTOCORRELATION_ROOM, /* lags side by side */
    VECTORS = AT_ONCE / FM_LANES,
    BLOCK = 512 /* products that are summed up before they join the rest, so that a
                     long series loses no digits */
};

/* sum[l] = sum over k of x[k] * x[k + lag + l]. */
FM_WIDE static void sum_products(const float *x, size_t n, size_t lag, fm_lanes *sum)
{
    for (size_t v = 0; v < VECTORS; v++) {
        sum[v] = (fm_lanes){0};
    }
    for (size_t from = 0; from + lag < n; from += BLOCK) {
        const size_t left = n - lag - from;
        const size_t last = from + (left < BLOCK ? left : BLOCK);
        fm_lanes a = {0};
        fm_lanes b = {0};
        fm_lanes c = {0};
        fm_lanes d = {0};
        for (size_t k = from; k < last; k++) {
            const fm_lanes *later = (const fm_lanes *)(x + k + lag);
            const float now = x[k];
            a += now * later[0];
            b += now * later[1];
            c += now * later[2];
            d += now * later[3];
        }
        sum[0] += a;
        sum[1] += b;
        sum[2] += c;
        sum[3] += d;
    }
}
_Static_assert((int)VECTORS == 4, "four sums are kept side by side");

fm_status fm_autocorrelation(const float *x, size_t n, float *r, size_t n_lags)
{
    if (n < 1 || n_lags < 1 || n_lags > n) {
        return FM_ERR_ARG;
    }
    double zero = 0.0;
    for (size_t lag = 0; lag < n_lags; lag += AT_ONCE) {
        fm_lanes sum[VECTORS];
        sum_products(x, n, lag, sum);
        zero = lag == 0 ? (double)sum[0][0] / (double)n : zero;
        for (size_t l = 0; l < AT_ONCE && lag + l < n_lags; l++) {
            const double mean =
                (double)sum[l / FM_LANES][l % FM_LANES] / (double)(n - lag - l);
            r[lag + l] = zero > 0.0 ? (float)(mean / zero) : 0.0f;
        }
    }
    return FM_OK;
}
