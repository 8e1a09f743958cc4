/*
 * Speech-like and music-like noise: not words and not a tune, but their rhythm, pitch and
 * spectrum, which is what misleads a counter.
 *
 * Speech: three to six syllables a second, pitch 85-250 Hz, formants near 300-800,
 * 900-2200 and 2300-3000 Hz, phrases of 1.5-4 s with pauses between (all from memory).
 */
#include "dsp/compose/compose_private.h"

#include "dsp/constants.h"

#include <math.h>
#include <string.h>

typedef struct speech {
    double rate_hz;
    double pitch_hz;
    double phase; /* of the pitch, 0..1 */
    fm_cascade formant[3];
    double formant_gain[3];
    fm_cascade hiss;
    fm_cascade mouth;
} speech;

/* New targets for a syllable; the filters' state is lost, which is how one syllable ends. */
static void syllable_shape(speech *v, fm_random *random)
{
    const double low[3] = {300.0, 900.0, 2300.0};
    const double high[3] = {800.0, 2200.0, 3000.0};
    for (int k = 0; k < 3; k++) {
        v->formant[k] = (fm_cascade){0};
        fm_cascade_bandpass(&v->formant[k], v->rate_hz,
                            fm_random_between(random, low[k], high[k]), 5.0);
        /* a formant that the rate cannot carry must not pass everything */
        v->formant_gain[k] = v->formant[k].n == 0 ? 0.0 : fm_db_gain(-7.0 * (double)k);
    }
    v->hiss = (fm_cascade){0};
    fm_cascade_highpass(&v->hiss, v->rate_hz, 1200.0, 0.7);
}

/* Voiced: one short pulse a period through the formants, and the fundamental itself. */
static double voiced_step(speech *v, double pitch_hz, fm_random *random)
{
    v->phase += pitch_hz / v->rate_hz;
    double pulse = 0.0;
    if (v->phase >= 1.0) {
        v->phase -= 1.0;
        pulse = sqrt(v->rate_hz) * 0.5;
    }
    pulse += 0.02 * fm_random_normal(random);
    double y = 0.35 * sin(2.0 * FM_PI * v->phase);
    for (int k = 0; k < 3; k++) {
        y += v->formant_gain[k] * fm_cascade_step(&v->formant[k], pulse);
    }
    return y;
}

static void syllable_add(
    speech *v, fm_random *random, double start_s, double length_s, float *out, size_t n)
{
    const bool unvoiced = fm_random_uniform(random) < 0.18;
    const double gain = fm_db_gain(3.0 * fm_random_normal(random));
    const double glide = fm_random_between(random, -0.12, 0.08);
    const double pitch_hz = v->pitch_hz * exp(0.12 * fm_random_normal(random));
    syllable_shape(v, random);
    const double total = length_s * v->rate_hz;
    const double first = ceil(start_s * v->rate_hz);
    for (double k = 0.0; k < total; k += 1.0) {
        const double share = k / total;
        const double open = sqrt(sin(FM_PI * share));
        const double x = unvoiced
                             ? 0.3 * fm_cascade_step(&v->hiss, fm_random_normal(random))
                             : voiced_step(v, pitch_hz * (1.0 + glide * share), random);
        const double y = fm_cascade_step(&v->mouth, gain * open * x);
        const size_t at = (size_t)(first + k);
        if (at >= n) {
            return;
        }
        out[at] += (float)y;
    }
}

void fm_speech_render(double rate_hz, fm_random *random, float *out, size_t n)
{
    speech v = {.rate_hz = rate_hz, .pitch_hz = fm_random_between(random, 95.0, 220.0)};
    fm_cascade_highpass(&v.mouth, rate_hz, 80.0, 0.7);
    memset(out, 0, n * sizeof *out);
    double t = fm_random_between(random, 0.0, 0.5);
    double phrase_left_s = fm_random_between(random, 1.5, 4.0);
    while (t * rate_hz < (double)n) {
        const double length_s = fm_random_between(random, 0.12, 0.28);
        syllable_add(&v, random, t, length_s, out, n);
        const double step_s = length_s + fm_random_between(random, 0.02, 0.08);
        t += step_s;
        phrase_left_s -= step_s;
        if (phrase_left_s <= 0.0) {
            t += fm_random_between(random, 0.3, 0.9);
            phrase_left_s = fm_random_between(random, 1.5, 4.0);
        }
    }
}

/* One struck note with six harmonics. */
static void note_add(double rate_hz,
                     double pitch_hz,
                     double gain,
                     double start_s,
                     double decay_s,
                     float *out,
                     size_t n)
{
    const size_t first = (size_t)ceil(start_s * rate_hz);
    const double length = 5.0 * decay_s * rate_hz;
    for (double k = 0.0; k < length && first + (size_t)k < n; k += 1.0) {
        const double t = k / rate_hz;
        const double envelope = exp(-t / decay_s) * (1.0 - exp(-t / 0.004));
        double y = 0.0;
        for (int order = 1; order <= 6; order++) {
            const double frequency_hz = pitch_hz * (double)order;
            if (frequency_hz < 0.45 * rate_hz) {
                y += sin(2.0 * FM_PI * frequency_hz * t) / (double)order;
            }
        }
        out[first + (size_t)k] += (float)(gain * envelope * y);
    }
}

/* A drum: a falling low sine, as short as a heart sound. */
static void drum_add(double rate_hz, double start_s, double gain, float *out, size_t n)
{
    const size_t first = (size_t)ceil(start_s * rate_hz);
    double turn = 0.0;
    for (double k = 0.0; k < 0.25 * rate_hz && first + (size_t)k < n; k += 1.0) {
        const double t = k / rate_hz;
        turn += (50.0 + 70.0 * exp(-t / 0.03)) / rate_hz;
        out[first + (size_t)k] +=
            (float)(gain * exp(-t / 0.06) * sin(2.0 * FM_PI * turn));
    }
}

/* Eighth notes from a five-note scale over a bass and a drum on every beat. */
void fm_music_render(double rate_hz, fm_random *random, float *out, size_t n)
{
    static const double SCALE[5] = {0.0, 2.0, 4.0, 7.0, 9.0};
    const double beat_s = 60.0 / fm_random_between(random, 84.0, 132.0);
    const double root_hz = fm_random_between(random, 110.0, 165.0);
    memset(out, 0, n * sizeof *out);
    const double total_s = (double)n / rate_hz;
    size_t count = 0;
    for (double t = 0.1; t < total_s; t += 0.5 * beat_s) {
        const double step = SCALE[(size_t)(5.0 * fm_random_uniform(random))];
        const double octave = fm_random_uniform(random) < 0.5 ? 1.0 : 2.0;
        if (fm_random_uniform(random) < 0.8) {
            note_add(rate_hz, octave * root_hz * exp2(step / 12.0),
                     fm_random_between(random, 0.4, 0.8), t, 0.25, out, n);
        }
        if (count % 2 == 0) {
            note_add(rate_hz, 0.5 * root_hz * exp2(SCALE[(count / 8) % 5] / 12.0), 0.6,
                     t, 0.35, out, n);
            drum_add(rate_hz, t, count % 4 == 0 ? 1.2 : 0.7, out, n);
        }
        count++;
    }
}
