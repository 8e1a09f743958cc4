#include "dsp/heart/decoder_private.h"

#include <math.h>
#include <stdbool.h>
#include <string.h>

/* Scale of |ln ratio| of an interval out of step (tuned on composed rhythms and the open
 * heart data). */
static const double SURPRISE_SCALE = 0.45;
/* An early beat often has no S2 (from memory), and seldom another early one behind it. */
static const double EARLY_S2_DETECTED = 0.8;
static const double EARLY_AGAIN = 0.1;
/* No systole is longer than so many times the typical one. */
static const double SYSTOLE_REACH = 3.0;
static const double SQRT_2PI = 2.5066;

/* Log density of |ln(actual / expected)|, both sides alike: Laplace; now and then, wider:
 * an early beat or a pause. The two falls go down by a constant factor a step. */
static void fill_ratio(double looseness, double surprise, float *ratio)
{
    const double fall = exp(-1.0 / (FM_RATIO_STEPS_PER_E * looseness));
    const double wide_fall = exp(-1.0 / (FM_RATIO_STEPS_PER_E * SURPRISE_SCALE));
    double narrow = (1.0 - surprise) / (2.0 * looseness);
    double wide = surprise / (2.0 * SURPRISE_SCALE);
    for (int i = 0; i <= FM_RATIO_CENTRE; i++) {
        const float log_density = (float)log(narrow + wide);
        ratio[FM_RATIO_CENTRE - i] = log_density;
        if (FM_RATIO_CENTRE + i < FM_DECODER_STEPS) {
            ratio[FM_RATIO_CENTRE + i] = log_density;
        }
        narrow *= fall;
        wide *= wide_fall;
    }
}

static bool is_for(const fm_decoder_tables *t, size_t lane, const fm_hypothesis *h)
{
    return !(t->looseness[lane] < h->looseness) &&
           !(t->looseness[lane] > h->looseness) && !(t->surprise[lane] < h->surprise) &&
           !(t->surprise[lane] > h->surprise);
}

/* Few hypotheses differ in what is made here: what a lane has already is kept, what
 * another has is copied. */
static void find_ratio(fm_decoder_tables *t, size_t lane, const fm_hypothesis *h)
{
    if (is_for(t, lane, h)) {
        return;
    }
    size_t other = 0;
    while (other < FM_LANES && !is_for(t, other, h)) {
        other++;
    }
    if (other < FM_LANES) {
        memcpy(t->ratio[lane], t->ratio[other], sizeof(t->ratio[lane]));
    } else {
        fill_ratio(h->looseness, h->surprise, t->ratio[lane]);
    }
    t->looseness[lane] = h->looseness;
    t->surprise[lane] = h->surprise;
}

/* Gaussian core; beyond three deviations the tail falls off linearly. */
static void fill_systole(fm_decoder_tables *t,
                         size_t lane,
                         const fm_hypothesis *h,
                         double log_noise)
{
    const double detected =
        log(h->s2_detected) - log(h->systole_sd_s * SQRT_2PI) - log_noise;
    const double per_sd = 1.0 / h->systole_sd_s;
    const double longest_s =
        fmin(SYSTOLE_REACH * h->systole_s, FM_REACH_CYCLES * h->cycle_s);
    const double longest = longest_s / FM_SYSTOLE_STEP_S + 0.5;
    const size_t last = longest < (double)t->n_steps ? (size_t)longest : t->n_steps;
    for (size_t i = 0; i < last; i++) {
        const double z = fabs((double)i * FM_SYSTOLE_STEP_S - h->systole_s) * per_sd;
        const double core = z < 3.0 ? -0.5 * z * z : -4.5 - 3.0 * (z - 3.0);
        t->systole[i][lane] = (float)(detected + core);
    }
    for (size_t i = last; i < t->n_steps; i++) {
        t->systole[i][lane] = FM_IMPOSSIBLE;
    }
}

static void fill_early(fm_decoder_tables *t,
                       size_t lane,
                       const fm_hypothesis *h,
                       double log_noise)
{
    const double early_range = (double)(FM_EARLY_MOST - FM_EARLY_LEAST);
    const double before = log(h->early / early_range) - log_noise;
    const double after = -log((double)(FM_AFTER_MOST - FM_AFTER_LEAST)) - log_noise;
    t->early[lane] = (float)before;
    t->early_no_s2[lane] = (float)(before + log(1.0 - h->s2_detected));
    t->early_systole[lane] = (float)(log(EARLY_S2_DETECTED) - log(h->s2_detected));
    t->after[lane] = (float)after;
    t->after_no_s2[lane] = (float)(after + log(1.0 - EARLY_S2_DETECTED));
    t->again[lane] = (float)(log(EARLY_AGAIN / early_range) - log_noise);
}

void fm_decoder_fill_tables(const fm_hypothesis *const *h,
                            size_t n,
                            double noise_per_s,
                            fm_decoder_tables *t)
{
    const double log_noise = log(noise_per_s);
    double longest_s = 0.0;
    for (size_t l = 0; l < n; l++) {
        longest_s = fmax(longest_s, h[l]->systole_s);
    }
    const double n_steps = SYSTOLE_REACH * longest_s / FM_SYSTOLE_STEP_S + 1.0;
    t->n_steps = n_steps < FM_DECODER_STEPS ? (size_t)n_steps : FM_DECODER_STEPS;
    for (size_t l = 0; l < FM_LANES; l++) {
        const fm_hypothesis *mine = h[l < n ? l : n - 1];
        find_ratio(t, l, mine);
        fill_systole(t, l, mine, log_noise);
        fill_early(t, l, mine, log_noise);
        t->most[l] = t->ratio[l][FM_RATIO_CENTRE];
        t->diastole[l] = (float)-log_noise;
        t->cycle[l] = (float)(log(1.0 - mine->s2_detected) - log_noise);
    }
}
