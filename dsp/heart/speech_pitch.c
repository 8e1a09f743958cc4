#include "dsp/heart/speech_pitch.h"

#include "dsp/heart/features.h"
#include "dsp/signal/peaks.h"

#include <math.h>

enum {
    FRAME = 128, /* samples, 64 ms: two periods of the lowest pitch and more */
    HOP = 200,   /* 100 ms: syllables are longer */
    LAG_LOW = 5, /* 400 Hz */
    LAG_HIGH = 25,
    FRAMES_MAX = FM_SEGMENT_SAMPLES / HOP
};

/* The louder 40 % of the frames are looked at. */
static const double LOUDER_FROM = 0.6;
/* A frame this like itself a period later has a pitch (tuned with the figures in speech_pitch.h). */
static const double PITCHED = 0.7;

/* Second difference, 12 dB an octave: heart sounds, which ring at 30 to 150 Hz, fall back. */
static void lift(const float *x, float *out)
{
    for (size_t i = 0; i < FRAME; i++) {
        out[i] = x[i + 2] - 2.0f * x[i + 1] + x[i];
    }
}

static float power_of(const float *x)
{
    float frame[FRAME];
    float sum = 0.0f;
    lift(x, frame);
    for (size_t i = 0; i < FRAME; i++) {
        sum += frame[i] * frame[i];
    }
    return sum;
}

static double likeness(const float *frame, size_t lag)
{
    float product = 0.0f;
    float here = 0.0f;
    float later = 0.0f;
    for (size_t i = 0; i + lag < FRAME; i++) {
        product += frame[i] * frame[i + lag];
        here += frame[i] * frame[i];
        later += frame[i + lag] * frame[i + lag];
    }
    const double size = sqrt((double)here * (double)later);
    return size > 0.0 ? (double)product / size : 0.0;
}

static int is_pitched(const float *x)
{
    float frame[FRAME];
    lift(x, frame);
    for (size_t lag = LAG_LOW; lag <= LAG_HIGH; lag++) {
        if (likeness(frame, lag) > PITCHED) {
            return 1;
        }
    }
    return 0;
}

double fm_speech_pitch_share(const float *x, size_t n)
{
    float power[FRAMES_MAX];
    float sorted[FRAMES_MAX];
    size_t frames = 0;
    for (size_t at = 0; at + FRAME + 2 <= n && frames < FRAMES_MAX; at += HOP) {
        power[frames] = power_of(x + at);
        sorted[frames] = power[frames];
        frames++;
    }
    if ((double)frames * HOP < FM_WORK_RATE_HZ) {
        return 0.0;
    }
    const float from = fm_quantile(sorted, frames, LOUDER_FROM);
    double louder = 0.0;
    double pitched = 0.0;
    for (size_t k = 0; k < frames; k++) {
        if (power[k] > from) {
            louder += 1.0;
            pitched += is_pitched(x + k * HOP);
        }
    }
    return louder > 0.0 ? pitched / louder : 0.0;
}
