#include "dsp/heart/placement.h"

#include "dsp/signal/spectrum.h"

#include <math.h>
#include <stdlib.h>

/* Lowest and highest frequency of each band, Hz. */
static const double BANDS_HZ[FM_PLACEMENT_BANDS][2] = {
    [FM_PLACEMENT_DEEP] = {30.0, 80.0},      [FM_PLACEMENT_LOW] = {30.0, 150.0},
    [FM_PLACEMENT_SPEECH] = {300.0, 3000.0}, [FM_PLACEMENT_RUB] = {700.0, 3000.0},
    [FM_PLACEMENT_HIGH] = {4500.0, 7000.0},  [FM_PLACEMENT_TOP] = {9000.0, 15000.0}};

static const double FULL_SCALE = 0.999; /* one step of 10 bits below full scale */

enum {
    CLIP_RUN = 3,     /* samples in a row; a lone one may be a true peak */
    STILL_PARTS = 10, /* of a frame: 10 ms */
    FRAMES_MIN = 10,
    THIRDS = 3
};

struct fm_placement {
    double rate_hz;
    size_t length; /* samples a frame */
    size_t filled;
    float *x;
    float *power;
    fm_spectrum *spectrum;
    size_t n_frames;
    fm_placement_frame last;
    fm_placement_frame frames[FM_PLACEMENT_FRAMES_MAX];
    double *sorted; /* [0..FM_PLACEMENT_FRAMES_MAX-1] */
};

fm_placement *fm_placement_create(double rate_hz)
{
    if (!(rate_hz >= 1000.0 && rate_hz <= 192000.0)) {
        return NULL;
    }
    fm_placement *const p = calloc(1, sizeof *p);
    if (p == NULL) {
        return NULL;
    }
    p->rate_hz = rate_hz;
    p->length = 2 * (size_t)lround(0.5 * FM_PLACEMENT_FRAME_S * rate_hz);
    p->x = calloc(p->length, sizeof *p->x);
    p->power = calloc(p->length / 2 + 1, sizeof *p->power);
    p->sorted = calloc(FM_PLACEMENT_FRAMES_MAX, sizeof *p->sorted);
    p->spectrum = fm_spectrum_create(p->length);
    if (p->x == NULL || p->power == NULL || p->sorted == NULL || p->spectrum == NULL) {
        fm_placement_destroy(p);
        return NULL;
    }
    return p;
}

void fm_placement_destroy(fm_placement *p)
{
    if (p != NULL) {
        fm_spectrum_destroy(p->spectrum);
        free(p->sorted);
        free(p->power);
        free(p->x);
        free(p);
    }
}

void fm_placement_reset(fm_placement *p)
{
    p->filled = 0;
    p->n_frames = 0;
}

static double to_db(double power)
{
    const double db = power > 0.0 ? 10.0 * log10(power) : FM_PLACEMENT_SILENCE_DBFS;
    return fmax(db, FM_PLACEMENT_SILENCE_DBFS);
}

static double clipped_share(const float *x, size_t n)
{
    size_t clipped = 0;
    size_t run = 0;
    for (size_t i = 0; i <= n; i++) {
        if (i < n && (double)fabsf(x[i]) >= FULL_SCALE) {
            run++;
            continue;
        }
        clipped += run >= CLIP_RUN ? run : 0;
        run = 0;
    }
    return (double)clipped / (double)n;
}

static double still_share(const float *x, size_t n, size_t long_enough)
{
    size_t still = 0;
    size_t run = 1;
    for (size_t i = 1; i <= n; i++) {
        if (i < n && !(x[i] > x[i - 1]) && !(x[i] < x[i - 1])) {
            run++;
            continue;
        }
        still += run >= long_enough ? run : 0;
        run = 1;
    }
    return (double)still / (double)n;
}

/* Mean density of a band. A Hann window passes 3/8 of the power; both halves of the
   spectrum carry it. */
static double band_density_db(const fm_placement *p, const double band_hz[2])
{
    const double bin_hz = p->rate_hz / (double)p->length;
    const double high_hz = fmin(band_hz[1], 0.45 * p->rate_hz);
    if (high_hz < 1.5 * band_hz[0]) {
        return (double)NAN;
    }
    const size_t first = (size_t)ceil(band_hz[0] / bin_hz);
    const size_t last = (size_t)floor(high_hz / bin_hz);
    double sum = 0.0;
    for (size_t k = first; k <= last; k++) {
        sum += (double)p->power[k];
    }
    const double n = (double)p->length;
    return to_db(2.0 * sum / (0.375 * n * n) / ((double)(last - first + 1) * bin_hz));
}

static void finish_frame(fm_placement *p)
{
    fm_placement_frame f = {.clipped = clipped_share(p->x, p->length),
                            .still =
                                still_share(p->x, p->length, p->length / STILL_PARTS)};
    double sum = 0.0;
    double peak = 0.0;
    for (size_t i = 0; i < p->length; i++) {
        sum += (double)p->x[i];
        peak = fmax(peak, (double)fabsf(p->x[i]));
    }
    const double mean = sum / (double)p->length;
    double squares = 0.0;
    for (size_t i = 0; i < p->length; i++) {
        const double x = (double)p->x[i] - mean;
        squares += x * x;
        p->x[i] = (float)x;
    }
    f.peak_dbfs = to_db(peak * peak);
    f.level_dbfs = to_db(squares / (double)p->length);
    fm_spectrum_power(p->spectrum, p->x, p->power);
    for (size_t b = 0; b < FM_PLACEMENT_BANDS; b++) {
        f.density_db[b] = band_density_db(p, BANDS_HZ[b]);
    }
    p->last = f;
    if (p->n_frames < FM_PLACEMENT_FRAMES_MAX) {
        p->frames[p->n_frames] = f;
        p->n_frames++;
    }
}

void fm_placement_push(fm_placement *p, const float *in, size_t n)
{
    for (size_t i = 0; i < n; i++) {
        p->x[p->filled] = isfinite(in[i]) ? in[i] : 0.0F;
        p->filled++;
        if (p->filled == p->length) {
            finish_frame(p);
            p->filled = 0;
        }
    }
}

size_t fm_placement_frames(const fm_placement *p)
{
    return p->n_frames;
}

bool fm_placement_last(const fm_placement *p, fm_placement_frame *out)
{
    if (p->n_frames > 0) {
        *out = p->last;
    }
    return p->n_frames > 0;
}

static int by_size(const void *a, const void *b)
{
    const double x = *(const double *)a;
    const double y = *(const double *)b;
    return (x > y) - (x < y);
}

static double share_of(const double *sorted, size_t n, double share)
{
    return sorted[(size_t)floor(share * (double)(n - 1) + 0.5)];
}

/* band < 0: the level of all. */
static size_t sort_frames(const fm_placement *p, int band, size_t from, size_t to)
{
    for (size_t i = from; i < to; i++) {
        p->sorted[i - from] =
            band < 0 ? p->frames[i].level_dbfs : p->frames[i].density_db[band];
    }
    qsort(p->sorted, to - from, sizeof *p->sorted, by_size);
    return to - from;
}

static fm_placement_spread spread(const fm_placement *p, int band)
{
    if (band >= 0 && isnan(p->frames[0].density_db[band])) {
        return (fm_placement_spread){(double)NAN, (double)NAN, (double)NAN,
                                     (double)NAN};
    }
    const size_t n = sort_frames(p, band, 0, p->n_frames);
    return (fm_placement_spread){
        share_of(p->sorted, n, 0.1), share_of(p->sorted, n, 0.5),
        share_of(p->sorted, n, 0.9), share_of(p->sorted, n, 0.98)};
}

fm_status fm_placement_measure(const fm_placement *p, fm_placement_measures *out)
{
    if (p->n_frames < FRAMES_MIN) {
        return FM_ERR_SHORT;
    }
    fm_placement_measures m = {.n_frames = p->n_frames,
                               .peak_dbfs = FM_PLACEMENT_SILENCE_DBFS};
    for (size_t i = 0; i < p->n_frames; i++) {
        m.clipped += p->frames[i].clipped / (double)p->n_frames;
        m.still += p->frames[i].still / (double)p->n_frames;
        m.peak_dbfs = fmax(m.peak_dbfs, p->frames[i].peak_dbfs);
    }
    m.level_dbfs = spread(p, -1);
    for (int b = 0; b < (int)FM_PLACEMENT_BANDS; b++) {
        m.density_db[b] = spread(p, b);
    }
    for (size_t k = 0; k < THIRDS; k++) {
        const size_t n = sort_frames(p, -1, k * p->n_frames / THIRDS,
                                     (k + 1) * p->n_frames / THIRDS);
        m.floor_db[k] = share_of(p->sorted, n, 0.2);
    }
    *out = m;
    return FM_OK;
}
