/* One recording: opened with the sitting beside it, read, one window counted. */
#include "src/usecase/analyse_run_private.h"

#include "src/port/file.h"
#include "src/port/interrupt.h"
#include "src/usecase/channel_choice.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum {
    BLOCK_SAMPLES = 32768 /* of all channels together */
};

/* The recording is entered on a whole second well before the context, so that frames
 * and resampler fall on the same samples wherever the window is. */
static const double RUN_UP_S = FM_CONTEXT_S + 1.0;

/* ---- Opening and closing ---- */

static bool check_channel(const struct run *run, app_err *err)
{
    return channel_is_there(HINT_CHANNEL, run->request->channel, run->info.channels,
                            run->request->path, err);
}

static bool read_sitting(struct run *run, const sitting_document *d, app_err *err)
{
    if (fabs(d->rate_hz - run->info.rate_hz) > 0.5) {
        (void)app_err_set(err, APP_UNREADABLE,
                          "the sitting beside %s is of another recording: %g Hz, not "
                          "%g Hz",
                          run->request->path, d->rate_hz, run->info.rate_hz);
        return app_err_hint(err, HINT_NONE, HINT_NO_SITTING);
    }
    sitting_windows_apply(d, &run->asked_for);
    run->asked_s = run->request->start_s;
    return missing_audio_take(&run->missing, d, run->info.rate_hz) ||
           app_err_memory(err);
}

/* What lies beside the recording, where it is one of a live sitting. */
static bool find_sitting(struct run *run, app_err *err)
{
    sitting_document d;
    bool found = false;
    bool ok = !run->request->use_sitting ||
              sitting_windows_find(run->request->path, &d, &found, err);
    if (found) {
        ok = read_sitting(run, &d, err);
        sitting_document_free(&d);
    }
    return ok;
}

void analyser_keep_free(analyser_keep *keep)
{
    fm_analyser_destroy(keep->analyser);
    *keep = (analyser_keep){0};
}

/* The one that waits, if it is for this rate; else a new one. */
static bool take_analyser(struct run *run, app_err *err)
{
    analyser_keep *const keep = run->request->keep;
    const double rate_hz = run->info.rate_hz;
    if (keep != NULL && keep->analyser != NULL && !(keep->rate_hz < rate_hz) &&
        !(keep->rate_hz > rate_hz)) {
        run->analyser = keep->analyser;
        keep->analyser = NULL;
        return true;
    }
    fm_status status = FM_OK;
    run->analyser = fm_analyser_create(rate_hz, &status);
    if (run->analyser == NULL) {
        return app_err_set(err, APP_FAILED, "cannot analyse %s: %s", run->request->path,
                           fm_status_text(status));
    }
    return true;
}

bool run_open(struct run *run, const analyse_request *request, app_err *err)
{
    run->asked_for = *request;
    run->request = &run->asked_for;
    run->asked = HINT_START;
    run->asked_s = request->start_s;
    run->file = sound_file_open(request->path, err);
    if (run->file == NULL) {
        return false;
    }
    run->info = sound_file_info(run->file);
    if (!check_channel(run, err) || !find_sitting(run, err)) {
        return false;
    }
    run->channel = request->channel > 0 ? request->channel : 1;
    const size_t channels = (size_t)run->info.channels;
    const size_t half_second = (size_t)(run->info.rate_hz / 2.0);
    run->block_frames = BLOCK_SAMPLES / channels;
    if (run->block_frames > half_second) {
        run->block_frames = half_second;
    }
    run->frames = malloc(run->block_frames * channels * sizeof *run->frames);
    run->mono = malloc(run->block_frames * sizeof *run->mono);
    if (run->frames == NULL || run->mono == NULL) {
        return app_err_memory(err);
    }
    return take_analyser(run, err);
}

void run_close(struct run *run)
{
    analyser_keep *const keep = run->asked_for.keep;
    if (keep != NULL && run->analyser != NULL) {
        analyser_keep_free(keep);
        *keep = (analyser_keep){run->analyser, run->info.rate_hz};
    } else {
        fm_analyser_destroy(run->analyser);
    }
    free(run->missing.list);
    free(run->mono);
    free(run->frames);
    sound_file_close(run->file);
}

/* ---- Samples ---- */

bool run_starts_behind_the_end(const struct run *run, int64_t frames, app_err *err)
{
    if (frames == 0) {
        return app_err_set(
            err, APP_UNREADABLE,
            "%s holds no sound that can be read; copy or record it again",
            run->request->path);
    }
    (void)app_err_set(
        err, APP_USAGE, " %g: %s is %.1f s long; give a start before its end",
        run->asked_s, run->request->path, (double)frames / run->info.rate_hz);
    return app_err_hint(err, run->asked, HINT_NONE);
}

/* Frame to start reading at for a window that starts at frame start. */
static int64_t entry_frame(const struct run *run, int64_t start)
{
    const double entry_s = floor((double)start / run->info.rate_hz - RUN_UP_S);
    return entry_s > 0.0 ? (int64_t)llround(entry_s * run->info.rate_hz) : 0;
}

/* Reads one block and takes the channel out of it; 0 at the end of the file. */
size_t run_read_block(struct run *run)
{
    const size_t channels = (size_t)run->info.channels;
    const size_t n = sound_file_read(run->file, run->frames, run->block_frames);
    const float *from = run->frames + run->channel - 1;
    float *const mono = run->mono;
    int64_t not_numbers = 0;
    for (size_t i = 0; i < n; i++) {
        mono[i] = *from;
        not_numbers += !isfinite(*from);
        from += channels;
    }
    run->not_numbers += not_numbers;
    run->ended = n < run->block_frames;
    return n;
}

static const char *source_name(const char *path)
{
    return strcmp(path, "-") == 0 ? "standard input" : file_base_name(path);
}

count_source run_describe_source(const struct run *run)
{
    int64_t frames = run->info.frames;
    if (run->ended) {
        frames = sound_file_position(run->file);
    }
    return (count_source){
        .name = source_name(run->request->path),
        .duration_s = frames >= 0 ? (double)frames / run->info.rate_hz : (double)NAN,
        .rate_hz = run->info.rate_hz,
        .channels = run->info.channels,
        .channel = run->channel,
        .channel_chosen = run->request->channel == 0 && run->info.channels > 1,
        .truncated = run->info.truncated ||
                     (run->ended && run->info.frames > sound_file_position(run->file)),
        .not_numbers = run->not_numbers,
        .convention = run->convention,
        .age_known = run->request->age_known,
        .age_months = run->request->age_months,
    };
}

/* ---- One window ---- */

/* The block that was read last; what was never recorded goes in as a gap. */
bool run_push_block(struct run *run, size_t n, app_err *err)
{
    const int64_t first = sound_file_position(run->file) - (int64_t)n;
    fm_status status = FM_OK;
    size_t done = 0;
    if (!sound_file_check(run->file, err)) {
        return false; /* no end of the recording, but of what could be read now */
    }
    while (status == FM_OK && done < n) {
        bool missing = false;
        const size_t alike =
            missing_audio_run(&run->missing, first + (int64_t)done, n - done, &missing);
        status = missing ? fm_analyser_push_gap(run->analyser, (int64_t)alike)
                         : fm_analyser_push(run->analyser, run->mono + done, alike);
        status = status == FM_ERR_NOT_FINITE ? FM_OK : status; /* told: not_numbers */
        done += alike;
    }
    return status == FM_OK || app_err_set(err, APP_FAILED, "cannot analyse %s: %s",
                                          run->request->path, fm_status_text(status));
}

bool run_open_window(struct run *run, int64_t start, int64_t n, app_err *err)
{
    const fm_status status = fm_analyser_open(run->analyser, start, n);
    return status == FM_OK ||
           app_err_set(err, APP_FAILED, "cannot open a window of %s: %s",
                       run->request->path, fm_status_text(status));
}

int64_t run_seconds_to_frames(const struct run *run, double seconds)
{
    return (int64_t)llround(seconds * run->info.rate_hz);
}

/* Goes to where a window at frame start is entered. */
bool run_enter(struct run *run, int64_t start, app_err *err)
{
    if (run->info.frames != SOUND_FRAMES_UNKNOWN && start >= run->info.frames) {
        return run_starts_behind_the_end(run, run->info.frames, err);
    }
    const int64_t entry = entry_frame(run, start);
    run->not_numbers = 0;
    run->ended = false;
    (void)fm_analyser_reset(run->analyser, entry);
    return sound_file_seek(run->file, entry, err);
}

/* Counts the current channel from start_s for so many seconds; the result goes to out. */
bool run_count_seconds(
    struct run *run, double start_s, double seconds, analysed *out, app_err *err)
{
    const int64_t start = run_seconds_to_frames(run, start_s);
    if (!run_enter(run, start, err) ||
        !run_open_window(run, start, run_seconds_to_frames(run, seconds), err)) {
        return false;
    }
    bool taken = false;
    while (!taken && !run->ended) {
        const size_t n = run_read_block(run);
        if (!interrupt_check(err) || !run_push_block(run, n, err)) {
            return false;
        }
        taken = fm_analyser_take(run->analyser, &out->count);
    }
    if (!taken) {
        if (sound_file_position(run->file) <= start) {
            return run_starts_behind_the_end(run, sound_file_position(run->file), err);
        }
        (void)fm_analyser_finish(run->analyser);
        taken = fm_analyser_take(run->analyser, &out->count);
    }
    out->source = run_describe_source(run);
    return taken ||
           app_err_set(err, APP_FAILED, "no result for %s", run->request->path);
}
