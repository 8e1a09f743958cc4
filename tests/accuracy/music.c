#include "music.h"

#include "dsp/signal/random.h"

#include <math.h>
#include <string.h>

static const double TWO_PI = 6.283185307179586;

/* Half tones of a major scale above its ground note. */
static const int SCALE[] = {0, 2, 4, 5, 7, 9, 11, 12, 14, 16};
enum {
    SCALE_NOTES = sizeof SCALE / sizeof *SCALE,
    PARTIALS_MAX = 8
};

/* The stream of a seed that the notes are drawn from. */
static const uint64_t MUSIC_STREAM = 0x3C51C;

typedef struct sheet {
    double rate_hz;
    float *out;
    size_t n;
} sheet;

static double note_hz(double ground_hz, int half_tones)
{
    return ground_hz * exp2((double)half_tones / 12.0);
}

static double partial_level(timbre t, int k)
{
    switch (t) {
    case TIMBRE_FLUTE:
        return k == 1 ? 1.0 : k == 2 ? 0.1 : 0.0;
    case TIMBRE_REED:
        return k % 2 == 1 ? 1.0 / (double)k : 0.0;
    case TIMBRE_PLUCKED:
    case TIMBRE_COUNT:
        break;
    }
    return 1.0 / (double)k;
}

/* Loudness of a held or dying note, at t of its length, s. */
static double note_shape(timbre t, double at_s, double length_s)
{
    const double rise = t == TIMBRE_FLUTE ? 0.05 : 0.01;
    const double start = fmin(1.0, at_s / rise);
    const double end = fmin(1.0, (length_s - at_s) / 0.03);
    const double body = t == TIMBRE_PLUCKED ? exp(-at_s / 0.25) : 1.0;
    return fmax(0.0, fmin(start, end)) * body;
}

static void add_note(
    const sheet *s, timbre t, double from_s, double length_s, double hz, double level)
{
    const size_t first = (size_t)(from_s * s->rate_hz);
    const size_t count = (size_t)(length_s * s->rate_hz);
    for (size_t i = 0; i < count && first + i < s->n; i++) {
        const double at = (double)i / s->rate_hz;
        double sum = 0.0;
        for (int k = 1; k <= PARTIALS_MAX && hz * k < 0.45 * s->rate_hz; k++) {
            sum += partial_level(t, k) * sin(TWO_PI * hz * (double)k * at);
        }
        s->out[first + i] += (float)(level * sum * note_shape(t, at, length_s));
    }
}

/* A low drum: a falling tone; a rattle or a hiss: noise that dies away. */
static void add_low_drum(const sheet *s, double from_s)
{
    const size_t first = (size_t)(from_s * s->rate_hz);
    double phase = 0.0;
    for (size_t i = 0; first + i < s->n && (double)i < 0.25 * s->rate_hz; i++) {
        const double at = (double)i / s->rate_hz;
        phase += TWO_PI * (50.0 + 90.0 * exp(-at / 0.02)) / s->rate_hz;
        s->out[first + i] += (float)(0.5 * exp(-at / 0.07) * sin(phase));
    }
}

static void add_burst(
    const sheet *s, fm_random *r, double from_s, double decay_s, double level)
{
    const size_t first = (size_t)(from_s * s->rate_hz);
    const double length = 5.0 * decay_s * s->rate_hz;
    for (size_t i = 0; first + i < s->n && (double)i < length; i++) {
        const double at = (double)i / s->rate_hz;
        s->out[first + i] += (float)(level * exp(-at / decay_s) * fm_random_normal(r));
    }
}

static void add_drums(
    const sheet *s, fm_random *r, int quarter, double at_s, double quarter_s)
{
    if (quarter % 2 == 0) {
        add_low_drum(s, at_s);
    } else {
        add_burst(s, r, at_s, 0.06, 0.15);
    }
    add_burst(s, r, at_s, 0.02, 0.05);
    add_burst(s, r, at_s + 0.5 * quarter_s, 0.02, 0.05);
}

static void scale_peak(float *out, size_t n, float peak)
{
    float most = 0.0F;
    for (size_t i = 0; i < n; i++) {
        most = fmaxf(most, fabsf(out[i]));
    }
    for (size_t i = 0; i < n && most > 0.0F; i++) {
        out[i] *= peak / most;
    }
}

void music_play(const piece *p, double rate_hz, float *out, size_t n)
{
    const sheet s = {rate_hz, out, n};
    const double quarter_s = 60.0 / p->quarter_per_min;
    const double total_s = (double)n / rate_hz;
    fm_random r = fm_random_init(p->seed, MUSIC_STREAM);
    int step = (int)(fm_random_next(&r) % SCALE_NOTES);
    memset(out, 0, n * sizeof *out);
    for (int q = 0; (double)q * quarter_s < total_s; q++) {
        const double at_s = (double)q * quarter_s;
        const bool two = fm_random_uniform(&r) < 0.4; /* two eighths or a quarter */
        for (int half = 0; half < (two ? 2 : 1); half++) {
            const int move = (int)(fm_random_next(&r) % 5) - 2;
            step = (step + move + SCALE_NOTES) % SCALE_NOTES;
            const double length_s = two ? 0.5 * quarter_s : quarter_s;
            add_note(&s, p->melody, at_s + (double)half * length_s, 0.95 * length_s,
                     note_hz(261.63, SCALE[step]), 0.2);
        }
        if (p->bass) {
            const int low = SCALE[(q / 4 * 3) % 5];
            add_note(&s, TIMBRE_PLUCKED, at_s, quarter_s, note_hz(65.41, low), 0.2);
        }
        if (p->drums) {
            add_drums(&s, &r, q, at_s, quarter_s);
        }
    }
    scale_peak(out, n, 0.5F);
}
