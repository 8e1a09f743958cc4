#include "dsp/breath/breath_confidence.h"

#include "dsp/constants.h"

#ifndef FM_BREATH_CONFIDENCE_WEIGHTS /* cross-validation builds with another table */
#define FM_BREATH_CONFIDENCE_WEIGHTS "dsp/breath/breath_confidence_weights.h"
#endif
#include FM_BREATH_CONFIDENCE_WEIGHTS

#include <math.h>

static const double FAR_LOG = 1.0; /* a rate farther off tells no more (ours) */

static float logit(double p)
{
    return (float)log((p + 1e-3) / (1.0 - fmin(p, 1.0) + 1e-3));
}

void fm_breath_grounds_gather(const fm_breath_choice *choice,
                              const fm_breath_onsets *onsets,
                              fm_cue cue,
                              int complete,
                              const fm_breath *r,
                              fm_breath_grounds *out)
{
    const fm_breath_choice *all = &choice[FM_CUE_COUNT];
    const double rate = r->count.rate_per_min;
    double alternative = 0.0;
    (void)fm_breath_alternative(all, rate, &alternative);
    float *v = out->value;
    v[FM_GROUND_GATHERED] = logit(fm_breath_gathered_at(all, rate));
    v[FM_GROUND_NONE] = logit(all->none);
    v[FM_GROUND_ALTERNATIVE] = logit(alternative);
    v[FM_GROUND_OCTAVE] = logit(fm_breath_gathered_at(all, 2.0 * rate) +
                                fm_breath_gathered_at(all, 0.5 * rate));
    v[FM_GROUND_OFF] = (float)fmin(FAR_LOG, fabs(log(rate / all->rate_per_min)));
    v[FM_GROUND_ASTRAY] =
        (float)fmin(FAR_LOG, fabs(log(onsets->cycle_s * rate / 60.0)));
    v[FM_GROUND_CV] = (float)onsets->cv;
    v[FM_GROUND_TRANSITIONS] = (float)onsets->transition_cost;
    v[FM_GROUND_EXPLAINED] = (float)onsets->explained;
    v[FM_GROUND_BREATHS] = (float)log((double)complete + 0.5);
    v[FM_GROUND_WINDOW] =
        (float)log((r->count.window.end_s - r->count.window.start_s) / 60.0);
    v[FM_GROUND_LOBES] = onsets->lobes >= 2 ? 1.0f : 0.0f;
    v[FM_GROUND_SOUND] = (float)fm_breath_gathered_at(&choice[FM_CUE_SOUND], rate);
    v[FM_GROUND_LOUDNESS] =
        (float)fm_breath_gathered_at(&choice[FM_CUE_LOUDNESS], rate);
    v[FM_GROUND_INTERVALS] =
        (float)fm_breath_gathered_at(&choice[FM_CUE_INTERVALS], rate);
    v[FM_GROUND_BY_SOUND] = cue == FM_CUE_SOUND ? 1.0f : 0.0f;
}

double fm_breath_confidence(const fm_breath_grounds *g)
{
    double sum = 0.0;
    for (size_t m = 0; m < FM_BREATH_TRUST_MEMBERS; m++) {
        double out = (double)TRUST_OUT_BIAS[m];
        for (size_t h = 0; h < FM_BREATH_TRUST_HIDDEN; h++) {
            float a = TRUST_BIAS[m][h];
            for (size_t k = 0; k < FM_GROUND_SIZE; k++) {
                const float v = (g->value[k] - TRUST_MEAN[k]) * TRUST_SCALE[k];
                a += fminf(fmaxf(v, (float)-FM_TABLE_LIMIT), (float)FM_TABLE_LIMIT) *
                     TRUST_WEIGHTS[m][k][h];
            }
            out += tanh((double)a) * (double)TRUST_OUT[m][h];
        }
        sum += out / FM_BREATH_TRUST_MEMBERS;
    }
    return 1.0 / (1.0 + exp(-sum));
}
