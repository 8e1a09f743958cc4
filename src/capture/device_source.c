#include "src/capture/source.h"

#include "src/capture/device_callback.h"
#include "src/capture/hardware_watch.h"
#include "src/port/steady.h"

#include <math.h>
#include <portaudio.h>
#include <stdlib.h>

enum {
    CHANNELS_MAX = 8,
    OUTPUTS_MAX = 2
};

typedef struct device_input {
    source base; /* first: a source is a device_input */
    PaStream *stream;
    PaStreamParameters in;
    PaStreamParameters out;
    bool monitored;
    device_callback_state callback;
    hardware_watch hardware; /* the drain's thread only, once the stream is started */
} device_input;

static bool cannot(const char *what, PaError failure, app_err *err)
{
    const PaHostErrorInfo *const host =
        failure == paUnanticipatedHostError ? Pa_GetLastHostErrorInfo() : NULL;
    const bool said =
        host != NULL && host->errorText != NULL && host->errorText[0] != 0;
    return app_err_set(err, APP_FAILED,
                       "cannot %s the input: %s; see that it is plugged in, that no "
                       "other program has it, and that this one may use it",
                       what, said ? host->errorText : Pa_GetErrorText(failure));
}

static bool device_start(source *s, app_err *err)
{
    device_input *const d = (device_input *)s;
    d->callback.r = s->r;
    const PaError failure = Pa_StartStream(d->stream);
    return failure == paNoError || cannot("start", failure, err);
}

/* Another microphone in ours' place is no input that a chest piece is at. Which card is ours
 * is looked for once samples have come. */
static bool was_replaced(device_input *d)
{
    return ring_frames_written(d->base.r) > 0 &&
           hardware_watch_is_lost(&d->hardware, steady_now_s());
}

static bool device_finished(source *s)
{
    device_input *const d = (device_input *)s;
    return atomic_load_explicit(&d->callback.finished, memory_order_acquire) ||
           Pa_IsStreamActive(d->stream) != 1 || was_replaced(d);
}

/* Stopping waits for what is still in the driver, for ever when a server hangs; aborting
   does not wait for a source that delivers nothing. */
static void device_close(source *s)
{
    device_input *const d = (device_input *)s;
    if (d->stream != NULL) {
        (void)Pa_AbortStream(d->stream);
        (void)Pa_CloseStream(d->stream);
    }
    (void)Pa_Terminate();
    free(d);
}

static double device_load(source *s)
{
    const device_input *const d = (const device_input *)s;
    return Pa_GetStreamCpuLoad(d->stream);
}

/* A recording is in no hurry: with a tenth of a second of room the driver wakes half as
   often, and a held-up machine loses nothing. Only headphones need the least. Our choice. */
#define ROOM_S 0.1

static bool describe(device_input *d, const capture_request *request, app_err *err)
{
    const PaDeviceInfo *const in = Pa_GetDeviceInfo(request->device);
    if (in == NULL || in->maxInputChannels < 1) {
        return app_err_set(err, APP_USAGE, "there is no such input any more");
    }
    const int most =
        in->maxInputChannels < CHANNELS_MAX ? in->maxInputChannels : CHANNELS_MAX;
    if (request->channels > most) {
        return app_err_set(err, APP_USAGE, "the input has %d channels, not %d", most,
                           request->channels);
    }
    d->in = (PaStreamParameters){
        .device = request->device,
        .channelCount = request->channels > 0 ? request->channels : most,
        .sampleFormat = paFloat32,
        .suggestedLatency = fmax(in->defaultHighInputLatency, ROOM_S)};
    d->base.rate_hz = request->rate_hz > 0.0 ? request->rate_hz : in->defaultSampleRate;
    d->monitored = request->monitor_device >= 0;
    if (!d->monitored) {
        return true;
    }
    const PaDeviceInfo *const out = Pa_GetDeviceInfo(request->monitor_device);
    if (out == NULL || out->maxOutputChannels < 1) {
        return app_err_set(err, APP_USAGE, "there is no such output any more");
    }
    d->in.suggestedLatency = in->defaultLowInputLatency;
    d->out = (PaStreamParameters){.device = request->monitor_device,
                                  .channelCount = out->maxOutputChannels < OUTPUTS_MAX
                                                      ? out->maxOutputChannels
                                                      : OUTPUTS_MAX,
                                  .sampleFormat = paFloat32,
                                  .suggestedLatency = out->defaultLowOutputLatency};
    return true;
}

static bool open_stream(device_input *d, const capture_request *request, app_err *err)
{
    d->callback.inputs = d->in.channelCount;
    d->callback.outputs = d->monitored ? d->out.channelCount : 0;
    atomic_init(&d->callback.monitor_gain, request->monitor_gain);
    atomic_init(&d->callback.monitor_channel, request->monitor_channel);
    atomic_init(&d->callback.finished, false);
    PaError failure =
        Pa_OpenStream(&d->stream, &d->in, d->monitored ? &d->out : NULL,
                      d->base.rate_hz, paFramesPerBufferUnspecified,
                      paClipOff | paDitherOff, device_callback, &d->callback);
    if (failure == paNoError) {
        failure = Pa_SetStreamFinishedCallback(d->stream, device_callback_finished);
    }
    if (failure != paNoError) {
        return cannot("open", failure, err);
    }
    const PaStreamInfo *const info = Pa_GetStreamInfo(d->stream);
    if (info != NULL) {
        d->base.rate_hz = info->sampleRate;
        d->base.input_latency_s = info->inputLatency;
        d->base.monitor_latency_s =
            d->monitored ? info->inputLatency + info->outputLatency : (double)NAN;
    }
    d->base.channels = d->in.channelCount;
    return true;
}

source *device_source_open(const capture_request *request, app_err *err)
{
    const PaError failure = Pa_Initialize();
    if (failure != paNoError) {
        (void)cannot("open", failure, err);
        return NULL;
    }
    device_input *const d = calloc(1, sizeof *d);
    if (d == NULL) {
        (void)Pa_Terminate();
        (void)app_err_memory(err);
        return NULL;
    }
    d->base = (source){.start = device_start,
                       .finished = device_finished,
                       .close = device_close,
                       .load = device_load,
                       .input_latency_s = (double)NAN,
                       .monitor_latency_s = (double)NAN};
    hardware_watch_init(&d->hardware, HARDWARE_ROOT);
    if (!describe(d, request, err) || !open_stream(d, request, err)) {
        device_close(&d->base);
        return NULL;
    }
    return &d->base;
}
