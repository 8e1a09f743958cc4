#include "src/sitting/analyse_file.h"

#include "dsp/analyser.h"
#include "src/base/file.h"
#include "src/base/interrupt.h"
#include "src/sitting/channel_choice.h"
#include "src/sound/sound_file.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum {
    BLOCK_SAMPLES = 32768, /* of all channels together */
    CHANNELS_TRIED = 3,    /* analysed in full when choosing */
    FIRST_BEAT_TRIES = 3
};

/* The recording is entered on a whole second well before the context, so that frames
 * and resampler fall on the same samples wherever the window is. */
static const double RUN_UP_S = FM_CONTEXT_S + 1.0;
/* The window starts this much before its first beat, so that the beat is inside it
 * though its time may move by a few milliseconds in the second look. */
static const double FIRST_BEAT_LEAD_S = 0.010;

const char *const analyse_channel_words[] = {"best", NULL};
const char *const analyse_breath_window_words[] = {"same", "next", NULL};
const char *const analyse_first_beat_words[] = {"zero", "one", NULL};

/* One file being analysed. */
struct run {
    const analyse_request *request;
    sound_file *file;
    sound_info info;
    fm_analyser *analyser;
    int channel;
    size_t block_frames;
    float *frames; /* block_frames * channels, interleaved */
    float *mono;   /* block_frames */
    int64_t not_numbers;
    bool ended;
    fm_convention convention; /* for the results given out */
    const char *asked;        /* the option that says where the window starts, */
    double asked_s;           /* and the time it comes to */
};

analyse_request analyse_request_default(const char *path)
{
    return (analyse_request){.path = path,
                             .start_s = 0.0,
                             .seconds = FM_WINDOW_MAX_S,
                             .whole = false,
                             .channel = 0,
                             .convention = FM_CONVENTION_CLOCK,
                             .breath_window = BREATH_WINDOW_AUTO};
}

void analyse_request_from_options(analyse_request *request, const options *o)
{
    request->start_s = options_number(o, "start", request->start_s);
    request->channel = (int)options_whole(o, "channel", request->channel);
    if (options_is(o, "first-beat", "one")) {
        request->convention = FM_CONVENTION_ONE;
    } else if (options_is(o, "first-beat", "zero")) {
        request->convention = FM_CONVENTION_ZERO;
    }
    if (options_is(o, "breath-window", "same")) {
        request->breath_window = BREATH_WINDOW_SAME;
    } else if (options_is(o, "breath-window", "next")) {
        request->breath_window = BREATH_WINDOW_NEXT;
    } else if (options_given(o, "breath-window")) {
        request->breath_window = BREATH_WINDOW_AT;
        request->breath_start_s = options_number(o, "breath-window", 0.0);
    }
}

/* ---- Opening and closing ---- */

static bool no_memory(app_err *err)
{
    return app_err_set(err, APP_FAILED, "out of memory; close other programs");
}

static bool check_channel(const struct run *run, app_err *err)
{
    if (run->request->channel <= run->info.channels) {
        return true;
    }
    if (run->info.channels == 1) {
        return app_err_set(err, APP_USAGE,
                           "--channel %d: %s has one channel; leave --channel out",
                           run->request->channel, run->request->path);
    }
    return app_err_set(err, APP_USAGE, "--channel %d: %s has %d channels; give 1 to %d",
                       run->request->channel, run->request->path, run->info.channels,
                       run->info.channels);
}

static bool run_open(struct run *run, const analyse_request *request, app_err *err)
{
    run->request = request;
    run->asked = "--start";
    run->asked_s = request->start_s;
    run->file = sound_file_open(request->path, err);
    if (run->file == NULL) {
        return false;
    }
    run->info = sound_file_info(run->file);
    if (!check_channel(run, err)) {
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
        return no_memory(err);
    }
    const fm_config config = fm_config_default(run->info.rate_hz);
    fm_status status = FM_OK;
    run->analyser = fm_analyser_create(&config, &status);
    if (run->analyser == NULL) {
        return app_err_set(err, APP_FAILED, "cannot analyse %s: %s", request->path,
                           fm_status_text(status));
    }
    return true;
}

static void run_close(struct run *run)
{
    fm_analyser_destroy(run->analyser);
    free(run->mono);
    free(run->frames);
    sound_file_close(run->file);
}

/* ---- Samples ---- */

static bool starts_behind_the_end(const struct run *run, int64_t frames, app_err *err)
{
    if (frames == 0) {
        return app_err_set(
            err, APP_UNREADABLE,
            "%s holds no sound that can be read; copy or record it again",
            run->request->path);
    }
    return app_err_set(err, APP_USAGE,
                       "%s %g: %s is %.1f s long; give a start before its end",
                       run->asked, run->asked_s, run->request->path,
                       (double)frames / run->info.rate_hz);
}

/* Frame to start reading at for a window that starts at frame start. */
static int64_t entry_frame(const struct run *run, int64_t start)
{
    const double entry_s = floor((double)start / run->info.rate_hz - RUN_UP_S);
    return entry_s > 0.0 ? (int64_t)llround(entry_s * run->info.rate_hz) : 0;
}

/* Reads one block and takes the channel out of it; 0 at the end of the file. */
static size_t read_block(struct run *run)
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

static void shift_spans(fm_span *spans, size_t n, double by_s)
{
    for (size_t i = 0; i < n; i++) {
        spans[i].start_s += by_s;
    }
}

static void shift_times(double *times_s, size_t n, double by_s)
{
    for (size_t i = 0; i < n; i++) {
        times_s[i] += by_s;
    }
}

/* The analyser was fed from a later sample on: its times move by that much. */
static void shift_count(fm_count *count, double by_s)
{
    count->window.start_s += by_s;
    count->window.end_s += by_s;
    count->heart.reason_span.start_s += by_s;
    count->breath.window.start_s += by_s;
    count->breath.window.end_s += by_s;
    shift_times(count->breath.starts_s, count->breath.n, by_s);
    shift_times(count->heart.s1_s, count->heart.n_s1, by_s);
    shift_times(count->heart.s2_s, count->heart.n_s2, by_s);
    for (size_t i = 0; i < count->rhythm.n_findings; i++) {
        fm_finding *const f = &count->rhythm.findings[i];
        shift_times(f->times_s,
                    f->count < FM_FINDING_TIMES ? f->count : FM_FINDING_TIMES, by_s);
    }
    for (size_t i = 0; i < count->rhythm.n_intervals; i++) {
        count->rhythm.intervals[i].start_s += by_s;
    }
    shift_spans(count->quality.gaps, count->quality.n_gaps, by_s);
    shift_spans(count->quality.unusable, count->quality.n_unusable, by_s);
}

static const char *source_name(const char *path)
{
    return strcmp(path, "-") == 0 ? "standard input" : file_base_name(path);
}

static count_source describe_source(const struct run *run)
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
    };
}

/* ---- One window ---- */

static bool push_block(struct run *run, size_t n, app_err *err)
{
    const fm_status status = fm_analyser_push(run->analyser, run->mono, n);
    return status == FM_OK || app_err_set(err, APP_FAILED, "cannot analyse %s: %s",
                                          run->request->path, fm_status_text(status));
}

static bool open_window(struct run *run, int64_t start, int64_t n, app_err *err)
{
    const fm_status status = fm_analyser_open(run->analyser, start, n);
    return status == FM_OK ||
           app_err_set(err, APP_FAILED, "cannot open a window of %s: %s",
                       run->request->path, fm_status_text(status));
}

static int64_t seconds_to_frames(const struct run *run, double seconds)
{
    return (int64_t)llround(seconds * run->info.rate_hz);
}

/* Goes to where a window at frame start is entered; *entry says where that is. */
static bool enter(struct run *run, int64_t start, int64_t *entry, app_err *err)
{
    if (run->info.frames != SOUND_FRAMES_UNKNOWN && start >= run->info.frames) {
        return starts_behind_the_end(run, run->info.frames, err);
    }
    *entry = entry_frame(run, start);
    run->not_numbers = 0;
    run->ended = false;
    fm_analyser_reset(run->analyser);
    return sound_file_seek(run->file, *entry, err);
}

/* Counts the current channel from start_s for so many seconds; the result goes to out. */
static bool count_seconds(
    struct run *run, double start_s, double seconds, analysed *out, app_err *err)
{
    const int64_t start = seconds_to_frames(run, start_s);
    int64_t entry = 0;
    if (!enter(run, start, &entry, err) ||
        !open_window(run, start - entry, seconds_to_frames(run, seconds), err)) {
        return false;
    }
    bool taken = false;
    while (!taken && !run->ended) {
        const size_t n = read_block(run);
        if (!interrupt_check(err) || !push_block(run, n, err)) {
            return false;
        }
        taken = fm_analyser_take(run->analyser, &out->count);
    }
    if (!taken) {
        if (sound_file_position(run->file) <= start) {
            return starts_behind_the_end(run, sound_file_position(run->file), err);
        }
        (void)fm_analyser_finish(run->analyser);
        taken = fm_analyser_take(run->analyser, &out->count);
    }
    shift_count(&out->count, (double)entry / run->info.rate_hz);
    out->source = describe_source(run);
    out->breath_quality = out->count.quality;
    return taken ||
           app_err_set(err, APP_FAILED, "no result for %s", run->request->path);
}

static bool count_window(struct run *run, double start_s, analysed *out, app_err *err)
{
    return count_seconds(run, start_s, run->request->seconds, out, err);
}

/* ---- Respirations in a window of their own ---- */

/* Where that window starts; NaN: in the pulse's. */
static double breath_start_s(const struct run *run, const analysed *out)
{
    const analyse_request *const r = run->request;
    const fm_window *const w = &out->count.window;
    const double whole_s = FM_WINDOW_MAX_S - 0.5 / run->info.rate_hz;
    switch (r->breath_window) {
    case BREATH_WINDOW_NEXT:
        return w->end_s;
    case BREATH_WINDOW_AT:
        return r->breath_start_s;
    case BREATH_WINDOW_AUTO:
        /* a length that is not known is tried */
        return w->end_s - w->start_s < whole_s ||
                       isless(out->source.duration_s, w->end_s + whole_s)
                   ? (double)NAN
                   : w->end_s;
    case BREATH_WINDOW_SAME:
    default:
        return (double)NAN;
    }
}

static bool is_whole(const fm_window *w)
{
    return w->end_s - w->start_s > FM_WINDOW_MAX_S - 0.01;
}

/* Counts the respirations where their own window was asked for, or is there. */
static bool count_breath(struct run *run, analysed *out, app_err *err)
{
    const bool only_whole = run->request->breath_window == BREATH_WINDOW_AUTO;
    const double start_s = breath_start_s(run, out);
    if (isnan(start_s)) {
        return true;
    }
    analysed *const own = calloc(1, sizeof *own);
    if (own == NULL) {
        return no_memory(err);
    }
    run->asked = "--breath-window";
    run->asked_s = start_s;
    bool ok = count_seconds(run, start_s, FM_WINDOW_MAX_S, own, err);
    if (ok && (!only_whole || is_whole(&own->count.window))) {
        out->count.breath = own->count.breath;
        out->breath_quality = own->count.quality;
        out->source.truncated |= own->source.truncated;
        out->source.duration_s = own->source.duration_s;
    } else if (!ok && only_whole &&
               (err->code == APP_USAGE || err->code == APP_UNREADABLE)) {
        *err = (app_err)APP_ERR_NONE; /* the recording is shorter than it promises */
        ok = true;
    }
    free(own);
    return ok;
}

/* ---- Choosing the channel ---- */

/* True when a is the surer count. */
static bool surer(const fm_count *a, const fm_count *b)
{
    if (a->heart.status != b->heart.status) {
        return a->heart.status > b->heart.status;
    }
    if (a->heart.status != FM_REFUSED &&
        isgreater(a->heart.confidence, b->heart.confidence)) {
        return true;
    }
    if (a->heart.status != FM_REFUSED &&
        isless(a->heart.confidence, b->heart.confidence)) {
        return false;
    }
    return isgreater(a->quality.overall, b->quality.overall);
}

/* The channels worth a full analysis, most periodic first; 0 with err. */
static size_t shortlist(struct run *run, int channels[CHANNELS_TRIED], app_err *err)
{
    channel_choice *const choice =
        channel_choice_create(run->info.channels, run->info.rate_hz);
    int64_t entry = 0;
    size_t n = 0;
    bool ok = choice != NULL || no_memory(err);
    const int64_t start = seconds_to_frames(run, run->request->start_s);
    const int64_t end = start + seconds_to_frames(run, run->request->seconds);
    ok = ok && enter(run, start, &entry, err) && sound_file_seek(run->file, start, err);
    while (ok && !run->ended && sound_file_position(run->file) < end) {
        channel_choice_push(choice, run->frames, read_block(run));
        ok = interrupt_check(err);
    }
    if (ok) {
        n = channel_choice_rank(choice, channels, CHANNELS_TRIED);
    }
    channel_choice_destroy(choice);
    return n;
}

static bool choose_channel(struct run *run, app_err *err)
{
    if (run->request->channel != 0 || run->info.channels == 1) {
        return true;
    }
    int channels[CHANNELS_TRIED] = {0};
    const size_t n = shortlist(run, channels, err);
    analysed *const best = calloc(2, sizeof *best);
    if (best == NULL || n == 0) {
        free(best);
        return n == 0 ? false : no_memory(err);
    }
    analysed *const now = best + 1;
    int chosen = 0;
    bool ok = true;
    for (size_t i = 0; ok && i < n; i++) {
        run->channel = channels[i];
        ok = count_window(run, run->request->start_s, now, err);
        if (ok && (chosen == 0 || surer(&now->count, &best->count))) {
            *best = *now;
            chosen = channels[i];
        }
    }
    run->channel = chosen;
    free(best);
    return ok;
}

/* ---- What was asked for ---- */

/* Moves the window so that it starts at the first beat, and counts it again. */
static bool count_from_first_beat(struct run *run, analysed *out, app_err *err)
{
    bool ok = count_window(run, run->request->start_s, out, err);
    for (int i = 0; ok && i < FIRST_BEAT_TRIES; i++) {
        const fm_heart *const heart = &out->count.heart;
        if (heart->status == FM_REFUSED || heart->n_s1 == 0) {
            return true;
        }
        const double lead_s = heart->s1_s[0] - out->count.window.start_s;
        if (i > 0 && lead_s >= 0.0 && lead_s < 2.0 * FIRST_BEAT_LEAD_S) {
            break;
        }
        const double start_s = fmax(0.0, heart->s1_s[0] - FIRST_BEAT_LEAD_S);
        run->convention = run->request->convention;
        ok = count_window(run, start_s, out, err);
    }
    return ok;
}

analysed *analyse_file_window(const analyse_request *request, app_err *err)
{
    struct run run = {0};
    analysed *const out = calloc(1, sizeof *out);
    if (out == NULL) {
        (void)no_memory(err);
        return NULL;
    }
    bool ok = run_open(&run, request, err) && choose_channel(&run, err);
    if (ok && request->convention == FM_CONVENTION_CLOCK) {
        ok = count_window(&run, request->start_s, out, err);
    } else if (ok) {
        ok = count_from_first_beat(&run, out, err);
    }
    ok = ok && count_breath(&run, out, err);
    run_close(&run);
    if (!ok) {
        free(out);
        return NULL;
    }
    return out;
}

/* Gives every finished window to the sink. */
static bool hand_out(struct run *run,
                     int64_t entry,
                     analysed *result,
                     analyse_sink sink,
                     void *context,
                     app_err *err)
{
    bool ok = true;
    while (ok && fm_analyser_take(run->analyser, &result->count)) {
        shift_count(&result->count, (double)entry / run->info.rate_hz);
        result->source = describe_source(run);
        result->breath_quality = result->count.quality;
        ok = sink(context, result, err);
        run->not_numbers = 0;
    }
    return ok;
}

/* A window is opened once its first sample has come, so that none stands empty. */
static bool count_row(
    struct run *run, analysed *result, analyse_sink sink, void *context, app_err *err)
{
    const int64_t start = seconds_to_frames(run, run->request->start_s);
    const int64_t length = seconds_to_frames(run, run->request->seconds);
    int64_t next = start;
    int64_t entry = 0;
    bool ok = enter(run, start, &entry, err);
    while (ok && !run->ended) {
        const size_t n = read_block(run);
        ok = interrupt_check(err) && push_block(run, n, err) &&
             hand_out(run, entry, result, sink, context, err);
        if (ok && sound_file_position(run->file) > next) {
            ok = open_window(run, next - entry, length, err);
            next += length;
        }
    }
    if (ok && next == start) {
        return starts_behind_the_end(run, sound_file_position(run->file), err);
    }
    if (ok) {
        (void)fm_analyser_finish(run->analyser);
        ok = hand_out(run, entry, result, sink, context, err);
    }
    return ok;
}

bool analyse_file(const analyse_request *request,
                  analyse_sink sink,
                  void *context,
                  app_err *err)
{
    if (!request->whole) {
        analysed *const one = analyse_file_window(request, err);
        const bool done = one != NULL && sink(context, one, err);
        free(one);
        return done;
    }
    struct run run = {0};
    analysed *const result = calloc(1, sizeof *result);
    if (result == NULL) {
        return no_memory(err);
    }
    const bool ok = run_open(&run, request, err) && choose_channel(&run, err) &&
                    count_row(&run, result, sink, context, err);
    run_close(&run);
    free(result);
    return ok;
}
