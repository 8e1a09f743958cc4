#include "src/usecase/sitting_windows.h"

#include "src/port/file.h"
#include "src/port/sound_file.h"
#include "src/usecase/document_files.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* As in a sitting that ended by itself (live_step). */
static const double SHORTEST_S = 1.0;
static const double END_SLACK_S = 0.001;

/* A sitting that was killed says of its last window where it would have ended. A checked
 * one is of no use before its end; an open one is as long as there is sound. */
static void cut_windows(sitting_document *d, double duration_s)
{
    for (size_t i = 0; i < d->n_windows; i++) {
        sitting_window *const w = &d->windows[i];
        if (w->end_s <= duration_s + END_SLACK_S) {
            continue;
        }
        if (d->checked || duration_s - w->start_s < SHORTEST_S) {
            w->set_aside = true;
        } else {
            w->end_s = duration_s;
        }
    }
}

/* Where it cannot be opened, or its length is not known, the document stands. */
static void cut_to_sound(sitting_document *d, const char *sound_path)
{
    app_err ignored = APP_ERR_NONE;
    sound_file *const file = sound_file_open(sound_path, &ignored);
    if (file == NULL) {
        return;
    }
    const sound_info info = sound_file_info(file);
    if (info.frames != SOUND_FRAMES_UNKNOWN) {
        cut_windows(d, (double)info.frames / info.rate_hz);
    }
    sound_file_close(file);
}

bool sitting_windows_find(const char *sound_path,
                          sitting_document *d,
                          bool *found,
                          app_err *err)
{
    *d = sitting_document_none();
    *found = false;
    if (strcmp(sound_path, "-") == 0) {
        return true;
    }
    char *const path = sitting_document_path(sound_path);
    if (path == NULL) {
        return app_err_memory(err);
    }
    bool ok = true;
    if (file_is_there(path)) {
        ok = sitting_document_read(path, d, err);
        *found = ok;
        if (ok) {
            cut_to_sound(d, sound_path);
        }
    }
    free(path);
    return ok;
}

static size_t count_pulse_windows(const sitting_document *d, size_t *first)
{
    size_t n = 0;
    for (size_t i = d->n_windows; i > 0; i--) {
        if (d->windows[i - 1].kind == SITTING_PULSE && !d->windows[i - 1].set_aside) {
            *first = i - 1;
            n++;
        }
    }
    return n;
}

static void apply_breath(const sitting_document *d, analyse_request *request)
{
    const sitting_window *const pulse = sitting_document_window(d, SITTING_PULSE);
    const sitting_window *const breath = sitting_document_window(d, SITTING_BREATH);
    if (breath != NULL && pulse != NULL) {
        request->breath_window = BREATH_WINDOW_AT;
        request->breath_start_s = breath->start_s;
    } else {
        request->breath_window = BREATH_WINDOW_SAME;
    }
}

void sitting_windows_apply(const sitting_document *d, analyse_request *request)
{
    if (!request->age_known && isfinite(d->age_months)) {
        request->age_known = true; /* as it was said when the minute was taken */
        request->age_months = d->age_months;
    }
    const sitting_window *w = sitting_document_window(d, SITTING_PULSE);
    size_t first = 0;
    const size_t n_pulse = count_pulse_windows(d, &first);
    if (w == NULL) {
        w = sitting_document_window(d, SITTING_BREATH);
    }
    if (w == NULL || request->start_given) {
        return; /* other seconds were asked for: those of the sitting do not matter */
    }
    if (n_pulse > 1 && !request->seconds_given) {
        w = &d->windows[first];
        request->whole = true; /* a row of minutes */
    }
    request->start_s = w->start_s;
    if (!request->seconds_given) {
        const double length_s = w->end_s - w->start_s;
        request->seconds = length_s < FM_WINDOW_MAX_S ? length_s : FM_WINDOW_MAX_S;
    }
    if (!request->breath_window_given && !request->whole) {
        apply_breath(d, request);
    }
}

bool sitting_windows_take(analyse_request *request, app_err *err)
{
    sitting_document d;
    bool found = false;
    if (!request->use_sitting) {
        return true;
    }
    if (!sitting_windows_find(request->path, &d, &found, err)) {
        return false;
    }
    sitting_windows_apply(&d, request);
    sitting_document_free(&d);
    return true;
}

bool missing_audio_take(missing_audio *m, const sitting_document *d, double rate_hz)
{
    if (d->n_gaps == 0) {
        return true;
    }
    m->list = calloc(d->n_gaps, sizeof *m->list);
    if (m->list == NULL) {
        return false;
    }
    for (size_t i = 0; i < d->n_gaps; i++) {
        const double end_s = d->gaps[i].start_s + d->gaps[i].length_s;
        const int64_t first = llround(d->gaps[i].start_s * rate_hz);
        m->list[i] = (missing_stretch){first, llround(end_s * rate_hz) - first};
    }
    m->n = d->n_gaps;
    return true;
}

size_t missing_audio_run(const missing_audio *m, int64_t first, size_t n, bool *missing)
{
    *missing = false;
    for (size_t i = 0; i < m->n; i++) {
        const int64_t start = m->list[i].first;
        const int64_t end = start + m->list[i].n;
        if (first < start) {
            return (int64_t)n < start - first ? n : (size_t)(start - first);
        }
        if (first < end) {
            *missing = true;
            return (int64_t)n < end - first ? n : (size_t)(end - first);
        }
    }
    return n;
}
