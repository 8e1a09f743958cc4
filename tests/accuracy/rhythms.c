/* The confusion table of the rhythms: each with many seeds, at 15 dB and better. */
#include "rhythms.h"

#include "analyse.h"
#include "pool.h"

#include "dsp/fullminute_compose.h"
#include "dsp/signal/random.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const double SECONDS = 66.0;
static const double WINDOW_S = 60.0;
static const double BAR =
    0.95; /* or one seed wrong, where there are fewer than twenty */
static const uint64_t STREAM = 0x7274;

enum {
    PATTERNS = FM_PATTERN_COUNT,
    REFUSED = FM_PATTERN_COUNT,
    COLUMNS
};

/* A rhythm: its range of rates (the sampler's, where it has them), and what else is
 * drawn for it. */
typedef struct kind {
    const char *name;
    fm_compose_rhythm rhythm;
    double low_bpm, high_bpm;
    void (*draw)(fm_recipe *r, fm_random *random);
} kind;

static double between(fm_random *random, double low, double high)
{
    return fm_random_between(random, low, high);
}

static int whole(fm_random *random, int low, int high)
{
    return low + (int)(fm_random_next(random) % (uint64_t)(high - low + 1));
}

static void plain(fm_recipe *r, fm_random *random)
{
    (void)r;
    (void)random;
}

static void drifting(fm_recipe *r, fm_random *random)
{
    r->drift_percent_per_min = between(random, -8.0, 8.0);
}

static void breathing(fm_recipe *r, fm_random *random)
{
    r->rsa_ms = fmin(between(random, 140.0, 350.0), 0.4 * 60000.0 / r->bpm);
}

/* From forty on the modulation is under what is called irregular. */
static void breathing_at_age(fm_recipe *r, fm_random *random)
{
    const double age = between(random, 40.0, 80.0);
    r->rsa_ms = fm_compose_rsa_of_age_ms(age, r->bpm, r->breaths_per_min);
}

static void few_full(fm_recipe *r, fm_random *random)
{
    r->events_per_min = whole(random, 1, 5);
}

static void few_short(fm_recipe *r, fm_random *random)
{
    r->events_per_min = whole(random, 1, 5);
    r->compensation = between(random, 1.75, 1.9);
}

static void many(fm_recipe *r, fm_random *random)
{
    r->events_per_min = whole(random, 7, 9);
}

static void weak(fm_recipe *r, fm_random *random)
{
    r->events_per_min = whole(random, 2, 5);
    r->coupling = between(random, 0.47, 0.51);
}

static void couplets(fm_recipe *r, fm_random *random)
{
    r->events_per_min = whole(random, 1, 2);
    r->early_row = 2;
}

static void early_runs(fm_recipe *r, fm_random *random)
{
    r->events_per_min = whole(random, 1, 2);
    r->early_row = whole(random, 3, 5);
}

static void groups(fm_recipe *r, fm_random *random)
{
    r->coupling = between(random, 0.55, 0.72);
}

static void lengthening(fm_recipe *r, fm_random *random)
{
    r->group = whole(random, 3, 5);
}

static void sudden(fm_recipe *r, fm_random *random)
{
    r->group = whole(random, 4, 6);
    r->group_creep = 0.0;
}

static void sudden_of_three(fm_recipe *r, fm_random *random)
{
    (void)random;
    r->group = 3;
    r->group_creep = 0.0;
}

static void pausing(fm_recipe *r, fm_random *random)
{
    r->events_per_min = whole(random, 1, 5);
    r->pause_length = between(random, 1.8, 2.3);
}

static void fibrillating(fm_recipe *r, fm_random *random)
{
    r->spread = between(random, 0.15, 0.28);
}

static void flutter_changing(fm_recipe *r, fm_random *random)
{
    r->flutter_bpm = between(random, 240.0, 340.0);
    r->conduct_most = whole(random, 3, 4);
}

static void flutter_fixed(fm_recipe *r, fm_random *random)
{
    r->flutter_bpm = between(random, 240.0, 340.0);
    r->conduct_least = whole(random, 2, 4);
    r->conduct_most = r->conduct_least;
}

static void fast_run(fm_recipe *r, fm_random *random)
{
    r->run_beats = whole(random, 5, 15);
}

static const kind KINDS[] = {
    {"steady", FM_COMPOSE_STEADY, 40, 180, plain},
    {"drift up to 8 %", FM_COMPOSE_DRIFT, 40, 180, drifting},
    {"breathing, age 40 to 79", FM_COMPOSE_SINUS_ARRHYTHMIA, 50, 100, breathing_at_age},
    {"breathing, 140 to 350 ms", FM_COMPOSE_SINUS_ARRHYTHMIA, 45, 110, breathing},
    {"early, full pause", FM_COMPOSE_PREMATURE, 45, 125, few_full},
    {"early, shorter pause", FM_COMPOSE_PREMATURE, 45, 125, few_short},
    {"early, no wrist pulse", FM_COMPOSE_PREMATURE, 45, 110, weak},
    {"early couplets", FM_COMPOSE_PREMATURE, 45, 115, couplets},
    {"early, seven a minute on", FM_COMPOSE_PREMATURE, 45, 125, many},
    {"early runs of 3 to 5", FM_COMPOSE_PREMATURE, 50, 110, early_runs},
    {"bigeminy", FM_COMPOSE_BIGEMINY, 45, 110, groups},
    {"trigeminy", FM_COMPOSE_TRIGEMINY, 45, 115, groups},
    {"quadrigeminy", FM_COMPOSE_QUADRIGEMINY, 45, 115, groups},
    {"dropped, lengthening", FM_COMPOSE_DROPPED, 55, 120, lengthening},
    {"dropped, no lengthening", FM_COMPOSE_DROPPED, 55, 120, sudden},
    {"the same, 3:2", FM_COMPOSE_DROPPED, 55, 120, sudden_of_three},
    {"pauses", FM_COMPOSE_PAUSES, 45, 110, pausing},
    {"fibrillation", FM_COMPOSE_FIBRILLATION, 50, 170, fibrillating},
    {"flutter, changing", FM_COMPOSE_FLUTTER, 72, 72, flutter_changing},
    {"flutter, 2:1, 3:1 or 4:1", FM_COMPOSE_FLUTTER, 72, 72, flutter_fixed},
    {"run of fast beats", FM_COMPOSE_FAST_RUN, 45, 110, fast_run},
    {"sudden change of rate", FM_COMPOSE_RATE_CHANGE, 45, 120, plain},
};

enum {
    N_KINDS = sizeof KINDS / sizeof *KINDS
};

typedef struct outcome {
    bool good;
    fm_outcome status;
    rhythm_score score;
} outcome;

typedef struct job {
    const settings *options;
    outcome *out; /* out[0..N_KINDS * n_rhythms - 1], by kind */
} job;

typedef struct minute {
    const fm_truth *truth;
    outcome *out;
} minute;

/* Clean, or one kind of noise at 15 or 20 dB. */
static void draw_noise(fm_recipe *r, fm_random *random)
{
    static const fm_compose_noise NOISE[] = {FM_COMPOSE_WHITE,    FM_COMPOSE_PINK,
                                             FM_COMPOSE_SPEECH,   FM_COMPOSE_ROOM,
                                             FM_COMPOSE_FRICTION, FM_COMPOSE_HUM};
    const int level = whole(random, 0, 2);
    const size_t k = (size_t)whole(random, 0, 5);
    if (level < 2) {
        r->noise[NOISE[k]] = true;
        r->snr_db = level == 0 ? 15.0 : 20.0;
    }
}

static fm_recipe draw_recipe(const kind *k, uint64_t seed)
{
    fm_random random = fm_random_init(seed, STREAM + (uint64_t)(k - KINDS));
    fm_recipe r = fm_recipe_default();
    r.rhythm = k->rhythm;
    r.seed = seed * N_KINDS + (uint64_t)(k - KINDS);
    r.seconds = SECONDS;
    r.bpm = between(&random, k->low_bpm, k->high_bpm);
    r.jitter = between(&random, 0.004, 0.02);
    r.breaths_per_min = between(&random, 10.0, 22.0);
    r.s2_db = between(&random, -4.0, 3.0);
    r.systole_scale = between(&random, 0.94, 1.06);
    r.loudness_jitter_db = between(&random, 0.5, 2.0);
    k->draw(&r, &random);
    draw_noise(&r, &random);
    return r;
}

static void keep(const fm_count *count, void *context)
{
    const minute *m = context;
    rhythm_truth truth = {.known = m->truth->pattern_known,
                          .pattern = m->truth->pattern,
                          .n_findings = m->truth->n_findings};
    memcpy(truth.repeat, m->truth->repeat, sizeof truth.repeat);
    memcpy(truth.findings, m->truth->findings, sizeof truth.findings);
    m->out->status = count->heart.count.status;
    m->out->score = score_rhythm(&truth, count);
    m->out->good = true;
}

static void run_one(size_t i, void *context)
{
    const job *j = context;
    const size_t n = j->options->n_rhythms;
    const fm_recipe r = draw_recipe(&KINDS[i / n], j->options->first_seed + i % n);
    sound whole_sound = {.n = fm_recipe_samples(&r), .rate_hz = r.rate_hz};
    fm_truth truth = {0};
    whole_sound.samples = malloc((whole_sound.n + 1) * sizeof *whole_sound.samples);
    if (whole_sound.samples != NULL &&
        fm_compose(&r, whole_sound.samples, whole_sound.n, &truth) == FM_OK) {
        minute m = {&truth, &j->out[i]};
        (void)analyse_windows(&whole_sound, WINDOW_S, 1, keep, &m);
    } else {
        const char *const fault = fm_recipe_fault(&r);
        (void)fprintf(stderr, "accuracy: %s: cannot be composed: %s\n",
                      KINDS[i / n].name, fault != NULL ? fault : "out of memory");
    }
    fm_truth_free(&truth);
    sound_free(&whole_sound);
}

/* The row of one rhythm; false when it is under its bar. */
static bool print_row(const settings *s, const kind *k, const outcome *o)
{
    long said[COLUMNS] = {0};
    long right = 0;
    long repeat = 0;
    long findings = 0;
    bool regular_missed = false;
    bool good = true;
    const size_t n = s->n_rhythms;
    for (size_t i = 0; i < n; i++) {
        const rhythm_score *const r = &o[i].score;
        const bool refused = o[i].status == FM_REFUSED;
        const unsigned long long seed = s->first_seed + i;
        good = good && o[i].good;
        said[refused ? (int)REFUSED : (int)r->said]++;
        right += !refused && r->said == r->truth;
        repeat += !refused && r->pattern_right;
        findings += !refused && r->findings_right;
        regular_missed =
            regular_missed || (!refused && r->said == FM_PATTERN_REGULAR &&
                               r->truth == FM_PATTERN_IRREGULARLY_IRREGULAR);
        if (s->each && (refused || !r->pattern_right)) {
            (void)printf("  seed %llu: true %s %s, said %s %s%s\n", seed,
                         fm_pattern_word(r->truth), r->truth_repeat,
                         fm_pattern_word(r->said), r->said_repeat,
                         refused ? ", refused" : "");
        }
    }
    (void)printf(
        "%-26s %4zu %6ld %8ld %12ld %10ld %12ld %8ld %7.1f%% %7.1f%% %8.1f%%\n",
        k->name, n, said[FM_PATTERN_UNDETERMINED], said[FM_PATTERN_REGULAR],
        said[FM_PATTERN_OCCASIONALLY_IRREGULAR], said[FM_PATTERN_REGULARLY_IRREGULAR],
        said[FM_PATTERN_IRREGULARLY_IRREGULAR], said[REFUSED],
        100.0 * (double)right / (double)n, 100.0 * (double)repeat / (double)n,
        100.0 * (double)findings / (double)n);
    if (regular_missed) {
        (void)printf("  IRREGULARLY IRREGULAR, AND CALLED REGULAR\n");
    }
    return good && !regular_missed &&
           (double)(n - (size_t)right) <= fmax(1.0, (1.0 - BAR) * (double)n);
}

int accuracy_rhythms(const settings *s)
{
    const size_t n = N_KINDS * s->n_rhythms;
    outcome *const out = calloc(n, sizeof *out);
    if (out == NULL) {
        return EXIT_FAILED;
    }
    job j = {s, out};
    pool_run(n, s->jobs, run_one, &j);
    int under = 0;
    (void)printf(
        "15 dB and better           said:  undet-           occasionally  regularly "
        "irregularly                    with    find-\n"
        "rhythm                        n  ermined  regular     irreg.     irreg."
        "       irreg.  refused   right   repeat     ings\n");
    for (size_t k = 0; k < N_KINDS; k++) {
        under += print_row(s, &KINDS[k], out + k * s->n_rhythms) ? 0 : 1;
    }
    (void)printf("%d of %d rhythms under the bar of 95 %% right\n", under,
                 (int)N_KINDS);
    free(out);
    return under == 0 ? EXIT_DONE : EXIT_FAILED;
}
