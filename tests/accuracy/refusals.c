/* Sounds without a heart: each must be refused, with a reason that fits. */
#include "accuracy.h"
#include "analyse.h"
#include "dsp/fullminute_compose.h"
#include "dsp/signal/random.h"
#include "music.h"
#include "speech.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const double SECONDS = 65.0;
static const double RATE_HZ = 8000.0;
static const double TWO_PI = 6.283185307179586;

/* Reasons that fit, one bit each. */
#define FITS(reason) (1U << (unsigned)(reason))

typedef struct without_heart {
    char name[64];
    unsigned fits;
    sound sound;
} without_heart;

typedef struct verdict {
    fm_outcome status;
    fm_reason reason;
    double rate_bpm;
    bool heard;
} verdict;

static bool make_empty(without_heart *w,
                       const char *name,
                       unsigned fits,
                       double rate_hz)
{
    *w = (without_heart){.fits = fits};
    (void)snprintf(w->name, sizeof w->name, "%s", name);
    w->sound.rate_hz = rate_hz;
    w->sound.n = (size_t)(SECONDS * rate_hz);
    w->sound.samples = calloc(w->sound.n, sizeof *w->sound.samples);
    return w->sound.samples != NULL;
}

static void keep_verdict(const fm_count *count, void *context)
{
    verdict *v = context;
    v->heard = true;
    v->status = count->heart.count.status;
    v->reason = count->heart.count.reason;
    v->rate_bpm = (double)count->heart.count.n;
}

/* Analyses, prints a row and frees the sound; true when it was refused and it fits. */
static bool judge(without_heart *w)
{
    verdict v = {0};
    (void)analyse_windows(&w->sound, 60.0, 1, keep_verdict, &v);
    const bool fits = (w->fits & FITS(v.reason)) != 0;
    const bool right = v.heard && v.status == FM_REFUSED && fits;
    (void)printf("%-42s %-8s %-20s %s\n", w->name,
                 v.heard ? status_word(v.status) : "failed", fm_reason_code(v.reason),
                 right                    ? "as it should"
                 : v.status == FM_REFUSED ? "REASON DOES NOT FIT"
                                          : "NOT REFUSED");
    sound_free(&w->sound);
    return right;
}

static int judge_silence(void)
{
    without_heart w;
    int wrong = 0;
    if (make_empty(&w, "silence", FITS(FM_REASON_TOO_QUIET), RATE_HZ)) {
        wrong += !judge(&w);
    }
    if (make_empty(&w, "silence, last bit unsteady", FITS(FM_REASON_TOO_QUIET),
                   RATE_HZ)) {
        fm_random r = fm_random_init(1, 0);
        for (size_t i = 0; i < w.sound.n; i++) {
            w.sound.samples[i] = (float)((int)(fm_random_next(&r) % 3) - 1) / 32768.0F;
        }
        wrong += !judge(&w);
    }
    return wrong;
}

static int judge_white(void)
{
    int wrong = 0;
    for (int k = 0; k < 6; k++) {
        without_heart w;
        char name[64];
        const double level_db = -10.0 - 6.0 * (double)k;
        (void)snprintf(name, sizeof name, "white noise, %.0f dBFS, no. %d", level_db,
                       k);
        if (!make_empty(&w, name, FITS(FM_REASON_NO_PERIODICITY), RATE_HZ)) {
            return wrong + 1;
        }
        fm_random r = fm_random_init((uint64_t)k, 0);
        const double level = pow(10.0, level_db / 20.0);
        for (size_t i = 0; i < w.sound.n; i++) {
            const double x = level * fm_random_normal(&r);
            w.sound.samples[i] = (float)fmax(-1.0, fmin(1.0, x));
        }
        wrong += !judge(&w);
    }
    return wrong;
}

static int judge_tones(void)
{
    static const double tones_hz[] = {40.0, 60.0, 100.0, 220.0, 440.0, 1000.0};
    int wrong = 0;
    for (size_t k = 0; k < sizeof tones_hz / sizeof *tones_hz; k++) {
        without_heart w;
        char name[64];
        (void)snprintf(name, sizeof name, "constant tone, %.0f Hz", tones_hz[k]);
        if (!make_empty(&w, name, FITS(FM_REASON_TONE), RATE_HZ)) {
            return wrong + 1;
        }
        for (size_t i = 0; i < w.sound.n; i++) {
            w.sound.samples[i] =
                (float)(0.3 * sin(TWO_PI * tones_hz[k] * (double)i / RATE_HZ));
        }
        wrong += !judge(&w);
    }
    return wrong;
}

/* What compose adds to a heart, here alone. */
static int judge_composed_noise(fm_compose_noise noise, unsigned fits)
{
    int wrong = 0;
    for (uint64_t seed = 1; seed <= 3; seed++) {
        fm_recipe recipe = fm_recipe_default();
        recipe.heart = false;
        recipe.seconds = SECONDS;
        recipe.seed = seed;
        recipe.noise[noise] = true;
        without_heart w;
        char name[64];
        (void)snprintf(name, sizeof name, "composed %s, no heart, no. %d",
                       fm_compose_noise_word(noise), (int)seed);
        if (!make_empty(&w, name, fits, recipe.rate_hz)) {
            return wrong + 1;
        }
        fm_truth truth = {0};
        const size_t n = fm_recipe_samples(&recipe);
        const bool good =
            n == w.sound.n && fm_compose(&recipe, w.sound.samples, n, &truth) == FM_OK;
        fm_truth_free(&truth);
        wrong += !(judge(&w) && good);
    }
    return wrong;
}

static int judge_music(void)
{
    static const double tempi[] = {60.0, 76.0, 92.0, 108.0, 126.0, 152.0};
    static const char *const timbres[] = {"flute", "reed", "plucked"};
    int wrong = 0;
    for (int k = 0; k < 18; k++) {
        const piece p = {.quarter_per_min = tempi[k % 6],
                         .melody = (timbre)(k % (int)TIMBRE_COUNT),
                         .bass = k >= 6,
                         .drums = k >= 12,
                         .seed = (uint64_t)k};
        without_heart w;
        char name[64];
        (void)snprintf(name, sizeof name, "music, %.0f a minute, %s%s%s",
                       p.quarter_per_min, timbres[p.melody], p.bass ? ", bass" : "",
                       p.drums ? ", drums" : "");
        if (!make_empty(&w, name, FITS(FM_REASON_SPEECH_OR_MUSIC), RATE_HZ)) {
            return wrong + 1;
        }
        music_play(&p, RATE_HZ, w.sound.samples, w.sound.n);
        wrong += !judge(&w);
    }
    return wrong;
}

static int judge_speech(void)
{
    int wrong = 0;
    for (size_t k = 0; k < speech_voices(); k++) {
        without_heart w = {.fits = FITS(FM_REASON_SPEECH_OR_MUSIC)};
        if (!speech_speak(k, &w.sound, w.name, sizeof w.name)) {
            (void)printf("speech: skipped, espeak-ng is not here\n");
            return wrong;
        }
        wrong += !judge(&w);
    }
    return wrong;
}

int accuracy_refusals(const settings *s)
{
    (void)s;
    (void)printf("%-42s %-8s %-20s %s\n", "sound", "status", "reason", "");
    int wrong = judge_silence() + judge_white() + judge_tones() + judge_speech();
    wrong += judge_composed_noise(FM_COMPOSE_SPEECH, FITS(FM_REASON_SPEECH_OR_MUSIC));
    wrong += judge_music();
    wrong += judge_composed_noise(FM_COMPOSE_MUSIC, FITS(FM_REASON_SPEECH_OR_MUSIC));
    const unsigned no_rhythm = FITS(FM_REASON_NO_PERIODICITY);
    wrong += judge_composed_noise(FM_COMPOSE_PINK, no_rhythm);
    wrong += judge_composed_noise(FM_COMPOSE_ROOM,
                                  no_rhythm | FITS(FM_REASON_SPEECH_OR_MUSIC));
    wrong +=
        judge_composed_noise(FM_COMPOSE_FRICTION, no_rhythm | FITS(FM_REASON_FRICTION));
    wrong += judge_composed_noise(FM_COMPOSE_HUM, no_rhythm | FITS(FM_REASON_TONE));
    (void)printf("%d wrong\n", wrong);
    return wrong == 0 ? EXIT_DONE : EXIT_FAILED;
}
