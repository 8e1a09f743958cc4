#include "dsp/signal/short_time.h"

#include "dsp/constants.h"
#include "dsp/signal/lanes.h"

#include <math.h>
#include <stddef.h>

enum {
    HALF = FM_SHORT_N / 2,
    QUARTER = FM_SHORT_QUARTER,
    BINS = FM_SHORT_BINS,
    VECTORS = BINS / FM_LANES
};
_Static_assert((int)FM_SHORT_FIRST % 2 == 0 && (int)BINS % (int)FM_LANES == 0 &&
                   (int)VECTORS == 4,
               "bins begin with an even one and fill the lanes");

void fm_short_time_init(fm_short_time *s)
{
    for (size_t i = 0; i < FM_SHORT_N; i++) {
        s->hann[i] = (float)(0.5 - 0.5 * cos(2.0 * FM_PI * (double)i / FM_SHORT_N));
    }
    double around[FM_SHORT_N]; /* cosines; a quarter of a period back: sines */
    for (size_t i = 0; i < FM_SHORT_N; i++) {
        around[i] = cos(2.0 * FM_PI * (double)i / FM_SHORT_N);
    }
    for (size_t odd = 0; odd < 2; odd++) {
        for (size_t i = 0; i <= QUARTER; i++) {
            for (size_t b = 0; b < BINS; b++) {
                const size_t turn = (FM_SHORT_FIRST + 2 * b + odd) * i;
                const size_t back = turn + FM_SHORT_N - QUARTER;
                s->cosine[odd][i][b] = (float)around[turn % FM_SHORT_N];
                s->sine[odd][i][b] = (float)around[back % FM_SHORT_N];
            }
        }
    }
}

/* What each sample counts in the cosines and sines of even and odd bins: samples that meet
 * the same value, or its opposite, are added up first. */
typedef struct folded {
    float cosine[2][QUARTER + 1];
    float sine[2][QUARTER + 1];
} folded;

static inline void fold(const fm_short_time *s, const float *x, folded *f)
{
    float sum[HALF + 1];  /* cos is the same at i and -i */
    float rest[HALF + 1]; /* sin is the opposite */
    sum[0] = x[0] * s->hann[0];
    rest[0] = 0.0f;
    for (size_t i = 1; i < HALF; i++) {
        const float a = x[i] * s->hann[i];
        const float b = x[FM_SHORT_N - i] * s->hann[FM_SHORT_N - i];
        sum[i] = a + b;
        rest[i] = a - b;
    }
    sum[HALF] = x[HALF] * s->hann[HALF];
    rest[HALF] = 0.0f;
    /* Half a period less i: for even bins cos is the same and sin the opposite, for odd
     * ones the other way round. */
    for (size_t i = 0; i < QUARTER; i++) {
        f->cosine[0][i] = sum[i] + sum[HALF - i];
        f->cosine[1][i] = sum[i] - sum[HALF - i];
        f->sine[0][i] = rest[i] - rest[HALF - i];
        f->sine[1][i] = rest[i] + rest[HALF - i];
    }
    f->cosine[0][QUARTER] = sum[QUARTER];
    f->cosine[1][QUARTER] = 0.0f;
    f->sine[0][QUARTER] = 0.0f;
    f->sine[1][QUARTER] = rest[QUARTER];
}

/* sum over i of value[i] * table[i][b], for all bins. */
static inline void add_up(const float *value, const float (*table)[BINS], fm_lanes *out)
{
    fm_lanes a = {0};
    fm_lanes b = {0};
    fm_lanes c = {0};
    fm_lanes d = {0};
    for (size_t i = 0; i <= QUARTER; i++) {
        const fm_lanes *row = (const fm_lanes *)table[i];
        const float now = value[i];
        a += now * row[0];
        b += now * row[1];
        c += now * row[2];
        d += now * row[3];
    }
    out[0] = a;
    out[1] = b;
    out[2] = c;
    out[3] = d;
}

FM_WIDE void fm_short_time_power(const fm_short_time *s, const float *x, float *power)
{
    folded f;
    fold(s, x, &f);
    for (size_t odd = 0; odd < 2; odd++) {
        fm_lanes re[VECTORS];
        fm_lanes im[VECTORS];
        float of_bin[BINS];
        add_up(f.cosine[odd], s->cosine[odd], re);
        add_up(f.sine[odd], s->sine[odd], im);
        for (size_t v = 0; v < VECTORS; v++) {
            *(fm_lanes *)&of_bin[v * FM_LANES] = re[v] * re[v] + im[v] * im[v];
        }
        for (size_t b = 0; b < BINS && FM_SHORT_FIRST + 2 * b + odd < FM_SHORT_LAST;
             b++) {
            power[FM_SHORT_FIRST + 2 * b + odd] = of_bin[b];
        }
    }
}
