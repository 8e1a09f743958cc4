#include "src/document/summary.h"

#include <math.h>
#include <stdlib.h>

static void free_series(summary_series *s)
{
    free(s->value);
    *s = (summary_series){0};
}

void summary_free(summary *s)
{
    free_series(&s->rate_bpm);
    free_series(&s->breath_per_min);
    free_series(&s->quality);
    free_series(&s->confidence);
    free_series(&s->rate.measured);
    free_series(&s->rate.truth);
    free_series(&s->breath.measured);
    free_series(&s->breath.truth);
    free(s->forecasts);
    *s = (summary){0};
}

bool summary_series_add(summary_series *to, double value)
{
    if (!isfinite(value)) {
        return true;
    }
    if (to->n == to->room) {
        const size_t room = to->room > 0 ? 2 * to->room : 256;
        double *const grown = realloc(to->value, room * sizeof *grown);
        if (grown == NULL) {
            return false;
        }
        to->value = grown;
        to->room = room;
    }
    to->value[to->n++] = value;
    return true;
}

/* The number of the bin that holds a value; decimals of tenths are not whole in binary. */
static double bin_of(double value, double step, double top)
{
    const double inside = value >= top ? top - 0.5 * step : value;
    return floor(inside / step + 1e-9);
}

summary_bins summary_bins_of(const summary_series *series, double step, double top)
{
    summary_bins b = {.step = step};
    if (series->n == 0) {
        return b;
    }
    const double least = series->value[0];
    const double greatest = series->value[series->n - 1];
    while (bin_of(greatest, b.step, top) - bin_of(least, b.step, top) >= SUMMARY_BINS) {
        b.step *= 2.0;
    }
    const double first = bin_of(least, b.step, top);
    b.from = first * b.step;
    for (size_t i = 0; i < series->n; i++) {
        const double at = bin_of(series->value[i], b.step, top) - first;
        const size_t bin = at < SUMMARY_BINS - 1 ? (size_t)at : SUMMARY_BINS - 1;
        b.count[bin]++;
        b.n = bin + 1 > b.n ? bin + 1 : b.n;
        b.most = b.count[bin] > b.most ? b.count[bin] : b.most;
    }
    return b;
}
