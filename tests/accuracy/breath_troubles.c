/* What crackles, wheeze, cough and speech do to the count of breaths: the same breathing
 * without and with each of them. */
#include "breath.h"

#include "analyse.h"
#include "breath_case.h"
#include "pool.h"
#include "speech.h"

#include "dsp/fullminute_compose.h"
#include "dsp/signal/random.h"

#include <math.h>
#include <stdlib.h>

enum {
    TROUBLES = 9,
    COUGHS_MOST = 3, /* in one fit */
    VOICES_MOST = 8
};

/* One trouble; levels in dB against the mean power of all else, -INFINITY: not there. */
typedef struct trouble {
    const char *name;
    double crackles; /* mean number in an inspiration */
    double wheeze;   /* share of breaths, 0..1 */
    double speech_db;
    double fit_every_s; /* of coughing; 0: none */
} trouble;

#define NOT_THERE (-(double)INFINITY)

static const trouble TROUBLE[TROUBLES] = {
    {"none", 0.0, 0.0, NOT_THERE, 0.0},
    {"crackles, 8 a breath", 8.0, 0.0, NOT_THERE, 0.0},
    {"wheeze in every second", 0.0, 0.5, NOT_THERE, 0.0},
    {"wheeze in every breath", 0.0, 1.0, NOT_THERE, 0.0},
    {"cough, a fit in 20 s", 0.0, 0.0, NOT_THERE, 20.0},
    {"cough, a fit in 5 s", 0.0, 0.0, NOT_THERE, 5.0},
    {"speech at 0 dB", 0.0, 0.0, 0.0, 0.0},
    {"speech at 10 dB", 0.0, 0.0, 10.0, 0.0},
    {"speech at 20 dB", 0.0, 0.0, 20.0, 0.0},
};

static const uint64_t STREAM = 0xB4EA9;
static const double SECONDS = 62.0;
static const double BREATH_DB = 15.0; /* over the rest, 100-1000 Hz */
static const double NEAR_PER_MIN = 1.0;
static const double WRONG_PER_MIN = 3.0;
/* A cough: a burst of 50 ms and a tail of a third of a second, 30 dB above the mean power
 * of all else (invented here; no source). */
static const double BURST_S = 0.05;
static const double TAIL_S = 0.12;
static const double COUGH_S = 0.45;
static const double COUGH_DB = 30.0;

typedef struct troubled {
    bool good;
    fm_outcome status;
    double true_per_min;
    double rate_per_min;
} troubled;

typedef struct troubles_job {
    uint64_t first_seed;
    sound voice[VOICES_MOST];
    size_t n_voices; /* 0: no speech here */
    double rate_hz;  /* theirs, of all recordings */
    troubled *out;   /* out[seed][trouble] */
} troubles_job;

static double mean_power(const sound *s)
{
    double sum = 0.0;
    for (size_t i = 0; i < s->n; i++) {
        sum += (double)s->samples[i] * (double)s->samples[i];
    }
    return s->n > 0 ? sum / (double)s->n : 0.0;
}

/* A voice reading aloud, round and round. */
static void add_speech(const sound *voice, double level_db, sound *s)
{
    const double scale =
        sqrt(mean_power(s) / mean_power(voice) * pow(10.0, level_db / 10.0));
    for (size_t i = 0; i < s->n; i++) {
        s->samples[i] += (float)(scale * (double)voice->samples[i % voice->n]);
    }
}

/* Every voice there is, of one rate. */
static void speak(troubles_job *job)
{
    char name[80];
    for (size_t i = 0; i < speech_voices() && job->n_voices < VOICES_MOST; i++) {
        sound *const s = &job->voice[job->n_voices];
        if (!speech_speak(i, s, name, sizeof name)) {
            continue;
        }
        if (job->n_voices > 0 && fabs(s->rate_hz - job->rate_hz) > 0.5) {
            sound_free(s);
            continue;
        }
        job->rate_hz = s->rate_hz;
        job->n_voices++;
    }
}

static void add_cough(fm_random *random, double at_s, double height, sound *s)
{
    const size_t first = (size_t)(at_s * s->rate_hz);
    const size_t n = (size_t)(COUGH_S * s->rate_hz);
    for (size_t i = 0; i < n && first + i < s->n; i++) {
        const double t = (double)i / s->rate_hz;
        const double fall = t < BURST_S ? 1.0 : exp((BURST_S - t) / TAIL_S);
        s->samples[first + i] += (float)(height * fall * fm_random_normal(random));
    }
}

/* Fits of one to three coughs; the breaths go on as if nothing had been. */
static void add_fits(fm_random *random, double every_s, sound *s)
{
    const double height = sqrt(mean_power(s) * pow(10.0, COUGH_DB / 10.0));
    double at_s = fm_random_between(random, 0.0, every_s);
    while (at_s < SECONDS) {
        const int coughs = 1 + (int)(fm_random_next(random) % COUGHS_MOST);
        for (int i = 0; i < coughs; i++) {
            add_cough(random, at_s + 0.6 * i, height, s);
        }
        at_s += every_s * fm_random_between(random, 0.6, 1.4);
    }
}

/* Usual breathing over a steady heart. */
static bool make(const troubles_job *job,
                 uint64_t seed,
                 const trouble *t,
                 breath_case *c)
{
    fm_random random = fm_random_init(seed, STREAM);
    fm_recipe r = fm_recipe_default();
    r.seed = seed;
    r.seconds = SECONDS;
    r.rate_hz = job->n_voices > 0 ? job->rate_hz : r.rate_hz;
    r.breaths_per_min = exp(fm_random_between(&random, log(8.0), log(40.0)));
    r.breath_jitter = fm_random_between(&random, 0.03, 0.12);
    r.bpm = fmax(fm_random_between(&random, 60.0, 100.0), 2.2 * r.breaths_per_min);
    r.breath_snr_db = BREATH_DB;
    r.crackles = t->crackles;
    r.wheeze = t->wheeze;
    c->window_s = 60.0;
    if (!breath_case_of(&r, c)) {
        return false;
    }
    if (t->fit_every_s > 0.0) {
        add_fits(&random, t->fit_every_s, &c->sound);
    }
    if (isfinite(t->speech_db) && job->n_voices > 0) {
        add_speech(&job->voice[seed % job->n_voices], t->speech_db, &c->sound);
    }
    return true;
}

static void take(const fm_count *count, void *context)
{
    troubled *const o = context;
    o->status = count->breath.count.status;
    o->rate_per_min = count->breath.count.rate_per_min;
    o->good = true;
}

static void run_one(size_t i, void *context)
{
    troubles_job *const job = context;
    troubled *const o = &job->out[i];
    const trouble *const t = &TROUBLE[i % TROUBLES];
    breath_case c = {0};
    if (isfinite(t->speech_db) && job->n_voices == 0) {
        o->good = true; /* left out, and the table says so */
        return;
    }
    if (make(job, job->first_seed + i / TROUBLES, t, &c)) {
        o->true_per_min = c.true_per_min;
        (void)analyse_windows(&c.sound, 60.0, 1, take, o);
    }
    sound_free(&c.sound);
}

static void print_trouble(const troubles_job *job, size_t n, size_t which)
{
    long said = 0;
    long counted = 0;
    long near = 0;
    long wrong = 0;
    if (isfinite(TROUBLE[which].speech_db) && job->n_voices == 0) {
        (void)printf("  %-24s left out: espeak-ng is not installed\n",
                     TROUBLE[which].name);
        return;
    }
    for (size_t i = 0; i < n; i++) {
        const troubled *const o = &job->out[i * TROUBLES + which];
        const double off = fabs(o->rate_per_min - o->true_per_min);
        if (o->status != FM_REFUSED) {
            said++;
            counted += o->status == FM_COUNTED;
            near += off <= NEAR_PER_MIN;
            wrong += o->status == FM_COUNTED && off > WRONG_PER_MIN;
        }
    }
    (void)printf("  %-24s %4zu %6.1f %6.1f %7.1f %14ld\n", TROUBLE[which].name, n,
                 100.0 * (double)said / (double)n, 100.0 * (double)counted / (double)n,
                 said > 0 ? 100.0 * (double)near / (double)said : (double)NAN, wrong);
}

int accuracy_breath_troubles(const settings *s, size_t n)
{
    troubles_job job = {.first_seed = s->first_seed,
                        .out = calloc(n * TROUBLES, sizeof *job.out)};
    if (job.out == NULL || n == 0) {
        free(job.out);
        return n == 0 ? EXIT_USAGE : EXIT_FAILED;
    }
    speak(&job);
    pool_run(n * TROUBLES, s->jobs, run_one, &job);
    (void)printf(
        "breaths beside what is no breath, 60 s, seeds %llu and up\n"
        "  beside                      n  said%%   cnt%%   <=1%%  counted wrong\n",
        (unsigned long long)s->first_seed);
    bool good = true;
    for (size_t i = 0; i < n * TROUBLES; i++) {
        good = good && job.out[i].good;
    }
    for (size_t which = 0; which < TROUBLES; which++) {
        print_trouble(&job, n, which);
    }
    for (size_t i = 0; i < job.n_voices; i++) {
        sound_free(&job.voice[i]);
    }
    free(job.out);
    return good ? EXIT_DONE : EXIT_FAILED;
}
