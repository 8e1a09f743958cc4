/*
 * From a recipe to samples: each part alone, levels between them, and the way to the file.
 */
#include "dsp/fullminute_compose.h"

#include "dsp/compose/compose_private.h"

#include <math.h>
#include <stdlib.h>

static const double SNR_LOW_HZ = 25.0;
static const double SNR_HIGH_HZ = 400.0;
static const double BREATH_LOW_HZ = 100.0;
static const double BREATH_HIGH_HZ = 1000.0;
static const double FLOOR_DB = -50.0;      /* white noise of the electronics; ours */
static const double MICROPHONE_HZ = 250.0; /* 24 dB an octave: see compose.h */
static const double FULL_SCALE = 32768.0;

void *fm_compose_memory(size_t n, size_t size)
{
    return n == 0 ? calloc(1, size) : calloc(n, size);
}

/* Chest piece and tube: under 22 Hz little gets in, a broad resonance near 110 Hz, a slow
 * fall over 800 Hz (common practice, no source). */
fm_cascade fm_compose_response(const fm_recipe *recipe)
{
    fm_cascade c = {0};
    if (recipe->chest_piece) {
        fm_cascade_highpass(&c, recipe->rate_hz, 22.0, 0.707);
        fm_cascade_peak(&c, recipe->rate_hz, 110.0, 0.7, 3.0);
        fm_cascade_lowpass(&c, recipe->rate_hz, 800.0, 0.6);
    }
    if (recipe->small_microphone) {
        fm_cascade_highpass_4th(&c, recipe->rate_hz, MICROPHONE_HZ);
    }
    return c;
}

fm_cascade fm_compose_microphone(const fm_recipe *recipe)
{
    fm_cascade c = {0};
    if (recipe->small_microphone) {
        fm_cascade_highpass_4th(&c, recipe->rate_hz, MICROPHONE_HZ);
    }
    return c;
}

/* The signals of one recording while it is made. */
typedef struct desk {
    const fm_recipe *recipe;
    size_t n;
    float *heart;
    float *breath;
    float *noise;
    float *work;
    fm_band_meter *meter;
    double heart_power; /* 25-400 Hz; 1 without a heart */
} desk;

static double snr_band_power(const desk *d, const float *x)
{
    return fm_band_meter_power(d->meter, x, d->n, SNR_LOW_HZ, SNR_HIGH_HZ);
}

static void scale(float *x, size_t n, double gain)
{
    for (size_t i = 0; i < n; i++) {
        x[i] = (float)(gain * (double)x[i]);
    }
}

/* Power that all additions together may have. */
static double added_power(const desk *d)
{
    return d->recipe->heart ? d->heart_power * pow(10.0, -d->recipe->snr_db / 10.0)
                            : 1.0;
}

static bool level_by_snr(const fm_recipe *r)
{
    return !isnan(r->breath_snr_db);
}

/* Breath sounds at their level against the heart, if it is that which is given; at most half of what may be added. */
static void make_breath(desk *d, const fm_breathing *breathing)
{
    const fm_recipe *r = d->recipe;
    if (isinf(r->breath_db) || level_by_snr(r)) {
        return; /* the buffer is zero */
    }
    fm_breath_render(r, breathing, d->breath, d->n);
    const double power = snr_band_power(d, d->breath);
    double wanted = d->heart_power * pow(10.0, r->breath_db / 10.0);
    if (fm_recipe_has_noise(r)) {
        wanted = fmin(wanted, 0.5 * added_power(d));
    }
    scale(d->breath, d->n, power > 0.0 ? sqrt(wanted / power) : 0.0);
}

/* RMS of white noise that has the heart's power in the band. */
static double white_like_heart(const desk *d)
{
    const double share = (SNR_HIGH_HZ - SNR_LOW_HZ) / (0.5 * d->recipe->rate_hz);
    return sqrt(d->heart_power / share);
}

/* The floor of the electronics, into the noise. */
static void add_floor(desk *d)
{
    const fm_recipe *r = d->recipe;
    if (!r->heart) {
        return;
    }
    fm_random random = fm_random_init(r->seed, FM_STREAM_FLOOR);
    const double gain = white_like_heart(d) * fm_db_gain(FLOOR_DB);
    for (size_t i = 0; i < d->n; i++) {
        d->noise[i] += (float)(gain * fm_random_normal(&random));
    }
}

/* All kinds asked, at equal power in the band, into `noise`. */
static void mix_noise(desk *d)
{
    for (int k = 0; k < FM_COMPOSE_NOISE_COUNT; k++) {
        if (!d->recipe->noise[k]) {
            continue;
        }
        fm_noise_render(d->recipe, (fm_compose_noise)k, d->work, d->n);
        const double power = snr_band_power(d, d->work);
        const double gain = power > 0.0 ? 1.0 / sqrt(power) : 0.0;
        for (size_t i = 0; i < d->n; i++) {
            d->noise[i] += (float)(gain * (double)d->work[i]);
        }
    }
}

/* Scale the noise so that breath and noise together have the power wanted: the positive
 * root of g^2 N + 2 g C + B = wanted, C being what the two have in common. */
static void set_noise_level(desk *d)
{
    const double breath = snr_band_power(d, d->breath);
    const double noise = snr_band_power(d, d->noise);
    for (size_t i = 0; i < d->n; i++) {
        d->work[i] = d->breath[i] + d->noise[i];
    }
    const double common = 0.5 * (snr_band_power(d, d->work) - breath - noise);
    const double room = added_power(d) - breath;
    const double gain =
        noise > 0.0 ? (-common + sqrt(common * common + noise * room)) / noise : 0.0;
    scale(d->noise, d->n, gain);
}

/* Breath sounds at their level over all the rest, if it is that which is given. */
static void make_breath_over_rest(desk *d, const fm_breathing *breathing)
{
    const fm_recipe *r = d->recipe;
    if (!level_by_snr(r)) {
        return;
    }
    fm_breath_render(r, breathing, d->breath, d->n);
    for (size_t i = 0; i < d->n; i++) {
        d->work[i] = d->heart[i] + d->noise[i];
    }
    const double rest =
        fm_band_meter_power(d->meter, d->work, d->n, BREATH_LOW_HZ, BREATH_HIGH_HZ);
    const double power =
        fm_band_meter_power(d->meter, d->breath, d->n, BREATH_LOW_HZ, BREATH_HIGH_HZ);
    const double wanted = rest * pow(10.0, r->breath_snr_db / 10.0);
    scale(d->breath, d->n, power > 0.0 ? sqrt(wanted / power) : 0.0);
}

static double ratio_db(double over, double under)
{
    return under > 0.0 ? 10.0 * log10(over / under) : (double)INFINITY;
}

static void measure(const desk *d, fm_truth *truth)
{
    const fm_recipe *r = d->recipe;
    truth->snr_db = (double)NAN;
    truth->breath_snr_db = (double)NAN;
    if (r->heart) {
        for (size_t i = 0; i < d->n; i++) {
            d->work[i] = d->breath[i] + d->noise[i];
        }
        truth->snr_db = ratio_db(d->heart_power, snr_band_power(d, d->work));
    }
    if (level_by_snr(r) || !isinf(r->breath_db)) {
        for (size_t i = 0; i < d->n; i++) {
            d->work[i] = d->heart[i] + d->noise[i];
        }
        truth->breath_snr_db =
            ratio_db(fm_band_meter_power(d->meter, d->breath, d->n, BREATH_LOW_HZ,
                                         BREATH_HIGH_HZ),
                     fm_band_meter_power(d->meter, d->work, d->n, BREATH_LOW_HZ,
                                         BREATH_HIGH_HZ));
    }
}

/* Sum, contact, lost audio, level, full scale, 16 bits. */
static void to_file(const desk *d, float *out)
{
    const fm_recipe *r = d->recipe;
    double peak = 0.0;
    for (size_t i = 0; i < d->n; i++) {
        out[i] = d->heart[i] + d->breath[i] + d->noise[i];
    }
    fm_compose_add_contact(r, white_like_heart(d), out, d->n);
    for (size_t i = 0; i < d->n; i++) {
        out[i] = fm_compose_is_lost(r, (double)i / r->rate_hz) ? 0.0F : out[i];
        peak = fmax(peak, fabs((double)out[i]));
    }
    const double gain =
        peak > 0.0 ? fm_db_gain(r->peak_dbfs + r->gain_db) / peak * FULL_SCALE : 0.0;
    for (size_t i = 0; i < d->n; i++) {
        const double whole = nearbyint(gain * (double)out[i]);
        out[i] = (float)(fmax(-FULL_SCALE, fmin(FULL_SCALE - 1.0, whole)) / FULL_SCALE);
    }
}

static fm_status make_heart(desk *d, const fm_breathing *breathing, fm_truth *truth)
{
    const fm_recipe *r = d->recipe;
    d->heart_power = 1.0;
    if (!r->heart) {
        return FM_OK;
    }
    fm_beats beats = {0};
    fm_status status = fm_beats_make(r, breathing, &beats);
    if (status == FM_OK) {
        status = fm_heart_render(r, &beats, breathing, d->heart, d->n, truth);
    }
    if (status == FM_OK) {
        fm_truth_describe(r, &beats, truth);
        d->heart_power = snr_band_power(d, d->heart);
    }
    free(beats.beat);
    return status;
}

static fm_status note_breaths(const desk *d,
                              const fm_breathing *breathing,
                              fm_truth *truth)
{
    truth->breath_starts_s = fm_compose_memory(breathing->n, sizeof(double));
    if (truth->breath_starts_s == NULL) {
        return FM_ERR_NOMEM;
    }
    for (size_t i = 0; i < breathing->n; i++) {
        const double t = breathing->starts_s[i];
        if (t >= 0.0 && t < (double)d->n / d->recipe->rate_hz) {
            truth->breath_starts_s[truth->n_breaths++] = t;
        }
    }
    return fm_truth_describe_breathing(d->recipe, breathing, truth);
}

static fm_status make_all(desk *d,
                          const fm_breathing *breathing,
                          float *out,
                          fm_truth *truth)
{
    fm_status status = note_breaths(d, breathing, truth);
    if (status == FM_OK) {
        status = make_heart(d, breathing, truth);
    }
    if (status != FM_OK) {
        return status;
    }
    if (!(d->heart_power > 0.0)) { /* heart sounds set to silence: nothing to measure */
        d->heart_power = 1.0;
    }
    make_breath(d, breathing);
    if (fm_recipe_has_noise(d->recipe)) {
        mix_noise(d);
        set_noise_level(d);
    }
    add_floor(d);
    make_breath_over_rest(d, breathing);
    measure(d, truth);
    to_file(d, out);
    return FM_OK;
}

fm_status fm_compose(const fm_recipe *recipe, float *out, size_t n, fm_truth *truth)
{
    fm_truth_free(truth);
    if (fm_recipe_fault(recipe) != NULL || n == 0 || n != fm_recipe_samples(recipe)) {
        return FM_ERR_ARG;
    }
    truth->seed = recipe->seed;
    truth->rate_hz = recipe->rate_hz;
    truth->duration_s = (double)n / recipe->rate_hz;
    truth->contact_lost =
        (fm_span){recipe->contact_lost_start_s, recipe->contact_lost_length_s,
                  FM_REASON_CONTACT_LOST};
    fm_breathing breathing = {0};
    desk d = {.recipe = recipe,
              .n = n,
              .heart = fm_compose_memory(n, sizeof(float)),
              .breath = fm_compose_memory(n, sizeof(float)),
              .noise = fm_compose_memory(n, sizeof(float)),
              .work = fm_compose_memory(n, sizeof(float)),
              .meter = fm_band_meter_create(recipe->rate_hz)};
    fm_status status = FM_ERR_NOMEM;
    if (d.heart != NULL && d.breath != NULL && d.noise != NULL && d.work != NULL &&
        d.meter != NULL) {
        status = fm_breathing_make(recipe, &breathing);
    }
    if (status == FM_OK) {
        status = make_all(&d, &breathing, out, truth);
    }
    if (status != FM_OK) {
        fm_truth_free(truth);
    }
    fm_breathing_free(&breathing);
    free(d.heart);
    free(d.breath);
    free(d.noise);
    free(d.work);
    fm_band_meter_destroy(d.meter);
    return status;
}
