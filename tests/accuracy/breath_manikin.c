/* The manikin's sounds: breath at another speed, mixed with the heart unchanged. */
#include "breath_case.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

static const double PI = 3.14159265358979323846;
static const double MINUTE_S = 60.0;

enum {
    HALF_WIDTH = 16 /* zero crossings of the interpolator */
};

double breath_speed(int i)
{
    static const double speed[BREATH_SPEEDS] = {1.0, 0.6, 1.5, 2.5, 4.0};
    return speed[i];
}

/* Value of s at a place between samples, with what would alias at this speed left out. */
static double value_at(const sound *s, double at, double speed)
{
    const double cut = speed > 1.0 ? 1.0 / speed : 1.0;
    const double reach = HALF_WIDTH / cut;
    double sum = 0.0;
    for (double k = ceil(at - reach); k <= at + reach; k += 1.0) {
        if (k < 0.0 || k >= (double)s->n) {
            continue;
        }
        const double x = at - k;
        const double sinc = fabs(x) < 1e-9 ? 1.0 : sin(PI * cut * x) / (PI * cut * x);
        const double window = 0.5 + 0.5 * cos(PI * x / reach);
        sum += cut * sinc * window * (double)s->samples[(size_t)k];
    }
    return sum;
}

/* Breath at a speed from the first `period` samples over and over; the last 50 ms before
 * the seam fade into what comes before the first, so that nothing clicks. */
static double repeated(const sound *lung, double at, double speed, double period)
{
    const double fade = 0.05 * lung->rate_hz;
    const double place = fmod(at * speed, period);
    const double share = (place - (period - fade)) / fade;
    const double here = value_at(lung, place + fade, speed);
    if (share <= 0.0) {
        return here;
    }
    const double there = value_at(lung, place + fade - period, speed);
    return sqrt(1.0 - share) * here + sqrt(share) * there;
}

static void mix(
    const sound *heart, const sound *lung, double speed, double period, sound *out)
{
    for (size_t i = 0; i < out->n; i++) {
        const double breath = repeated(lung, (double)i, speed, period);
        out->samples[i] =
            (float)(0.5 * (breath + (double)heart->samples[i % heart->n]));
    }
}

static double length_s(const sound *heart,
                       const sound *lung,
                       double speed,
                       breath_length length)
{
    const double heart_s = (double)heart->n / heart->rate_hz;
    if (length == BREATH_AS_BOTH) {
        return fmax(heart_s, (double)lung->n / lung->rate_hz / speed);
    }
    return length == BREATH_MINUTE ? MINUTE_S : heart_s;
}

static bool read_track(sound *s, const char *folder, char letter, int i)
{
    char path[1024];
    (void)snprintf(path, sizeof path, "%s/%c%04d.wav", folder, letter, i);
    return sound_read(s, path);
}

bool breath_case_manikin(const char *folder,
                         int i,
                         double rate_per_min,
                         double speed,
                         breath_length length,
                         breath_case *c)
{
    sound heart = {0};
    sound lung = {0};
    *c = (breath_case){.kind = BREATH_MANIKIN, .snr_db = (double)NAN, .speed = speed};
    bool good = read_track(&heart, folder, 'H', i) && read_track(&lung, folder, 'L', i);
    if (good) {
        c->true_per_min = rate_per_min * speed;
        c->window_s = length_s(&heart, &lung, speed, length);
        const double breath_samples = 60.0 / rate_per_min * heart.rate_hz;
        const double whole =
            floor(((double)lung.n - 0.06 * lung.rate_hz) / breath_samples);
        c->sound.rate_hz = heart.rate_hz;
        c->sound.n = (size_t)(c->window_s * heart.rate_hz);
        c->sound.samples = malloc(c->sound.n * sizeof(float));
        good = c->sound.samples != NULL;
        if (good) {
            mix(&heart, &lung, speed, whole * breath_samples, &c->sound);
        }
        (void)snprintf(c->name, sizeof c->name, "%d x%.1f %.0f s", i, speed,
                       c->window_s);
    }
    sound_free(&heart);
    sound_free(&lung);
    return good;
}
