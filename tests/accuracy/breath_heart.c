/* Does the heart's count hold when the breath is loud? The same hearts beside louder and
 * louder breath sound. */
#include "breath.h"

#include "analyse.h"
#include "breath_case.h"
#include "pool.h"

#include <math.h>
#include <stdlib.h>

enum {
    LEVELS = 7
};

/* Breath over the rest, dB in 100-1000 Hz; the first: none at all. */
static const double LEVEL_DB[LEVELS] = {
    -(double)INFINITY, 0.0, 5.0, 10.0, 15.0, 20.0, 25.0};

static const double NEAR_PER_MIN = 2.0;
static const double WRONG_PER_MIN = 3.0;

/* What was said of one heart beside one breath. */
typedef struct heart_outcome {
    bool good;
    fm_outcome status;
    int true_beats;
    double rate_per_min;
} heart_outcome;

typedef struct heart_job {
    uint64_t first_seed;
    heart_outcome *out; /* out[seed][level] */
} heart_job;

static void take(const fm_count *count, void *context)
{
    heart_outcome *const o = context;
    o->status = count->heart.count.status;
    o->rate_per_min = count->heart.count.rate_per_min;
    o->good = true;
}

static void run_one(size_t i, void *context)
{
    heart_job *const job = context;
    heart_outcome *const o = &job->out[i];
    breath_case c = {0};
    if (breath_case_beside(job->first_seed + i / LEVELS, LEVEL_DB[i % LEVELS], &c)) {
        o->true_beats = c.beats;
        (void)analyse_windows(&c.sound, 60.0, 1, take, o);
    }
    sound_free(&c.sound);
}

static void print_level(const heart_job *job, size_t n, int level)
{
    long counted = 0;
    long said = 0;
    long near = 0;
    long wrong = 0;
    long same = 0;
    long both = 0;
    for (size_t i = 0; i < n; i++) {
        const heart_outcome *const o = &job->out[i * LEVELS + (size_t)level];
        const heart_outcome *const without = &job->out[i * LEVELS];
        const double off = fabs(o->rate_per_min - o->true_beats);
        if (o->status == FM_REFUSED) {
            continue;
        }
        said++;
        counted += o->status == FM_COUNTED;
        near += off <= NEAR_PER_MIN;
        wrong += o->status == FM_COUNTED && off > WRONG_PER_MIN;
        if (without->status != FM_REFUSED) {
            both++;
            same += fabs(o->rate_per_min - without->rate_per_min) < 0.5;
        }
    }
    char label[16] = "none";
    if (level > 0) {
        (void)snprintf(label, sizeof label, "%.0f dB", LEVEL_DB[level]);
    }
    const double most = (double)(n > 0 ? n : 1);
    (void)printf("  %-6s %5zu %6.1f %6.1f %7.1f %12ld %8ld of %ld\n", label, n,
                 100.0 * (double)said / most, 100.0 * (double)counted / most,
                 said > 0 ? 100.0 * (double)near / (double)said : 0.0, wrong, same,
                 both);
}

int accuracy_breath_heart(const settings *s, size_t n)
{
    heart_job job = {.first_seed = s->first_seed,
                     .out = calloc(n * LEVELS, sizeof *job.out)};
    if (job.out == NULL) {
        return EXIT_FAILED;
    }
    pool_run(n * LEVELS, s->jobs, run_one, &job);
    (void)printf(
        "the heart's count beside breath sound, 60 s, seeds %llu and up\n"
        "  breath     n  said%%   cnt%%   <=2%%  counted wrong  same as with none\n",
        (unsigned long long)s->first_seed);
    bool good = true;
    for (size_t i = 0; i < n * LEVELS; i++) {
        good = good && job.out[i].good;
    }
    for (int level = 0; level < LEVELS; level++) {
        print_level(&job, n, level);
    }
    free(job.out);
    return good ? EXIT_DONE : EXIT_FAILED;
}
