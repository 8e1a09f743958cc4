#include "src/usecase/input_meter.h"

#include "src/port/lock.h"
#include "src/usecase/paced_file.h"

#include <stdlib.h>
#include <string.h>

enum {
    SLICE = 1024,
    DEVICE_CHANNELS = 2 /* a sound server offers dozens, all made of one or two */
};

struct input_meter {
    capture *running;
    paced_file *file;
    lock *lock;
    fm_placement *placement; /* made by the first block: only then is the rate known */
    double rate_hz;
    int channel; /* from 0 */
};

const char *input_meter_file(const char *input)
{
    const char prefix[] = "file:";
    return input != NULL && strncmp(input, prefix, sizeof prefix - 1) == 0
               ? input + sizeof prefix - 1
               : NULL;
}

/* On the drain's thread. A gap is silence that no gate made: it is left out. */
static void take(void *context, const capture_block *block)
{
    input_meter *const m = context;
    if (block->frames == NULL) {
        return;
    }
    float slice[SLICE];
    const size_t channels = (size_t)block->channels;
    const size_t picked = (size_t)(m->channel < block->channels ? m->channel : 0);
    lock_take(m->lock);
    for (size_t at = 0; m->placement != NULL && at < block->n; at += SLICE) {
        const size_t n = block->n - at < SLICE ? block->n - at : SLICE;
        for (size_t i = 0; i < n; i++) {
            slice[i] = block->frames[(at + i) * channels + picked];
        }
        fm_placement_push(m->placement, slice, n);
    }
    lock_leave(m->lock);
}

static bool start(input_meter *m, const device *d, const char *file, app_err *err)
{
    capture_request request = capture_request_default();
    request.sink = take;
    request.context = m;
    if (d != NULL) {
        request.device = d->index;
        request.channels = d->inputs < DEVICE_CHANNELS ? d->inputs : DEVICE_CHANNELS;
        request.channels =
            m->channel >= request.channels ? m->channel + 1 : request.channels;
    } else {
        m->file = paced_file_open(file, false, err);
        if (m->file == NULL) {
            return false;
        }
        request.device = -1;
        request.reader = paced_file_reader(m->file);
    }
    m->running = capture_open(&request, err);
    if (m->running == NULL) {
        return false;
    }
    if (m->channel >= capture_channels(m->running)) {
        return app_err_set(err, APP_USAGE, "the input has %d channel%s, not %d",
                           capture_channels(m->running),
                           capture_channels(m->running) == 1 ? "" : "s",
                           m->channel + 1);
    }
    m->rate_hz = capture_rate_hz(m->running);
    fm_placement *const placement = fm_placement_create(m->rate_hz);
    lock_take(m->lock);
    m->placement = placement;
    lock_leave(m->lock);
    return placement != NULL || app_err_memory(err);
}

input_meter *input_meter_open(const device *d,
                              const char *file,
                              int channel,
                              app_err *err)
{
    input_meter *const m = calloc(1, sizeof *m);
    if (m == NULL) {
        (void)app_err_memory(err);
        return NULL;
    }
    m->channel = channel > 0 ? channel - 1 : 0;
    m->lock = lock_make();
    if (m->lock == NULL) {
        (void)app_err_memory(err);
    }
    if (m->lock == NULL || !start(m, d, file, err)) {
        (void)input_meter_close(m);
        return NULL;
    }
    return m;
}

void input_meter_reset(input_meter *m)
{
    lock_take(m->lock);
    fm_placement_reset(m->placement);
    lock_leave(m->lock);
}

double input_meter_seconds(input_meter *m)
{
    lock_take(m->lock);
    const double seconds =
        (double)fm_placement_frames(m->placement) * FM_PLACEMENT_FRAME_S;
    lock_leave(m->lock);
    return seconds;
}

bool input_meter_last(input_meter *m, fm_placement_frame *out)
{
    lock_take(m->lock);
    const bool there = fm_placement_last(m->placement, out);
    lock_leave(m->lock);
    return there;
}

bool input_meter_measure(input_meter *m, fm_placement_measures *out)
{
    lock_take(m->lock);
    const bool there = fm_placement_measure(m->placement, out) == FM_OK;
    lock_leave(m->lock);
    return there;
}

capture_state input_meter_state(const input_meter *m)
{
    capture_state state;
    capture_get_state(m->running, &state);
    return state;
}

double input_meter_clock_s(const input_meter *m)
{
    return (double)input_meter_state(m).samples / m->rate_hz;
}

bool input_meter_close(input_meter *m)
{
    if (m == NULL) {
        return true;
    }
    if (m->running != NULL && !capture_close(m->running)) {
        return false; /* the drain may still hold m: it stays */
    }
    paced_file_close(m->file);
    fm_placement_destroy(m->placement);
    lock_free(m->lock);
    free(m);
    return true;
}
