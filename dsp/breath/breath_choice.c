#include "dsp/breath/breath_choice.h"

#include "dsp/constants.h"
#include "dsp/signal/lanes.h"

#ifndef FM_BREATH_WEIGHTS /* cross-validation builds with another table */
#define FM_BREATH_WEIGHTS "dsp/breath/breath_weights.h"
#endif
#include FM_BREATH_WEIGHTS

#include <math.h>

/* Rates this near, natural log, are one answer: two steps of the hypotheses. */
static const double NEAR = 0.12;

/* Which cues know a number; by a cue alone, the others are set to their mean. */
#define CUES(name, cues, breaths) cues,
static const int KNOWN_BY[FM_LENGTH_SIZE] = {FM_LENGTH_MAP(CUES)};

/* out[j] = tanh(bias[j] + sum over i of in[i] * weights[i][j]). */
static inline void layer(const float *in,
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
        for (size_t j = 0; j < n_out; j++) {
            out[j] += in[i] * weights[i * n_out + j];
        }
    }
    for (size_t j = 0; j < n_out; j++) {
        out[j] = tanhf(out[j]);
    }
}

/* Mean score of the networks. */
FM_WIDE static void score(const float *in, double *sum)
{
    float first[FM_BREATH_HIDDEN_1];
    float second[FM_BREATH_HIDDEN_2];
    *sum = 0.0;
    for (size_t m = 0; m < FM_BREATH_MEMBERS; m++) {
        layer(in, FM_LENGTH_SIZE, &BREATH_WEIGHTS_1[m][0][0], BREATH_BIAS_1[m], first,
              FM_BREATH_HIDDEN_1);
        layer(first, FM_BREATH_HIDDEN_1, &BREATH_WEIGHTS_2[m][0][0], BREATH_BIAS_2[m],
              second, FM_BREATH_HIDDEN_2);
        float out = BREATH_BIAS_3[m];
        for (size_t h = 0; h < FM_BREATH_HIDDEN_2; h++) {
            out += second[h] * BREATH_WEIGHTS_3[m][h];
        }
        *sum += (double)out / FM_BREATH_MEMBERS;
    }
}

/* Softmax over the hypotheses and none, whose score is 0. */
static void share_out(const fm_breath_evidence *evidence,
                      int cue,
                      fm_breath_choice *out)
{
    double most = 0.0;
    for (size_t i = 0; i < FM_BREATH_HYPOTHESES; i++) {
        float in[FM_LENGTH_SIZE];
        for (size_t k = 0; k < FM_LENGTH_SIZE; k++) {
            const float v = (evidence->value[i][k] - BREATH_MEAN[k]) * BREATH_SCALE[k];
            const bool known = cue == FM_CUE_COUNT || (KNOWN_BY[k] >> cue & 1) != 0;
            in[k] = known
                        ? fminf(fmaxf(v, (float)-FM_TABLE_LIMIT), (float)FM_TABLE_LIMIT)
                        : 0.0f;
        }
        score(in, &out->probability[i]);
        most = fmax(most, out->probability[i]);
    }
    double sum = exp(-most);
    for (size_t i = 0; i < FM_BREATH_HYPOTHESES; i++) {
        out->probability[i] = exp(out->probability[i] - most);
        sum += out->probability[i];
    }
    out->none = exp(-most) / sum;
    for (size_t i = 0; i < FM_BREATH_HYPOTHESES; i++) {
        out->probability[i] /= sum;
    }
}

static double rate_of(size_t j)
{
    return 60.0 / fm_breath_hypothesis_s(j);
}

/* Probability of a hypothesis and its two neighbours. */
static double gather(const fm_breath_choice *c, size_t j)
{
    const double before = j > 0 ? c->probability[j - 1] : 0.0;
    const double after = j + 1 < FM_BREATH_HYPOTHESES ? c->probability[j + 1] : 0.0;
    return before + c->probability[j] + after;
}

/* What hypotheses are compared by: of those that gather alike, the most probable itself. */
static double claim(const fm_breath_choice *c, size_t j)
{
    return gather(c, j) + 0.2 * c->probability[j];
}

void fm_breath_choose(const fm_breath_evidence *evidence,
                      int cue,
                      fm_breath_choice *out)
{
    share_out(evidence, cue, out);
    double top = -1.0;
    for (size_t j = 0; j < FM_BREATH_HYPOTHESES; j++) {
        const double value = claim(out, j);
        if (value > top) {
            top = value;
            out->best = j;
        }
    }
    const size_t first = out->best > 0 ? out->best - 1 : 0;
    double sum = 0.0;
    double rate = 0.0;
    for (size_t j = first; j <= out->best + 1 && j < FM_BREATH_HYPOTHESES; j++) {
        sum += out->probability[j];
        rate += out->probability[j] * rate_of(j);
    }
    out->gathered = sum;
    out->rate_per_min = sum > 0.0 ? rate / sum : rate_of(out->best);
}

double fm_breath_gathered_at(const fm_breath_choice *c, double rate_per_min)
{
    double sum = 0.0;
    for (size_t j = 0; j < FM_BREATH_HYPOTHESES; j++) {
        sum += fabs(log(rate_of(j) / rate_per_min)) <= NEAR ? c->probability[j] : 0.0;
    }
    return sum;
}

size_t fm_breath_alternative(const fm_breath_choice *c,
                             double rate_per_min,
                             double *gathered)
{
    size_t alternative = 0;
    double top = 0.0;
    *gathered = 0.0;
    for (size_t j = 0; j < FM_BREATH_HYPOTHESES; j++) {
        const double value = claim(c, j);
        if (fabs(log(rate_of(j) / rate_per_min)) > NEAR && value > top) {
            top = value;
            *gathered = gather(c, j);
            alternative = j;
        }
    }
    return alternative;
}
