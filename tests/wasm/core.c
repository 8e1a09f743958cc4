/*
 * The core behind a small door, for a host that is no operating system: samples go in, the
 * document of the count and the words of a comparison come out, by the program's own use
 * cases. Built by tests/wasm/core.sh from the folders that know no operating system, the
 * terminal's table of hints, and nothing else. What those ask of the outside (src/port) is kept
 * here as far as one recording in memory needs it; core.mjs sees to the rest.
 */
#include "src/command/command.h"
#include "src/document/count_document.h"
#include "src/port/file.h"
#include "src/port/interrupt.h"
#include "src/port/sound_file.h"
#include "src/usecase/checked_count.h"
#include "src/words/check_text.h"
#include "src/words/said.h"

#include <stdlib.h>
#include <string.h>

float *core_samples(int n);
char *core_count(const float *samples, int n, double rate_hz, const char *name);
checked_count *core_enter(
    const float *samples, int n, double rate_hz, const char *name, int entered);
void core_stored(checked_count *c);
char *core_reveal(checked_count *c);
int core_heard(void);
void core_end(checked_count *c);

/* ---- The outside: one recording ---- */

struct sound_file {
    const float *samples;
    double rate_hz;
    int64_t n, at;
};

static sound_file given;

sound_file *sound_file_open(const char *path, app_err *err)
{
    (void)path;
    (void)err;
    given.at = 0;
    return &given;
}

sound_info sound_file_info(const sound_file *file)
{
    return (sound_info){.rate_hz = file->rate_hz, .channels = 1, .frames = file->n};
}

bool sound_file_seek(sound_file *file, int64_t frame, app_err *err)
{
    file->at = frame;
    return frame <= file->n || app_err_set(err, APP_UNREADABLE, "it ends before");
}

size_t sound_file_read(sound_file *file, float *out, size_t n)
{
    const size_t left = (size_t)(file->n - file->at);
    const size_t got = n < left ? n : left;
    memcpy(out, file->samples + file->at, got * sizeof *out);
    file->at += (int64_t)got;
    return got;
}

bool sound_file_check(const sound_file *file, app_err *err)
{
    (void)file;
    (void)err;
    return true;
}

int64_t sound_file_position(const sound_file *file)
{
    return file->at;
}

void sound_file_close(sound_file *file)
{
    (void)file;
}

bool interrupt_check(app_err *err)
{
    (void)err;
    return true;
}

const char *file_base_name(const char *path)
{
    return path;
}

/* ---- The door ---- */

static analyse_request request_of(const float *samples,
                                  int n,
                                  double rate_hz,
                                  const char *name)
{
    analyse_request r = analyse_request_default(name);
    r.channel = 1;
    r.use_sitting = false;
    given = (sound_file){.samples = samples, .rate_hz = rate_hz, .n = n};
    return r;
}

/** Room for n samples, for free(); NULL without memory. */
float *core_samples(int n)
{
    return malloc((size_t)n * sizeof(float));
}

/** The document of the first minute, JSON, for free(); NULL: not counted at all. */
char *core_count(const float *samples, int n, double rate_hz, const char *name)
{
    const analyse_request request = request_of(samples, n, rate_hz, name);
    analysed *const result = analyse_file_window(&request, NULL);
    json_t *const document =
        result != NULL ? said_count(&result->source, &result->count) : NULL;
    char *const text = json_dumps(document, 0);
    json_decref(document);
    free(result);
    return text;
}

/** A full minute's own count of the same, which the host is to store, at once or later: then
 *  core_stored, core_reveal, core_end. Samples and name stay till then. NULL: not taken. */
checked_count *core_enter(
    const float *samples, int n, double rate_hz, const char *name, int entered)
{
    static check_request request;
    request = check_request_default(name);
    request.analyse = request_of(samples, n, rate_hz, name);
    request.pulse.manual.entered = entered;
    request.use_truth = false;
    return checked_count_open(&request, NULL);
}

void core_stored(checked_count *c)
{
    (void)checked_count_tell(c, TAKING_STORED);
}

/** The comparison in the terminal's words, for free(); NULL: none, or not yet. */
char *core_reveal(checked_count *c)
{
    hint_voice voice = {.words = TERMINAL_HINTS};
    if (!checked_count_count(c, NULL) || !checked_count_tell(c, TAKING_COUNTED)) {
        return NULL;
    }
    check_view view = *checked_count_view(c);
    view.voice = &voice;
    return check_text_format(&view);
}

/** How far the recording has been read, samples. */
int core_heard(void)
{
    return (int)given.at;
}

void core_end(checked_count *c)
{
    checked_count_free(c);
}
