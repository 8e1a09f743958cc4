#include "dsp/rhythm/interval_measures.h"

#include <math.h>

static const double NN50_S = 0.050; /* Task Force 1996: over 50 ms, strictly */
static const double MS_PER_S = 1000.0;

/* Mean and sum of squares about it, in one pass: Welford, Technometrics 4:419, 1962. */
typedef struct running {
    size_t n;
    double mean;
    double squares;
} running;

static void add(running *r, double x)
{
    r->n++;
    const double off = x - r->mean;
    r->mean += off / (double)r->n;
    r->squares += off * (x - r->mean);
}

static double deviation(const running *r, size_t n_min)
{
    return r->n < n_min ? (double)NAN : sqrt(r->squares / (double)(r->n - 1));
}

fm_interval_measures fm_interval_measures_estimate(const fm_measured_interval *interval,
                                                   size_t n)
{
    running lengths = {0};
    running across = {0};
    running along = {0};
    double squares = 0.0;
    size_t over = 0;
    for (size_t i = 0; i < n; i++) {
        add(&lengths, interval[i].length_s);
        if (i == 0 || !interval[i].follows) {
            continue;
        }
        const double before_s = interval[i - 1].length_s;
        const double difference_s = interval[i].length_s - before_s;
        add(&across, difference_s / sqrt(2.0));
        add(&along, (interval[i].length_s + before_s) / sqrt(2.0));
        squares += difference_s * difference_s;
        over += fabs(difference_s) > NN50_S ? 1 : 0;
    }
    const size_t pairs = across.n;
    const bool enough = pairs >= FM_MEASURES_DIFFERENCE_MIN && isfinite(squares);
    const double sdnn_s = deviation(&lengths, FM_MEASURES_SPREAD_MIN);
    return (fm_interval_measures){
        .n_intervals = n,
        .n_differences = pairs,
        .mean_interval_s = n < FM_MEASURES_MEAN_MIN ? (double)NAN : lengths.mean,
        .sdnn_ms = MS_PER_S * sdnn_s,
        .rmssd_ms = enough ? MS_PER_S * sqrt(squares / (double)pairs) : (double)NAN,
        .pnn50 = enough ? (double)over / (double)pairs : (double)NAN,
        .cv = n < FM_MEASURES_SPREAD_MIN ? (double)NAN : sdnn_s / lengths.mean,
        .sd1_ms = MS_PER_S * deviation(&across, FM_MEASURES_POINCARE_MIN),
        .sd2_ms = MS_PER_S * deviation(&along, FM_MEASURES_POINCARE_MIN),
    };
}
