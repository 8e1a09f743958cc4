#include "dsp/heart/confidence.h"

#include "dsp/constants.h"
#include "dsp/heart/systole.h"

#ifndef FM_CONFIDENCE_WEIGHTS
#define FM_CONFIDENCE_WEIGHTS "dsp/heart/confidence_weights.h"
#endif
#include FM_CONFIDENCE_WEIGHTS

#include <math.h>

/* Where a number of the whole segment stands in its summary. */
#define MINUTE(name) (FM_PATCH_##name - FM_PATCH_WEIGHT_0)

static double clamp(double x, double low, double high)
{
    return x < low ? low : (x > high ? high : x);
}

float fm_sureness(const fm_beats *beats, size_t i)
{
    const fm_path *p = &beats->path;
    double score = (double)beats->candidates[p->index[i]].score_s1;
    if (i + 1 < p->n && p->is_s2[i + 1]) {
        const double s2 = (double)beats->candidates[p->index[i + 1]].score_s2;
        score += 0.5 * (s2 > 0.0 ? s2 : 0.0);
    }
    /* The midpoint and the slope only set the scale that 'unsure' (0.3) is read on; tuned
     * on composed recordings so that false beats lie below it. */
    return (float)(1.0 / (1.0 + exp(-(score - 0.5) / 1.5)));
}

typedef struct sums {
    double sureness;
    double unsure;
    double n_s1;
    double interval_sq;
    double interval;
    double n_intervals;
} sums;

static sums over_beats(const fm_beats *beats)
{
    sums s = {0};
    double last_s = -1.0;
    double last_interval_s = -1.0;
    for (size_t i = 0; i < beats->path.n; i++) {
        if (beats->path.is_s2[i]) {
            continue;
        }
        const double sureness = (double)fm_sureness(beats, i);
        s.sureness += sureness;
        s.unsure += sureness < 0.5 ? 1.0 : 0.0;
        s.n_s1 += 1.0;
        const double t = beats->candidates[beats->path.index[i]].time_s;
        if (last_s >= 0.0) {
            const double interval_s = t - last_s;
            if (last_interval_s >= 0.0) {
                const double d = interval_s - last_interval_s;
                s.interval_sq += d * d;
                s.n_intervals += 1.0;
            }
            s.interval += interval_s;
            last_interval_s = interval_s;
        }
        last_s = t;
    }
    return s;
}

/* A disagreement in units of the 3 per minute that confidence is about, and of a quarter of the
 * beats; more than four of either tells no more. */
static double off_of(const fm_disagreement *v)
{
    return clamp(fabs(v->off_bpm) / 3.0, 0.0, 4.0);
}

static double differ_of(const fm_disagreement *v)
{
    return clamp(4.0 * v->differ, 0.0, 4.0);
}

/* How the decodings by single networks disagree. */
typedef struct network_disagreement {
    double off;
    double furthest;
    double differ;
} network_disagreement;

static network_disagreement of_networks(const fm_disagreement *of)
{
    network_disagreement b = {0.0, 0.0, 0.0};
    for (size_t v = 0; v < FM_EMISSION_MEMBERS; v++) {
        b.off += off_of(&of[v]) / FM_EMISSION_MEMBERS;
        b.furthest = fmax(b.furthest, off_of(&of[v]));
        b.differ += differ_of(&of[v]) / FM_EMISSION_MEMBERS;
    }
    return b;
}

static double agreement(double a, double b, double within)
{
    return fabs(a - b) <= within * b ? 1.0 : 0.0;
}

void fm_evidence_gather(const fm_beats *beats,
                        const fm_features *f,
                        const fm_conditioned *conditioned,
                        double window_s,
                        double usable_share,
                        fm_evidence *out)
{
    const sums s = over_beats(beats);
    const double n = s.n_s1 > 0.0 ? s.n_s1 : 1.0;
    const double segment_s = (double)f->n_frames / FM_FRAME_RATE_HZ;
    const fm_hypothesis *h = &beats->hypothesis;
    float minute[FM_PATCH_MINUTE];
    fm_candidates_summary(f, beats->candidates, beats->n_candidates, minute);
    double periodicity = 0.0;
    double high_weight = 0.0;
    for (size_t b = 0; b < FM_BANDS; b++) {
        periodicity += f->weight[b] * f->periodicity[b];
        high_weight += b >= 4 ? f->weight[b] : 0.0;
    }
    const double margin =
        (beats->score_per_s - beats->alternative_score_per_s) * segment_s / n;
    const double mean_s =
        s.n_intervals > 0.0 ? s.interval / (s.n_intervals + 1.0) : 1.0;
    const double rmssd_s =
        s.n_intervals > 0.0 ? sqrt(s.interval_sq / s.n_intervals) : 1.0;
    const double plain = (double)beats->plain_n_s1;
    const double cycle_s = h->cycle_s > 0.0 ? h->cycle_s : 1.0;
    const network_disagreement networks = of_networks(beats->disagreement);
    const fm_disagreement *perturbed = beats->disagreement + FM_EMISSION_MEMBERS;
    /* Factors and limits only bring the numbers to about -1..4; the table learns its own scales
     * (CONFIDENCE_MEAN, CONFIDENCE_SCALE), so that another factor would change nothing. What counts
     * as agreeing (6 and 4 %, confidence of 3 per minute at the usual 50 and 75) is ours. */
    const double values[FM_EVIDENCE_SIZE] = {
        [FM_EVIDENCE_SCORE] =
            clamp(beats->score_per_s * segment_s / n / 4.0, -1.0, 4.0),
        [FM_EVIDENCE_MARGIN] = isfinite(margin) ? clamp(margin, 0.0, 4.0) : 4.0,
        [FM_EVIDENCE_SURENESS] = s.sureness / n,
        [FM_EVIDENCE_UNSURE] = s.unsure / n,
        [FM_EVIDENCE_ACF] = clamp(beats->acf_at_cycle, -1.0, 1.0),
        [FM_EVIDENCE_LOOSENESS] = clamp(h->looseness * 4.0, 0.0, 2.0),
        [FM_EVIDENCE_SURPRISE] = clamp(h->surprise * 4.0, 0.0, 2.0),
        [FM_EVIDENCE_S2_DETECTED] = h->s2_detected,
        [FM_EVIDENCE_SYSTOLE_SD] = h->systole_sd_s * 20.0,
        [FM_EVIDENCE_SYSTOLE_OFF] =
            clamp(fabs(h->systole_s - fm_systole_expected_s(cycle_s)) / 0.03, 0.0, 4.0),
        [FM_EVIDENCE_ACF_AGREES] = isfinite(beats->acf_cycle_s)
                                       ? agreement(beats->acf_cycle_s, cycle_s, 0.06)
                                       : 0.0,
        [FM_EVIDENCE_PERIODICITY] = periodicity,
        [FM_EVIDENCE_HEIGHT_RANGE] =
            (double)(minute[MINUTE(HEIGHT_95)] - minute[MINUTE(HEIGHT_30)]),
        [FM_EVIDENCE_HEIGHT_STEP] =
            (double)(minute[MINUTE(HEIGHT_80)] - minute[MINUTE(HEIGHT_60)]),
        [FM_EVIDENCE_PLAIN_AGREES] = agreement(plain, s.n_s1, 0.04),
        [FM_EVIDENCE_RMSSD] = clamp(rmssd_s / mean_s * 2.0, 0.0, 2.0),
        [FM_EVIDENCE_PLAIN_OFF] = clamp(fabs(plain - s.n_s1) / n * 4.0, 0.0, 4.0),
        [FM_EVIDENCE_WINDOW] = clamp(log(window_s / 60.0), -3.0, 0.0),
        [FM_EVIDENCE_LINES] = conditioned->line_share,
        [FM_EVIDENCE_HIGH_WEIGHT] = high_weight,
        [FM_EVIDENCE_CANDIDATES] = (double)beats->n_candidates / segment_s / 10.0,
        [FM_EVIDENCE_UNUSABLE] = 1.0 - usable_share,
        [FM_EVIDENCE_MISSED] = clamp(beats->missed_share, 0.0, 2.0),
        [FM_EVIDENCE_REST] = clamp(beats->rest_score / 4.0, -3.0, 1.0),
        [FM_EVIDENCE_HIGH_SHARE] = f->high_share,
        [FM_EVIDENCE_FLATNESS] = f->flatness,
        [FM_EVIDENCE_NETWORKS_OFF] = networks.off,
        [FM_EVIDENCE_NETWORKS_FURTHEST] = networks.furthest,
        [FM_EVIDENCE_NETWORKS_DIFFER] = networks.differ,
        [FM_EVIDENCE_UP_OFF] = off_of(&perturbed[FM_PERTURBED_UP]),
        [FM_EVIDENCE_DOWN_OFF] = off_of(&perturbed[FM_PERTURBED_DOWN]),
        [FM_EVIDENCE_RHYTHM_OFF] = off_of(&perturbed[FM_PERTURBED_RHYTHM]),
        [FM_EVIDENCE_UP_DIFFER] = differ_of(&perturbed[FM_PERTURBED_UP]),
        [FM_EVIDENCE_DOWN_DIFFER] = differ_of(&perturbed[FM_PERTURBED_DOWN]),
        [FM_EVIDENCE_RHYTHM_DIFFER] = differ_of(&perturbed[FM_PERTURBED_RHYTHM]),
    };
    for (size_t i = 0; i < FM_EVIDENCE_SIZE; i++) {
        out->value[i] = (float)values[i];
    }
}

/* What network m says, log odds. */
static double log_odds(const fm_evidence *e, size_t m)
{
    double z = (double)CONFIDENCE_OUT_BIAS[m];
    for (size_t j = 0; j < FM_CONFIDENCE_HIDDEN; j++) {
        double sum = (double)CONFIDENCE_BIAS[m][j];
        for (size_t i = 0; i < FM_EVIDENCE_SIZE; i++) {
            const double scaled = ((double)e->value[i] - (double)CONFIDENCE_MEAN[i]) *
                                  (double)CONFIDENCE_SCALE[i];
            sum += clamp(scaled, -FM_TABLE_LIMIT, FM_TABLE_LIMIT) *
                   (double)CONFIDENCE_WEIGHTS[m][i][j];
        }
        z += tanh(sum) * (double)CONFIDENCE_OUT[m][j];
    }
    return z;
}

double fm_confidence_estimate(const fm_evidence *e)
{
    double z = 0.0;
    for (size_t m = 0; m < FM_CONFIDENCE_MEMBERS; m++) {
        z += log_odds(e, m) / FM_CONFIDENCE_MEMBERS;
    }
    return 1.0 / (1.0 + exp(-z));
}
