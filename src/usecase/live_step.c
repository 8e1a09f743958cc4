/* The phases of a live sitting as time goes on. */
#include "src/usecase/live_private.h"

#include "src/port/steady.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

/* Three seconds to be counted down, the last of them quiet: the ticks end before it. */
static const double LEAD_IN_S = 3.0;
/* What changed is on disk so soon, so that with a slow disk, too, a kill loses no tap that
 * is older than a second. */
static const double SAVE_EVERY_S = 0.5;
/* Less than this is no window worth keeping of an open count. */
static const double SHORTEST_S = 1.0;

static int64_t samples_of(const live_sitting *s, double seconds)
{
    return (int64_t)llround(seconds * s->rate_hz);
}

static double seconds_of(const live_sitting *s, int64_t samples)
{
    return (double)samples / s->rate_hz;
}

static sitting_window *last_window(live_sitting *s)
{
    return s->document.n_windows > 0 ? &s->document.windows[s->document.n_windows - 1]
                                     : NULL;
}

static void save(live_sitting *s)
{
    app_err err = APP_ERR_NONE;
    if (!live_sitting_save(s, &err)) {
        (void)snprintf(s->trouble, sizeof s->trouble, "%.250s", err.text);
    }
}

static int window_seconds(const live_sitting *s)
{
    return s->kind == SITTING_PULSE ? s->plan.seconds : 60;
}

/* Of respirations nothing is watched: between loud breaths it is quiet too. */
static void watch_window(live_sitting *s)
{
    if (s->take.watch != NULL && s->kind == SITTING_PULSE) {
        lock_take(s->take.lock);
        fm_contact_watch_begin(s->take.watch, s->start, s->end);
        lock_leave(s->take.lock);
    }
}

static bool is_watching(const live_sitting *s)
{
    return s->kind == SITTING_BREATH && live_watches_first(&s->plan);
}

static void open_window(live_sitting *s, int64_t start)
{
    s->start = start;
    s->end = start + samples_of(s, window_seconds(s));
    s->missing_s = 0.0;
    s->taps_before = s->document.n_taps;
    /* What is only watched is not to be counted from the sound: set aside at once. */
    const sitting_window w = {.kind = s->kind,
                              .start_s = seconds_of(s, s->start),
                              .end_s = seconds_of(s, s->end),
                              .set_aside = is_watching(s)};
    s->lost = (fm_span){0.0, 0.0, FM_REASON_NONE};
    watch_window(s);
    if (!sitting_document_add_window(&s->document, &w)) {
        (void)snprintf(s->trouble, sizeof s->trouble,
                       "No room for another minute in this recording.");
        s->phase = LIVE_ENDING;
        return;
    }
    save(s);
}

void live_sitting_start(live_sitting *s)
{
    if (s->phase != LIVE_SETTLING || s->written < s->ready_at) {
        return;
    }
    double now_s = capture_time_at(s->capture, steady_now_s());
    const double written_s = seconds_of(s, s->written);
    if (!isfinite(now_s) || now_s < written_s) {
        now_s = written_s;
    }
    const double lead_in_s = fmax(LEAD_IN_S, live_ticks_play(s));
    s->document.ticks = s->plan.ticks;
    s->phase = LIVE_LEAD_IN;
    open_window(s, (int64_t)ceil((now_s + lead_in_s) * s->rate_hz));
}

static void set_aside(live_sitting *s)
{
    sitting_window *const w = last_window(s);
    if (w != NULL) {
        w->set_aside = true;
        save(s);
    }
}

static void settle(live_sitting *s)
{
    s->phase = LIVE_SETTLING;
    s->ready_at = s->written;
}

/* The phase after a window. */
static void after_window(live_sitting *s)
{
    if (s->plan.until_stopped) {
        s->window++;
        s->phase = LIVE_RUNNING;
        open_window(s, s->end);
    } else if (!s->plan.checked) {
        s->phase = LIVE_ENDING;
    } else {
        s->phase = LIVE_ENTRY;
        s->entry = s->kind == SITTING_PULSE ? LIVE_ENTRY_PULSE : LIVE_ENTRY_BREATH;
    }
}

void live_sitting_again(live_sitting *s)
{
    if (s->phase == LIVE_GAPPED || s->phase == LIVE_RUNNING ||
        s->phase == LIVE_LEAD_IN) {
        set_aside(s);
        settle(s);
    }
}

void live_sitting_keep(live_sitting *s)
{
    if (s->phase == LIVE_GAPPED) {
        after_window(s);
    }
}

static void keep_with(live_sitting *s, sitting_answer moved)
{
    sitting_window *const w = last_window(s);
    if (s->phase != LIVE_GAPPED) {
        return;
    }
    if (w != NULL && w->lost_length_s > 0.0) {
        w->moved = moved;
        save(s);
    }
    after_window(s);
}

void live_sitting_keep_moved(live_sitting *s)
{
    keep_with(s, SITTING_YES);
}

void live_sitting_keep_still(live_sitting *s)
{
    keep_with(s, SITTING_NO);
}

/* The window ends where sound ended: an open count keeps it as a short one, a checked one
 * has no use for it. */
static void cut_window(live_sitting *s)
{
    sitting_window *const w = last_window(s);
    if (w == NULL || (s->phase != LIVE_RUNNING && s->phase != LIVE_LEAD_IN)) {
        return;
    }
    const double now_s = seconds_of(s, s->written);
    if (s->plan.checked || now_s - w->start_s < SHORTEST_S) {
        w->set_aside = true;
    } else if (now_s < w->end_s) {
        w->end_s = now_s;
    }
    save(s);
}

void live_sitting_stop(live_sitting *s)
{
    cut_window(s);
    s->phase = LIVE_DONE;
}

void live_sitting_after_entry(live_sitting *s)
{
    const bool watched = live_watches_first(&s->plan);
    if (watched ? s->kind == SITTING_BREATH
                : s->kind == SITTING_PULSE && s->plan.breath) {
        s->kind = watched ? SITTING_PULSE : SITTING_BREATH;
        s->window = 1;
        settle(s);
    } else {
        s->phase = LIVE_ENDING;
    }
}

/* ---- What the drain has done since ---- */

static bool take_gaps(live_sitting *s)
{
    const int n = s->take.n_gaps;
    for (int i = 0; i < n; i++) {
        const live_gap *const g = &s->take.gaps[i];
        sitting_gap gap = {.start_s = seconds_of(s, g->first),
                           .length_s = seconds_of(s, g->n)};
        (void)snprintf(gap.cause, sizeof gap.cause, "%s",
                       capture_gap_cause_name(g->cause));
        sitting_document *const d = &s->document;
        if (!sitting_document_add_gap(d, &gap) && d->n_gaps > 0) {
            sitting_gap *const last = &d->gaps[d->n_gaps - 1];
            last->length_s = gap.start_s + gap.length_s - last->start_s;
        }
    }
    s->take.n_gaps = 0;
    return n > 0;
}

/* A full disk after the window: what is there is complete, and the entry can still be
 * taken; it is not to be lost to another screen. */
static void recording_failed(live_sitting *s)
{
    switch (s->phase) {
    case LIVE_ENTRY:
    case LIVE_GAPPED:
    case LIVE_DONE:
    case LIVE_BROKEN:
        return;
    case LIVE_ENDING:
        s->phase = LIVE_DONE;
        return;
    case LIVE_SETTLING:
    case LIVE_LEAD_IN:
    case LIVE_RUNNING:
    default:
        cut_window(s);
        s->phase = LIVE_BROKEN;
        return;
    }
}

static void look(live_sitting *s)
{
    capture_get_state(s->capture, &s->state);
    lock_take(s->take.lock);
    const bool gaps = take_gaps(s);
    s->written = s->take.written;
    s->level = s->take.level;
    const bool failed = s->take.failed;
    if (failed) {
        (void)snprintf(s->trouble, sizeof s->trouble, "%.250s", s->take.err.text);
    }
    lock_leave(s->take.lock);
    if (gaps) {
        save(s);
    }
    if (failed) {
        recording_failed(s);
    }
}

/* A device that is gone, or a file at its end: what was recorded stays. */
static void input_ended(live_sitting *s)
{
    const bool lost = s->state.health == CAPTURE_LOST;
    const bool entering = s->phase == LIVE_ENTRY || s->phase == LIVE_GAPPED;
    if (entering || s->phase == LIVE_DONE || s->phase == LIVE_BROKEN) {
        return; /* the window is complete; the rest needs no more sound */
    }
    if (s->phase == LIVE_ENDING) {
        s->phase = LIVE_DONE;
        return;
    }
    (void)snprintf(s->trouble, sizeof s->trouble, "%s",
                   lost ? "The input is gone. What was recorded is kept."
                        : "The input has ended. What was recorded is kept.");
    cut_window(s);
    s->phase = LIVE_BROKEN;
}

/* The drain waits meanwhile: some 20 ms, which its ring holds many times over. */
static void look_for_contact(live_sitting *s)
{
    sitting_window *const w = last_window(s);
    if (s->take.watch == NULL || s->kind != SITTING_PULSE || w == NULL) {
        return;
    }
    lock_take(s->take.lock);
    s->lost = fm_contact_watch_end(s->take.watch);
    lock_leave(s->take.lock);
    if (s->lost.length_s > 0.0) {
        w->lost_start_s = s->lost.start_s;
        w->lost_length_s = s->lost.length_s;
        save(s);
    }
}

static void end_window(live_sitting *s)
{
    look_for_contact(s);
    if ((s->missing_s > 0.0 || s->lost.length_s > 0.0) && s->plan.checked &&
        !is_watching(s)) {
        s->phase = LIVE_GAPPED;
    } else {
        after_window(s);
    }
}

void live_sitting_step(live_sitting *s)
{
    look(s);
    if (s->phase == LIVE_LEAD_IN && s->written >= s->start) {
        s->phase = LIVE_RUNNING;
    }
    if (s->phase == LIVE_RUNNING) {
        s->missing_s = sitting_document_missing_s(&s->document, seconds_of(s, s->start),
                                                  seconds_of(s, s->end));
        if (s->written >= s->end) {
            end_window(s);
        }
    }
    /* The count looks a little past the window: so much is recorded, if it comes. */
    const int64_t context = samples_of(s, FM_CONTEXT_S);
    if (s->phase == LIVE_ENDING &&
        (s->written >= s->end + context || s->state.health == CAPTURE_STALLED)) {
        s->phase = LIVE_DONE;
    }
    if (s->state.health == CAPTURE_LOST || s->state.health == CAPTURE_ENDED) {
        input_ended(s);
    }
    if (s->dirty && steady_now_s() - s->saved_s >= SAVE_EVERY_S) {
        save(s);
    }
}

/* ---- What may be shown ---- */

static void view_marks(live_sitting *s, live_view *out)
{
    lock_take(s->take.lock);
    out->n_marks = s->take.n_marks;
    memcpy(out->marks, s->take.marks, sizeof out->marks);
    lock_leave(s->take.lock);
}

void live_sitting_get_view(live_sitting *s, live_view *out)
{
    *out = (live_view){.phase = s->phase,
                       .kind = s->kind,
                       .watched = is_watching(s),
                       .entry = s->entry,
                       .window = s->window,
                       .seconds = window_seconds(s),
                       .can_start = s->written >= s->ready_at && s->level.known,
                       .level_dbfs = s->level.level_dbfs,
                       .advice = s->level.advice,
                       .trouble = s->trouble,
                       .person = s->person,
                       .missing_s = s->missing_s,
                       .lost_start_s = s->lost.start_s - seconds_of(s, s->start),
                       .lost_length_s = s->lost.length_s,
                       .stalled = s->state.health == CAPTURE_STALLED,
                       .tapped = s->document.n_taps > s->taps_before,
                       .ticks = s->plan.ticks,
                       .now_s = seconds_of(s, s->written)};
    if (s->phase == LIVE_LEAD_IN) {
        out->left_s = fmax(0.0, seconds_of(s, s->start - s->written));
        out->elapsed_s = fmax(0.0, LEAD_IN_S - out->left_s);
    } else if (s->phase == LIVE_RUNNING) {
        out->elapsed_s = fmax(0.0, seconds_of(s, s->written - s->start));
        out->left_s = fmax(0.0, seconds_of(s, s->end - s->written));
    }
    if (s->plan.marks && !s->plan.checked) {
        view_marks(s, out);
    }
}
