/* Reading a stretch and finding its marks. */
#include "src/usecase/demonstrate.h"

#include "dsp/signal/filter.h"
#include "dsp/signal/loudspeaker.h"
#include "dsp/signal/resample.h"
#include "src/port/sound_file.h"
#include "src/usecase/analyse_file.h"
#include "src/usecase/channel_choice.h"
#include "src/usecase/click.h"
#include "src/usecase/sound_stretch.h"
#include "src/usecase/truth_beside.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum {
    SPARE = 4096 /* what a resampler may give beside the exact number */
};

/* ---- Sound ---- */

static bool read_open(sound_file *file,
                      const demonstrate_request *r,
                      demonstration *d,
                      sound_stretch *s,
                      app_err *err)
{
    const sound_info info = sound_file_info(file);
    const size_t most = (size_t)llround(r->seconds * info.rate_hz);
    const int64_t first = (int64_t)llround(r->start_s * info.rate_hz);
    app_err why = APP_ERR_NONE;
    d->channels = info.channels;
    if (!channel_is_there(HINT_CHANNEL, d->channel, info.channels, r->path, err)) {
        return false;
    }
    if (!sound_stretch_read(file, first, most, d->channel, s, &why)) {
        *err = why;
        if (why.code == APP_UNREADABLE) {
            (void)app_err_set(err, APP_USAGE,
                              " %g: %s ends before; give a start before its end",
                              r->start_s, r->path);
            (void)app_err_hint(err, HINT_START, HINT_NONE);
        }
        return false;
    }
    return s->n > 0 ||
           app_err_set(err, first > 0 ? APP_USAGE : APP_UNREADABLE,
                       "%s holds no sound from %g s on; copy or record it again, or "
                       "give another start",
                       r->path, r->start_s);
}

static bool read_stretch(const demonstrate_request *r,
                         demonstration *d,
                         sound_stretch *s,
                         app_err *err)
{
    sound_file *const file = sound_file_open(r->path, err);
    const bool ok = file != NULL && read_open(file, r, d, s, err);
    sound_file_close(file);
    return ok;
}

static bool resample(const sound_stretch *s, demonstration *d, app_err *err)
{
    d->seconds = (double)s->n / s->rate_hz;
    d->n = (int64_t)floor(d->seconds * d->rate_hz);
    const size_t room = (size_t)d->n + SPARE;
    d->plain = calloc(room, sizeof *d->plain);
    d->clicked = calloc(room, sizeof *d->clicked);
    fm_resampler *const r = fm_resampler_create(s->rate_hz, d->rate_hz);
    bool ok = d->plain != NULL && d->clicked != NULL && r != NULL;
    if (ok) {
        const size_t got = fm_resampler_push(r, s->x, s->n, d->plain, room);
        (void)fm_resampler_flush(r, d->plain + got, room - got);
        ok = !fm_resampler_has_failed(r);
    }
    fm_resampler_destroy(r);
    return ok || app_err_memory(err);
}

/* Peaks, filtered forwards and backwards so that they stand where the marks do; the two other
 * envelopes (report_strip.c, live_take.c) hear the sound once, as it comes. */
static bool make_envelope(const sound_stretch *s, demonstration *d, app_err *err)
{
    fm_filter band;
    d->n_envelope = (size_t)ceil(d->seconds * DEMONSTRATE_ENVELOPE_HZ);
    d->envelope = calloc(d->n_envelope + 1, sizeof *d->envelope);
    float *const x = calloc(s->n + 1, sizeof *x);
    if (d->envelope == NULL || x == NULL) {
        free(x);
        return app_err_memory(err);
    }
    memcpy(x, s->x, s->n * sizeof *x);
    if (fm_filter_init_heart_band(&band, s->rate_hz) == FM_OK) {
        fm_filter_zero_phase(&band, x, s->n);
    }
    float most = 0.0F;
    for (size_t i = 0; i < s->n; i++) {
        const size_t at = (size_t)((double)i / s->rate_hz * DEMONSTRATE_ENVELOPE_HZ);
        if (at < d->n_envelope) {
            d->envelope[at] = fmaxf(d->envelope[at], fabsf(x[i]));
            most = fmaxf(most, d->envelope[at]);
        }
    }
    for (size_t i = 0; i < d->n_envelope && most > 0.0F; i++) {
        d->envelope[i] /= most;
    }
    free(x);
    return true;
}

/* For a loudspeaker that cannot sound a heart. */
static bool lift(demonstration *d, app_err *err)
{
    const fm_loudspeaker_config c = fm_loudspeaker_config_default(d->rate_hz);
    float *const work = malloc((2 * (size_t)d->n + 1) * sizeof *work);
    if (work == NULL) {
        return app_err_memory(err);
    }
    const fm_status status = fm_loudspeaker_add(&c, d->plain, work, (size_t)d->n);
    free(work);
    return status == FM_OK ||
           app_err_set(err, APP_FAILED,
                       "the output's %g Hz are too few for a small loudspeaker; choose "
                       "another output",
                       d->rate_hz);
}

static bool make_sound(const demonstrate_request *r, demonstration *d, app_err *err)
{
    sound_stretch s = {0};
    bool ok = read_stretch(r, d, &s, err) && resample(&s, d, err) &&
              make_envelope(&s, d, err);
    free(s.x);
    if (ok && r->small_speaker) {
        ok = lift(d, err);
    }
    if (ok) {
        memcpy(d->clicked, d->plain, (size_t)d->n * sizeof *d->plain);
        for (size_t i = 0; i < d->n_marks; i++) {
            if (!d->marks[i].is_s2) {
                click_add(d->clicked, d->n, d->rate_hz,
                          (int64_t)llround(d->marks[i].at_s * d->rate_hz));
            }
        }
    }
    return ok;
}

/* ---- Marks ---- */

static int by_time(const void *a, const void *b)
{
    const demonstrate_mark *const p = a;
    const demonstrate_mark *const q = b;
    return (p->at_s > q->at_s) - (p->at_s < q->at_s);
}

static void add_marks(demonstration *d,
                      const demonstrate_request *r,
                      const double *at_s,
                      size_t n,
                      bool is_s2)
{
    for (size_t i = 0; i < n; i++) {
        const double t_s = at_s[i] - r->start_s;
        if (t_s >= 0.0 && t_s < r->seconds) {
            d->marks[d->n_marks++] = (demonstrate_mark){.at_s = t_s, .is_s2 = is_s2};
        }
    }
}

static bool take_marks(demonstration *d,
                       const demonstrate_request *r,
                       const double *s1_s,
                       size_t n_s1,
                       const double *s2_s,
                       size_t n_s2)
{
    d->marks = calloc(n_s1 + n_s2 + 1, sizeof *d->marks);
    if (d->marks == NULL) {
        return false;
    }
    add_marks(d, r, s1_s, n_s1, false);
    d->beats = (int)d->n_marks;
    add_marks(d, r, s2_s, n_s2, true);
    return true;
}

static void mark_unheard(demonstration *d,
                         const demonstrate_request *r,
                         const fm_truth *truth)
{
    for (size_t i = 0; i < truth->n_inaudible_s1; i++) {
        const double at_s = truth->s1_s[truth->inaudible_s1[i]] - r->start_s;
        for (size_t k = 0; k < d->n_marks; k++) {
            d->marks[k].unheard |=
                !d->marks[k].is_s2 && fabs(d->marks[k].at_s - at_s) < 1e-6;
        }
    }
}

/* Of the whole stretch, once it is known where the sound ends. */
static bool count_short(demonstration *d, const fm_quality *quality, app_err *err)
{
    double *const s1_s = calloc(d->n_marks + 1, sizeof *s1_s);
    size_t n = 0;
    if (s1_s == NULL) {
        return app_err_memory(err);
    }
    for (size_t i = 0; i < d->n_marks; i++) {
        if (!d->marks[i].is_s2) {
            s1_s[n++] = d->start_s + d->marks[i].at_s;
        }
    }
    for (int i = 0; i < 2; i++) {
        d->short_counts[i] = fm_compare_short_counts(
            s1_s, n, d->start_s, d->start_s + d->seconds, 15 * (i + 1), quality);
    }
    free(s1_s);
    return true;
}

static bool from_truth(const demonstrate_request *r,
                       demonstration *d,
                       bool *found,
                       app_err *err)
{
    truth_document doc = TRUTH_NONE;
    truth_found fits = TRUTH_FOUND_NONE;
    *found = false;
    if (!truth_beside_read(r->path, &doc, &fits, err)) {
        return false;
    }
    const fm_truth *const t = &doc.truth;
    bool ok = true;
    if (t->n_s1 > 0) { /* else it knows no beats */
        *found = true;
        d->origin = DEMONSTRATE_TRUTH;
        d->channel = r->channel > 0 ? r->channel : 1;
        ok =
            take_marks(d, r, t->s1_s, t->n_s1, t->s2_s, t->n_s2) || app_err_memory(err);
        if (ok) {
            mark_unheard(d, r, t);
        }
    }
    truth_document_free(&doc);
    return ok;
}

static bool from_count(const demonstrate_request *r,
                       demonstration *d,
                       fm_quality *quality,
                       app_err *err)
{
    analyse_request a = analyse_request_default(r->path);
    a.start_s = r->start_s;
    a.seconds = r->seconds;
    a.start_given = true;
    a.seconds_given = true;
    a.channel = r->channel;
    a.breath_window = BREATH_WINDOW_SAME;
    analysed *const result = analyse_file_window(&a, err);
    if (result == NULL) {
        return false;
    }
    const fm_heart *const h = &result->count.heart;
    d->channel = result->source.channel;
    d->reason = h->count.reason;
    d->doubtful = h->count.status == FM_CAUTION;
    d->origin = h->count.status == FM_REFUSED ? DEMONSTRATE_NONE : DEMONSTRATE_COUNT;
    const bool counted = d->origin == DEMONSTRATE_COUNT;
    const bool ok = take_marks(d, r, h->count.onsets_s, counted ? h->count.n : 0,
                               h->s2_s, counted ? h->n_s2 : 0);
    *quality = result->count.heart.count.quality;
    free(result);
    return ok || app_err_memory(err);
}

static bool find_marks(const demonstrate_request *r,
                       demonstration *d,
                       fm_quality *quality,
                       app_err *err)
{
    bool found = false;
    if (r->sealed) {
        d->origin = DEMONSTRATE_NONE;
        d->channel = r->channel > 0 ? r->channel : 1;
        return true;
    }
    bool ok = from_truth(r, d, &found, err);
    if (ok && !found) {
        ok = from_count(r, d, quality, err);
    }
    if (ok && d->n_marks > 1) {
        qsort(d->marks, d->n_marks, sizeof *d->marks, by_time);
    }
    return ok;
}

bool demonstration_load(const demonstrate_request *request,
                        demonstration *out,
                        app_err *err)
{
    *out = (demonstration){.start_s = request->start_s, .rate_hz = request->rate_hz};
    fm_quality quality = {0};
    const bool ok = find_marks(request, out, &quality, err) &&
                    make_sound(request, out, err) && count_short(out, &quality, err);
    if (!ok) {
        demonstration_free(out);
    }
    return ok;
}

void demonstration_free(demonstration *d)
{
    free(d->plain);
    free(d->clicked);
    free(d->marks);
    free(d->envelope);
    *d = (demonstration){0};
}
