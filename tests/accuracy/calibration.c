#include "calibration.h"

#include <math.h>

forecast forecast_of(const scored *s)
{
    return (forecast){isfinite(s->confidence) ? s->confidence : 0.0, s->error <= 3.0};
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
    for (size_t i = 0; i < FM_CALIBRATION_BINS; i++) {
        const fm_calibration_bin b = fm_calibration_bin_of(f, n, i);
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
