#include "analyse.h"

#include <math.h>
#include <sndfile.h>
#include <stdio.h>
#include <stdlib.h>

enum {
    BLOCK_SAMPLES = 4096
};

bool sound_read(sound *s, const char *path)
{
    *s = (sound){0};
    SF_INFO info = {0};
    SNDFILE *file = sf_open(path, SFM_READ, &info);
    if (file == NULL || info.channels < 1 || info.frames < 1) {
        (void)fprintf(stderr, "accuracy: cannot read %s: %s\n", path,
                      sf_strerror(file));
        if (file != NULL) {
            (void)sf_close(file);
        }
        return false;
    }
    const size_t channels = (size_t)info.channels;
    float *all = malloc((size_t)info.frames * channels * sizeof *all);
    if (all != NULL) {
        const sf_count_t read = sf_readf_float(file, all, info.frames);
        s->n = read > 0 ? (size_t)read : 0;
        for (size_t i = 0; i < s->n; i++) {
            all[i] = all[i * channels];
        }
    }
    s->samples = all;
    s->rate_hz = (double)info.samplerate;
    (void)sf_close(file);
    return all != NULL && s->n > 0;
}

void sound_free(sound *s)
{
    free(s->samples);
    *s = (sound){0};
}

/* The windows of one sound, and how far they have been opened. */
typedef struct windowing {
    int64_t length; /* samples in a full window */
    int64_t total;  /* samples to cover */
    int64_t opened; /* samples covered by windows opened so far */
    window_visit *visit;
    void *context;
} windowing;

static int64_t samples_to_cover(const sound *s, double least_s, size_t limit)
{
    const int64_t length = (int64_t)(FM_WINDOW_MAX_S * s->rate_hz);
    int64_t total = (int64_t)s->n;
    const int64_t rest = total % length;
    if (total > length && (double)rest < least_s * s->rate_hz) {
        total -= rest;
    }
    const int64_t most = (int64_t)limit * length;
    return limit > 0 && total > most ? most : total;
}

static bool open_next(fm_analyser *a, windowing *w)
{
    const int64_t left = w->total - w->opened;
    const int64_t n = left < w->length ? left : w->length;
    if (n <= 0) {
        return true;
    }
    const fm_status status = fm_analyser_open(a, w->opened, n);
    if (status != FM_OK) {
        (void)fprintf(stderr, "accuracy: window: %s\n", fm_status_text(status));
        return false;
    }
    w->opened += n;
    return true;
}

static bool push_all(fm_analyser *a, const sound *s, windowing *w, fm_count *count)
{
    bool good = open_next(a, w);
    for (size_t at = 0; good && at < s->n; at += BLOCK_SAMPLES) {
        const size_t left = s->n - at;
        const size_t n = left < BLOCK_SAMPLES ? left : BLOCK_SAMPLES;
        if ((int64_t)(at + n) > w->opened) {
            good = open_next(a, w);
        }
        good = good && fm_analyser_push(a, s->samples + at, n) == FM_OK;
        while (good && fm_analyser_take(a, count)) {
            w->visit(count, w->context);
        }
    }
    good = good && fm_analyser_finish(a) == FM_OK;
    while (good && fm_analyser_take(a, count)) {
        w->visit(count, w->context);
    }
    return good;
}

bool analyse_windows(
    const sound *s, double least_s, size_t limit, window_visit *visit, void *context)
{
    fm_status status = FM_OK;
    fm_analyser *a = fm_analyser_create(s->rate_hz, &status);
    fm_count *count = malloc(sizeof *count);
    bool good = a != NULL && count != NULL;
    if (good) {
        fm_analyser_keep_refused(a); /* the decoder is measured whatever the verdict */
        windowing w = {.length = (int64_t)(FM_WINDOW_MAX_S * s->rate_hz),
                       .total = samples_to_cover(s, least_s, limit),
                       .visit = visit,
                       .context = context};
        good = push_all(a, s, &w, count);
    } else {
        (void)fprintf(stderr, "accuracy: analyser: %s\n", fm_status_text(status));
    }
    free(count);
    fm_analyser_destroy(a);
    return good;
}
