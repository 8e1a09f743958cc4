#include "dsp/breath/breath.h"

#include "dsp/breath/respiration_pattern.h"
#include "dsp/heart/unusable.h"

#include <math.h>
#include <string.h>

/* Probability from which a number is vouched for, from which it is said at all, and from
 * which a cue alone speaks, or speaks clearly. Ours; what they give on real chests, by
 * people that the tables had not learned from: tests/accuracy/RESULTS.md. */
static const double COUNTED_AT = 0.99;
static const double CAUTION_AT = 0.7;
static const double CUE_SAYS = 0.3;
static const double CUE_CLEAR = 0.8;
/* From this probability the breaths' onsets are told by the sound (ours): it tells when one begins. */
static const double SOUND_PLACES = 0.3;
static const double RANGE_SHARE = 0.95;
/* Beats of a lower score, or with about as many sounds left over, are breath taken for a
 * heart. Of the tuning seeds 720000-721199 all 37 without a heart are below, of 263 with a
 * heart and breath 0 to 15 dB over the rest 5, and none of 600 without breath sound. */
static const double HEARD_SCORE_PER_S = 2.5;
static const double HEARD_MISSED_SHARE = 0.9;

enum {
    COMPLETE_MIN = 2, /* complete breaths under which nothing is said (DESIGN 6) */
    COMPLETE_FEW = 3  /* and up to which nothing is vouched for */
};

void fm_breath_begin(const fm_window *window, const fm_quality *quality, fm_breath *out)
{
    const double nan = (double)NAN;
    memset(out, 0, sizeof(*out));
    out->count.status = FM_REFUSED;
    out->count.reason = FM_REASON_NO_BREATH_CUE;
    out->count.window = *window;
    out->count.quality = *quality;
    out->count.rate_per_min = nan;
    out->count.rate_low_per_min = nan;
    out->count.rate_high_per_min = nan;
    for (int c = 0; c < FM_CUE_COUNT; c++) {
        out->cue_rate_per_min[c] = nan;
    }
}

/* What each cue alone would say. */
static void describe_cues(fm_breath_finder *b, fm_breath *r)
{
    for (int cue = 0; cue < FM_CUE_COUNT; cue++) {
        const fm_breath_choice *c = &b->choice[cue];
        r->cue_quality[cue] = fmin(fmax(c->gathered, 0.0), 1.0);
        if (c->gathered >= CUE_SAYS) {
            r->cue_rate_per_min[cue] = c->rate_per_min;
            r->cue_count[cue] =
                (int)(c->rate_per_min *
                          (r->count.window.end_s - r->count.window.start_s) / 60.0 +
                      0.5);
        }
    }
}

/* What the breaths are placed by: the sound where it says the rate, else the cue that
 * says it most clearly. */
static fm_cue choose_cue(const fm_breath_choice *choice, double rate_per_min)
{
    const double loudness =
        fm_breath_gathered_at(&choice[FM_CUE_LOUDNESS], rate_per_min);
    const double intervals =
        fm_breath_gathered_at(&choice[FM_CUE_INTERVALS], rate_per_min);
    const double sound = fm_breath_gathered_at(&choice[FM_CUE_SOUND], rate_per_min);
    if (sound >= SOUND_PLACES || sound >= fmax(loudness, intervals)) {
        return FM_CUE_SOUND;
    }
    return loudness >= intervals ? FM_CUE_LOUDNESS : FM_CUE_INTERVALS;
}

/* Breath starts of the chosen hypothesis that lie in the window and in no gap. */
static void find_onsets(fm_breath_finder *b,
                        const fm_segment *segment,
                        const fm_breath_series *series,
                        const fm_quality *q,
                        fm_breath *r)
{
    b->onset_cue = choose_cue(b->choice, b->choice[FM_CUE_COUNT].rate_per_min);
    fm_breath_onsets_find(&b->onset_finder, series,
                          segment->window_start_s - segment->start_s,
                          segment->window_end_s - segment->start_s, b->onset_cue,
                          &b->choice[FM_CUE_COUNT], &b->onsets);
    for (size_t i = 0; i < b->onsets.n; i++) {
        const double t = b->onsets.start_s[i] + segment->start_s;
        if (t >= r->count.window.start_s && t < r->count.window.end_s &&
            !fm_spans_contain(q->gaps, q->n_gaps, t) && r->count.n < FM_BREATHS_MAX) {
            r->count.onsets_s[r->count.n++] = t;
        }
    }
}

/* Complete breaths, and the rate between starts with no gap between. Where nothing is
 * missing a breath is complete from any moment of it to the same of the next: of two and
 * three quarters two are, wherever the first begins. */
static int complete_breaths(const fm_quality *q,
                            const fm_breath *r,
                            double cycles,
                            double *rate)
{
    double sum_s = 0.0;
    int n = 0;
    for (size_t i = 1; i < r->count.n; i++) {
        const double from_s = r->count.onsets_s[i - 1];
        const double to_s = r->count.onsets_s[i];
        if (!fm_spans_touch(q->gaps, q->n_gaps, from_s, to_s)) {
            sum_s += to_s - from_s;
            n++;
        }
    }
    *rate = n > 0 ? 60.0 * n / sum_s : (double)NAN;
    return n > 0 && q->n_gaps == 0 && cycles > n ? (int)cycles : n;
}

static double longest_gap_s(const fm_quality *q)
{
    double longest_s = 0.0;
    for (size_t g = 0; g < q->n_gaps; g++) {
        longest_s = fmax(longest_s, q->gaps[g].length_s);
    }
    return longest_s;
}

/* Rates that 95 % of the probability lies between, and a breath at either end at least. */
static void give_range(const fm_breath_choice *c, fm_breath *r)
{
    const double edge =
        r->count.window.full_minute ? 1.0 : fmax(1.0, 0.1 * r->count.rate_per_min);
    double off = edge;
    for (; off < 80.0; off += 0.5) {
        double inside = 0.0;
        for (size_t j = 0; j < FM_BREATH_HYPOTHESES; j++) {
            const double rate = 60.0 / fm_breath_hypothesis_s(j);
            /* a hypothesis stands for rates 3 % either side of it */
            inside += fabs(rate - r->count.rate_per_min) <= off + 0.03 * rate
                          ? c->probability[j]
                          : 0.0;
        }
        if (inside >= RANGE_SHARE * (1.0 - c->none)) {
            break;
        }
    }
    r->count.rate_low_per_min = fmax(0.0, r->count.rate_per_min - off);
    r->count.rate_high_per_min = r->count.rate_per_min + off;
}

/* Do two cues that speak clearly say different rates? */
static bool cues_disagree(const fm_breath *r)
{
    for (int i = 0; i < FM_CUE_COUNT; i++) {
        for (int k = 0; k < i; k++) {
            if (r->cue_quality[i] >= CUE_CLEAR && r->cue_quality[k] >= CUE_CLEAR &&
                fabs(r->cue_rate_per_min[i] - r->cue_rate_per_min[k]) >
                    fmax(2.0, 0.1 * r->cue_rate_per_min[i])) {
                return true;
            }
        }
    }
    return false;
}

static fm_reason doubt(const fm_breath *r, const fm_breath_choice *c)
{
    if (cues_disagree(r)) {
        return FM_REASON_ESTIMATORS_DISAGREE;
    }
    return c->none > 0.5 ? FM_REASON_NO_BREATH_CUE : FM_REASON_RATE_AMBIGUOUS;
}

static void refuse(fm_breath *r, fm_reason reason)
{
    r->count.status = FM_REFUSED;
    r->count.reason = reason;
    r->count.rate_per_min = (double)NAN;
    r->count.rate_low_per_min = (double)NAN;
    r->count.rate_high_per_min = (double)NAN;
}

/* The rate printed and how far it is to be trusted. */
static int measure(fm_breath_finder *b, const fm_quality *q, fm_breath *r)
{
    double rate = (double)NAN;
    const int complete = complete_breaths(q, r, b->onsets.cycles, &rate);
    const double window_s = r->count.window.end_s - r->count.window.start_s;
    r->count.window.full_minute = window_s > FM_WINDOW_MAX_S - 1e-6 &&
                                  longest_gap_s(q) <= 0.25 * b->onsets.cycle_s;
    r->count.rate_per_min = r->count.window.full_minute ? (double)r->count.n : rate;
    b->basis.rate_per_min = r->count.rate_per_min;
    if (r->count.rate_per_min > 0.0) {
        fm_breath_grounds_gather(b->choice, &b->onsets, b->onset_cue, complete, r,
                                 &b->basis.grounds);
        r->count.confidence =
            fmin(fmax(fm_breath_confidence(&b->basis.grounds), 0.0), 1.0);
    }
    return complete;
}

/* May a breath be as long, within 4 % (ours), as a group of two or three of the heart's beats? Such
 * a heart sounds and is modulated once a group; not counted surely, nothing tells them apart. */
static bool may_be_group(const fm_rhythm *heart, double rate_per_min)
{
    const double beats = 60.0 / (rate_per_min * heart->mean_interval_s);
    return heart->repeat[1] == ':' || fabs(beats - 2.0) < 0.08 ||
           fabs(beats - 3.0) < 0.12;
}

/* doubted: the rhythm of a heart that is heard and not counted surely, or NULL */
static void give_verdict(fm_breath_finder *b,
                         const fm_quality *q,
                         const fm_rhythm *doubted,
                         fm_breath *r)
{
    const fm_breath_choice *c = &b->choice[FM_CUE_COUNT];
    const int complete = measure(b, q, r);
    r->count.status = r->count.confidence >= COUNTED_AT ? FM_COUNTED : FM_CAUTION;
    r->count.reason = r->count.status == FM_COUNTED ? FM_REASON_NONE : doubt(r, c);
    give_range(c, r);
    /* two breaths of one lobe each may be one of two: that is told apart where more follow */
    if (!(r->count.rate_per_min > 0.0) ||
        complete < COMPLETE_MIN + (b->onsets.lobes < 2)) {
        refuse(r, longest_gap_s(q) > b->onsets.cycle_s ? FM_REASON_GAP
                                                       : FM_REASON_TOO_SHORT);
    } else if (r->count.confidence < CAUTION_AT) {
        refuse(r, doubt(r, c));
    } else if (r->count.status == FM_COUNTED && complete <= COMPLETE_FEW) {
        r->count.status = FM_CAUTION;
        r->count.reason = FM_REASON_TOO_SHORT;
    } else if (r->count.status == FM_COUNTED) {
        const bool heard = fm_breath_gathered_at(&b->choice[FM_CUE_SOUND],
                                                 r->count.rate_per_min) >= CUE_CLEAR;
        const bool group = doubted && may_be_group(doubted, r->count.rate_per_min);
        r->count.status = heard && !group ? FM_COUNTED : FM_CAUTION;
        r->count.reason = group   ? FM_REASON_RATE_AMBIGUOUS
                          : heard ? FM_REASON_NONE
                                  : FM_REASON_HEART_ALONE;
    }
}

void fm_breath_find(fm_breath_finder *b,
                    const fm_segment *segment,
                    const fm_features *f,
                    const fm_beats *all_beats,
                    fm_count *out)
{
    const bool heart = all_beats->score_per_s >= HEARD_SCORE_PER_S &&
                       all_beats->missed_share <= HEARD_MISSED_SHARE;
    const fm_beats *beats = heart ? all_beats : &b->no_beats;
    fm_breath *r = &out->breath;
    const fm_quality *q = &r->count.quality;
    fm_breath_begin(&out->heart.count.window, &out->heart.count.quality, r);
    r->count.usable_s = r->count.window.end_s - r->count.window.start_s;
    for (size_t g = 0; g < q->n_gaps; g++) {
        r->count.usable_s -= fm_span_overlap_s(&q->gaps[g], r->count.window.start_s,
                                               r->count.window.end_s);
    }
    const fm_breath_series *series =
        fm_breath_cues_make(&b->cues, f, beats, q->gaps, q->n_gaps, segment->start_s);
    fm_breath_evidence_gather(&b->likeness, series,
                              beats->path.n_s1 > 1 ? beats->hypothesis.cycle_s : 0.0,
                              &b->basis.evidence);
    for (int cue = 0; cue <= FM_CUE_COUNT; cue++) {
        fm_breath_choose(&b->basis.evidence, cue, &b->choice[cue]);
    }
    describe_cues(b, r);
    memset(&b->basis.grounds, 0, sizeof(b->basis.grounds));
    find_onsets(b, segment, series, q, r);
    give_verdict(
        b, q, heart && out->heart.count.status != FM_COUNTED ? &out->rhythm : NULL, r);
    fm_respiration_pattern_find(series, segment->start_s, q, r);
}
