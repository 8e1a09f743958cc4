/* What is said of composed minutes in which contact is lost once. */
#include "lost_contact.h"

#include "analyse.h"
#include "composed.h"
#include "pool.h"
#include "sampler.h"

#include "dsp/signal/random.h"

#include <math.h>
#include <stdlib.h>

/* The stream of a seed that the loss is drawn from. */
static const uint64_t LOSS_STREAM = 0x10C7;
static const double SNR_LEAST_DB = 10.0;

typedef struct outcome {
    bool asked; /* loud enough to be of the set */
    bool good;
    fm_outcome status;
    bool
        called_pause; /* an interval that reaches into the middle half of the loss is a pause */
    bool gap;         /* a gap or unusable stretch is named in its place */
    bool holds; /* the range holds the true count */
    double wide_bpm;
} outcome;

typedef struct job {
    const settings *options;
    outcome *out;
} job;

typedef struct minute {
    outcome *o;
    const fm_truth *truth;
} minute;

static bool overlaps(double start_s, double length_s, const fm_span *with)
{
    return start_s < with->start_s + with->length_s &&
           start_s + length_s > with->start_s;
}

static void keep(const fm_count *count, void *context)
{
    const minute *m = context;
    outcome *o = m->o;
    const fm_span *lost = &m->truth->contact_lost;
    const fm_heart *h = &count->heart;
    /* a pause of the rhythm's own may begin in the fade */
    const fm_span core = {lost->start_s + 0.25 * lost->length_s, 0.5 * lost->length_s,
                          FM_REASON_CONTACT_LOST};
    double n = 0.0;
    for (size_t i = 0; i < m->truth->n_s1; i++) {
        n += m->truth->s1_s[i] < COMPOSED_WINDOW_S ? 1.0 : 0.0;
    }
    o->good = true;
    o->status = h->count.status;
    for (size_t i = 0; i < count->rhythm.n_intervals; i++) {
        const fm_interval *v = &count->rhythm.intervals[i];
        o->called_pause = o->called_pause || (v->kind == FM_INTERVAL_PAUSE &&
                                              overlaps(v->start_s, v->length_s, &core));
    }
    const fm_quality *q = &count->heart.count.quality;
    for (size_t i = 0; i < q->n_gaps; i++) {
        o->gap = o->gap || overlaps(q->gaps[i].start_s, q->gaps[i].length_s, lost);
    }
    for (size_t i = 0; i < q->n_unusable; i++) {
        o->gap =
            o->gap || overlaps(q->unusable[i].start_s, q->unusable[i].length_s, lost);
    }
    o->holds = floor(h->count.rate_low_per_min + 0.05) <= n &&
               n <= ceil(h->count.rate_high_per_min - 0.05);
    o->wide_bpm = h->count.rate_high_per_min - h->count.rate_low_per_min;
}

static void run_seed(size_t i, void *context)
{
    const job *j = context;
    outcome *o = &j->out[i];
    sample drawn = sample_of_seed(j->options->first_seed + i, j->options->only);
    o->asked = drawn.snr_db >= SNR_LEAST_DB;
    if (!o->asked) {
        return;
    }
    fm_random random = fm_random_init(drawn.seed, LOSS_STREAM);
    fm_recipe *r = &drawn.recipe;
    r->contact_lost_length_s = fm_random_between(&random, 1.5, 8.0);
    r->contact_lost_start_s =
        fm_random_between(&random, 5.0, 55.0 - r->contact_lost_length_s);
    r->contact_fade_s =
        fm_random_between(&random, 0.1, fmin(1.0, 0.3 * r->contact_lost_length_s));
    sound whole = {.n = fm_recipe_samples(r), .rate_hz = r->rate_hz};
    fm_truth truth = {0};
    whole.samples = malloc((whole.n + 1) * sizeof *whole.samples);
    if (whole.samples != NULL &&
        fm_compose(r, whole.samples, whole.n, &truth) == FM_OK) {
        minute m = {o, &truth};
        (void)analyse_windows(&whole, COMPOSED_WINDOW_S, 1, keep, &m);
    }
    if (j->options->each) {
        (void)printf(
            "seed %llu %s %g dB: lost %.1f to %.1f s, status %d%s%s%s, %.1f wide\n",
            (unsigned long long)drawn.seed, sample_kind_word(drawn.kind), drawn.snr_db,
            r->contact_lost_start_s, r->contact_lost_start_s + r->contact_lost_length_s,
            (int)o->status, o->called_pause ? ", called a pause" : "",
            o->gap ? "" : ", no gap",
            o->holds || o->status == FM_REFUSED ? "" : ", truth outside", o->wide_bpm);
    }
    fm_truth_free(&truth);
    sound_free(&whole);
}

static void say_share(const char *what, long k, long n)
{
    (void)printf("  %-46s %5.1f %% (%ld/%ld)\n", what,
                 n > 0 ? 100.0 * (double)k / (double)n : 0.0, k, n);
}

int accuracy_lost_contact(const settings *s)
{
    outcome *out = calloc(s->n_lost, sizeof *out);
    if (out == NULL) {
        return EXIT_FAILED;
    }
    job j = {s, out};
    pool_run(s->n_lost, s->jobs, run_seed, &j);
    long n = 0;
    long counted = 0;
    long given = 0;
    long pauses = 0;
    long gaps = 0;
    long holds = 0;
    bool good = true;
    for (size_t i = 0; i < s->n_lost; i++) {
        if (!out[i].asked) {
            continue;
        }
        n++;
        good = good && out[i].good;
        counted += out[i].status == FM_COUNTED;
        given += out[i].status != FM_REFUSED;
        pauses += out[i].status != FM_REFUSED && out[i].called_pause;
        gaps += out[i].gap;
        holds += out[i].status != FM_REFUSED && out[i].holds;
    }
    (void)printf("contact lost once for 1.5 to 8 s, 10 dB and better: %ld minutes\n",
                 n);
    say_share("counted", counted, n);
    say_share("given", given, n);
    say_share("a gap named in its place", gaps, n);
    say_share("given, and called a pause", pauses, given);
    say_share("given, and the range holds the true count", holds, given);
    free(out);
    return good ? EXIT_DONE : EXIT_FAILED;
}
