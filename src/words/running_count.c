#include "src/words/running_count.h"

#include <stdlib.h>

static int beats_in(const double *beats_s, size_t n, double from_s, double until_s)
{
    int found = 0;
    for (size_t i = 0; i < n; i++) {
        found += beats_s[i] >= from_s && beats_s[i] < until_s;
    }
    return found;
}

size_t running_count_slips(const int notes[RUNNING_NOTES],
                           int entered,
                           const double *beats_s,
                           size_t n,
                           double start_s,
                           running_part out[RUNNING_NOTES + 1])
{
    size_t slips = 0;
    int before = 0;
    int from_s = 0;
    for (int k = 0; k <= RUNNING_NOTES; k++) {
        const int note = k < RUNNING_NOTES ? notes[k] : entered;
        const int until_s = (k + 1) * RUNNING_QUARTER_S;
        const bool all = k == RUNNING_NOTES && from_s == 0;
        if (note < before || note > entered || all) {
            continue;
        }
        const running_part part = {
            from_s, until_s, note - before,
            beats_in(beats_s, n, start_s + from_s, start_s + until_s)};
        if (abs(part.yours - part.second) >= RUNNING_LEAST_BEATS) {
            out[slips++] = part;
        }
        before = note;
        from_s = until_s;
    }
    return slips;
}
