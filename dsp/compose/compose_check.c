/*
 * Words, defaults and ranges of a recipe.
 */
#include "dsp/fullminute_compose.h"

#include "dsp/compose/compose_private.h"
#include "dsp/words.h"

#include <math.h>

FM_WORD_FUNCTION(fm_compose_rhythm_word,
                 fm_compose_rhythm,
                 FM_COMPOSE_RHYTHM_COUNT,
                 FM_COMPOSE_RHYTHM_MAP)
FM_WORD_FUNCTION(fm_compose_noise_word,
                 fm_compose_noise,
                 FM_COMPOSE_NOISE_COUNT,
                 FM_COMPOSE_NOISE_MAP)
FM_WORD_FUNCTION(fm_compose_murmur_word,
                 fm_compose_murmur,
                 FM_COMPOSE_MURMUR_COUNT,
                 FM_COMPOSE_MURMUR_MAP)
FM_WORD_FUNCTION(fm_compose_breathing_word,
                 fm_compose_breathing,
                 FM_COMPOSE_BREATHING_COUNT,
                 FM_COMPOSE_BREATHING_MAP)

fm_recipe fm_recipe_default(void)
{
    return (fm_recipe){
#define X(name, usual, least, most, other, unit) .name = (double)(usual),
        FM_RECIPE_NUMBER_MAP(X)
#undef X
            .seed = 1,
        .rhythm = FM_COMPOSE_STEADY,
        .bpm = 72.0,
        .early_row = 1,
        .group = 4,
        .run_beats = 10,
        .conduct_least = 2,
        .conduct_most = 4,
        .heart = true,
        .chest_piece = true,
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

/* What may stand in a field beside its range. */
typedef enum range_word {
    NUMBER,
    OR_NAN,
    OR_NONE
} range_word;

/* One field that is a number: where it is, its range, and the sentence when it is out. */
typedef struct range {
    size_t offset;
    double low;
    double high;
    range_word word;
    const char *fault;
} range;

#define FAULT(name, least, most, unit) #name " must be " #least " to " #most unit

static const range RANGES[] = {
#define X(name, usual, least, most, other, unit)                                       \
    {offsetof(fm_recipe, name), least, most, other, FAULT(name, least, most, unit)},
    FM_RECIPE_NUMBER_MAP(X)
#undef X
};

static const char *plain_fault(const fm_recipe *r)
{
    for (size_t i = 0; i < sizeof RANGES / sizeof RANGES[0]; i++) {
        const range *const f = &RANGES[i];
        const double x = *(const double *)(const void *)((const char *)r + f->offset);
        const bool is_word = (f->word == OR_NAN && isnan(x)) ||
                             (f->word == OR_NONE && isinf(x) && x < 0.0);
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

bool fm_recipe_has_noise(const fm_recipe *r)
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
    if (!isnan(r->breath_snr_db) && !r->heart && !fm_recipe_has_noise(r)) {
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
