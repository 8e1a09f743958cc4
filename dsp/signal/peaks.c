#include "dsp/signal/peaks.h"

#include "dsp/constants.h"

#include <math.h>
#include <stdbool.h>

#include <math.h>
#include <stdbool.h>

/* Lowest value from i outwards until something higher than x[i], the window or an end. */
static float side_minimum(const float *x, size_t n, size_t i, size_t window, int step)
{
    float low = x[i];
    size_t steps = 0;
    for (size_t j = i; x[j] <= x[i]; j = step > 0 ? j + 1 : j - 1) {
        low = x[j] < low ? x[j] : low;
        if ((step > 0 ? j + 1 >= n : j == 0) || (window > 0 && steps >= window)) {
            break;
        }
        steps++;
    }
    return low;
}

size_t fm_peaks_find(const float *x,
                     size_t n,
                     float min_prominence,
                     size_t window,
                     fm_peak *peaks,
                     size_t max)
{
    size_t found = 0;
    for (size_t i = 1; i + 1 < n && found < max;) {
        if (!(x[i] > x[i - 1])) {
            i++;
            continue;
        }
        size_t end = i; /* last sample of a flat top */
        while (end + 1 < n && !(x[end + 1] < x[i]) && !(x[end + 1] > x[i])) {
            end++;
        }
        if (end + 1 < n && x[end + 1] < x[i]) {
            const size_t middle = (i + end) / 2;
            const float left = side_minimum(x, n, middle, window, -1);
            const float right = side_minimum(x, n, middle, window, 1);
            const float prominence = x[middle] - (left > right ? left : right);
            if (prominence >= min_prominence) {
                peaks[found++] = (fm_peak){middle, x[middle], prominence};
            }
        }
        i = end + 1;
    }
    return found;
}

static void swap(float *a, float *b)
{
    const float t = *a;
    *a = *b;
    *b = t;
}

/* Put the k-th smallest at x[k], smaller ones before it, larger ones after. */
static void select_kth(float *x, size_t n, size_t k)
{
    size_t left = 0;
    size_t right = n - 1;
    while (left < right) {
        const float pivot = x[left + (right - left) / 2];
        size_t i = left;
        size_t j = right;
        while (i <= j) {
            while (x[i] < pivot) {
                i++;
            }
            while (x[j] > pivot) {
                j--;
            }
            if (i <= j) {
                swap(&x[i], &x[j]);
                i++;
                if (j == 0) {
                    break;
                }
                j--;
            }
        }
        if (k <= j) {
            right = j;
        } else if (k >= i) {
            left = i;
        } else {
            return;
        }
    }
}

/* Bins of a long series' range, and the values in one of them. */
enum {
    LONG = 512, /* from here on a look at the range first pays */
    BINS = 256,
    FEW = 512
};

/* A narrower range is all one value: its bins would be too fine for a float. */
static const float RANGE_MIN = 1e-30f;

typedef struct narrowed {
    float value[FEW];
    size_t n;
    size_t below; /* values in lower bins */
} narrowed;

/* The values of the bin that holds rank k and of the next one that holds any, so that
 * rank k + 1 is among them as well; false where they are not few. */
static bool narrow(const float *x, size_t n, size_t k, narrowed *few)
{
    size_t count[BINS] = {0};
    float low = x[0];
    float high = x[0];
    for (size_t i = 1; i < n; i++) {
        low = x[i] < low ? x[i] : low;
        high = x[i] > high ? x[i] : high;
    }
    const float range = high - low;
    if (!(range > RANGE_MIN) || !isfinite(range)) {
        return false;
    }
    const float scale = (float)(BINS - 1) / range;
    for (size_t i = 0; i < n; i++) {
        count[(size_t)((x[i] - low) * scale)]++;
    }
    size_t first = 0;
    few->below = 0;
    while (few->below + count[first] <= k) {
        few->below += count[first++];
    }
    size_t last = first;
    if (few->below + count[first] == k + 1) {
        do {
            last++;
        } while (last < BINS && count[last] == 0);
    }
    const size_t held = count[first] + (last > first && last < BINS ? count[last] : 0);
    few->n = 0;
    for (size_t i = 0; i < n && held < FEW; i++) {
        const size_t bin = (size_t)((x[i] - low) * scale);
        few->value[few->n] = x[i];
        few->n += bin >= first && bin <= last;
    }
    return held < FEW;
}

float fm_quantile(float *x, size_t n, double q)
{
    const double place = q * (double)(n - 1);
    size_t k = (size_t)place;
    const float share = (float)(place - (double)k);
    narrowed few;
    if (n >= LONG && narrow(x, n, k, &few)) {
        x = few.value;
        n = few.n;
        k -= few.below;
    }
    select_kth(x, n, k);
    if (k + 1 >= n) {
        return x[k];
    }
    float next = x[k + 1];
    for (size_t i = k + 2; i < n; i++) {
        next = x[i] < next ? x[i] : next;
    }
    return x[k] + share * (next - x[k]);
}

double fm_spread_about(float *x, size_t n, float middle)
{
    for (size_t i = 0; i < n; i++) {
        x[i] = fabsf(x[i] - middle);
    }
    return FM_MAD_TO_SD * (double)fm_quantile(x, n, 0.5);
}

double fm_mean_square(const float *x, size_t n)
{
    double sum = 0.0;
    for (size_t i = 0; i < n; i++) {
        sum += (double)x[i] * (double)x[i];
    }
    return n > 0 ? sum / (double)n : 0.0;
}
