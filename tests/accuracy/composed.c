/* Composes a seed's recording, analyses its first minute and scores it. */
#include "composed.h"

#include "analyse.h"
#include "dump.h"
#include "match.h"
#include "pool.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const double CLOSE_S = 0.030; /* the bar for a clean recording */

typedef struct composed_job {
    const settings *options;
    composed_outcome *out;
} composed_job;

/* What keep_minute needs: the truth to score against. */
typedef struct minute {
    const settings *options;
    composed_outcome *outcome;
    const fm_truth *truth;
    const sound *sound;
} minute;

static void dump_minute(const minute *m, const fm_count *count)
{
    const scored *s = &m->outcome->score;
    if (m->options->dump == NULL || !(m->options->dump_all || dump_is_worth_it(s))) {
        return;
    }
    char path[1200];
    if (dump_sound(m->options->dump, s->name, m->sound, path, sizeof path)) {
        const beats_pair s1 = {m->truth->s1_s, count->heart.count.onsets_s,
                               m->truth->n_s1, count->heart.count.n};
        const dump_view v = {
            s, path, 0.0, COMPOSED_WINDOW_S, s1, count->heart.s2_s, count->heart.n_s2};
        (void)dump_window(m->options->dump, &v);
    }
}

/* Every true beat not within 30 ms of an end is found, and every such found beat is true:
 * a beat at the very end may honestly fall on either side. */
static bool is_exact_inside(const fm_truth *truth, const fm_count *count)
{
    const double low = CLOSE_S;
    const double high = COMPOSED_WINDOW_S - CLOSE_S;
    size_t n_inner = 0;
    const double *inner = times_between(truth->s1_s, truth->n_s1, low, high, &n_inner);
    const size_t found_of_inner =
        match_times(inner, n_inner, count->heart.count.onsets_s, count->heart.count.n,
                    0.0, CLOSE_S);
    size_t n_said = 0;
    const double *said = times_between(count->heart.count.onsets_s,
                                       count->heart.count.n, low, high, &n_said);
    const size_t true_of_said =
        match_times(truth->s1_s, truth->n_s1, said, n_said, 0.0, CLOSE_S);
    return found_of_inner == n_inner && true_of_said == n_said;
}

static rhythm_truth rhythm_of(const fm_truth *truth)
{
    rhythm_truth r = {.known = truth->pattern_known,
                      .pattern = truth->pattern,
                      .n_findings = truth->n_findings};
    memcpy(r.repeat, truth->repeat, sizeof r.repeat);
    memcpy(r.findings, truth->findings, sizeof r.findings);
    return r;
}

static void keep_minute(const fm_count *count, void *context)
{
    const minute *m = context;
    composed_outcome *o = m->outcome;
    scored *s = &o->score;
    s->status = count->heart.count.status;
    s->reason = count->heart.count.reason;
    s->printed_rate_bpm = count->heart.count.rate_per_min;
    s->confidence = count->heart.count.confidence;
    o->band = count->heart.band;
    const double end = nextafter(COMPOSED_WINDOW_S, 0.0);
    beats_pair b;
    b.truth = times_between(m->truth->s1_s, m->truth->n_s1, 0.0, end, &b.n_truth);
    b.found = times_between(count->heart.count.onsets_s, count->heart.count.n, 0.0, end,
                            &b.n_found);
    score_beats(s, &b, 0.0, false);
    score_rates(s, (double)b.n_truth, (double)b.n_found);
    o->exact_inside = is_exact_inside(m->truth, count);
    const rhythm_truth rhythm = rhythm_of(m->truth);
    s->rhythm = score_rhythm(&rhythm, count);
    o->good = true;
    dump_minute(m, count);
}

static void run_seed(size_t i, void *context)
{
    const composed_job *job = context;
    composed_outcome *o = &job->out[i];
    *o = (composed_outcome){
        .asked = sample_of_seed(job->options->first_seed + i, job->options->only)};
    (void)snprintf(o->score.name, sizeof o->score.name, "seed %llu",
                   (unsigned long long)o->asked.seed);
    sound whole = {.n = fm_recipe_samples(&o->asked.recipe),
                   .rate_hz = o->asked.recipe.rate_hz};
    fm_truth truth = {0};
    whole.samples = malloc((whole.n + 1) * sizeof *whole.samples);
    fm_status status = FM_ERR_NOMEM;
    if (whole.samples != NULL) {
        status = fm_compose(&o->asked.recipe, whole.samples, whole.n, &truth);
    }
    if (status == FM_OK) {
        minute m = {job->options, o, &truth, &whole};
        (void)analyse_windows(&whole, COMPOSED_WINDOW_S, 1, keep_minute, &m);
    } else {
        const char *fault = fm_recipe_fault(&o->asked.recipe);
        (void)fprintf(stderr, "accuracy: %s: %s: %s\n", o->score.name,
                      fm_status_text(status), fault != NULL ? fault : "");
    }
    fm_truth_free(&truth);
    sound_free(&whole);
}

bool composed_run(const settings *s, composed_outcome *out, size_t n)
{
    composed_job job = {s, out};
    pool_run(n, s->jobs, run_seed, &job);
    bool good = true;
    for (size_t i = 0; i < n; i++) {
        good = good && out[i].good;
    }
    return good;
}

composed_figures composed_sum(const composed_outcome *o, size_t n)
{
    composed_figures f = {.n = (long)n};
    tally high = {0};
    for (size_t i = 0; i < n; i++) {
        const scored *s = &o[i].score;
        const bool counted = s->status == FM_COUNTED;
        f.counted += counted;
        f.counted_wrong += counted && !(s->error <= 3.0);
        if (o[i].asked.kind == SAMPLE_CLEAN) {
            f.n_clean++;
            f.clean_exact += counted && s->exact;
            f.clean_exact_inside += counted && o[i].exact_inside;
            f.patterns_right_clean += counted && s->rhythm.pattern_right;
            f.findings_right_clean += counted && s->rhythm.findings_right;
        }
        if (o[i].asked.snr_db >= 10.0) {
            (void)tally_add(&high, s);
            f.counted_high += counted;
            f.within2_high += counted && s->error <= 2.0;
        }
    }
    f.n_high = high.n;
    f.f1_high = f1_of(high.hits[LAG_SET][0], high.n_truth, high.n_found);
    f.f1_high_delivered =
        f1_of(high.hits_delivered[LAG_SET][0], high.n_truth, high.found_delivered);
    tally_free(&high);
    return f;
}

int accuracy_composed(const settings *s)
{
    composed_outcome *out = calloc(s->n_composed, sizeof *out);
    if (out == NULL) {
        return EXIT_FAILED;
    }
    const bool good = composed_run(s, out, s->n_composed);
    if (s->each) {
        composed_print_each(stdout, out, s->n_composed);
    }
    composed_print(stdout, out, s->n_composed);
    free(out);
    return good ? EXIT_DONE : EXIT_FAILED;
}
