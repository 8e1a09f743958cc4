#include "src/usecase/report_strip.h"

#include "dsp/signal/filter.h"
#include "src/picture/chart_sound_strip.h"
#include "src/port/sound_file.h"

#include <math.h>
#include <stdlib.h>

/* Values a second: a beat is then still a shape of its own on the paper. */
static const double RATE_HZ = 50.0;

enum {
    FRAMES_AT_ONCE = 1024
};

/* Root mean square, which loudness on paper goes by, of each stretch of 1/RATE_HZ s of one channel. */
typedef struct envelope {
    float *value; /**< value[0..n-1] */
    size_t n;
    double sum;
    int64_t frames;
} envelope;

static void add_frame(
    envelope *e, size_t room, int64_t at, double rate_hz, float sample)
{
    const size_t slot = (size_t)((double)at / rate_hz * RATE_HZ);
    while (e->n < slot && e->n < room) {
        e->value[e->n++] =
            (float)(e->frames > 0 ? sqrt(e->sum / (double)e->frames) : 0.0);
        e->sum = 0.0;
        e->frames = 0;
    }
    e->sum += (double)sample * (double)sample;
    e->frames++;
}

/* False: no memory, or no such place in the file. */
static bool read_envelope(
    sound_file *file, const fm_window *w, int channel, envelope *e, size_t room)
{
    const sound_info info = sound_file_info(file);
    app_err ignored = APP_ERR_NONE;
    fm_filter band;
    float *const block =
        malloc((size_t)FRAMES_AT_ONCE * (size_t)info.channels * sizeof *block);
    const bool can = fm_filter_init_heart_band(&band, info.rate_hz) == FM_OK;
    const int64_t first = (int64_t)llround(w->start_s * info.rate_hz);
    const int64_t end = (int64_t)llround(w->end_s * info.rate_hz);
    const bool ok = block != NULL && can && sound_file_seek(file, first, &ignored);
    if (ok) {
        int64_t at = first;
        size_t got = 0;
        while (at < end && (got = sound_file_read(file, block, FRAMES_AT_ONCE)) > 0) {
            for (size_t i = 0; i < got && at < end; i++, at++) {
                float sample = block[i * (size_t)info.channels + (size_t)channel];
                sample = isfinite(sample) ? sample : 0.0F;
                fm_filter_process(&band, &sample, &sample, 1);
                add_frame(e, room, at - first, info.rate_hz, sample);
            }
        }
    }
    free(block);
    return ok;
}

char *report_strip_draw(const char *recording, const check_view *view)
{
    app_err ignored = APP_ERR_NONE;
    const fm_window *const w = &view->count->heart.count.window;
    const fm_heart *const heart = &view->count->heart;
    const size_t room = (size_t)ceil((w->end_s - w->start_s) * RATE_HZ) + 1;
    envelope e = {.value = calloc(room, sizeof(float))};
    sound_file *const file = sound_file_open(recording, &ignored);
    char *text = NULL;
    if (file != NULL && e.value != NULL &&
        view->source->channel <= sound_file_info(file).channels &&
        read_envelope(file, w, view->source->channel - 1, &e, room)) {
        const chart_sound_strip strip = {.envelope = e.value,
                                         .n = e.n,
                                         .rate_hz = RATE_HZ,
                                         .envelope_start_s = w->start_s,
                                         .from_s = w->start_s,
                                         .to_s = w->end_s,
                                         .s1 = {heart->count.onsets_s, heart->count.n},
                                         .s2 = {heart->s2_s, heart->n_s2},
                                         .quality = &view->count->heart.count.quality};
        text = sound_file_check(file, &ignored)
                   ? chart_sound_strip_format(&strip, "The sound of the minute")
                   : NULL;
    }
    sound_file_close(file);
    free(e.value);
    return text;
}
