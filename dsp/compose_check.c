/*
 * Words, defaults and ranges of a recipe.
 */
#include "dsp/compose.h"

#include <math.h>

static const char *const RHYTHM_WORDS[] = {
#define X(name, word) word,
    FM_COMPOSE_RHYTHM_MAP(X)
#undef X
};

static const char *const NOISE_WORDS[] = {
#define X(name, word) word,
    FM_COMPOSE_NOISE_MAP(X)
#undef X
};

static const char *const MURMUR_WORDS[] = {
#define X(name, word) word,
    FM_COMPOSE_MURMUR_MAP(X)
#undef X
};

const char *fm_compose_rhythm_word(fm_compose_rhythm rhythm)
{
    const unsigned k = (unsigned)rhythm;
    return k < FM_COMPOSE_RHYTHM_COUNT ? RHYTHM_WORDS[k] : "unknown";
}

const char *fm_compose_noise_word(fm_compose_noise noise)
{
    const unsigned k = (unsigned)noise;
    return k < FM_COMPOSE_NOISE_COUNT ? NOISE_WORDS[k] : "unknown";
}

const char *fm_compose_murmur_word(fm_compose_murmur murmur)
{
    const unsigned k = (unsigned)murmur;
    return k < FM_COMPOSE_MURMUR_COUNT ? MURMUR_WORDS[k] : "unknown";
}

fm_recipe fm_recipe_default(void)
{
    return (fm_recipe){
        .seconds = 70.0,
        .rate_hz = 4000.0,
        .seed = 1,
        .rhythm = FM_COMPOSE_STEADY,
        .bpm = 72.0,
        .jitter = 0.008,
        .first_beat_s = (double)NAN,
        .events_per_min = (double)NAN,
        .coupling = (double)NAN,
        .compensation = 2.0,
        .group = 4,
        .group_creep = 0.07,
        .spread = 0.22,
        .pause_length = 2.0,
        .drift_percent_per_min = 6.0,
        .change_at_s = (double)NAN,
        .change_bpm = (double)NAN,
        .run_beats = 10,
        .breaths_per_min = 15.0,
        .breath_jitter = 0.06,
        .rsa_ms = (double)NAN,
        .loudness_swing_db = 2.0,
        .breath_db = -26.0,
        .heart = true,
        .s3_db = -(double)INFINITY,
        .s4_db = -(double)INFINITY,
        .s2_split_ms = 20.0,
        .systole_scale = 1.0,
        .loudness_jitter_db = 1.0,
        .murmur_db = -14.0,
        .snr_db = 20.0,
        .hum_hz = 50.0,
        .tone_hz = 220.0,
        .chest_piece = true,
        .peak_dbfs = -6.0,
    };
}

void fm_compose_bpm_range(fm_compose_rhythm rhythm, double *low_bpm, double *high_bpm)
{
    *low_bpm = 30.0;
    *high_bpm = 220.0;
    switch (rhythm) {
    case FM_COMPOSE_PREMATURE:
    case FM_COMPOSE_BIGEMINY:
    case FM_COMPOSE_TRIGEMINY:
    case FM_COMPOSE_QUADRIGEMINY:
        *high_bpm = 170.0;
        break;
    case FM_COMPOSE_SINUS_ARRHYTHMIA:
        *low_bpm = 35.0;
        *high_bpm = 200.0;
        break;
    case FM_COMPOSE_DROPPED:
        *low_bpm = 50.0;
        *high_bpm = 200.0;
        break;
    case FM_COMPOSE_PAUSES:
        *low_bpm = 40.0;
        *high_bpm = 200.0;
        break;
    case FM_COMPOSE_FIBRILLATION:
        *low_bpm = 35.0;
        *high_bpm = 180.0;
        break;
    case FM_COMPOSE_RATE_CHANGE:
    case FM_COMPOSE_FAST_RUN:
        *high_bpm = 150.0;
        break;
    default:
        break;
    }
}

/* A number's range, and whether NaN (take the default) or -INFINITY (none) is allowed. */
static bool in_range(double x, double low, double high)
{
    return x >= low && x <= high;
}

static bool in_range_or_nan(double x, double low, double high)
{
    return isnan(x) || in_range(x, low, high);
}

static bool in_range_or_none(double x, double low, double high)
{
    return (isinf(x) && x < 0.0) || in_range(x, low, high);
}

/* The plain ranges of compose.h: field, test, low, high, unit. */
#define RANGES(X)                                                                      \
    X(seconds, in_range, 1, 7200, " s")                                                \
    X(rate_hz, in_range, 1000, 192000, " Hz")                                          \
    X(jitter, in_range, 0, 0.03, "")                                                   \
    X(first_beat_s, in_range_or_nan, 0, 5, " s")                                       \
    X(events_per_min, in_range_or_nan, 1, 15, " per minute")                           \
    X(coupling, in_range_or_nan, 0.45, 0.9, " of the interval")                        \
    X(compensation, in_range, 1.5, 2, " intervals")                                    \
    X(group, in_range, 2, 8, " intervals")                                             \
    X(group_creep, in_range, 0, 0.15, " of the interval")                              \
    X(spread, in_range, 0.1, 0.35, " of the interval")                                 \
    X(pause_length, in_range, 1.5, 3, " intervals")                                    \
    X(drift_percent_per_min, in_range, -30, 30, " % per minute")                       \
    X(change_at_s, in_range_or_nan, 0, 7200, " s")                                     \
    X(change_bpm, in_range_or_nan, 30, 210, " per minute")                             \
    X(run_beats, in_range, 3, 60, " beats")                                            \
    X(breaths_per_min, in_range, 4, 80, " per minute")                                 \
    X(breath_jitter, in_range, 0, 0.3, " of the breath")                               \
    X(rsa_ms, in_range_or_nan, 0, 600, " ms")                                          \
    X(loudness_swing_db, in_range, 0, 12, " dB")                                       \
    X(breath_db, in_range_or_none, -60, 20, " dB")                                     \
    X(s1_db, in_range, -80, 12, " dB")                                                 \
    X(s2_db, in_range, -80, 12, " dB")                                                 \
    X(s3_db, in_range_or_none, -40, 0, " dB")                                          \
    X(s4_db, in_range_or_none, -40, 0, " dB")                                          \
    X(s2_split_ms, in_range, 0, 80, " ms")                                             \
    X(systole_scale, in_range, 0.8, 1.2, " times the usual")                           \
    X(loudness_jitter_db, in_range, 0, 6, " dB")                                       \
    X(murmur_db, in_range, -40, 6, " dB")                                              \
    X(snr_db, in_range, -40, 40, " dB")                                                \
    X(hum_hz, in_range, 40, 70, " Hz")                                                 \
    X(tone_hz, in_range, 30, 390, " Hz")                                               \
    X(peak_dbfs, in_range, -60, 0, " dBFS")                                            \
    X(gain_db, in_range, -60, 60, " dB")                                               \
    X(lost_start_s, in_range, 0, 7200, " s")                                           \
    X(lost_length_s, in_range, 0, 7200, " s")

static const char *plain_fault(const fm_recipe *r)
{
#define X(field, test, low, high, unit)                                                \
    if (!test((double)r->field, low, high)) {                                          \
        return #field " must be " #low " to " #high unit;                              \
    }
    RANGES(X)
#undef X
    return NULL;
}

static const char *given_fault(const fm_recipe *r)
{
    if (r->intervals_s == NULL || r->n_intervals == 0) {
        return "the rhythm 'given' needs at least one interval";
    }
    for (size_t i = 0; i < r->n_intervals; i++) {
        if (!in_range(r->intervals_s[i], 0.2, 5.0)) {
            return "every given interval must be 0.2 to 5 s";
        }
    }
    return NULL;
}

static const char *rhythm_fault(const fm_recipe *r)
{
    if ((unsigned)r->rhythm >= FM_COMPOSE_RHYTHM_COUNT) {
        return "rhythm is not one of the known ones";
    }
    if ((unsigned)r->murmur >= FM_COMPOSE_MURMUR_COUNT) {
        return "murmur is not one of the known ones";
    }
    double low_bpm = 0.0;
    double high_bpm = 0.0;
    fm_compose_bpm_range(r->rhythm, &low_bpm, &high_bpm);
    if (!in_range(r->bpm, low_bpm, high_bpm)) {
        return "bpm is outside what this rhythm can have: 30 to 220 per minute for "
               "steady, "
               "given and drift; 35 to 200 sinus-arrhythmia; 30 to 170 premature and "
               "groups with early beats; 50 to 200 dropped; 40 to 200 pauses; 35 to "
               "180 "
               "fibrillation; 30 to 150 rate-change and fast-run";
    }
    if (!isnan(r->events_per_min) && r->events_per_min > 0.25 * r->bpm) {
        return "events_per_min must be at most a quarter of bpm";
    }
    if (!isnan(r->rsa_ms) && r->rsa_ms > 0.5 * 60000.0 / r->bpm) {
        return "rsa_ms must be at most half of the interval";
    }
    return r->rhythm == FM_COMPOSE_GIVEN ? given_fault(r) : NULL;
}

const char *fm_recipe_fault(const fm_recipe *recipe)
{
    const char *fault = plain_fault(recipe);
    if (fault == NULL) {
        fault = rhythm_fault(recipe);
    }
    if (fault == NULL &&
        recipe->seconds * recipe->rate_hz > (double)FM_COMPOSE_SAMPLES_MAX) {
        fault = "seconds times rate_hz must be at most 40 million samples";
    }
    return fault;
}

size_t fm_recipe_samples(const fm_recipe *recipe)
{
    const double n = recipe->seconds * recipe->rate_hz;
    if (!(n >= 1.0) || n > (double)FM_COMPOSE_SAMPLES_MAX) {
        return 0;
    }
    return (size_t)(n + 0.5);
}
