#include "sampler.h"

#include "dsp/signal/random.h"

#include <math.h>
#include <string.h>

/* The stream of a seed that this file draws from; the composer uses others. */
static const uint64_t SAMPLER_STREAM = 0x5A3D1E;

static bool chance(fm_random *state, double p)
{
    return fm_random_between(state, 0.0, 1.0) < p;
}

static size_t below(fm_random *state, size_t n)
{
    return (size_t)(fm_random_next(state) % n);
}

const char *sample_kind_word(int kind)
{
    static const char *const words[SAMPLE_KINDS] = {
        "clean", "white",    "pink", "speech-like",
        "room",  "friction", "hum",  "small microphone"};
    return words[kind];
}

int sample_kind_of(const char *word)
{
    for (int kind = 0; kind < SAMPLE_KINDS; kind++) {
        if (strcmp(word, sample_kind_word(kind)) == 0) {
            return kind;
        }
    }
    return -1;
}

double sample_level_db(int level)
{
    return 20.0 - 5.0 * (double)level;
}

/* Basic rates at which a rhythm is drawn, per minute. No source gives such limits; they
 * follow from intervals a heart can have: no interval under about 0.3 s (refractory time,
 * from memory), breathing moves the interval little at fast rates, and a pause of
 * two intervals should stay a pause and not a standstill. README.md tells them. */
typedef struct rhythm_limits {
    fm_compose_rhythm rhythm;
    double low_bpm;
    double high_bpm;
} rhythm_limits;

static const rhythm_limits LIMITS[] = {
    {FM_COMPOSE_STEADY, 35.0, 200.0},       {FM_COMPOSE_SINUS_ARRHYTHMIA, 45.0, 110.0},
    {FM_COMPOSE_PREMATURE, 45.0, 125.0},    {FM_COMPOSE_BIGEMINY, 45.0, 110.0},
    {FM_COMPOSE_TRIGEMINY, 45.0, 115.0},    {FM_COMPOSE_DROPPED, 55.0, 140.0},
    {FM_COMPOSE_FIBRILLATION, 50.0, 170.0}, {FM_COMPOSE_PAUSES, 40.0, 110.0},
};

static fm_compose_rhythm draw_rhythm(fm_random *state, double bpm)
{
    enum {
        N = sizeof LIMITS / sizeof *LIMITS
    };
    fm_compose_rhythm possible[N] = {FM_COMPOSE_STEADY};
    size_t n = 0; /* never stays 0: steady has no limits */
    for (size_t i = 0; i < N; i++) {
        if (bpm >= LIMITS[i].low_bpm && bpm <= LIMITS[i].high_bpm) {
            possible[n++] = LIMITS[i].rhythm;
        }
    }
    return possible[below(state, n)];
}

static void draw_beats(fm_recipe *r, fm_random *state)
{
    r->bpm = fm_random_between(state, 35.0, 200.0);
    r->rhythm = draw_rhythm(state, r->bpm);
    r->jitter = fm_random_between(state, 0.004, 0.02);
    r->group = 3 + (int)below(state, 3);
    r->spread = fm_random_between(state, 0.15, 0.28);
    r->pause_length = fm_random_between(state, 1.8, 2.4);
    r->events_per_min = fmin(fm_random_between(state, 2.0, 9.0), 0.24 * r->bpm);
    r->compensation = chance(state, 0.3) ? fm_random_between(state, 1.7, 2.0) : 2.0;
    r->breaths_per_min = fm_random_between(state, 9.0, 24.0);
    if (r->rhythm == FM_COMPOSE_SINUS_ARRHYTHMIA) {
        r->rsa_ms =
            fmin(fm_random_between(state, 140.0, 350.0), 0.4 * 60000.0 / r->bpm);
    }
}

static void draw_sounds(fm_recipe *r, fm_random *state)
{
    r->s2_db = fm_random_between(state, -5.0, 4.0);
    r->s2_split_ms = fm_random_between(state, 5.0, 50.0);
    r->systole_scale = fm_random_between(state, 0.92, 1.08);
    r->loudness_jitter_db = fm_random_between(state, 0.5, 2.5);
    r->loudness_swing_db = fm_random_between(state, 0.5, 5.0);
    r->breath_db = fm_random_between(state, -40.0, -26.0);
    if (chance(state, 0.12)) {
        r->s1_db = fm_random_between(state, -10.0, -5.0); /* a soft S1 */
    }
    const bool slow = r->bpm < 110.0; /* faster, S3 and S4 fall together */
    if (slow && chance(state, 0.1)) {
        r->s3_db = fm_random_between(state, -18.0, -8.0);
    } else if (slow && chance(state, 0.1)) {
        r->s4_db = fm_random_between(state, -18.0, -8.0);
    }
    if (r->bpm < 150.0 && chance(state, 0.2)) {
        const int n = FM_COMPOSE_MURMUR_COUNT - 1;
        r->murmur = (fm_compose_murmur)(1 + (int)below(state, (size_t)n));
        r->murmur_db = fm_random_between(state, -20.0, -6.0);
    }
}

/* The small microphone takes everything through the air with it, so the noise it is heard
 * in is one that comes through the air, or the microphone's own (white). */
static fm_compose_noise draw_small_microphone_noise(fm_random *state)
{
    static const fm_compose_noise choice[] = {FM_COMPOSE_WHITE, FM_COMPOSE_PINK,
                                              FM_COMPOSE_ROOM, FM_COMPOSE_SPEECH};
    return choice[below(state, sizeof choice / sizeof *choice)];
}

static void draw_noise(sample *s, fm_random *state)
{
    static const fm_compose_noise noise[SAMPLE_KINDS] = {
        [SAMPLE_WHITE] = FM_COMPOSE_WHITE,       [SAMPLE_PINK] = FM_COMPOSE_PINK,
        [SAMPLE_SPEECH] = FM_COMPOSE_SPEECH,     [SAMPLE_ROOM] = FM_COMPOSE_ROOM,
        [SAMPLE_FRICTION] = FM_COMPOSE_FRICTION, [SAMPLE_HUM] = FM_COMPOSE_HUM};
    const fm_compose_noise small = draw_small_microphone_noise(state);
    s->recipe.hum_hz = chance(state, 0.5) ? 50.0 : 60.0;
    if (s->kind == SAMPLE_CLEAN) {
        return;
    }
    s->recipe.snr_db = s->snr_db;
    s->recipe.small_microphone = s->kind == SAMPLE_SMALL_MICROPHONE;
    s->recipe.noise[s->recipe.small_microphone ? small : noise[s->kind]] = true;
}

sample sample_of_seed(uint64_t seed, int only)
{
    int cell = (int)(seed % SAMPLE_CELLS);
    if (only >= 0) {
        const int level = (int)(seed % SAMPLE_LEVELS);
        cell = only == SAMPLE_CLEAN ? 0 : 1 + (only - 1) * SAMPLE_LEVELS + level;
    }
    sample s = {.seed = seed, .kind = SAMPLE_CLEAN, .snr_db = (double)INFINITY};
    if (cell > 0) {
        s.kind = 1 + (cell - 1) / SAMPLE_LEVELS;
        s.snr_db = sample_level_db((cell - 1) % SAMPLE_LEVELS);
    }
    fm_random state = fm_random_init(seed, SAMPLER_STREAM);
    s.recipe = fm_recipe_default();
    s.recipe.seed = seed;
    s.recipe.seconds = floor(fm_random_between(&state, 65.0, 75.0));
    const double way = fm_random_between(&state, 0.0, 1.0);
    s.recipe.rate_hz = way < 0.05 ? 44100.0 : way < 0.15 ? 2000.0 : 4000.0;
    s.recipe.peak_dbfs = fm_random_between(&state, -30.0, -3.0);
    s.recipe.chest_piece = chance(&state, 0.8);
    draw_beats(&s.recipe, &state);
    draw_sounds(&s.recipe, &state);
    draw_noise(&s, &state);
    return s;
}
