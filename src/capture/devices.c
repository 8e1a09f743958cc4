#include "src/port/devices.h"

#include "src/base/text.h"

#include <alsa/asoundlib.h>
#include <ctype.h>
#include <dlfcn.h>
#include <portaudio.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* The rates that sound hardware usually has, Hz. */
static const double USUAL_RATES_HZ[DEVICE_RATES] = {8000.0,  16000.0, 22050.0, 32000.0,
                                                    44100.0, 48000.0, 88200.0, 96000.0};

/* ALSA's type of handler is variadic. */
static void quiet_alsa(const char *file,
                       int line,
                       const char *function,
                       int error,
                       const char *format,
                       ...)
{
    (void)file;
    (void)line;
    (void)function;
    (void)error;
    (void)format;
}

static void quiet_jack(const char *text)
{
    (void)text;
}

/* JACK is no library of ours; where PortAudio has brought it along, its two setters are
   found by name. */
static void hush(void)
{
    (void)snd_lib_error_set_handler(quiet_alsa);
    void *const program = dlopen(NULL, RTLD_LAZY);
    if (program == NULL) {
        return;
    }
    static const char *const setters[] = {"jack_set_error_function",
                                          "jack_set_info_function"};
    for (size_t i = 0; i < sizeof setters / sizeof setters[0]; i++) {
        void (*set)(void (*)(const char *)) = NULL;
        void *const found = dlsym(program, setters[i]);
        memcpy(&set, &found, sizeof set); /* POSIX: a data pointer that is a function */
        if (set != NULL) {
            set(quiet_jack);
        }
    }
    (void)dlclose(program);
}

/* "HDA Intel: ALC257 (hw:0,0)": the numbers change from start to start. */
static size_t steady_length(const char *name)
{
    const char *const hw = strstr(name, " (hw:");
    return hw != NULL ? (size_t)(hw - name) : strlen(name);
}

static void make_key(device *d, const device *list, size_t n)
{
    char host[sizeof d->host_api];
    size_t at = 0;
    for (; d->host_api[at] != '\0'; at++) {
        const unsigned char c = (unsigned char)d->host_api[at];
        host[at] = (char)(isspace(c) ? '-' : tolower(c));
    }
    host[at] = '\0';
    char base[DEVICE_NAME_BYTES];
    (void)snprintf(base, sizeof base - 8, "%s:%.*s", host, (int)steady_length(d->name),
                   d->name);
    (void)snprintf(d->key, sizeof d->key, "%s", base);
    for (int twin = 2;; twin++) {
        size_t i = 0;
        while (i < n && strcmp(list[i].key, d->key) != 0) {
            i++;
        }
        if (i == n) {
            return;
        }
        (void)snprintf(d->key, sizeof d->key, "%.*s #%d", (int)sizeof d->key - 16, base,
                       twin);
    }
}

static void ask_rates(device *d)
{
    const PaStreamParameters side = {.device = d->index,
                                     .channelCount = 1,
                                     .sampleFormat = paFloat32,
                                     .suggestedLatency = 0.1};
    for (size_t i = 0; i < DEVICE_RATES; i++) {
        if (Pa_IsFormatSupported(d->inputs > 0 ? &side : NULL,
                                 d->inputs > 0 ? NULL : &side,
                                 USUAL_RATES_HZ[i]) == paFormatIsSupported) {
            d->rates_hz[d->n_rates] = USUAL_RATES_HZ[i];
            d->n_rates++;
        }
    }
}

static void fill(device *d, int index, const devices *so_far, bool rates)
{
    const PaDeviceInfo *const info = Pa_GetDeviceInfo(index);
    const PaHostApiInfo *const api =
        info != NULL ? Pa_GetHostApiInfo(info->hostApi) : NULL;
    *d = (device){.index = index};
    if (info == NULL || api == NULL) {
        return;
    }
    (void)snprintf(d->name, sizeof d->name, "%s", info->name);
    (void)snprintf(d->host_api, sizeof d->host_api, "%s", api->name);
    d->inputs = info->maxInputChannels;
    d->outputs = info->maxOutputChannels;
    d->default_rate_hz = info->defaultSampleRate;
    d->default_input = index == Pa_GetDefaultInputDevice();
    d->default_output = index == Pa_GetDefaultOutputDevice();
    make_key(d, so_far->list, so_far->n);
    if (rates) {
        ask_rates(d);
    }
}

bool devices_open(devices *out, bool rates, app_err *err)
{
    *out = (devices){0};
    hush();
    const PaError failure = Pa_Initialize();
    if (failure != paNoError) {
        return app_err_set(err, APP_FAILED,
                           "cannot look for sound inputs: %s; a recording can be used "
                           "in place of one",
                           Pa_GetErrorText(failure));
    }
    const int n = Pa_GetDeviceCount();
    if (n <= 0) {
        return true;
    }
    out->list = calloc((size_t)n, sizeof *out->list);
    if (out->list == NULL) {
        (void)Pa_Terminate();
        return app_err_memory(err);
    }
    for (int i = 0; i < n; i++) {
        fill(&out->list[i], i, out, rates);
        out->n++;
    }
    return true;
}

void devices_close(devices *d)
{
    (void)Pa_Terminate();
    free(d->list);
    *d = (devices){0};
}

static bool usable(const device *d, bool output)
{
    return (output ? d->outputs : d->inputs) > 0;
}

/* Every key there is, for the error. */
static void list_keys(const devices *d, bool output, char *out, size_t bytes)
{
    out[0] = '\0';
    for (size_t i = 0; i < d->n; i++) {
        if (usable(&d->list[i], output)) {
            text_add(out, bytes, "%s%s", out[0] != '\0' ? ", " : "", d->list[i].key);
        }
    }
}

static const device *find_default(const devices *d, bool output)
{
    const device *first = NULL;
    for (size_t i = 0; i < d->n; i++) {
        const device *const one = &d->list[i];
        if (!usable(one, output)) {
            continue;
        }
        if (output ? one->default_output : one->default_input) {
            return one;
        }
        first = first != NULL ? first : one;
    }
    return first;
}

static const device *find_exact(const devices *d,
                                const char *wanted,
                                bool output,
                                bool by_key)
{
    const device *found = NULL;
    size_t n = 0;
    for (size_t i = 0; i < d->n; i++) {
        const char *const text = by_key ? d->list[i].key : d->list[i].name;
        if (usable(&d->list[i], output) && strcmp(text, wanted) == 0) {
            found = &d->list[i];
            n++;
        }
    }
    return n == 1 ? found : NULL;
}

static const device *find_part(const devices *d,
                               const char *wanted,
                               bool output,
                               size_t *n)
{
    const device *found = NULL;
    *n = 0;
    for (size_t i = 0; i < d->n; i++) {
        if (usable(&d->list[i], output) && strstr(d->list[i].name, wanted) != NULL) {
            found = &d->list[i];
            (*n)++;
        }
    }
    return *n == 1 ? found : NULL;
}

const device *devices_find(const devices *d,
                           const char *wanted,
                           bool output,
                           app_err *err)
{
    const char *const side = output ? "output" : "input";
    const device *found = find_default(d, output);
    if (found == NULL) {
        (void)app_err_set(err, APP_USAGE, "there is no sound %s on this computer; %s",
                          side,
                          output ? "plug in headphones and try again"
                                 : "plug one in, or use a recording in its place");
        (void)app_err_hint(err, HINT_NONE, output ? HINT_NONE : HINT_INPUT_FILE);
        return NULL;
    }
    if (wanted == NULL || strcmp(wanted, "default") == 0) {
        return found;
    }
    size_t parts = 0;
    found = find_exact(d, wanted, output, true);
    found = found != NULL ? found : find_exact(d, wanted, output, false);
    found = found != NULL       ? found
            : wanted[0] != '\0' ? find_part(d, wanted, output, &parts)
                                : NULL;
    if (found == NULL) {
        char keys[768];
        list_keys(d, output, keys, sizeof keys);
        (void)app_err_set(err, APP_USAGE, "%s %s: %s; there is: %s", side, wanted,
                          parts > 1 ? "more than one has that in its name"
                                    : "there is none of that name",
                          keys);
    }
    return found;
}
