#include "src/usecase/analyse_file.h"

#include "dsp/breath/respiration_pause.h"
#include "dsp/compare/reference_range.h"

#include "src/port/interrupt.h"
#include "src/usecase/analyse_run_private.h"
#include "src/usecase/channel_choice.h"

#include <math.h>
#include <stdlib.h>

enum {
    CHANNELS_TRIED = 3, /* analysed in full when choosing */
    FIRST_BEAT_TRIES = 3
};

/* The window starts this much before its first beat, so that the beat is inside it
 * though its time may move by a few milliseconds in the second look. */
static const double FIRST_BEAT_LEAD_S = 0.010;

/* What words stand for where a number of seconds would be. */
enum {
    WORD_SAME = -1,
    WORD_NEXT = -2
};

const field_word analyse_channel_words[] = {{"best", 0}, {NULL, 0}};
const field_word analyse_breath_window_words[] = {
    {"same", WORD_SAME}, {"next", WORD_NEXT}, {NULL, 0}};
const field_word analyse_first_beat_words[] = {
    {"zero", FM_CONVENTION_ZERO}, {"one", FM_CONVENTION_ONE}, {NULL, 0}};

/* Once all windows are counted: the pauses that are named at the person's age, and a child's
 * respirations, which the tables know less of, are not vouched for. */
static void judge_by_age(const analyse_request *request, analysed *out)
{
    fm_breath *const b = &out->count.breath;
    fm_breath_name_pauses(b, request->age_known ? request->age_months : (double)NAN);
    if (request->age_known && request->age_months < FM_AGE_ADULT_MONTHS &&
        b->count.status == FM_COUNTED) {
        b->count.status = FM_CAUTION;
        b->count.reason = FM_REASON_CHILD;
    }
}

analyse_request analyse_request_unasked(void)
{
    return (analyse_request){.start_s = (double)NAN,
                             .seconds = (double)NAN,
                             .convention = FM_CONVENTION_CLOCK,
                             .breath_start_s = (double)NAN,
                             .age_months = (double)NAN,
                             .use_sitting = true};
}

static breath_window window_of(double breath_start_s)
{
    const int said = isnan(breath_start_s) ? 0 : (int)breath_start_s;
    return isnan(breath_start_s) ? BREATH_WINDOW_AUTO
           : said == WORD_SAME   ? BREATH_WINDOW_SAME
           : said == WORD_NEXT   ? BREATH_WINDOW_NEXT
                                 : BREATH_WINDOW_AT;
}

void analyse_request_settle(analyse_request *request, const char *path)
{
    request->path = path;
    request->start_given = !isnan(request->start_s);
    request->start_s = request->start_given ? request->start_s : 0.0;
    request->seconds_given = !isnan(request->seconds);
    request->whole = isinf(request->seconds) != 0;
    request->seconds = isfinite(request->seconds) ? request->seconds : FM_WINDOW_MAX_S;
    request->breath_window = window_of(request->breath_start_s);
    request->breath_window_given = request->breath_window != BREATH_WINDOW_AUTO;
    request->age_known = !isnan(request->age_months);
}

analyse_request analyse_request_default(const char *path)
{
    analyse_request request = analyse_request_unasked();
    analyse_request_settle(&request, path);
    return request;
}

static bool count_window(struct run *run, double start_s, analysed *out, app_err *err)
{
    return run_count_seconds(run, start_s, run->request->seconds, out, err);
}

/* ---- Respirations in a window of their own ---- */

/* Where that window starts; NaN: in the pulse's. */
static double breath_start_s(const struct run *run, const analysed *out)
{
    const analyse_request *const r = run->request;
    const fm_window *const w = &out->count.heart.count.window;
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

/*
 * Counts the respirations where their own window was asked for, or is there. That window is
 * counted in full, for the beats are cues of the breath: their intervals, their loudness,
 * and what is left of the sound without them (dsp/breath). Only the breath, which has
 * its own window and quality, is kept.
 */
static bool count_breath(struct run *run, analysed *out, app_err *err)
{
    const bool only_whole = run->request->breath_window == BREATH_WINDOW_AUTO;
    const double start_s = breath_start_s(run, out);
    if (isnan(start_s)) {
        return true;
    }
    analysed *const own = calloc(1, sizeof *own);
    if (own == NULL) {
        return app_err_memory(err);
    }
    run->asked = HINT_BREATH_WINDOW;
    run->asked_s = start_s;
    bool ok = run_count_seconds(run, start_s, FM_WINDOW_MAX_S, own, err);
    if (ok && (!only_whole || is_whole(&own->count.heart.count.window))) {
        out->count.breath = own->count.breath;
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
    if (a->heart.count.status != b->heart.count.status) {
        return a->heart.count.status > b->heart.count.status;
    }
    if (a->heart.count.status != FM_REFUSED &&
        isgreater(a->heart.count.confidence, b->heart.count.confidence)) {
        return true;
    }
    if (a->heart.count.status != FM_REFUSED &&
        isless(a->heart.count.confidence, b->heart.count.confidence)) {
        return false;
    }
    return isgreater(a->heart.count.quality.overall, b->heart.count.quality.overall);
}

/* The channels worth a full analysis, most periodic first; 0 with err. */
static size_t shortlist(struct run *run, int channels[CHANNELS_TRIED], app_err *err)
{
    channel_choice *const choice =
        channel_choice_create(run->info.channels, run->info.rate_hz);
    size_t n = 0;
    bool ok = choice != NULL || app_err_memory(err);
    const int64_t start = run_seconds_to_frames(run, run->request->start_s);
    const int64_t end = start + run_seconds_to_frames(run, run->request->seconds);
    ok = ok && run_enter(run, start, err) && sound_file_seek(run->file, start, err);
    while (ok && !run->ended && sound_file_position(run->file) < end) {
        channel_choice_push(choice, run->frames, run_read_block(run));
        ok = interrupt_check(err) && sound_file_check(run->file, err);
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
        return n == 0 ? false : app_err_memory(err);
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
        if (heart->count.status == FM_REFUSED || heart->count.n == 0) {
            return true;
        }
        const double lead_s =
            heart->count.onsets_s[0] - out->count.heart.count.window.start_s;
        if (i > 0 && lead_s >= 0.0 && lead_s < 2.0 * FIRST_BEAT_LEAD_S) {
            break;
        }
        const double start_s = fmax(0.0, heart->count.onsets_s[0] - FIRST_BEAT_LEAD_S);
        run->convention = run->request->convention;
        ok = count_window(run, start_s, out, err);
    }
    return ok;
}

/* Is there a frame at start_s? Where the length is not known, the way there is read. */
static bool holds(struct run *run, double start_s, app_err *err)
{
    const int64_t start = run_seconds_to_frames(run, start_s);
    app_err ends = APP_ERR_NONE;
    if (run->info.frames != SOUND_FRAMES_UNKNOWN) {
        return start < run->info.frames ||
               run_starts_behind_the_end(run, run->info.frames, err);
    }
    if (sound_file_seek(run->file, start, &ends) &&
        sound_file_read(run->file, run->frames, 1) == 1) {
        return true;
    }
    return interrupt_check(err) && sound_file_check(run->file, err) &&
           run_starts_behind_the_end(run, sound_file_position(run->file), err);
}

/* Is what was asked for in the recording? */
static bool holds_all(struct run *run, app_err *err)
{
    const analyse_request *const r = run->request;
    if (!holds(run, r->start_s, err)) {
        return false;
    }
    if (r->breath_window == BREATH_WINDOW_NEXT ||
        r->breath_window == BREATH_WINDOW_AT) {
        run->asked = HINT_BREATH_WINDOW;
        run->asked_s = r->breath_window == BREATH_WINDOW_AT ? r->breath_start_s
                                                            : r->start_s + r->seconds;
        if (!holds(run, run->asked_s, err)) {
            return false;
        }
        run->asked = HINT_START;
        run->asked_s = r->start_s;
    }
    return true;
}

analyse_opened *analyse_open(const analyse_request *request, app_err *err)
{
    struct run *const run = calloc(1, sizeof *run);
    if (run == NULL) {
        (void)app_err_memory(err);
    } else if (run_open(run, request, err) && holds_all(run, err)) {
        return run;
    }
    analyse_close(run);
    return NULL;
}

analysed *analyse_count(analyse_opened *run, app_err *err)
{
    const analyse_request *const r = run->request;
    analysed *const out = calloc(1, sizeof *out);
    if (out == NULL) {
        (void)app_err_memory(err);
        return NULL;
    }
    bool ok = choose_channel(run, err);
    if (ok && r->convention == FM_CONVENTION_CLOCK) {
        ok = count_window(run, r->start_s, out, err);
    } else if (ok) {
        ok = count_from_first_beat(run, out, err);
    }
    ok = ok && count_breath(run, out, err);
    judge_by_age(r, out);
    if (!ok) {
        free(out);
        return NULL;
    }
    return out;
}

void analyse_close(analyse_opened *run)
{
    if (run != NULL) {
        run_close(run);
        free(run);
    }
}

analysed *analyse_file_window(const analyse_request *request, app_err *err)
{
    struct run run = {0};
    analysed *const out =
        run_open(&run, request, err) ? analyse_count(&run, err) : NULL;
    run_close(&run);
    return out;
}

/* Gives every finished window to the sink. */
static bool hand_out(
    struct run *run, analysed *result, analyse_sink sink, void *context, app_err *err)
{
    bool ok = true;
    while (ok && fm_analyser_take(run->analyser, &result->count)) {
        result->source = run_describe_source(run);
        judge_by_age(run->request, result);
        ok = sink(context, result, err);
        run->not_numbers = 0;
    }
    return ok;
}

/* A window is opened once its first sample has come, so that none stands empty. */
static bool count_row(
    struct run *run, analysed *result, analyse_sink sink, void *context, app_err *err)
{
    const int64_t start = run_seconds_to_frames(run, run->request->start_s);
    const int64_t length = run_seconds_to_frames(run, run->request->seconds);
    int64_t next = start;
    bool ok = run_enter(run, start, err);
    while (ok && !run->ended) {
        const size_t n = run_read_block(run);
        ok = interrupt_check(err) && run_push_block(run, n, err) &&
             hand_out(run, result, sink, context, err);
        if (ok && sound_file_position(run->file) > next) {
            ok = run_open_window(run, next, length, err);
            next += length;
        }
    }
    if (ok && next == start) {
        return run_starts_behind_the_end(run, sound_file_position(run->file), err);
    }
    if (ok) {
        (void)fm_analyser_finish(run->analyser);
        ok = hand_out(run, result, sink, context, err);
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
        return app_err_memory(err);
    }
    const bool ok = run_open(&run, request, err) && choose_channel(&run, err) &&
                    count_row(&run, result, sink, context, err);
    run_close(&run);
    free(result);
    return ok;
}
