#include "src/usecase/channel_choice.h"

#include "dsp/constants.h"

#include <math.h>
#include <stdlib.h>

enum {
    FRAMES_A_SECOND = 50,
    FRAMES_MAX = 60 * FRAMES_A_SECOND
};

/* Heart sounds lie within 20-400 Hz; a crude band is enough to rank (common practice). */
static const double LOW_HZ = 25.0;
static const double HIGH_HZ = 400.0;
/* 30 to 240 beats a minute. */
static const size_t LAG_MIN_FRAMES = FRAMES_A_SECOND / 4;
static const size_t LAG_MAX_FRAMES = (size_t)FRAMES_A_SECOND * 2;
/* A floor under the envelope, so that digital silence is flat: -120 dBFS. */
static const double ENVELOPE_FLOOR = 1e-6;

bool channel_is_there(
    hint_kind about, int channel, int channels, const char *name, app_err *err)
{
    if (channel <= channels) {
        return true;
    }
    (void)(channels == 1
               ? app_err_set(err, APP_USAGE, " %d: %s has one channel; give 1", channel,
                             name)
               : app_err_set(err, APP_USAGE, " %d: %s has %d channels; give 1 to %d",
                             channel, name, channels, channels));
    return app_err_hint(err, about, HINT_NONE);
}

struct track {
    double low;  /* one-pole state: what is below the band */
    double band; /* one-pole state: the band's upper edge */
    double sum;  /* of |x| over the frame so far */
    float envelope[FRAMES_MAX];
};

struct channel_choice {
    size_t channels;
    double low_step;
    double high_step;
    size_t hop_samples;
    size_t in_hop;
    size_t n_frames;
    struct track *tracks;
};

/* Step of a one-pole low-pass of that cutoff. */
static double pole_step(double cutoff_hz, double rate_hz)
{
    return 1.0 - exp(-2.0 * FM_PI * cutoff_hz / rate_hz);
}

channel_choice *channel_choice_create(int channels, double rate_hz)
{
    channel_choice *const c = calloc(1, sizeof *c);
    if (c == NULL) {
        return NULL;
    }
    c->channels = (size_t)channels;
    c->low_step = pole_step(LOW_HZ, rate_hz);
    c->high_step = pole_step(HIGH_HZ, rate_hz);
    c->hop_samples = (size_t)lround(rate_hz / FRAMES_A_SECOND);
    c->tracks = calloc(c->channels, sizeof *c->tracks);
    if (c->tracks == NULL) {
        channel_choice_destroy(c);
        return NULL;
    }
    return c;
}

static void track_sample(const channel_choice *c, struct track *t, float sample)
{
    const double x = isfinite(sample) ? (double)sample : 0.0;
    t->low += c->low_step * (x - t->low);
    t->band += c->high_step * (x - t->low - t->band);
    t->sum += fabs(t->band);
}

static void close_frame(channel_choice *c)
{
    for (size_t i = 0; i < c->channels; i++) {
        struct track *const t = &c->tracks[i];
        const double mean = t->sum / (double)c->hop_samples;
        t->envelope[c->n_frames] = (float)log(mean + ENVELOPE_FLOOR);
        t->sum = 0.0;
    }
    c->n_frames++;
    c->in_hop = 0;
}

void channel_choice_push(channel_choice *c, const float *in, size_t n)
{
    for (size_t k = 0; k < n && c->n_frames < FRAMES_MAX; k++) {
        for (size_t i = 0; i < c->channels; i++) {
            track_sample(c, &c->tracks[i], in[k * c->channels + i]);
        }
        if (++c->in_hop == c->hop_samples) {
            close_frame(c);
        }
    }
}

/* Mean product of the envelope's deviation from its mean with itself, lag frames later. */
static double envelope_product(const float *e, size_t n, double mean, size_t lag)
{
    double sum = 0.0;
    for (size_t i = lag; i < n; i++) {
        sum += ((double)e[i] - mean) * ((double)e[i - lag] - mean);
    }
    return sum / (double)(n - lag);
}

double channel_choice_score(const channel_choice *c, int channel)
{
    const float *const e = c->tracks[channel - 1].envelope;
    const size_t n = c->n_frames;
    if (n <= LAG_MAX_FRAMES) {
        return 0.0;
    }
    double mean = 0.0;
    for (size_t i = 0; i < n; i++) {
        mean += (double)e[i] / (double)n;
    }
    const double power = envelope_product(e, n, mean, 0);
    if (!(power > 1e-9)) {
        return 0.0;
    }
    double best = 0.0;
    for (size_t lag = LAG_MIN_FRAMES; lag <= LAG_MAX_FRAMES; lag++) {
        best = fmax(best, envelope_product(e, n, mean, lag) / power);
    }
    return fmin(best, 1.0);
}

size_t channel_choice_rank(const channel_choice *c, int *out, size_t max)
{
    double scores[8];
    const size_t room =
        max < sizeof scores / sizeof *scores ? max : sizeof scores / sizeof *scores;
    size_t n = 0;
    for (size_t i = 0; i < c->channels; i++) {
        const double score = channel_choice_score(c, (int)i + 1);
        size_t at = n;
        while (at > 0 && score > scores[at - 1]) {
            at--;
        }
        if (at >= room) {
            continue;
        }
        n += n < room;
        for (size_t k = n - 1; k > at; k--) {
            scores[k] = scores[k - 1];
            out[k] = out[k - 1];
        }
        scores[at] = score;
        out[at] = (int)i + 1;
    }
    return n;
}

void channel_choice_destroy(channel_choice *c)
{
    if (c == NULL) {
        return;
    }
    free(c->tracks);
    free(c);
}
