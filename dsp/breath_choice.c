#include "dsp/breath_choice.h"

#ifndef FM_BREATH_WEIGHTS /* cross-validation builds with another table */
#define FM_BREATH_WEIGHTS "dsp/breath_weights.h"
#endif
#include FM_BREATH_WEIGHTS

#include <math.h>
#include <string.h>

/* Readings this near in length (natural log) are the same. */
static const double SAME = 0.07;
static const double LN2 = 0.69314718055994531;
/* Rates this near, per minute, are one answer: inside the 2 that confidence speaks of. */
static const double NEAR_PER_MIN = 1.5;

static double sound_explained(const fm_reading *r)
{
    return (r->explained[FM_BREATH_LOW] + r->explained[FM_BREATH_MIDDLE] +
            r->explained[FM_BREATH_HIGH]) /
           3.0;
}

static double heart_explained(const fm_reading *r)
{
    return r->explained[FM_BREATH_S1] + r->explained[FM_BREATH_S2] +
           r->explained[FM_BREATH_INTERVAL];
}

/* What a reading's own source explains. */
static double own_explained(const fm_reading *r)
{
    switch (r->source) {
    case FM_SOURCE_SOUND:
        return sound_explained(r);
    case FM_SOURCE_LOUDNESS:
        return r->explained[FM_BREATH_S1] + r->explained[FM_BREATH_S2];
    case FM_SOURCE_INTERVALS:
        return r->explained[FM_BREATH_INTERVAL];
    default:
        return heart_explained(r);
    }
}

/* A reading's worth among its source's: what it explains, less for uneven going. */
static double worth(const fm_reading *r)
{
    const double w = own_explained(r) - 0.5 * r->moves - 0.5 * r->cv;
    return w > 0.0 ? w : 0.0;
}

/* What is looked up for every reading against every other. */
typedef struct lookup {
    const fm_readings *all;
    double log_cycle[FM_READINGS_MAX];
    double worth[FM_READINGS_MAX];
    double best[FM_SOURCES]; /* most worth in a source */
    double sum[FM_SOURCES];
} lookup;

static void look_up(const fm_readings *all, lookup *l)
{
    l->all = all;
    for (int s = 0; s < FM_SOURCES; s++) {
        l->best[s] = 1e-3;
        l->sum[s] = 1e-3;
    }
    for (size_t i = 0; i < all->n; i++) {
        const int s = all->reading[i].source;
        l->log_cycle[i] = log(all->reading[i].cycle_s);
        l->worth[i] = worth(&all->reading[i]);
        l->best[s] = fmax(l->best[s], l->worth[i]);
        l->sum[s] += l->worth[i];
    }
}

/* Worth of the source's best reading near a length. */
static double worth_near(const lookup *l, int source, double log_cycle)
{
    double near = 0.0;
    for (size_t i = 0; i < l->all->n; i++) {
        if (l->all->reading[i].source == source &&
            fabs(l->log_cycle[i] - log_cycle) < SAME) {
            near = fmax(near, l->worth[i]);
        }
    }
    return near;
}

/* The same against the source's best of all. */
static double share_near(const lookup *l, int source, double log_cycle)
{
    return worth_near(l, source, log_cycle) / l->best[source];
}

/* Worth of the source's best reading of another length, its half and double left out or
 * not: what a length must be better than. */
static double worth_elsewhere(const lookup *l,
                              int source,
                              double log_cycle,
                              bool no_octaves)
{
    double most = 0.0;
    for (size_t i = 0; i < l->all->n; i++) {
        const double off = fabs(l->log_cycle[i] - log_cycle);
        if (l->all->reading[i].source == source && off >= SAME &&
            !(no_octaves && fabs(off - LN2) < SAME)) {
            most = fmax(most, l->worth[i]);
        }
    }
    return most;
}

/* The most that a reading of the sound with another length explains. */
static double explained_elsewhere(const lookup *l, double log_cycle)
{
    double most = 0.0;
    for (size_t i = 0; i < l->all->n; i++) {
        if (l->all->reading[i].source == FM_SOURCE_SOUND &&
            fabs(l->log_cycle[i] - log_cycle) >= SAME) {
            most = fmax(most, sound_explained(&l->all->reading[i]));
        }
    }
    return most;
}

/* Share of the source's readings, by worth, that have the length. */
static double support(const lookup *l, int source, double log_cycle)
{
    double near = 0.0;
    for (size_t i = 0; i < l->all->n; i++) {
        if (l->all->reading[i].source == source &&
            fabs(l->log_cycle[i] - log_cycle) < SAME) {
            near += l->worth[i];
        }
    }
    return near / l->sum[source];
}

/* 1 where a length is that of a heart beat: what is heard is then the heart. */
static double beats_near(const fm_readings *all, double log_cycle)
{
    if (!(all->beat_s > 0.0)) {
        return 0.0;
    }
    const double off = (log_cycle - log(all->beat_s)) / SAME;
    return exp(-off * off);
}

/* How far a breath is shorter than one and a half heart beats, which nobody's is at rest
 * (three to five beats to a breath, from memory). */
static double faster_than_heart(const fm_readings *all, double log_cycle)
{
    return all->beat_s > 0.0 ? fmax(0.0, log(1.5 * all->beat_s) - log_cycle) : 0.0;
}

static void gather_one(const lookup *l, size_t i, float *value)
{
    const fm_reading *r = &l->all->reading[i];
    const fm_reading *other = &l->all->reading[r->partner];
    const fm_swings *swings = &l->all->swings;
    const double at = l->log_cycle[i];
    const double rate_hz = r->rate_per_min / 60.0;
    const double list[FM_BREATH_EVIDENCE] = {
        r->source == FM_SOURCE_SOUND ? 1.0 : 0.0,
        r->source == FM_SOURCE_LOUDNESS ? 1.0 : 0.0,
        r->source == FM_SOURCE_INTERVALS ? 1.0 : 0.0,
        (double)r->humps - 1.0,
        at - 1.1,
        r->explained[FM_BREATH_LOW],
        r->explained[FM_BREATH_MIDDLE],
        r->explained[FM_BREATH_HIGH],
        r->explained[FM_BREATH_S1],
        r->explained[FM_BREATH_S2],
        r->explained[FM_BREATH_INTERVAL],
        r->moves,
        r->cv,
        log((double)r->cycles + 1.0) - 2.5,
        sound_explained(r) - sound_explained(other),
        heart_explained(r) - heart_explained(other),
        r->moves - other->moves,
        r->cv - other->cv,
        l->worth[i] / (1e-3 + fmax(l->worth[i], l->worth[r->partner])),
        share_near(l, r->source, at),
        share_near(l, r->source, at + LN2),
        share_near(l, r->source, at - LN2),
        share_near(l, FM_SOURCE_SOUND, at),
        share_near(l, FM_SOURCE_LOUDNESS, at),
        share_near(l, FM_SOURCE_INTERVALS, at),
        share_near(l, FM_SOURCE_HEART, at),
        support(l, r->source, at),
        support(l, FM_SOURCE_SOUND, at),
        support(l, FM_SOURCE_HEART, at),
        l->all->swing,
        log(l->all->length_s / 60.0),
        share_near(l, FM_SOURCE_HEART, at + LN2),
        share_near(l, FM_SOURCE_HEART, at - LN2),
        beats_near(l->all, at),
        beats_near(l->all, at - LN2),
        beats_near(l->all, at + LN2),
        faster_than_heart(l->all, at),
        sound_explained(r) - explained_elsewhere(l, at),
        l->worth[i] - worth_elsewhere(l, r->source, at, true),
        worth_near(l, FM_SOURCE_HEART, at) -
            worth_elsewhere(l, FM_SOURCE_HEART, at, false),
        log1p(fm_swing_near(swings, FM_BREATH_INTERVAL, rate_hz)),
        log1p(fm_swing_near(swings, FM_BREATH_S1, rate_hz)),
        log1p(fm_swing_near(swings, FM_BREATH_S2, rate_hz)),
        log1p(fm_swing_all_near(swings, rate_hz)) -
            log1p(fm_swing_all_elsewhere(swings, rate_hz)),
        log1p(fm_swing_all_near(swings, 0.5 * rate_hz)),
        log1p(fm_swing_all_near(swings, 2.0 * rate_hz)),
        beats_near(l->all, at - log(3.0)),
        beats_near(l->all, at - log(4.0)),
    };
    for (size_t k = 0; k < FM_BREATH_EVIDENCE; k++) {
        value[k] = (float)list[k];
    }
}

void fm_breath_evidence_gather(const fm_readings *all, fm_breath_evidence *out)
{
    lookup l;
    look_up(all, &l);
    for (size_t i = 0; i < all->n; i++) {
        gather_one(&l, i, out->value[i]);
    }
}

/* Numbers that a cue alone does not know are set to the mean (0 after scaling). */
static bool cue_knows(int cue, size_t k)
{
    static const bool known[FM_CUE_COUNT][FM_BREATH_EVIDENCE] = {
        [FM_CUE_SOUND] =
            {[3] = true,  [4] = true,  [5] = true,  [6] = true,  [7] = true,
             [11] = true, [12] = true, [13] = true, [14] = true, [16] = true,
             [17] = true, [18] = true, [19] = true, [20] = true, [21] = true,
             [26] = true, [29] = true, [30] = true, [33] = true, [34] = true,
             [35] = true, [36] = true, [37] = true, [38] = true},
        [FM_CUE_LOUDNESS] = {[4] = true,
                             [8] = true,
                             [9] = true,
                             [11] = true,
                             [12] = true,
                             [13] = true,
                             [19] = true,
                             [20] = true,
                             [21] = true,
                             [26] = true,
                             [30] = true,
                             [38] = true,
                             [41] = true,
                             [42] = true},
        [FM_CUE_INTERVALS] = {[4] = true,
                              [10] = true,
                              [11] = true,
                              [12] = true,
                              [13] = true,
                              [19] = true,
                              [20] = true,
                              [21] = true,
                              [26] = true,
                              [30] = true,
                              [38] = true,
                              [40] = true,
                              [46] = true,
                              [47] = true},
    };
    return cue >= FM_CUE_COUNT || known[cue][k];
}

static double score_of(const float *value, int cue)
{
    double sum = (double)BREATH_OUT_BIAS[cue];
    for (size_t h = 0; h < FM_BREATH_HIDDEN; h++) {
        double a = (double)BREATH_BIAS[cue][h];
        for (size_t k = 0; k < FM_BREATH_EVIDENCE; k++) {
            if (cue_knows(cue, k)) {
                a += (double)((value[k] - BREATH_MEAN[k]) * BREATH_SCALE[k]) *
                     (double)BREATH_WEIGHTS[cue][k][h];
            }
        }
        sum += tanh(a) * (double)BREATH_OUT[cue][h];
    }
    return sum;
}

static bool takes_part(const fm_reading *r, int cue)
{
    return cue >= FM_CUE_COUNT || r->source == cue;
}

/* Softmax over those taking part and none, whose score is 0. */
static void share_out(const fm_readings *all,
                      const fm_breath_evidence *evidence,
                      int cue,
                      fm_breath_choice *out)
{
    double most = 0.0;
    for (size_t i = 0; i < all->n; i++) {
        out->probability[i] = -(double)INFINITY;
        if (takes_part(&all->reading[i], cue)) {
            out->probability[i] = score_of(evidence->value[i], cue);
            most = fmax(most, out->probability[i]);
        }
    }
    double sum = exp(-most);
    for (size_t i = 0; i < all->n; i++) {
        out->probability[i] = exp(out->probability[i] - most);
        sum += out->probability[i];
    }
    out->none = exp(-most) / sum;
    for (size_t i = 0; i < all->n; i++) {
        out->probability[i] /= sum;
    }
}

void fm_breath_choose(const fm_readings *all,
                      const fm_breath_evidence *evidence,
                      int cue,
                      fm_breath_choice *out)
{
    memset(out, 0, sizeof(*out));
    share_out(all, evidence, cue, out);
    out->best = all->n;
    out->rate_per_min = (double)NAN;
    double top = 0.0;
    for (size_t i = 0; i < all->n; i++) {
        const double rate = all->reading[i].rate_per_min;
        double gathered = 0.0;
        for (size_t k = 0; k < all->n; k++) {
            if (fabs(all->reading[k].rate_per_min - rate) <= NEAR_PER_MIN) {
                gathered += out->probability[k];
            }
        }
        /* of those that gather alike, the most probable itself */
        const double value = gathered + 0.2 * out->probability[i];
        if (takes_part(&all->reading[i], cue) && value > top) {
            top = value;
            out->best = i;
            out->rate_per_min = rate;
            out->gathered = gathered;
        }
    }
}
