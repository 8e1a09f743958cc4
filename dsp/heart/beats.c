#include "dsp/heart/beats.h"

#include "dsp/heart/adapt.h"
#include "dsp/heart/emission.h"
#include "dsp/heart/follow.h"
#include "dsp/heart/systole.h"
#include "dsp/signal/peaks.h"

#include <math.h>
#include <string.h>

enum {
    LIKE_BANDS = 5, /* 23 to 305 Hz */
    REFINEMENTS = 2,
    CHOICES = 2 /* the chosen count and the best other one */
};
_Static_assert((int)FM_BEATS_BEST_FEW <= (int)FM_LANES,
               "the best few are decoded together");
_Static_assert((int)FM_ENSEMBLE_SIZE < (int)FM_LANES,
               "one is decoded beside the ensemble");
_Static_assert((int)CHOICES <= (int)REFINEMENTS,
               "no round of the ensemble is left over");

/* The range of cycles looked for: 230 down to 30 per minute. */
static const double CYCLE_MIN_S = 60.0 / 230.0;
static const double CYCLE_MAX_S = 60.0 / 30.0;

/* Before the sound is looked at: rates about 80 per minute, between adults' middle (74, of 522 marked
 * recordings) and children's (104, of 399), and twice as wide as either (SD of the natural log 0.21 and
 * 0.16: tests/accuracy/train/intervals.py); systole within 30 ms of expected (between persons SD 14 ms
 * at rest, Weissler 1968, from memory; twice that for the sick and the young). A steady rhythm is
 * preferred a little, and one in which S2 is missing again and again is seldom the right one (a share
 * of 0.85 costs as much as 3.6 SD of the rate). The last two are ours, chosen on composed recordings. */
static const double USUAL_CYCLE_S = 0.75;
static const double CYCLE_SPREAD = 0.42;
static const double SYSTOLE_SPREAD_S = 0.030;
static const double STEADY_WEIGHT = 0.5;
static const double S2_WEIGHT = 40.0;
/* What a hypothesis begins with; the best few are fitted to what they find (follow.h). Ours. */
static const double FIRST_LOOSENESS[] = {0.08,
                                         0.25}; /* a steady rhythm, an uneven one */
static const double FIRST_SYSTOLE_SD_S = 0.03;
static const double FIRST_S2_DETECTED = 0.85;
/* 50 to 143 per minute: 9 in 10 marked recordings of adults and of children lie within
 * (intervals.py). For rhythms too irregular to show a peak. */
static const double PLAIN_S[] = {1.2, 0.9, 0.7, 0.55, 0.42};
/* Of a peak's lag: it may be two beats, or half of one. */
static const double TIMES[] = {1.0, 2.0, 0.5};
/* A systole is looked for so near the expected one, and no longer than this share of the cycle; past
 * it diastole would be the shorter by far. Ours. */
static const double SYSTOLE_FROM = 0.7;
static const double SYSTOLE_TO = 1.35;
static const double SYSTOLE_CYCLE_SHARE = 0.62;
/* The same hypothesis: nearer than it is fitted to anyway. Of what has been decoded, cycles within 6 %
 * are one; of counts, those within 4 % and half a beat: 3 per minute at the usual rates. Ours. */
static const double SAME_CYCLE = 0.02;
static const double SAME_SYSTOLE_S = 0.015;
static const double SAME_LOOSENESS = 0.01;
static const double ONE_CYCLE = 0.06;
static const double ONE_COUNT = 0.04;
/* Height as a score: 0 at 0.42 of a loud sound, 6 a unit, held in +/-4. Ours: it has only to be another
 * opinion than the networks'. */
static const float HEIGHT_MIDDLE = 0.42f;
static const float HEIGHT_SLOPE = 6.0f;
static const float HEIGHT_LIMIT = 4.0f;

/* Share of the highest autocorrelation from which a shorter lag is preferred (tuned on
 * clean composed recordings). */
static const float NEARLY = 0.85f;
/* A sound left over is taken for one of the heart, and counts as S1's like, from this score on, and where it is softer than
 * S1 by no more than this, in the mean of the bands (tuned on composed early beats and
 * third sounds, and on the open data). */
static const float LIKE_SCORE = 1.0f;
static const float LIKE_WITHIN = 0.25f;

/* How plausible a hypothesis is before the sound is looked at (log, up to a constant). */
static double prior(const fm_hypothesis *h)
{
    const double rate = log(h->cycle_s / USUAL_CYCLE_S) / CYCLE_SPREAD;
    const double systole =
        (h->systole_s - fm_systole_expected_s(h->cycle_s)) / SYSTOLE_SPREAD_S;
    return -0.5 * (rate * rate + systole * systole) -
           STEADY_WEIGHT * log(h->looseness / 0.1) + S2_WEIGHT * log(h->s2_detected);
}

static void add_hypothesis(fm_beat_finder *b,
                           double cycle_s,
                           double systole_s,
                           double loose)
{
    if (!(cycle_s >= CYCLE_MIN_S) || !(cycle_s <= CYCLE_MAX_S) ||
        b->n_hypotheses >= FM_BEATS_HYPOTHESES) {
        return;
    }
    for (size_t i = 0; i < b->n_hypotheses; i++) {
        const fm_hypothesis *o = &b->hypotheses[i];
        if (fabs(o->cycle_s - cycle_s) < SAME_CYCLE * cycle_s &&
            fabs(o->systole_s - systole_s) < SAME_SYSTOLE_S &&
            fabs(o->looseness - loose) < SAME_LOOSENESS) {
            return;
        }
    }
    b->hypotheses[b->n_hypotheses++] = (fm_hypothesis){
        .cycle_s = cycle_s,
        .systole_s = systole_s,
        .systole_sd_s = FIRST_SYSTOLE_SD_S,
        .looseness = loose,
        .s2_detected = FIRST_S2_DETECTED,
        .surprise = FM_SURPRISE,
        .early = FM_EARLY,
    };
}

/* The autocorrelation's own best lag near the expected systole. */
static double heard_systole_s(const fm_beat_finder *b, double cycle_s)
{
    const double expected = fm_systole_expected_s(cycle_s);
    size_t first = (size_t)(SYSTOLE_FROM * expected * FM_FRAME_RATE_HZ);
    size_t last = (size_t)(SYSTOLE_TO * expected * FM_FRAME_RATE_HZ);
    const size_t limit = (size_t)(SYSTOLE_CYCLE_SHARE * cycle_s * FM_FRAME_RATE_HZ);
    last = last < limit ? last : limit;
    size_t best = first;
    for (size_t lag = first; lag <= last && lag < b->n_lags; lag++) {
        best = b->acf[lag] > b->acf[best] ? lag : best;
    }
    return (double)best / FM_FRAME_RATE_HZ;
}

static void add_cycle(fm_beat_finder *b, double cycle_s)
{
    const double systoles[] = {fm_systole_expected_s(cycle_s),
                               heard_systole_s(b, cycle_s)};
    for (size_t s = 0; s < 2; s++) {
        for (size_t l = 0; l < 2; l++) {
            add_hypothesis(b, cycle_s, systoles[s], FIRST_LOOSENESS[l]);
        }
    }
}

/* Cycles worth trying: peaks of the autocorrelation, their halves and doubles, and a few
 * plain rates for rhythms too irregular to show a peak. */
static void gather_hypotheses(fm_beat_finder *b)
{
    fm_peak peaks[16];
    const size_t n = fm_peaks_find(b->acf, b->n_lags, 0.02f, 0, peaks, 16);
    b->n_hypotheses = 0;
    for (size_t round = 0; round < 6; round++) {
        size_t best = n;
        for (size_t i = 0; i < n; i++) {
            if (peaks[i].index >= 24 && peaks[i].height > -1.0f &&
                (best == n || peaks[i].height > peaks[best].height)) {
                best = i;
            }
        }
        if (best == n) {
            break;
        }
        for (size_t t = 0; t < 3; t++) {
            add_cycle(b, TIMES[t] * (double)peaks[best].index / FM_FRAME_RATE_HZ);
        }
        peaks[best].height = -2.0f;
    }
    for (size_t i = 0; i < 5; i++) {
        add_cycle(b, PLAIN_S[i]);
    }
}

/* Decodes h[0..n-1], n <= FM_LANES, over the network's scores. */
static void decode_all(fm_beat_finder *b, const fm_hypothesis *h, size_t n)
{
    fm_decoding decoding[FM_LANES];
    for (size_t i = 0; i < n; i++) {
        decoding[i] = (fm_decoding){.candidates = b->candidates, .hypothesis = &h[i]};
    }
    fm_decode_all(decoding, n, b->n_candidates, b->segment_s, b->noise_per_s,
                  &b->decoder);
}

/* Fit the best few to what they find. Scores stay the network's, so that hypotheses
 * compete by the same evidence. */
static void refine_all(fm_beat_finder *b, fm_hypothesis *h, size_t n, double *scores)
{
    for (int round = 0; round <= REFINEMENTS; round++) {
        decode_all(b, h, n);
        for (size_t i = 0; i < n; i++) {
            fm_decoder_path(&b->decoder, i, &b->paths[i]);
            scores[i] = b->paths[i].score + prior(&h[i]);
            if (round < REFINEMENTS) {
                fm_follow_systole(b->candidates, &b->paths[i], &h[i]);
                fm_follow_rate(b->candidates, b->n_candidates, &b->paths[i],
                               b->local_cycle_s[i], &h[i]);
            }
        }
    }
}

/* One hypothesis decoded over its own scores, and beside it the ensemble's next round, which
 * has other scores of the same candidates. */
static void decode_beside_ensemble(fm_beat_finder *b,
                                   const fm_ensemble_input *q,
                                   const fm_candidate *candidates,
                                   const fm_hypothesis *h,
                                   fm_path *path)
{
    fm_decoding decoding[FM_LANES];
    const size_t n_members = fm_ensemble_next(q, &b->ensemble, decoding);
    decoding[n_members] = (fm_decoding){.candidates = candidates, .hypothesis = h};
    fm_decode_all(decoding, n_members + 1, b->n_candidates, b->segment_s,
                  b->noise_per_s, &b->decoder);
    fm_decoder_path(&b->decoder, n_members, path);
    if (n_members > 0) {
        fm_ensemble_keep(q, &b->decoder, &b->ensemble);
    }
}

/* The chosen hypothesis decoded again, over scores adapted to this person's sounds. */
static void decode_adapted(fm_beat_finder *b, const fm_ensemble_input *q, fm_beats *out)
{
    for (int round = 0; round < REFINEMENTS; round++) {
        fm_follow_rate(b->candidates, b->n_candidates, &out->path, b->local_cycle_s[0],
                       &out->hypothesis);
        fm_adapt_scores(b->features, b->candidates, b->n_candidates, &out->path,
                        b->adapted);
        decode_beside_ensemble(b, q, b->adapted, &out->hypothesis, &out->path);
        fm_follow_systole(b->candidates, &out->path, &out->hypothesis);
    }
    out->candidates = b->adapted;
}

/* Typical level of S1 in each of the bands a heart is told by. */
static void typical_s1(const fm_beat_finder *b, const fm_path *path, float *level)
{
    float values[FM_PATH_MAX];
    for (size_t band = 0; band < LIKE_BANDS; band++) {
        size_t n = 0;
        for (size_t i = 0; i < path->n; i++) {
            if (!path->is_s2[i]) {
                values[n++] =
                    b->features->level[band][b->candidates[path->index[i]].frame];
            }
        }
        level[band] = n > 0 ? fm_quantile(values, n, 0.5) : 0.0f;
    }
}

/* Scaled median deviation; infinite for fewer than three. Reorders x. */
static double spread_of(float *x, size_t n)
{
    return n < 3 ? (double)INFINITY : fm_spread_about(x, n, fm_quantile(x, n, 0.5));
}

/* Is a sound as loud as S1 in all bands together, and in none far softer? */
static bool is_like_s1(const fm_beat_finder *b,
                       const fm_candidate *c,
                       const float *level)
{
    float sum = 0.0f;
    for (size_t band = 0; band < LIKE_BANDS; band++) {
        const float less = level[band] - b->features->level[band][c->frame];
        sum += less > 0.0f ? less : 0.0f;
    }
    return sum / (float)LIKE_BANDS < LIKE_WITHIN;
}

/* Candidates left over by the path: how many a beat the network takes for a heart sound,
 * and how clearly it does not. */
static void weigh_rest(const fm_beat_finder *b, fm_beats *out)
{
    float level[LIKE_BANDS];
    float after_s2_s[FM_CANDIDATES_MAX];
    float loud_after_s2_s[FM_CANDIDATES_MAX];
    typical_s1(b, &out->path, level);
    size_t n_like = 0;
    size_t n_loud = 0;
    size_t next = 0;
    double last_s2_s = 0.0;
    double missed = 0.0;
    double sum = 0.0;
    double n = 0.0;
    for (size_t i = 0; i < b->n_candidates; i++) {
        const fm_candidate *c = &b->candidates[i];
        if (next < out->path.n && out->path.index[next] == i) {
            last_s2_s = out->path.is_s2[next] ? c->time_s : last_s2_s;
            next++;
            continue;
        }
        const float best = c->score_s1 > c->score_s2 ? c->score_s1 : c->score_s2;
        missed += best > LIKE_SCORE ? 1.0 : 0.0;
        if (is_like_s1(b, c, level)) {
            loud_after_s2_s[n_loud++] = (float)(c->time_s - last_s2_s);
            if (best > LIKE_SCORE) {
                after_s2_s[n_like++] = (float)(c->time_s - last_s2_s);
            }
        }
        sum += (double)best;
        n += 1.0;
    }
    const double beats = out->path.n_s1 > 0 ? (double)out->path.n_s1 : 1.0;
    out->missed_share = out->path.n_s1 > 0 ? missed / beats : 1.0;
    out->rest_score = n > 0.0 ? sum / n : 0.0;
    out->like_left_share = (double)n_like / beats;
    out->like_left_spread_s = spread_of(after_s2_s, n_like);
    out->loud_left_share = (double)n_loud / beats;
    out->loud_left_spread_s = spread_of(loud_after_s2_s, n_loud);
}

/* The same hypothesis with candidates scored by their height alone. */
static void decode_by_height(fm_beat_finder *b,
                             const fm_ensemble_input *q,
                             fm_beats *out)
{
    for (size_t i = 0; i < b->n_candidates; i++) {
        const float score = HEIGHT_SLOPE * (b->candidates[i].height - HEIGHT_MIDDLE);
        const float limited = fminf(fmaxf(score, -HEIGHT_LIMIT), HEIGHT_LIMIT);
        b->candidates[i].score_s1 = limited;
        b->candidates[i].score_s2 = limited;
    }
    decode_beside_ensemble(b, q, b->candidates, &out->hypothesis, &b->trial);
    out->plain_n_s1 = b->trial.n_s1;
    out->hypothesis.local_cycle_s = NULL;
}

/* What follows the choice. Do other decodings find the same? Each may prefer the best
 * alternative to the chosen one. */
static void decode_further(fm_beat_finder *b, const fm_hypothesis *both, fm_beats *out)
{
    const double priors[CHOICES] = {prior(&both[0]), prior(&both[1])};
    const fm_ensemble_input input = {
        .candidates = b->candidates,
        .n = b->n_candidates,
        .segment_s = b->segment_s,
        .noise_per_s = b->noise_per_s,
        .hypotheses = both,
        .priors = priors,
        .n_hypotheses = isfinite(out->alternative_cycle_s) ? CHOICES : 1,
        .chosen = &out->path,
    };
    fm_ensemble_begin(&input, &b->ensemble);
    decode_adapted(b, &input, out);
    weigh_rest(b, out);
    decode_by_height(b, &input, out);
    if (out->path.n_s1 >= 2) {
        fm_ensemble_compare(&input, &b->ensemble);
        memcpy(out->disagreement, b->ensemble.disagreement, sizeof(out->disagreement));
    }
}

/* The first round: score every hypothesis once, keep the best of each cycle. */
static size_t choose_best(fm_beat_finder *b, fm_hypothesis *best_few)
{
    for (size_t first = 0; first < b->n_hypotheses; first += FM_LANES) {
        const size_t left = b->n_hypotheses - first;
        const size_t n = left < FM_LANES ? left : FM_LANES;
        decode_all(b, b->hypotheses + first, n);
        for (size_t i = first; i < first + n; i++) {
            b->scores[i] =
                (double)b->decoder.score[i - first] + prior(&b->hypotheses[i]);
        }
    }
    size_t n = 0;
    while (n < FM_BEATS_BEST_FEW) {
        size_t best = b->n_hypotheses;
        for (size_t i = 0; i < b->n_hypotheses; i++) {
            if (isfinite(b->scores[i]) &&
                (best == b->n_hypotheses || b->scores[i] > b->scores[best])) {
                best = i;
            }
        }
        if (best == b->n_hypotheses) {
            break;
        }
        best_few[n++] = b->hypotheses[best];
        for (size_t i = 0; i < b->n_hypotheses; i++) {
            const double ratio = b->hypotheses[i].cycle_s / b->hypotheses[best].cycle_s;
            if (fabs(ratio - 1.0) < ONE_CYCLE) {
                b->scores[i] = (double)-INFINITY;
            }
        }
    }
    return n;
}

static bool is_top(const float *x, size_t k)
{
    return x[k] >= x[k - 1] && x[k] >= x[k + 1];
}

static void second_estimate(const fm_beat_finder *b, fm_beats *out)
{
    const size_t lag = (size_t)(out->hypothesis.cycle_s * FM_FRAME_RATE_HZ + 0.5);
    double best = -1.0;
    for (size_t k = lag > 2 ? lag - 2 : 0; k <= lag + 2 && k < b->n_lags; k++) {
        best = (double)b->acf[k] > best ? (double)b->acf[k] : best;
    }
    out->acf_at_cycle = best;
    /* Two and three cycles repeat as well as one: the shortest lag nearly as high as the
     * highest is the cycle. */
    float highest = 0.0f;
    for (size_t k = FM_LAG_FIRST; k + 1 < b->n_lags; k++) {
        highest = is_top(b->acf, k) && b->acf[k] > highest ? b->acf[k] : highest;
    }
    size_t top = 0;
    for (size_t k = FM_LAG_FIRST; k + 1 < b->n_lags && top == 0; k++) {
        top = is_top(b->acf, k) && b->acf[k] >= NEARLY * highest ? k : 0;
    }
    out->acf_cycle_s = top > 0 ? (double)top / FM_FRAME_RATE_HZ : (double)NAN;
}

/* The best of them and, where one has another count, its best alternative. */
static void pick(fm_beat_finder *b,
                 const fm_hypothesis *best_few,
                 const double *scores,
                 size_t n,
                 fm_hypothesis *both,
                 fm_beats *out)
{
    size_t best = 0;
    for (size_t i = 1; i < n; i++) {
        best = scores[i] > scores[best] ? i : best;
    }
    out->path = b->paths[best];
    out->hypothesis = best_few[best];
    out->score_per_s = scores[best] / b->segment_s;
    both[0] = best_few[best];
    both[1] = best_few[best];
    for (size_t i = 0; i < n; i++) {
        const double mine = (double)out->path.n_s1;
        if (fabs((double)b->paths[i].n_s1 - mine) > ONE_COUNT * mine + 0.5 &&
            scores[i] / b->segment_s > out->alternative_score_per_s) {
            out->alternative_score_per_s = scores[i] / b->segment_s;
            out->alternative_cycle_s = best_few[i].cycle_s;
            both[1] = best_few[i];
        }
    }
}

void fm_beats_find(fm_beat_finder *b,
                   fm_feature_maker *m,
                   const fm_features *f,
                   fm_beats *out)
{
    *out = (fm_beats){
        .candidates = b->candidates,
        .alternative_score_per_s = (double)-INFINITY,
        .alternative_cycle_s = (double)NAN,
        .acf_cycle_s = (double)NAN,
    };
    b->features = f;
    b->segment_s = (double)f->n_frames / FM_FRAME_RATE_HZ;
    b->n_lags = f->n_frames / 2 < FM_BEATS_LAGS ? f->n_frames / 2 : FM_BEATS_LAGS;
    b->n_candidates = fm_candidates_find(f, b->candidates, FM_CANDIDATES_MAX);
    out->n_candidates = b->n_candidates;
    if (b->n_candidates < 2 ||
        fm_features_autocorrelation(m, f->envelope, f->n_frames, b->acf, b->n_lags) !=
            FM_OK) {
        return;
    }
    fm_emission_score(f, b->candidates, b->n_candidates, b->ensemble.network_scores);
    b->noise_per_s = (double)b->n_candidates / b->segment_s;
    gather_hypotheses(b);
    fm_hypothesis best_few[FM_BEATS_BEST_FEW];
    double scores[FM_BEATS_BEST_FEW];
    const size_t n = choose_best(b, best_few);
    if (n > 0) {
        refine_all(b, best_few, n, scores);
        fm_hypothesis both[CHOICES];
        pick(b, best_few, scores, n, both, out);
        decode_further(b, both, out);
        second_estimate(b, out);
    }
}
