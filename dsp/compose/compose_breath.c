/*
 * The sound of breathing.
 *
 * Over the chest: 100-1000 Hz, falling from about 200 Hz ("Computerized lung sound
 * analysis", PMC10521503, table 1: vesicular 100-1000 Hz, falling at
 * about 200 Hz). Inspiration is the louder and the longer heard (Moussavi 2000);
 * expiration 8 dB softer and heard in its first 60 % only, unless the recipe says
 * otherwise (from memory). Expiration is the lower: its highest frequency over the right
 * base is 286 Hz, inspiration's 446 Hz (Gavriely 1981), 0.64 of it.
 * Sound grows with flow as a power of it (Reyes, Reljin, Chon, Sensors 14:13830, 2014);
 * the power here, 1.5, is ours.
 */
#include "dsp/compose/compose_private.h"

#include "dsp/constants.h"

#include <math.h>
#include <string.h>

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
        const double flow = sin(FM_PI * fmax(0.0, fmin(1.0, share)));
        const double sound = flow * sqrt(flow) * fm_random_normal(random);
        out[(size_t)at] += (float)(p.gain * fm_cascade_step(&p.filter, sound));
    }
}

/* The filters of inspiration and expiration. */
static void make_filters(const fm_recipe *r,
                         double fall_hz,
                         fm_cascade *in,
                         fm_cascade *ex)
{
    const double in_hz = fall_hz * 1.3;
    const double ex_hz =
        isnan(r->expiration_pitch) ? fall_hz : in_hz * r->expiration_pitch;
    fm_cascade_highpass(in, r->rate_hz, 100.0, 0.8);
    fm_cascade_lowpass(in, r->rate_hz, in_hz, 0.6);
    fm_cascade_lowpass(in, r->rate_hz, 1000.0, 0.7);
    fm_cascade_highpass(ex, r->rate_hz, 90.0, 0.8);
    fm_cascade_lowpass(ex, r->rate_hz, ex_hz, 0.6);
    fm_cascade_lowpass(ex, r->rate_hz, 800.0, 0.7);
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
    make_filters(recipe, fall_hz, &in, &ex);
    memset(out, 0, n * sizeof *out);
    for (size_t k = 0; k + 1 < breathing->n; k++) {
        const double start_s = breathing->starts_s[k];
        const double length_s = fm_breathing_length_s(breathing, k);
        const double in_s = recipe->inspiration_share * length_s;
        const double ex_s = (length_s - in_s) * recipe->expiration_heard;
        const double gain =
            fm_db_gain(1.5 * fm_random_normal(&random)) * pow(breathing->depth[k], 1.5);
        add_phase(&random, (phase){in, start_s, in_s, gain}, rate_hz, out, n);
        if (isfinite(recipe->expiration_db)) {
            const double ex_gain = gain * fm_db_gain(recipe->expiration_db);
            add_phase(&random, (phase){ex, start_s + in_s, ex_s, ex_gain}, rate_hz, out,
                      n);
        }
    }
    fm_adventitious_add(recipe, breathing, out, n);
    fm_cascade response = fm_compose_response(recipe);
    fm_cascade_process(&response, out, n);
}
