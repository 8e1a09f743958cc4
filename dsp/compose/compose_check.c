/*
 * Words, defaults and ranges of a recipe.
 */
#include "dsp/fullminute_compose.h"

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

static const char *const BREATHING_WORDS[] = {
#define X(name, word) word,
    FM_COMPOSE_BREATHING_MAP(X)
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

const char *fm_compose_breathing_word(fm_compose_breathing breathing)
{
    const unsigned k = (unsigned)breathing;
    return k < FM_COMPOSE_BREATHING_COUNT ? BREATHING_WORDS[k] : "unknown";
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
        .early_row = 1,
        .early_s1_db = (double)NAN,
        .group = 4,
        .group_creep = 0.07,
        .spread = 0.22,
        .wrist_share = (double)NAN,
        .pause_length = 2.0,
        .drift_percent_per_min = 6.0,
        .change_at_s = (double)NAN,
        .change_bpm = (double)NAN,
        .run_beats = 10,
        .flutter_bpm = 300.0,
        .conduct_least = 2,
        .conduct_most = 4,
        .breaths_per_min = 15.0,
        .breath_jitter = 0.06,
        .breath_spread = 0.3,
        .breath_pause_s = (double)NAN,
        .breath_pause_at_s = (double)NAN,
        .swell_s = 40.0,
        .breath_depth = 1.0,
        .inspiration_share = 0.4,
        .expiration_db = -8.0,
        .expiration_pitch = (double)NAN,
        .expiration_heard = 0.6,
        .rsa_ms = (double)NAN,
        .loudness_swing_db = 2.0,
        .breath_db = -26.0,
        .breath_snr_db = (double)NAN,
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
        .dropout_s = 0.4,
        .contact_fade_s = 0.3,
        .contact_depth_db = 50.0,
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

static bool in_range(double x, double low, double high)
{
    return x >= low && x <= high;
}

/* What may stand in a field beside its range: NaN (the default) or -INFINITY (none). */
typedef enum range_word {
    NO_WORD,
    NAN_TOO,
    NONE_TOO
} range_word;

/* One field that is a number: where it is, its range, and the sentence when it is out. */
typedef struct range {
    size_t offset;
    double low;
    double high;
    range_word word;
    const char *fault;
} range;

#define RANGE(field, low, high, word, unit)                                            \
    {                                                                                  \
        offsetof(fm_recipe, field), low, high, word,                                   \
            #field " must be " #low " to " #high unit                                  \
    }

static const range RANGES[] = {
    RANGE(seconds, 1, 7200, NO_WORD, " s"),
    RANGE(rate_hz, 1000, 192000, NO_WORD, " Hz"),
    RANGE(jitter, 0, 0.03, NO_WORD, ""),
    RANGE(first_beat_s, 0, 5, NAN_TOO, " s"),
    RANGE(events_per_min, 1, 15, NAN_TOO, " per minute"),
    RANGE(coupling, 0.45, 0.9, NAN_TOO, " of the interval"),
    RANGE(compensation, 1.5, 2, NO_WORD, " intervals"),
    RANGE(early_s1_db, -20, 6, NAN_TOO, " dB"),
    RANGE(flutter_bpm, 200, 350, NO_WORD, " per minute"),
    RANGE(group_creep, 0, 0.15, NO_WORD, " of the interval"),
    RANGE(wrist_share, 0.4, 1, NAN_TOO, " of the interval"),
    RANGE(spread, 0.1, 0.35, NO_WORD, " of the interval"),
    RANGE(pause_length, 1.5, 3, NO_WORD, " intervals"),
    RANGE(drift_percent_per_min, -30, 30, NO_WORD, " % per minute"),
    RANGE(change_at_s, 0, 7200, NAN_TOO, " s"),
    RANGE(change_bpm, 30, 210, NAN_TOO, " per minute"),
    RANGE(breaths_per_min, 4, 80, NO_WORD, " per minute"),
    RANGE(breath_jitter, 0, 0.3, NO_WORD, " of the breath"),
    RANGE(breath_spread, 0.1, 0.5, NO_WORD, " of the breath"),
    RANGE(breath_pause_s, 0, 60, NAN_TOO, " s"),
    RANGE(breath_pause_at_s, 0, 7200, NAN_TOO, " s"),
    RANGE(swell_s, 12, 120, NO_WORD, " s"),
    RANGE(breath_depth, 0.05, 1, NO_WORD, " of the usual"),
    RANGE(inspiration_share, 0.2, 0.6, NO_WORD, " of the breath"),
    RANGE(expiration_db, -40, 12, NONE_TOO, " dB"),
    RANGE(expiration_pitch, 0.4, 1, NAN_TOO, " of inspiration's"),
    RANGE(expiration_heard, 0.2, 1, NO_WORD, " of expiration"),
    RANGE(crackles, 0, 20, NO_WORD, " a breath"),
    RANGE(wheeze, 0, 1, NO_WORD, " of the breaths"),
    RANGE(rsa_ms, 0, 600, NAN_TOO, " ms"),
    RANGE(slow_wave_ms, 0, 100, NO_WORD, " ms"),
    RANGE(loudness_swing_db, 0, 12, NO_WORD, " dB"),
    RANGE(breath_db, -60, 20, NONE_TOO, " dB"),
    RANGE(breath_snr_db, -40, 40, NAN_TOO, " dB"),
    RANGE(s1_db, -80, 12, NO_WORD, " dB"),
    RANGE(s2_db, -80, 12, NO_WORD, " dB"),
    RANGE(s3_db, -40, 0, NONE_TOO, " dB"),
    RANGE(s4_db, -40, 0, NONE_TOO, " dB"),
    RANGE(s2_split_ms, 0, 80, NO_WORD, " ms"),
    RANGE(systole_scale, 0.8, 1.2, NO_WORD, " times the usual"),
    RANGE(loudness_jitter_db, 0, 6, NO_WORD, " dB"),
    RANGE(murmur_db, -40, 6, NO_WORD, " dB"),
    RANGE(snr_db, -40, 40, NO_WORD, " dB"),
    RANGE(hum_hz, 40, 70, NO_WORD, " Hz"),
    RANGE(tone_hz, 30, 390, NO_WORD, " Hz"),
    RANGE(peak_dbfs, -60, 0, NO_WORD, " dBFS"),
    RANGE(gain_db, -60, 60, NO_WORD, " dB"),
    RANGE(lost_start_s, 0, 7200, NO_WORD, " s"),
    RANGE(lost_length_s, 0, 7200, NO_WORD, " s"),
    RANGE(dropouts_per_min, 0, 30, NO_WORD, " per minute"),
    RANGE(dropout_s, 0.01, 2, NO_WORD, " s"),
    RANGE(contact_lost_start_s, 0, 7200, NO_WORD, " s"),
    RANGE(contact_lost_length_s, 0, 7200, NO_WORD, " s"),
    RANGE(contact_fade_s, 0, 60, NO_WORD, " s"),
    RANGE(contact_depth_db, 6, 80, NO_WORD, " dB"),
};

static const char *plain_fault(const fm_recipe *r)
{
    for (size_t i = 0; i < sizeof RANGES / sizeof RANGES[0]; i++) {
        const range *const f = &RANGES[i];
        const double x = *(const double *)(const void *)((const char *)r + f->offset);
        const bool is_word = (f->word == NAN_TOO && isnan(x)) ||
                             (f->word == NONE_TOO && isinf(x) && x < 0.0);
        if (!is_word && !in_range(x, f->low, f->high)) {
            return f->fault;
        }
    }
    if (r->group < 2 || r->group > 8) {
        return "group must be 2 to 8 intervals";
    }
    if (r->run_beats < 3 || r->run_beats > 60) {
        return "run_beats must be 3 to 60 beats";
    }
    if (r->early_row < 1 || r->early_row > 8) {
        return "early_row must be 1 to 8 beats";
    }
    if (r->conduct_least < 2 || r->conduct_most > 6 ||
        r->conduct_least > r->conduct_most) {
        return "conduct_least and conduct_most must be 2 to 6 flutter intervals, the "
               "least not over the most";
    }
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
    const double usual = r->early_row >= 3 ? 2.0 : 4.0;
    const double events_per_min = isnan(r->events_per_min) ? usual : r->events_per_min;
    if (r->rhythm == FM_COMPOSE_PREMATURE &&
        events_per_min * r->early_row > 0.25 * r->bpm) {
        return "events_per_min times early_row must be at most a quarter of bpm";
    }
    if (!isnan(r->events_per_min) && r->events_per_min > 0.25 * r->bpm) {
        return "events_per_min must be at most a quarter of bpm";
    }
    if (!isnan(r->rsa_ms) && r->rsa_ms > 0.5 * 60000.0 / r->bpm) {
        return "rsa_ms must be at most half of the interval";
    }
    return r->rhythm == FM_COMPOSE_GIVEN ? given_fault(r) : NULL;
}

static bool any_noise(const fm_recipe *r)
{
    for (int k = 0; k < FM_COMPOSE_NOISE_COUNT; k++) {
        if (r->noise[k]) {
            return true;
        }
    }
    return false;
}

static const char *breathing_fault(const fm_recipe *r)
{
    if ((unsigned)r->breathing >= FM_COMPOSE_BREATHING_COUNT) {
        return "breathing is not one of the known ways";
    }
    if (r->n_breath_lengths > 0 && r->breathing != FM_COMPOSE_EVEN_BREATHING) {
        return "given breath lengths are used as they are: breathing must be even";
    }
    for (size_t i = 0; i < r->n_breath_lengths; i++) {
        if (!in_range(r->breath_lengths_s[i], 0.3, 30.0)) {
            return "every given breath length must be 0.3 to 30 s";
        }
    }
    if (r->breathing == FM_COMPOSE_PAUSED_BREATHING && r->breath_pause_s < 3.0) {
        return "breath_pause_s must be 3 to 60 s for a single pause";
    }
    if (r->breathing == FM_COMPOSE_WAXING_BREATHING &&
        (isnan(r->breath_pause_s) ? 0.0 : r->breath_pause_s) +
                180.0 / r->breaths_per_min >
            r->swell_s) {
        return "swell_s must leave room for three breaths beside its pause";
    }
    if (!isnan(r->breath_snr_db) && !r->heart && !any_noise(r)) {
        return "breath_snr_db needs a heart or noise to be measured against";
    }
    return NULL;
}

const char *fm_recipe_fault(const fm_recipe *recipe)
{
    const char *fault = plain_fault(recipe);
    if (fault == NULL) {
        fault = rhythm_fault(recipe);
    }
    if (fault == NULL) {
        fault = breathing_fault(recipe);
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
