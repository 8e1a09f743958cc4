#include "dsp/heart/ensemble.h"

#include "dsp/heart/follow.h"

#include <math.h>
#include <stdbool.h>
#include <string.h>

/* By how much scores are raised and lowered (natural log): about as far as single networks differ on
 * sounds that are not clear. */
static const float SCORE_STEP = 1.0f;
/* How much wider the rhythm is under which less order is expected. Ours: each member has only to be
 * another opinion; what its disagreement is worth is learned. */
static const double LOOSER_TIMES = 2.0;
static const double MORE_SURPRISE = 3.0;
/* Two onsets this near are one beat: the least that beats are matched by in tests/accuracy. */
static const double SAME_S = 0.06;

_Static_assert((int)FM_ENSEMBLE_SIZE <= (int)FM_LANES,
               "the ensemble is decoded together");

static void score_member(const fm_ensemble_input *q, size_t member, fm_ensemble *p)
{
    const float by = member == FM_EMISSION_MEMBERS + FM_PERTURBED_UP     ? SCORE_STEP
                     : member == FM_EMISSION_MEMBERS + FM_PERTURBED_DOWN ? -SCORE_STEP
                                                                         : 0.0f;
    fm_candidate *scored = p->scored[member];
    memcpy(scored, q->candidates, q->n * sizeof(*scored));
    for (size_t i = 0; i < q->n; i++) {
        if (member < FM_EMISSION_MEMBERS) {
            scored[i].score_s1 = p->network_scores[member].score_s1[i];
            scored[i].score_s2 = p->network_scores[member].score_s2[i];
        } else {
            scored[i].score_s1 += by;
            scored[i].score_s2 += by;
        }
    }
}

static fm_hypothesis perturbed(const fm_hypothesis *h, size_t member)
{
    fm_hypothesis mine = *h;
    mine.local_cycle_s = NULL;
    if (member == FM_EMISSION_MEMBERS + FM_PERTURBED_RHYTHM) {
        mine.looseness = fmin(LOOSER_TIMES * h->looseness, 0.5);
        mine.surprise = fmin(MORE_SURPRISE * h->surprise, 0.5);
    }
    return mine;
}

/* Each member's likeliest hypothesis, fitted to what it finds. */
static void fit(const fm_ensemble_input *q, size_t v, fm_ensemble *p)
{
    fm_follow_systole(p->scored[v], &p->path[v], &p->best[v]);
    fm_follow_rate(p->scored[v], q->n, &p->path[v], p->local_cycle_s[v], &p->best[v]);
}

void fm_ensemble_begin(const fm_ensemble_input *q, fm_ensemble *p)
{
    p->round = 0;
    for (size_t v = 0; v < FM_ENSEMBLE_SIZE; v++) {
        score_member(q, v, p);
    }
}

size_t fm_ensemble_next(const fm_ensemble_input *q,
                        fm_ensemble *p,
                        fm_decoding *decoding)
{
    const bool is_last = p->round == q->n_hypotheses;
    if (p->round > q->n_hypotheses) {
        return 0;
    }
    for (size_t v = 0; v < FM_ENSEMBLE_SIZE; v++) {
        if (is_last) {
            fit(q, v, p);
        }
        p->tried[v] = is_last ? p->best[v] : perturbed(&q->hypotheses[p->round], v);
        decoding[v] =
            (fm_decoding){.candidates = p->scored[v], .hypothesis = &p->tried[v]};
    }
    return FM_ENSEMBLE_SIZE;
}

void fm_ensemble_keep(const fm_ensemble_input *q,
                      const fm_decoder_memory *m,
                      fm_ensemble *p)
{
    for (size_t v = 0; v < FM_ENSEMBLE_SIZE; v++) {
        const bool is_last = p->round == q->n_hypotheses;
        const double score =
            (double)m->score[v] + (is_last ? 0.0 : q->priors[p->round]);
        if (is_last || p->round == 0 || score > p->score[v]) {
            p->score[v] = score;
            p->best[v] = p->tried[v];
            fm_decoder_path(m, v, &p->path[v]);
        }
    }
    p->round++;
}

/* S1 of a path in order of time; returns how many. */
static size_t times_of(const fm_candidate *c, const fm_path *path, float *time_s)
{
    size_t n = 0;
    for (size_t i = 0; i < path->n; i++) {
        if (!path->is_s2[i]) {
            time_s[n++] = (float)c[path->index[i]].time_s;
        }
    }
    return n;
}

static double rate_bpm(const float *time_s, size_t n)
{
    return n > 1 ? 60.0 * (double)(n - 1) / (double)(time_s[n - 1] - time_s[0]) : 0.0;
}

static fm_disagreement compare(const float *mine,
                               size_t n_mine,
                               const float *chosen,
                               size_t n)
{
    size_t same = 0;
    for (size_t i = 0, j = 0; i < n_mine && j < n;) {
        const double apart_s = (double)(mine[i] - chosen[j]);
        if (fabs(apart_s) <= SAME_S) {
            same++;
            i++;
            j++;
        } else if (apart_s < 0.0) {
            i++;
        } else {
            j++;
        }
    }
    return (fm_disagreement){
        .off_bpm = rate_bpm(mine, n_mine) - rate_bpm(chosen, n),
        .differ = (double)(n_mine + n - 2 * same) / (double)n,
    };
}

void fm_ensemble_compare(const fm_ensemble_input *q, fm_ensemble *p)
{
    float chosen_s[FM_PATH_MAX];
    float mine_s[FM_PATH_MAX];
    const size_t n = times_of(q->candidates, q->chosen, chosen_s);
    for (size_t v = 0; v < FM_ENSEMBLE_SIZE; v++) {
        p->disagreement[v] =
            compare(mine_s, times_of(q->candidates, &p->path[v], mine_s), chosen_s, n);
    }
}
