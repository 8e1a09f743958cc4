/* Opening and closing a live sitting: input, recording, document. */
#include "src/port/utc.h"
#include "src/usecase/live_private.h"

#include "dsp/analyser.h"
#include "dsp/breath/respiration_pause.h"
#include "src/port/file.h"
#include "src/port/settings.h"
#include "src/port/steady.h"
#include "src/usecase/channel_choice.h"
#include "src/usecase/document_files.h"
#include "src/usecase/listening.h"
#include "src/usecase/remembered.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const char FILE_PREFIX[] = "file:";

const field_word live_site_words[] = {FM_SITE_MAP(FIELD_WORD){NULL, 0}};
const field_word live_method_words[] = {
    {"watched", FM_BREATH_WATCHED}, {"listened", FM_BREATH_LISTENED}, {NULL, 0}};
const field_word live_seconds_words[] = {{"15", 15}, {"30", 30}, {"60", 60}, {NULL, 0}};

live_plan live_plan_default(void)
{
    return (live_plan){.channel = 1,
                       .checked = true,
                       .pulse = true,
                       .breath = true,
                       .seconds = 60,
                       .ticks = true,
                       .site = FM_SITE_APICAL,
                       .age_months = (double)NAN,
                       .tolerance_per_min = (double)NAN};
}

bool live_plan_check(const live_plan *plan, app_err *err)
{
    return !plan->second_examiner ||
           (plan->pulse && plan->site != FM_SITE_RADIAL && plan->seconds == 60) ||
           app_err_set(err, APP_USAGE,
                       "with a second examiner the first counts at the apex and the "
                       "second at the wrist, the same full minute of pulse");
}

bool live_watches_first(const live_plan *plan)
{
    return plan->checked && plan->pulse && plan->breath &&
           plan->age_months < FM_BREATH_INFANT_MONTHS; /* false for NaN */
}

static bool is_file(const live_plan *plan)
{
    return plan->input != NULL &&
           strncmp(plan->input, FILE_PREFIX, sizeof FILE_PREFIX - 1) == 0;
}

/* Which input; fills the request and the document's word for it. */
static bool choose_input(live_sitting *s,
                         const settings *remembered,
                         capture_request *request,
                         app_err *err)
{
    const char *const input = s->plan.input;
    if (is_file(&s->plan)) {
        const char *const path = input + sizeof FILE_PREFIX - 1;
        s->paced = paced_file_open(path, !s->plan.until_stopped, err);
        if (s->paced == NULL) {
            return false;
        }
        app_err ignored = APP_ERR_NONE; /* outputs, for the ticks; none is no error */
        s->has_devices = s->plan.ticks && devices_open(&s->devices, false, &ignored);
        request->device = -1;
        request->reader = paced_file_reader(s->paced);
        (void)snprintf(s->document.input, sizeof s->document.input, "file:%.200s",
                       file_base_name(path));
        return true;
    }
    if (!devices_open(&s->devices, false, err)) {
        return false;
    }
    s->has_devices = true;
    bool known = false;
    const device *d =
        input == NULL ? remembered_input(remembered, &s->devices, &known, err) : NULL;
    if (d == NULL && !known) {
        d = devices_find(&s->devices, input, false, err);
    }
    if (d == NULL) {
        return false;
    }
    s->plan.input = d->key; /* it lives as long as the list */
    request->device = d->index;
    if (!channel_is_there(HINT_INPUT_CHANNEL, s->plan.channel, d->inputs, d->name,
                          err)) {
        return false;
    }
    request->channels = s->plan.channel; /* those before it come along */
    (void)snprintf(s->document.input, sizeof s->document.input, "%.200s", d->key);
    return true;
}

/* What is remembered of this person's inputs and taps. */
static bool choose_remembered(live_sitting *s, capture_request *request, app_err *err)
{
    settings *const remembered = settings_load(err);
    const bool ok = remembered != NULL && choose_input(s, remembered, request, err);
    const bool given = s->plan.tap_delay_s < 0.0 || s->plan.tap_delay_s > 0.0;
    if (ok && !given && s->plan.input != NULL) {
        s->plan.tap_delay_s = remembered_tap_delay_s(remembered, s->plan.input);
    }
    settings_free(remembered);
    return ok;
}

/* The default output, to listen through. */
static bool choose_monitor(live_sitting *s, capture_request *request, app_err *err)
{
    request->monitor_device = -1;
    if (!s->plan.monitor || !s->has_devices) {
        return true;
    }
    const device *const d = devices_find(&s->devices, NULL, true, err);
    if (d == NULL || !listening_output_check(d, err)) {
        return false;
    }
    request->monitor_device = d->index;
    request->monitor_gain = 1.0F;
    request->monitor_channel = s->plan.channel - 1;
    return true;
}

static bool open_recording(live_sitting *s, app_err *err)
{
    s->path = live_place_new(s->plan.recording, err);
    if (s->path == NULL) {
        return false;
    }
    s->document_path = sitting_document_path(s->path);
    if (s->document_path == NULL) {
        return app_err_memory(err);
    }
    if (file_is_there(s->document_path)) {
        return app_err_set(err, APP_USAGE, "%s exists; give another name",
                           s->document_path);
    }
    return true;
}

static void fill_document(live_sitting *s)
{
    const live_plan *const p = &s->plan;
    sitting_document *const d = &s->document;
    utc_now(d->started_utc, NULL);
    (void)snprintf(d->engine, sizeof d->engine, "%s", FM_VERSION);
    d->channel = p->channel;
    d->rate_hz = s->rate_hz;
    d->gain_db = p->gain_db;
    d->site = p->site;
    d->ticks = p->ticks;
    d->checked = p->checked;
    d->sealed = p->checked;
    d->second_asked = p->second_examiner;
    d->method = p->method;
    d->age_months = p->age_months;
    d->tolerance_per_min = p->tolerance_per_min;
    d->tap_delay_s = p->tap_delay_s;
}

/* The rate has to be known before the recording, and the recording before samples come:
 * a reader says its rate; a device is asked for a usual one. */
static bool open_all(live_sitting *s, app_err *err)
{
    capture_request request = capture_request_default();
    request.sink = live_take_block;
    request.context = &s->take;
    if (!choose_remembered(s, &request, err) || !choose_monitor(s, &request, err) ||
        !open_recording(s, err)) {
        return false;
    }
    if (s->paced != NULL) {
        s->rate_hz = request.reader.rate_hz;
        if (!channel_is_there(HINT_INPUT_CHANNEL, s->plan.channel,
                              request.reader.channels, s->plan.input, err)) {
            return false;
        }
    } else {
        const device *const d = devices_find(&s->devices, s->plan.input, false, err);
        s->rate_hz = d != NULL ? d->default_rate_hz : 0.0;
        request.rate_hz = s->rate_hz;
    }
    if (!live_take_init(&s->take, s->rate_hz, &s->plan)) {
        return app_err_memory(err);
    }
    s->take.out = recording_create(s->path, (int)lround(s->rate_hz), err);
    if (s->take.out == NULL) {
        return false;
    }
    live_ticks_open(s);
    fill_document(s);
    if (!live_sitting_save(s, &s->document, err)) {
        return false;
    }
    s->capture = capture_open(&request, err);
    if (s->capture != NULL) {
        capture_get_state(s->capture, &s->state);
        if (isfinite(s->state.monitor_latency_s)) {
            s->document.tap_delay_s += s->state.monitor_latency_s;
        }
    }
    return s->capture != NULL;
}

/* The windows in their order, each with the numbers that are asked for after it. */
static void plan_taking(live_sitting *s)
{
    const live_plan *const p = &s->plan;
    const bool watched = live_watches_first(p);
    const taking_step pulse = {TAKING_PULSE, p->seconds, .window = true};
    const taking_step second = {.entry = TAKING_SECOND, .seconds = p->seconds};
    const taking_step breath = {TAKING_BREATH, 60, .window = true, .watched = watched};
    taking *const t = &s->taking;
    *t = (taking){.open = !p->checked,
                  .repeats = p->until_stopped,
                  .rate_hz = s->rate_hz,
                  .settle = (int64_t)llround(LIVE_LEVEL_S * s->rate_hz),
                  .tail = (int64_t)llround(FM_CONTEXT_S * s->rate_hz)};
    taking_add(t, watched, breath);
    taking_add(t, p->pulse, pulse);
    taking_add(t, p->pulse && p->second_examiner, second);
    taking_add(t, !watched && (p->breath || !p->pulse), breath);
    taking_begin(t);
}

live_sitting *live_sitting_open(const live_plan *plan, app_err *err)
{
    live_sitting *const s = calloc(1, sizeof *s);
    if (s == NULL) {
        (void)app_err_memory(err);
        return NULL;
    }
    s->plan = *plan;
    s->document = sitting_document_none();
    live_level_init(&s->level, 1000.0);
    if (open_all(s, err)) {
        plan_taking(s);
        return s;
    }
    /* Nothing was recorded: leave nothing behind. */
    app_err ignored = APP_ERR_NONE;
    bool hung = false;
    const bool made = s->take.out != NULL;
    char *const path = made ? strdup(s->path) : NULL;
    char *const document_path = made ? strdup(s->document_path) : NULL;
    (void)live_sitting_close(s, &hung, &ignored);
    if (path != NULL && document_path != NULL) {
        (void)file_remove(path);
        (void)file_remove(document_path);
    }
    free(path);
    free(document_path);
    return NULL;
}

bool live_sitting_save(live_sitting *s, const sitting_document *d, app_err *err)
{
    s->dirty = !sitting_document_write(d, s->document_path, err);
    s->saved_s = steady_now_s();
    return !s->dirty;
}

const taking *live_sitting_taking(const live_sitting *s)
{
    return &s->taking;
}

const char *live_sitting_path(const live_sitting *s)
{
    return s->path;
}

bool live_sitting_close(live_sitting *s, bool *hung, app_err *err)
{
    bool ok = true;
    *hung = s->capture != NULL && !capture_close(s->capture);
    *hung = !live_ticks_close(s) || *hung;
    if (s->take.failed) {
        *err = s->take.err;
        ok = false;
    }
    if (s->take.out != NULL) {
        ok = recording_close(s->take.out, ok ? err : NULL) && ok;
    }
    if (s->dirty && s->document_path != NULL) {
        ok = live_sitting_save(s, &s->document, ok ? err : NULL) && ok;
    }
    if (s->has_devices && !*hung) {
        devices_close(&s->devices); /* would hang as well */
    }
    paced_file_close(s->paced);
    live_take_free(&s->take);
    sitting_document_free(&s->document);
    free(s->path);
    free(s->document_path);
    free(s);
    return ok;
}
