#include "dsp/heart/poll.h"

#include "dsp/heart/follow.h"

#include <math.h>
#include <stdbool.h>
#include <string.h>

/* How much keener and stricter (natural log): about as far as single networks differ on
 * sounds that are not clear. */
static const float SHIFT = 1.0f;
/* How much wider the rhythm of the voter is that expects less order. */
static const double LOOSER = 2.0;
static const double MORE_SURPRISE = 3.0;
/* Two onsets this near are one beat. */
static const double SAME_S = 0.06;

_Static_assert((int)FM_POLL_VOTERS <= (int)FM_LANES, "voters are decoded together");

static void listen(const fm_poll_question *q, size_t voter, fm_poll *p)
{
    const float by = voter == FM_EMISSION_MEMBERS + FM_POLL_KEENER     ? SHIFT
                     : voter == FM_EMISSION_MEMBERS + FM_POLL_STRICTER ? -SHIFT
                                                                       : 0.0f;
    fm_candidate *heard = p->heard[voter];
    memcpy(heard, q->candidates, q->n * sizeof(*heard));
    for (size_t i = 0; i < q->n; i++) {
        if (voter < FM_EMISSION_MEMBERS) {
            heard[i].score_s1 = p->opinions[voter].score_s1[i];
            heard[i].score_s2 = p->opinions[voter].score_s2[i];
        } else {
            heard[i].score_s1 += by;
            heard[i].score_s2 += by;
        }
    }
}

static fm_hypothesis as_voter(const fm_hypothesis *a, size_t voter)
{
    fm_hypothesis mine = *a;
    mine.local_cycle_s = NULL;
    if (voter == FM_EMISSION_MEMBERS + FM_POLL_LOOSER) {
        mine.looseness = fmin(LOOSER * a->looseness, 0.5);
        mine.surprise = fmin(MORE_SURPRISE * a->surprise, 0.5);
    }
    return mine;
}

/* Each voter's likeliest hypothesis, fitted to what it finds. */
static void fit(const fm_poll_question *q, size_t v, fm_poll *p)
{
    fm_follow_systole(p->heard[v], &p->path[v], &p->mind[v]);
    fm_follow_rate(p->heard[v], q->n, &p->path[v], p->local_cycle_s[v], &p->mind[v]);
}

void fm_poll_open(const fm_poll_question *q, fm_poll *p)
{
    p->round = 0;
    for (size_t v = 0; v < FM_POLL_VOTERS; v++) {
        listen(q, v, p);
    }
}

size_t fm_poll_ask(const fm_poll_question *q, fm_poll *p, fm_decoding *heard)
{
    const bool is_last = p->round == q->n_hypotheses;
    if (p->round > q->n_hypotheses) {
        return 0;
    }
    for (size_t v = 0; v < FM_POLL_VOTERS; v++) {
        if (is_last) {
            fit(q, v, p);
        }
        p->asked[v] = is_last ? p->mind[v] : as_voter(&q->hypotheses[p->round], v);
        heard[v] = (fm_decoding){.candidates = p->heard[v], .hypothesis = &p->asked[v]};
    }
    return FM_POLL_VOTERS;
}

void fm_poll_hear(const fm_poll_question *q, const fm_decoder_memory *m, fm_poll *p)
{
    for (size_t v = 0; v < FM_POLL_VOTERS; v++) {
        const bool is_last = p->round == q->n_hypotheses;
        const double score =
            (double)m->score[v] + (is_last ? 0.0 : q->priors[p->round]);
        if (is_last || p->round == 0 || score > p->score[v]) {
            p->score[v] = score;
            p->mind[v] = p->asked[v];
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

static fm_vote compare(const float *mine, size_t n_mine, const float *chosen, size_t n)
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
    return (fm_vote){
        .off_bpm = rate_bpm(mine, n_mine) - rate_bpm(chosen, n),
        .differ = (double)(n_mine + n - 2 * same) / (double)n,
    };
}

void fm_poll_vote(const fm_poll_question *q, fm_poll *p)
{
    float chosen_s[FM_PATH_MAX];
    float mine_s[FM_PATH_MAX];
    const size_t n = times_of(q->candidates, q->chosen, chosen_s);
    for (size_t v = 0; v < FM_POLL_VOTERS; v++) {
        p->votes[v] =
            compare(mine_s, times_of(q->candidates, &p->path[v], mine_s), chosen_s, n);
    }
}

void fm_poll_take(const fm_poll_question *q, fm_decoder_memory *m, fm_poll *p)
{
    fm_decoding heard[FM_POLL_VOTERS];
    fm_poll_open(q, p);
    while (fm_poll_ask(q, p, heard) > 0) {
        fm_decode_all(heard, FM_POLL_VOTERS, q->n, q->segment_s, q->noise_per_s, m);
        fm_poll_hear(q, m, p);
    }
    fm_poll_vote(q, p);
}
