#include "dsp/peaks.h"

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

float fm_quantile(float *x, size_t n, double q)
{
    const double place = q * (double)(n - 1);
    const size_t k = (size_t)place;
    select_kth(x, n, k);
    if (k + 1 >= n) {
        return x[k];
    }
    float next = x[k + 1];
    for (size_t i = k + 2; i < n; i++) {
        next = x[i] < next ? x[i] : next;
    }
    return x[k] + (float)(place - (double)k) * (next - x[k]);
}
