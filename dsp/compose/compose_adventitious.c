/*
 * Crackles and wheezes: sounds that do not belong to healthy breathing and that a counter
 * of breaths must not count.
 *
 * Crackle: a short burst whose first half-waves lengthen, two cycles in about 5 ms (fine) to
 * 15 ms (coarse), near 650 and 350 Hz; most in the second half of inspiration (from
 * memory). Wheeze: a tone with a few harmonics, 100-1000 Hz, longer than 80 ms, most in
 * expiration (from memory). Levels against the breath's own sound are ours.
 */
#include "dsp/compose/compose_private.h"

#include "dsp/constants.h"

#include <math.h>

static const double CRACKLE_FINE_HZ = 650.0;
static const double CRACKLE_COARSE_HZ = 350.0;
static const double CRACKLE_LEVEL =
    1.2; /* peak, against a breath's noise source of SD 1 */
static const double WHEEZE_LEVEL = 0.22;
static const double WHEEZE_LOW_HZ = 180.0;
static const double WHEEZE_HIGH_HZ = 600.0;

/* Two to three damped cycles whose pitch falls. */
static void crackle_add(
    double rate_hz, fm_random *random, double at_s, double gain, float *out, size_t n)
{
    const bool fine = fm_random_uniform(random) < 0.5;
    const double top_hz = (fine ? CRACKLE_FINE_HZ : CRACKLE_COARSE_HZ) *
                          fm_random_between(random, 0.8, 1.2);
    const double pitch_hz = fmin(top_hz, 0.4 * rate_hz);
    const double decay_s = 1.0 / pitch_hz;
    const double level = gain * fm_db_gain(4.0 * fm_random_normal(random));
    const double first = ceil(fmax(0.0, at_s * rate_hz));
    double turn = 0.0;
    for (double at = first; at < fmin((double)n, first + 6.0 * decay_s * rate_hz);
         at += 1.0) {
        const double t = (at - first) / rate_hz;
        turn += pitch_hz / rate_hz / (1.0 + 0.5 * t / decay_s);
        out[(size_t)at] += (float)(level * exp(-t / decay_s) * sin(2.0 * FM_PI * turn));
    }
}

/* A tone with harmonics that glides a little, under half a sine over its stretch. */
typedef struct wheeze {
    double pitch_hz;
    double glide; /* of the pitch over the stretch, as a share */
    double start_s;
    double length_s;
    double gain;
} wheeze;

static void wheeze_add(double rate_hz, wheeze w, float *out, size_t n)
{
    double turn = 0.0;
    const double last = fmin((double)n, (w.start_s + w.length_s) * rate_hz);
    for (double at = ceil(fmax(0.0, w.start_s * rate_hz)); at < last; at += 1.0) {
        const double share = (at / rate_hz - w.start_s) / w.length_s;
        const double now_hz = w.pitch_hz * (1.0 + w.glide * share);
        turn += now_hz / rate_hz;
        double y = 0.0;
        for (int order = 1; order <= 3; order++) {
            if ((double)order * now_hz < 0.45 * rate_hz) {
                y += sin(2.0 * FM_PI * (double)order * turn) / (double)(order * order);
            }
        }
        const double swell = sin(FM_PI * fmax(0.0, fmin(1.0, share)));
        out[(size_t)at] += (float)(w.gain * swell * y);
    }
}

/* One breath's share of both; the draws are the same whatever the levels. */
static void breath_add(const fm_recipe *r,
                       fm_random *random,
                       double pitch_hz,
                       const fm_breathing *b,
                       size_t k,
                       float *out,
                       size_t n)
{
    const double length_s = fm_breathing_length_s(b, k);
    const double in_s = r->inspiration_share * length_s;
    const double gain = pow(b->depth[k], 1.5);
    const double usual_gap = 1.0 / fmax(r->crackles, 1e-9);
    double share = -usual_gap * log(1.0 - fm_random_uniform(random));
    while (share < 1.0) { /* from 30 % of inspiration to its end */
        const double at_s = b->starts_s[k] + in_s * (0.3 + 0.7 * share);
        crackle_add(r->rate_hz, random, at_s, CRACKLE_LEVEL * gain, out, n);
        share -= usual_gap * log(1.0 - fm_random_uniform(random));
    }
    const double ex_s = length_s - in_s;
    const wheeze w = {.pitch_hz = pitch_hz * fm_random_between(random, 0.93, 1.07),
                      .glide = fm_random_between(random, -0.15, 0.05),
                      .start_s = b->starts_s[k] + in_s + 0.05 * ex_s,
                      .length_s = fm_random_between(random, 0.4, 0.85) * ex_s,
                      .gain = WHEEZE_LEVEL * gain};
    if (fm_random_uniform(random) < r->wheeze) {
        wheeze_add(r->rate_hz, w, out, n);
    }
}

void fm_adventitious_add(const fm_recipe *recipe,
                         const fm_breathing *breathing,
                         float *out,
                         size_t n)
{
    if (!(recipe->crackles > 0.0) && !(recipe->wheeze > 0.0)) {
        return;
    }
    fm_random random = fm_random_init(recipe->seed, FM_STREAM_ADVENTITIOUS);
    const double pitch_hz = fm_random_between(&random, WHEEZE_LOW_HZ, WHEEZE_HIGH_HZ);
    for (size_t k = 0; k + 1 < breathing->n; k++) {
        breath_add(recipe, &random, pitch_hz, breathing, k, out, n);
    }
}
