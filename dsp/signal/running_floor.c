#include "dsp/signal/running_floor.h"

#include "dsp/signal/lanes.h"

/* A narrower range is one bin: finer ones would be too fine for a float. */
static const float RANGE_MIN = 1e-30f;

typedef struct neighbours {
    const float *x;
    const uint16_t *bin;
    size_t first;
    size_t last; /* one past its end */
    uint16_t count[FM_FLOOR_BINS];
    size_t at;    /* a bin */
    size_t below; /* values of the neighbours in lower bins */
} neighbours;

static void find_bins(const float *x, size_t n, uint16_t *bin)
{
    float low = x[0];
    float high = x[0];
    for (size_t k = 1; k < n; k++) {
        low = x[k] < low ? x[k] : low;
        high = x[k] > high ? x[k] : high;
    }
    const float range = high - low;
    const float scale =
        range > RANGE_MIN ? (float)(FM_FLOOR_BINS - 1) / range : 0.0f; /* or one bin */
    for (size_t k = 0; k < n; k++) {
        const int32_t place = (int32_t)((x[k] - low) * scale);
        bin[k] = (uint16_t)(place < FM_FLOOR_BINS ? place : FM_FLOOR_BINS - 1);
    }
}

static void move(neighbours *near, size_t first, size_t last)
{
    for (; near->last < last; near->last++) {
        near->count[near->bin[near->last]]++;
        near->below += near->bin[near->last] < near->at;
    }
    for (; near->first < first; near->first++) {
        near->count[near->bin[near->first]]--;
        near->below -= near->bin[near->first] < near->at;
    }
}

/* Goes to the bin that holds the value of a rank from 0. */
static void seek(neighbours *near, size_t rank)
{
    while (near->below > rank) {
        near->at--;
        near->below -= near->count[near->at];
    }
    while (near->below + near->count[near->at] <= rank) {
        near->below += near->count[near->at];
        near->at++;
    }
}

/* Values of a bin of the neighbours, in ascending order; returns how many. */
static size_t sorted_values(const neighbours *near, size_t bin, float *value)
{
    size_t n = 0;
    size_t k = near->first;
    for (; k + 8 <= near->last; k += 8) {
        if (fm_any_of_eight(near->bin + k, (uint16_t)bin)) {
            for (size_t i = k; i < k + 8; i++) {
                value[n] = near->x[i];
                n += near->bin[i] == bin;
            }
        }
    }
    for (; k < near->last; k++) {
        value[n] = near->x[k];
        n += near->bin[k] == bin;
    }
    for (size_t i = 1; i < n; i++) {
        const float v = value[i];
        size_t j = i;
        while (j > 0 && value[j - 1] > v) {
            value[j] = value[j - 1];
            j--;
        }
        value[j] = v;
    }
    return n;
}

/* By linear interpolation between order statistics, as fm_quantile. */
static float quantile_of(neighbours *near, double q)
{
    float value[FM_FLOOR_MOST + 1] = {0};
    const size_t n = near->last - near->first;
    const double place = q * (double)(n - 1);
    const size_t rank = (size_t)place;
    seek(near, rank);
    const size_t in_bin = sorted_values(near, near->at, value);
    const size_t k = rank - near->below;
    const float low = value[k];
    if (rank + 1 >= n) {
        return low;
    }
    float next;
    if (k + 1 < in_bin) {
        next = value[k + 1];
    } else {
        size_t bin = near->at + 1;
        while (near->count[bin] == 0) {
            bin++;
        }
        (void)sorted_values(near, bin, value);
        next = value[0];
    }
    return low + (float)(place - (double)rank) * (next - low);
}

void fm_running_floor(
    const float *x, size_t n, const fm_floor_reach *how, uint16_t *bin, float *floor)
{
    neighbours near = {.x = x, .bin = bin};
    float previous = 0.0f;
    size_t previous_at = 0;
    find_bins(x, n, bin);
    for (size_t at = 0;; at += how->hop) {
        at = at < n ? at : n - 1;
        const size_t last = at + how->reach < n ? at + how->reach : n - 1;
        move(&near, at > how->reach ? at - how->reach : 0, last + 1);
        const float value = quantile_of(&near, how->quantile);
        if (at == 0) {
            previous = value;
            floor[0] = value;
        }
        for (size_t k = previous_at + 1; k <= at; k++) {
            const float share = (float)(k - previous_at) / (float)(at - previous_at);
            floor[k] = previous + share * (value - previous);
        }
        previous = value;
        previous_at = at;
        if (at == n - 1) {
            return;
        }
    }
}
