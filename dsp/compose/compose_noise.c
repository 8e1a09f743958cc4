/*
 * What is added to the heart: each kind alone, at any level (compose.c sets the levels).
 * All recipes of sounds here are ours; where a figure is known it stands beside it.
 */
#include "dsp/compose/compose_private.h"

#include "dsp/constants.h"

#include <math.h>
#include <string.h>

/* 1/f from white: a ladder of poles and zeros an octave apart, poles two octaves apart,
 * falls 3 dB an octave with under 1 dB of ripple between 5 Hz and a fifth of the rate, and
 * faster above. */
static fm_cascade pink_filter(double rate_hz)
{
    fm_cascade c = {0};
    double pole_hz = 3.0;
    while (c.n < FM_CASCADE_MAX && 2.0 * pole_hz < 0.45 * rate_hz) {
        fm_cascade_shelf(&c, rate_hz, pole_hz, 2.0 * pole_hz);
        pole_hz *= 4.0;
    }
    return c;
}

static void white_render(fm_random *random, float *out, size_t n)
{
    for (size_t i = 0; i < n; i++) {
        out[i] = (float)fm_random_normal(random);
    }
}

static void pink_render(double rate_hz, fm_random *random, float *out, size_t n)
{
    fm_cascade filter = pink_filter(rate_hz);
    white_render(random, out, n);
    fm_cascade_process(&filter, out, n);
}

/* A knock: door, step, cup on a table. Damped resonance with a noisy start. */
static void knock_add(
    double rate_hz, fm_random *random, size_t at, float *out, size_t n)
{
    const double frequency_hz = fm_random_between(random, 60.0, 260.0);
    const double decay_s = fm_random_between(random, 0.02, 0.08);
    const double gain = fm_db_gain(fm_random_between(random, 20.0, 30.0));
    fm_cascade body = {0};
    fm_cascade_bandpass(&body, rate_hz, frequency_hz, 2.0);
    const double decay = exp(-1.0 / (rate_hz * decay_s));
    double level = gain;
    for (size_t i = at; i < n && level > 0.001 * gain; i++) {
        out[i] += (float)fm_cascade_step(&body, level * fm_random_normal(random));
        level *= decay;
    }
}

/* A ward or a classroom: ventilation (pink, falling faster over 500 Hz) that swells slowly
 * by some dB, and about eight knocks a minute. */
static void room_render(double rate_hz, fm_random *random, float *out, size_t n)
{
    pink_render(rate_hz, random, out, n);
    fm_cascade air = {0};
    fm_cascade_highpass(&air, rate_hz, 20.0, 0.7);
    fm_cascade_lowpass(&air, rate_hz, 500.0, 0.6);
    fm_cascade_process(&air, out, n);
    double power = 0.0;
    for (size_t i = 0; i < n; i++) {
        power += (double)out[i] * (double)out[i];
    }
    const double scale = power > 0.0 ? sqrt((double)n / power) : 0.0;
    const double swell_hz = fm_random_between(random, 0.05, 0.12);
    const double phase = fm_random_between(random, 0.0, 2.0 * FM_PI);
    for (size_t i = 0; i < n; i++) {
        const double t = (double)i / rate_hz;
        const double db = 2.5 * sin(2.0 * FM_PI * swell_hz * t + phase) +
                          1.5 * sin(2.0 * FM_PI * 2.7 * swell_hz * t);
        out[i] = (float)(scale * fm_db_gain(db) * (double)out[i]);
    }
    double t = fm_random_between(random, 0.0, 10.0);
    while (t * rate_hz < (double)n) {
        knock_add(rate_hz, random, (size_t)(t * rate_hz), out, n);
        t += 1.5 - 6.0 * log(1.0 - fm_random_uniform(random));
    }
}

/* One rub of skin or cloth on the chest piece: broadband, weighted over 200 Hz but with
 * low thuds in it, crackling, 0.15-1.2 s (broadband, non-periodic, over 200 Hz: from
 * memory). */
static void rub_add(double rate_hz, fm_random *random, size_t at, float *out, size_t n)
{
    const double length_s = fm_random_between(random, 0.15, 1.2);
    const double gain = fm_db_gain(fm_random_between(random, -8.0, 4.0));
    fm_cascade hiss = {0};
    fm_cascade thud = {0};
    fm_cascade_bandpass(&hiss, rate_hz, fm_random_between(random, 180.0, 450.0), 0.5);
    fm_cascade_lowpass(&thud, rate_hz, fm_random_between(random, 40.0, 90.0), 0.8);
    const double total = length_s * rate_hz;
    double grain = 0.0;
    for (double k = 0.0; k < total && at + (size_t)k < n; k += 1.0) {
        if (fm_random_uniform(random) < 60.0 / rate_hz) { /* about 60 grains a second */
            grain = fm_random_between(random, 0.3, 2.5);
        }
        grain *= 1.0 - 35.0 / rate_hz;
        const double share = k / total;
        const double hold = sin(FM_PI * share);
        const double x = fm_random_normal(random) * hold * (0.25 + grain);
        const double y = fm_cascade_step(&hiss, x) + 2.0 * fm_cascade_step(&thud, x);
        out[at + (size_t)k] += (float)(gain * y);
    }
}

/* About fourteen rubs a minute, unevenly. */
static void friction_render(double rate_hz, fm_random *random, float *out, size_t n)
{
    memset(out, 0, n * sizeof *out);
    double t = fm_random_between(random, 0.0, 3.0);
    while (t * rate_hz < (double)n) {
        rub_add(rate_hz, random, (size_t)(t * rate_hz), out, n);
        t += 0.4 - 3.8 * log(1.0 - fm_random_uniform(random));
    }
}

/* Mains: the frequency and its harmonics, the odd ones the stronger, the frequency
 * wandering by 0.1 % (from memory), the level by 1 dB. */
static void hum_render(
    double hum_hz, double rate_hz, fm_random *random, float *out, size_t n)
{
    enum {
        HARMONICS = 8
    };
    double phase[HARMONICS];
    double level[HARMONICS];
    for (int k = 0; k < HARMONICS; k++) {
        const double order = (double)(k + 1);
        phase[k] = fm_random_between(random, 0.0, 2.0 * FM_PI);
        level[k] =
            fm_random_between(random, 0.5, 1.0) / (k % 2 == 0 ? order : 2.0 * order);
    }
    const double wander_hz = fm_random_between(random, 0.02, 0.06);
    double turn = 0.0;
    for (size_t i = 0; i < n; i++) {
        const double slow = sin(2.0 * FM_PI * wander_hz * (double)i / rate_hz);
        turn += 2.0 * FM_PI * hum_hz * (1.0 + 0.001 * slow) / rate_hz;
        double y = 0.0;
        for (int k = 0; k < HARMONICS; k++) {
            const double order = (double)(k + 1);
            if (order * hum_hz < 0.45 * rate_hz) {
                y += level[k] * sin(order * turn + phase[k]);
            }
        }
        out[i] = (float)(y * fm_db_gain(slow));
    }
}

static void tone_render(double tone_hz, double rate_hz, float *out, size_t n)
{
    for (size_t i = 0; i < n; i++) {
        out[i] = (float)sin(2.0 * FM_PI * fmod(tone_hz * (double)i / rate_hz, 1.0));
    }
}

void fm_noise_render(const fm_recipe *recipe,
                     fm_compose_noise kind,
                     float *out,
                     size_t n)
{
    const double rate_hz = recipe->rate_hz;
    fm_random random = fm_random_init(recipe->seed, FM_STREAM_NOISE + (uint64_t)kind);
    bool through_air = true;
    switch (kind) {
    case FM_COMPOSE_PINK:
        pink_render(rate_hz, &random, out, n);
        break;
    case FM_COMPOSE_SPEECH:
        fm_speech_render(rate_hz, &random, out, n);
        break;
    case FM_COMPOSE_ROOM:
        room_render(rate_hz, &random, out, n);
        break;
    case FM_COMPOSE_FRICTION:
        friction_render(rate_hz, &random, out, n);
        break;
    case FM_COMPOSE_HUM:
        hum_render(recipe->hum_hz, rate_hz, &random, out, n);
        through_air = false;
        break;
    case FM_COMPOSE_MUSIC:
        fm_music_render(rate_hz, &random, out, n);
        break;
    case FM_COMPOSE_TONE:
        tone_render(recipe->tone_hz, rate_hz, out, n);
        break;
    case FM_COMPOSE_WHITE:
    case FM_COMPOSE_NOISE_COUNT:
    default:
        white_render(&random, out, n);
        through_air = false;
        break;
    }
    if (through_air) {
        fm_cascade microphone = fm_compose_microphone(recipe);
        fm_cascade_process(&microphone, out, n);
    }
}
