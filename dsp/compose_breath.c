/*
 * Breathing: when the cycles are, how full the lungs are, and the sound of it.
 *
 * Inspiration takes 40 % of the cycle (in : out about 2 : 3 at rest; from memory).
 * Sound over the chest: 100-1000 Hz, falling from about 200 Hz ("Computerized lung sound
 * analysis", PMC10521503, table 1: vesicular 100-1000 Hz, falling at
 * about 200 Hz). Inspiration is the louder and the longer heard (Moussavi 2000);
 * expiration 8 dB softer and heard in its first 60 % only (from memory).
 */
#include "dsp/compose_private.h"

#include <math.h>
#include <stdlib.h>

static const double PI = 3.14159265358979323846;

static const double INSPIRATION_SHARE = 0.4;
static const double EXPIRATION_MOVING_SHARE =
    0.8; /* the rest of it is a rest; from memory */
static const double EXPIRATION_HEARD_SHARE = 0.6;
static const double EXPIRATION_DB = -8.0;
static const double BREATH_JITTER_LIMIT = 2.5; /* SDs: no breath of no length */

fm_status fm_breathing_make(const fm_recipe *recipe, fm_breathing *b)
{
    const double usual_s = 60.0 / recipe->breaths_per_min;
    const double shortest_s = 0.25 * usual_s;
    const size_t capacity = (size_t)(recipe->seconds / shortest_s) + 16;
    b->n = 0;
    b->starts_s = fm_compose_memory(capacity, sizeof *b->starts_s);
    if (b->starts_s == NULL) {
        return FM_ERR_NOMEM;
    }
    fm_random random = fm_random_init(recipe->seed, FM_STREAM_BREATHING);
    double t = -usual_s * (1.0 + fm_random_uniform(&random));
    while (b->n + 1 < capacity) {
        b->starts_s[b->n++] = t;
        if (t > recipe->seconds + usual_s) {
            break;
        }
        double off = fm_random_normal(&random);
        off = fmax(-BREATH_JITTER_LIMIT, fmin(BREATH_JITTER_LIMIT, off));
        t += usual_s * (1.0 + recipe->breath_jitter * off);
    }
    return FM_OK;
}

/* The cycle that holds a time: index of its start, clamped to the cycles there are. */
static size_t cycle_of(const fm_breathing *b, double time_s)
{
    size_t low = 0;
    size_t high = b->n - 1;
    while (low + 1 < high) {
        const size_t middle = (low + high) / 2;
        if (b->starts_s[middle] <= time_s) {
            low = middle;
        } else {
            high = middle;
        }
    }
    return low;
}

double fm_breathing_volume(const fm_breathing *b, double time_s)
{
    const size_t k = cycle_of(b, time_s);
    const double length_s = b->starts_s[k + 1] - b->starts_s[k];
    const double share = (time_s - b->starts_s[k]) / length_s;
    if (share <= 0.0 || share >= 1.0) {
        return 0.0;
    }
    if (share < INSPIRATION_SHARE) {
        return 0.5 - 0.5 * cos(PI * share / INSPIRATION_SHARE);
    }
    const double out = (share - INSPIRATION_SHARE) /
                       ((1.0 - INSPIRATION_SHARE) * EXPIRATION_MOVING_SHARE);
    return out >= 1.0 ? 0.0 : 0.5 + 0.5 * cos(PI * out);
}

/* One phase of one breath. */
typedef struct phase {
    fm_cascade filter;
    double start_s;
    double length_s;
    double gain;
} phase;

/* Noise under half a sine, raised a little to its middle as flow is, through the phase's
 * own filter. */
static void add_phase(fm_random *random, phase p, double rate_hz, float *out, size_t n)
{
    const double first = fmax(0.0, p.start_s * rate_hz);
    const double last = fmin((double)n, (p.start_s + p.length_s) * rate_hz);
    for (double at = ceil(first); at < last; at += 1.0) {
        const double share = (at / rate_hz - p.start_s) / p.length_s;
        const double flow = sin(PI * fmax(0.0, fmin(1.0, share)));
        const double sound = flow * sqrt(flow) * fm_random_normal(random);
        out[(size_t)at] += (float)(p.gain * fm_cascade_step(&p.filter, sound));
    }
}

void fm_breath_render(const fm_recipe *recipe,
                      const fm_breathing *breathing,
                      float *out,
                      size_t n)
{
    const double rate_hz = recipe->rate_hz;
    fm_random random = fm_random_init(recipe->seed, FM_STREAM_BREATH_SOUND);
    fm_cascade in = {0};
    fm_cascade ex = {0};
    const double fall_hz = fm_random_between(&random, 180.0, 300.0);
    fm_cascade_highpass(&in, rate_hz, 100.0, 0.8);
    fm_cascade_lowpass(&in, rate_hz, fall_hz * 1.3, 0.6);
    fm_cascade_lowpass(&in, rate_hz, 1000.0, 0.7);
    fm_cascade_highpass(&ex, rate_hz, 90.0, 0.8);
    fm_cascade_lowpass(&ex, rate_hz, fall_hz, 0.6);
    fm_cascade_lowpass(&ex, rate_hz, 800.0, 0.7);
    for (size_t i = 0; i < n; i++) {
        out[i] = 0.0F;
    }
    for (size_t k = 0; k + 1 < breathing->n; k++) {
        const double start_s = breathing->starts_s[k];
        const double length_s = breathing->starts_s[k + 1] - start_s;
        const double in_s = INSPIRATION_SHARE * length_s;
        const double ex_s = (length_s - in_s) * EXPIRATION_HEARD_SHARE;
        const double depth = fm_db_gain(1.5 * fm_random_normal(&random));
        add_phase(&random, (phase){in, start_s, in_s, depth}, rate_hz, out, n);
        add_phase(&random,
                  (phase){ex, start_s + in_s, ex_s, depth * fm_db_gain(EXPIRATION_DB)},
                  rate_hz, out, n);
    }
    fm_cascade response = fm_compose_response(recipe);
    fm_cascade_process(&response, out, n);
}
