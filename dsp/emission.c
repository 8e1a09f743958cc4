#include "dsp/emission.h"

#ifndef FM_EMISSION_WEIGHTS
#define FM_EMISSION_WEIGHTS "dsp/emission_weights.h"
#endif
#include FM_EMISSION_WEIGHTS

/* No single sound decides a minute: scores are kept in bounds (natural log). */
static const float SCORE_LOW = -9.0f;
static const float SCORE_HIGH = 6.0f;

/* out[j] = bias[j] + sum over i of in[i] * weights[i][j], columns side by side. */
static void layer(const float *in,
                  size_t n_in,
                  const float *weights,
                  const float *bias,
                  float *out,
                  size_t n_out)
{
    for (size_t j = 0; j < n_out; j++) {
        out[j] = bias[j];
    }
    for (size_t i = 0; i < n_in; i++) {
        const float x = in[i];
        const float *row = weights + i * n_out;
        for (size_t j = 0; j < n_out; j++) {
            out[j] += x * row[j];
        }
    }
}

static void rectify(float *x, size_t n)
{
    for (size_t i = 0; i < n; i++) {
        x[i] = x[i] > 0.0f ? x[i] : 0.0f;
    }
}

static float limited(float score)
{
    return score < SCORE_LOW ? SCORE_LOW : (score > SCORE_HIGH ? SCORE_HIGH : score);
}

void fm_emission_score(const fm_features *f, fm_candidate *c, size_t n)
{
    float minute[FM_PATCH_MINUTE];
    fm_candidates_summary(f, c, n, minute);
    for (size_t i = 0; i < n; i++) {
        float patch[FM_PATCH_SIZE];
        float first[FM_EMISSION_HIDDEN_1];
        float second[FM_EMISSION_HIDDEN_2];
        float out[FM_EMISSION_CLASSES];
        fm_candidate_patch(f, &c[i], minute, patch);
        layer(patch, FM_PATCH_SIZE, &WEIGHTS_1[0][0], BIAS_1, first,
              FM_EMISSION_HIDDEN_1);
        rectify(first, FM_EMISSION_HIDDEN_1);
        layer(first, FM_EMISSION_HIDDEN_1, &WEIGHTS_2[0][0], BIAS_2, second,
              FM_EMISSION_HIDDEN_2);
        rectify(second, FM_EMISSION_HIDDEN_2);
        layer(second, FM_EMISSION_HIDDEN_2, &WEIGHTS_3[0][0], BIAS_3, out,
              FM_EMISSION_CLASSES);
        /* LOG_PRIOR: log of each class's share in training, taken out so that the score
         * is a likelihood ratio and the durations alone say how often beats come. */
        c[i].score_s1 = limited(out[1] - out[0] - (LOG_PRIOR[1] - LOG_PRIOR[0]));
        c[i].score_s2 = limited(out[2] - out[0] - (LOG_PRIOR[2] - LOG_PRIOR[0]));
    }
}
