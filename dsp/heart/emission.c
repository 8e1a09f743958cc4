#include "dsp/heart/emission.h"

#include "dsp/signal/lanes.h"

#include <stdint.h>

#ifndef FM_EMISSION_WEIGHTS
#define FM_EMISSION_WEIGHTS "dsp/heart/emission_weights.h"
#endif
#include FM_EMISSION_WEIGHTS

/* No single sound decides a minute: scores are kept in bounds (natural log). */
static const float SCORE_LOW = -9.0f;
static const float SCORE_HIGH = 6.0f;

/* out[j] = bias[j] + scale[j] * sum over i of in[i] * weights[i][j], columns side by
 * side. */
static inline void layer(const float *in,
                         size_t n_in,
                         const int16_t *weights,
                         const float *scale,
                         const float *bias,
                         float *out,
                         size_t n_out)
{
    for (size_t j = 0; j < n_out; j++) {
        out[j] = 0.0f;
    }
    for (size_t i = 0; i < n_in; i++) {
        const float x = in[i];
        const int16_t *row = weights + i * n_out;
        for (size_t j = 0; j < n_out; j++) {
            out[j] += x * (float)row[j];
        }
    }
    for (size_t j = 0; j < n_out; j++) {
        out[j] = bias[j] + scale[j] * out[j];
    }
}

static inline void rectify(float *x, size_t n)
{
    for (size_t i = 0; i < n; i++) {
        x[i] = x[i] > 0.0f ? x[i] : 0.0f;
    }
}

static float limited(float score)
{
    return score < SCORE_LOW ? SCORE_LOW : (score > SCORE_HIGH ? SCORE_HIGH : score);
}

/* What network m says of a patch. */
FM_WIDE static void ask(size_t m, const float *patch, float *score_s1, float *score_s2)
{
    float first[FM_EMISSION_HIDDEN_1];
    float second[FM_EMISSION_HIDDEN_2];
    float out[FM_EMISSION_CLASSES];
    layer(patch, FM_PATCH_SIZE, &WEIGHTS_1[m][0][0], SCALE_1[m], BIAS_1[m], first,
          FM_EMISSION_HIDDEN_1);
    rectify(first, FM_EMISSION_HIDDEN_1);
    layer(first, FM_EMISSION_HIDDEN_1, &WEIGHTS_2[m][0][0], SCALE_2[m], BIAS_2[m],
          second, FM_EMISSION_HIDDEN_2);
    rectify(second, FM_EMISSION_HIDDEN_2);
    layer(second, FM_EMISSION_HIDDEN_2, &WEIGHTS_3[m][0][0], SCALE_3[m], BIAS_3[m], out,
          FM_EMISSION_CLASSES);
    /* LOG_PRIOR: log of each class's share in training, taken out so that the score is
     * a likelihood ratio and the durations alone say how often beats come. */
    *score_s1 = limited(out[1] - out[0] - (LOG_PRIOR[m][1] - LOG_PRIOR[m][0]));
    *score_s2 = limited(out[2] - out[0] - (LOG_PRIOR[m][2] - LOG_PRIOR[m][0]));
}

void fm_emission_score(const fm_features *f,
                       fm_candidate *c,
                       size_t n,
                       fm_network_scores *network_scores)
{
    float minute[FM_PATCH_MINUTE];
    fm_candidates_summary(f, c, n, minute);
    for (size_t i = 0; i < n; i++) {
        float patch[FM_PATCH_SIZE];
        float s1 = 0.0f;
        float s2 = 0.0f;
        fm_candidate_patch(f, &c[i], minute, patch);
        for (size_t m = 0; m < FM_EMISSION_MEMBERS; m++) {
            float one_s1 = 0.0f;
            float one_s2 = 0.0f;
            ask(m, patch, &one_s1, &one_s2);
            s1 += one_s1;
            s2 += one_s2;
            if (network_scores) {
                network_scores[m].score_s1[i] = one_s1;
                network_scores[m].score_s2[i] = one_s2;
            }
        }
        c[i].score_s1 = s1 / (float)FM_EMISSION_MEMBERS;
        c[i].score_s2 = s2 / (float)FM_EMISSION_MEMBERS;
    }
}
