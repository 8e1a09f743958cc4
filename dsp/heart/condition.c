#include "dsp/heart/condition.h"

#include "dsp/heart/features.h"
#include "dsp/signal/filter.h"
#include "dsp/signal/peaks.h"

#include <math.h>
#include <string.h>

enum {
    BINS = FM_CONDITION_FFT / 2 + 1,
    BLOCK = 200, /* 100 ms */
    NEAR = 12    /* bins either side that a line is compared with */
};

/* Below this lies hand and breath movement, no heart sound (S3 and S4 begin at about
 * 20 Hz, from memory). */
static const double RUMBLE_HZ = 18.0;
/* A line stands this far above its neighbours (power). Beats repeat 0.5 to 4 times a
 * second, so their own lines are blurred to less (tuned on composed hum). */
static const float LINE_RATIO = 25.0f;
/* A bin and a half: how far a multiple of the lowest line may lie off, for each order. */
static const double MULTIPLE_NEAR_HZ = 1.5;
/* Beside the strongest line (power), weaker ones are its own side lobes. */
static const float WEAK_LINE = 0.003f;
static const double NOTCH_WIDTH_HZ = 2.0;

/* Median of the density around bin k, without its own three bins. */
static float neighbourhood(const float *density, size_t k)
{
    float around[2 * NEAR];
    size_t n = 0;
    const size_t first = k > NEAR ? k - NEAR : 0;
    for (size_t i = first; i <= k + NEAR && i < BINS; i++) {
        if (i + 2 < k || i > k + 2) {
            around[n++] = density[i];
        }
    }
    return n > 0 ? fm_quantile(around, n, 0.5) : 0.0f;
}

/* Are all lines of some strength multiples of the lowest of them? */
static bool are_multiples(const double *line_hz, const float *height, size_t n)
{
    double lowest = line_hz[0];
    for (size_t i = 1; i < n; i++) {
        if (height[i] > WEAK_LINE * height[0] && line_hz[i] < lowest) {
            lowest = line_hz[i];
        }
    }
    for (size_t i = 0; i < n; i++) {
        const double order = floor(line_hz[i] / lowest + 0.5);
        if (height[i] > WEAK_LINE * height[0] &&
            fabs(line_hz[i] - order * lowest) > MULTIPLE_NEAR_HZ * order) {
            return false;
        }
    }
    return n > 0;
}

static void find_lines(const float *density, fm_conditioned *found)
{
    float height[FM_CONDITION_LINES_MAX] = {0};
    for (size_t k = 20; k + 1 < BINS; k++) {
        if (density[k] < density[k - 1] || density[k] < density[k + 1] ||
            density[k] < LINE_RATIO * neighbourhood(density, k)) {
            continue;
        }
        size_t place = found->n_lines;
        while (place > 0 && height[place - 1] < density[k]) {
            place--;
        }
        if (place >= FM_CONDITION_LINES_MAX) {
            continue;
        }
        const size_t kept = found->n_lines < FM_CONDITION_LINES_MAX
                                ? found->n_lines
                                : FM_CONDITION_LINES_MAX - 1;
        memmove(height + place + 1, height + place, (kept - place) * sizeof(*height));
        memmove(found->line_hz + place + 1, found->line_hz + place,
                (kept - place) * sizeof(*found->line_hz));
        height[place] = density[k];
        found->line_hz[place] = (double)k * FM_WORK_RATE_HZ / FM_CONDITION_FFT;
        found->n_lines = kept + 1;
    }
    found->harmonic = are_multiples(found->line_hz, height, found->n_lines);
}

/* The centre of a line, better than a bin: centre of mass of three bins. */
static double line_centre_hz(const float *density, double near_hz)
{
    const size_t k = (size_t)(near_hz * FM_CONDITION_FFT / FM_WORK_RATE_HZ + 0.5);
    double mass = 0.0;
    double moment = 0.0;
    for (size_t i = k - 1; i <= k + 1; i++) {
        mass += (double)density[i];
        moment += (double)density[i] * (double)i;
    }
    return mass > 0.0 ? moment / mass * FM_WORK_RATE_HZ / FM_CONDITION_FFT : near_hz;
}

static double restlessness(const float *x, size_t n)
{
    float power[FM_SEGMENT_SAMPLES / BLOCK];
    const size_t n_blocks = n / BLOCK;
    if (n_blocks < 2) {
        return 0.0;
    }
    for (size_t i = 0; i < n_blocks; i++) {
        power[i] = logf((float)fm_mean_square(x + i * BLOCK, BLOCK) + 1e-12f);
    }
    const float low = fm_quantile(power, n_blocks, 0.1);
    return (double)(fm_quantile(power, n_blocks, 0.9) - low);
}

void fm_condition(fm_spectrum *spectrum, float *x, size_t n, fm_conditioned *found)
{
    fm_filter filter;
    float density[BINS];
    *found = (fm_conditioned){0};
    if (fm_filter_init_highpass(&filter, 2, FM_WORK_RATE_HZ, RUMBLE_HZ) == FM_OK) {
        fm_filter_zero_phase(&filter, x, n);
    }
    found->power = fm_mean_square(x, n);
    found->restlessness = restlessness(x, n);
    if (!(found->power > 0.0) ||
        fm_spectrum_welch(spectrum, x, n, FM_WORK_RATE_HZ, density) != FM_OK) {
        return;
    }
    find_lines(density, found);
    for (size_t i = 0; i < found->n_lines; i++) {
        const double centre_hz = line_centre_hz(density, found->line_hz[i]);
        if (fm_filter_init_notch(&filter, FM_WORK_RATE_HZ, centre_hz, NOTCH_WIDTH_HZ) ==
            FM_OK) {
            fm_filter_zero_phase(&filter, x, n);
        }
    }
    if (found->n_lines > 0) {
        found->line_share = 1.0 - fm_mean_square(x, n) / found->power;
    }
}
