#include "calibration.h"

#include <math.h>
#include <stdlib.h>

enum {
    BINS = 10
};

forecast forecast_of(const scored *s)
{
    return (forecast){isfinite(s->confidence) ? s->confidence : 0.0, s->error <= 3.0};
}

static int compare_forecasts(const void *a, const void *b)
{
    const double x = ((const forecast *)a)->confidence;
    const double y = ((const forecast *)b)->confidence;
    return (x > y) - (x < y);
}

/* One equal-count bin of sorted forecasts. */
typedef struct bin {
    size_t n;
    double low;
    double high;
    double confidence;
    double right;
} bin;

static bin bin_of(const forecast *f, size_t n, size_t index)
{
    const size_t first = n * index / BINS;
    const size_t last = n * (index + 1) / BINS;
    bin b = {.n = last - first};
    for (size_t i = first; i < last; i++) {
        b.confidence += f[i].confidence / (double)b.n;
        b.right += f[i].right ? 1.0 / (double)b.n : 0.0;
    }
    if (b.n > 0) {
        b.low = f[first].confidence;
        b.high = f[last - 1].confidence;
    }
    return b;
}

/* Mean rank of the right ones gives the area; equal confidences share a rank. */
static double area_of(const forecast *f, size_t n, size_t n_right)
{
    const size_t n_wrong = n - n_right;
    if (n_right == 0 || n_wrong == 0) {
        return (double)NAN;
    }
    double ranks = 0.0;
    for (size_t i = 0; i < n;) {
        size_t j = i;
        size_t right = 0;
        while (j < n && !(f[j].confidence > f[i].confidence)) {
            right += f[j].right;
            j++;
        }
        ranks += (double)right * 0.5 * (double)(i + 1 + j);
        i = j;
    }
    const double r = (double)n_right;
    return (ranks - 0.5 * r * (r + 1.0)) / (r * (double)n_wrong);
}

calibration calibration_of(forecast *f, size_t n)
{
    calibration c = {(double)NAN, (double)NAN, (double)NAN, (double)NAN, (double)NAN};
    if (n == 0) {
        return c;
    }
    qsort(f, n, sizeof *f, compare_forecasts);
    size_t n_right = 0;
    double brier = 0.0;
    for (size_t i = 0; i < n; i++) {
        const double d = f[i].confidence - (f[i].right ? 1.0 : 0.0);
        n_right += f[i].right;
        brier += d * d;
    }
    c.share_right = (double)n_right / (double)n;
    c.brier = brier / (double)n;
    c.brier_constant = c.share_right * (1.0 - c.share_right);
    c.area = area_of(f, n, n_right);
    c.expected_error = 0.0;
    for (size_t i = 0; i < BINS; i++) {
        const bin b = bin_of(f, n, i);
        c.expected_error += (double)b.n / (double)n * fabs(b.confidence - b.right);
    }
    return c;
}

static void print_risk(FILE *out, const forecast *f, size_t n)
{
    (void)fprintf(out,
                  "coverage, most confident first, and the share wrong by over 3\n");
    for (size_t tenth = 5; tenth <= 10; tenth++) {
        const size_t covered = n * tenth / 10;
        long wrong = 0;
        for (size_t i = n - covered; i < n; i++) {
            wrong += !f[i].right;
        }
        (void)fprintf(out, "  %3zu0 %%  ", tenth);
        print_share(out, wrong, (long)covered);
        (void)fputc('\n', out);
    }
}

void calibration_print(FILE *out, forecast *f, size_t n)
{
    const calibration c = calibration_of(f, n);
    if (n == 0) {
        return;
    }
    (void)fprintf(out,
                  "\nconfidence, in ten bins of equal count: from, to, mean, share "
                  "right (within 3)\n");
    for (size_t i = 0; i < BINS; i++) {
        const bin b = bin_of(f, n, i);
        if (b.n > 0) {
            (void)fprintf(out, "  %4zu  %.3f-%.3f  %.3f  %.3f\n", b.n, b.low, b.high,
                          b.confidence, b.right);
        }
    }
    (void)fprintf(out,
                  "expected calibration error %.4f; Brier %.4f, of a constant forecast "
                  "%.4f; area under the curve %.3f\n",
                  c.expected_error, c.brier, c.brier_constant, c.area);
    print_risk(out, f, n);
}
