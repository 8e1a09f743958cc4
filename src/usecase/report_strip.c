#include "src/usecase/report_strip.h"

#include "dsp/signal/filter.h"
#include "src/picture/chart_sound_strip.h"
#include "src/usecase/sound_stretch.h"

#include <math.h>
#include <stdlib.h>

/* Values a second: a beat is then still a shape of its own on the paper. */
static const double RATE_HZ = 50.0;

/* Root mean square, which loudness on paper goes by, of each stretch of 1/RATE_HZ s but the
 * last. @return how many; 0: the rate is too low */
static size_t make_envelope(sound_stretch *s, float *value, size_t room)
{
    fm_filter band;
    size_t n = 0;
    double sum = 0.0;
    int frames = 0;
    if (fm_filter_init_heart_band(&band, s->rate_hz) != FM_OK) {
        return 0;
    }
    fm_filter_process(&band, s->x, s->x, s->n);
    for (size_t i = 0; i < s->n; i++) {
        const size_t slot = (size_t)((double)i / s->rate_hz * RATE_HZ);
        while (n < slot && n < room) {
            value[n++] = (float)(frames > 0 ? sqrt(sum / frames) : 0.0);
            sum = 0.0;
            frames = 0;
        }
        sum += (double)s->x[i] * (double)s->x[i];
        frames++;
    }
    return n;
}

static bool read_window(const char *recording,
                        const fm_window *w,
                        int channel,
                        sound_stretch *out)
{
    app_err ignored = APP_ERR_NONE;
    sound_file *const file = sound_file_open(recording, &ignored);
    bool ok = file != NULL && channel <= sound_file_info(file).channels;
    if (ok) {
        const double rate_hz = sound_file_info(file).rate_hz;
        const int64_t first = (int64_t)llround(w->start_s * rate_hz);
        const size_t most = (size_t)(llround(w->end_s * rate_hz) - first);
        ok = sound_stretch_read(file, first, most, channel, out, &ignored);
    }
    sound_file_close(file);
    return ok;
}

char *report_strip_draw(const char *recording, const check_view *view)
{
    const fm_window *const w = &view->count->heart.count.window;
    const fm_heart *const heart = &view->count->heart;
    const size_t room = (size_t)ceil((w->end_s - w->start_s) * RATE_HZ) + 1;
    float *const value = calloc(room, sizeof *value);
    sound_stretch s = {0};
    char *text = NULL;
    if (value != NULL && read_window(recording, w, view->source->channel, &s)) {
        const size_t n = make_envelope(&s, value, room);
        const chart_sound_strip strip = {.envelope = value,
                                         .n = n,
                                         .rate_hz = RATE_HZ,
                                         .envelope_start_s = w->start_s,
                                         .from_s = w->start_s,
                                         .to_s = w->end_s,
                                         .s1 = {heart->count.onsets_s, heart->count.n},
                                         .s2 = {heart->s2_s, heart->n_s2},
                                         .quality = &view->count->heart.count.quality};
        text =
            n > 0 ? chart_sound_strip_format(&strip, "The sound of the minute") : NULL;
    }
    free(s.x);
    free(value);
    return text;
}
