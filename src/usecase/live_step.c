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
    if (!live_sitting_save(s, &s->document, &err)) {
        (void)snprintf(s->trouble, sizeof s->trouble, "%s", err.text);
    }
}

sitting_kind live_sitting_kind(const live_sitting *s)
{
    return taking_at(&s->taking)->entry == TAKING_BREATH ? SITTING_BREATH
                                                         : SITTING_PULSE;
}

/* Of respirations nothing is watched: between loud breaths it is quiet too. */
static fm_contact_watch *contact_watch(const live_sitting *s)
{
    return live_sitting_kind(s) == SITTING_PULSE ? s->take.watch : NULL;
}

static void watch_window(live_sitting *s)
{
    if (contact_watch(s) != NULL) {
        lock_take(s->take.lock);
        fm_contact_watch_begin(s->take.watch, s->taking.start, s->taking.end);
        lock_leave(s->take.lock);
    }
}

/* The one that the taking has opened. */
static void note_window(live_sitting *s)
{
    s->missing_s = 0.0;
    s->taps_before = s->document.n_taps;
    /* What is only watched is not to be counted from the sound: set aside at once. */
    const sitting_window w = {.kind = live_sitting_kind(s),
                              .start_s = seconds_of(s, s->taking.start),
                              .end_s = seconds_of(s, s->taking.end),
                              .set_aside = taking_at(&s->taking)->watched};
    s->lost = (fm_span){0.0, 0.0, FM_REASON_NONE};
    watch_window(s);
    if (!sitting_document_add_window(&s->document, &w)) {
        (void)snprintf(s->trouble, sizeof s->trouble,
                       "No room for another minute in this recording.");
        (void)taking_tell(&s->taking, TAKING_STOP, 0);
        return;
    }
    save(s);
}

void live_sitting_start(live_sitting *s)
{
    if (s->taking.phase != TAKING_SETTLING || s->written < s->taking.settle) {
        return;
    }
    double now_s = capture_time_at(s->capture, steady_now_s());
    const double written_s = seconds_of(s, s->written);
    if (!isfinite(now_s) || now_s < written_s) {
        now_s = written_s;
    }
    const double lead_in_s = fmax(LEAD_IN_S, live_ticks_play(s));
    s->document.ticks = s->plan.ticks;
    (void)taking_tell(&s->taking, TAKING_START,
                      (int64_t)ceil((now_s + lead_in_s) * s->rate_hz));
    note_window(s);
}

void live_sitting_again(live_sitting *s)
{
    sitting_window *const w = last_window(s);
    if (taking_tell(&s->taking, TAKING_AGAIN, 0) && w != NULL) {
        w->set_aside = true;
        save(s);
    }
}

static void keep_with(live_sitting *s, sitting_answer moved)
{
    sitting_window *const w = last_window(s);
    if (taking_tell(&s->taking, TAKING_KEEP, 0) && w != NULL &&
        w->lost_length_s > 0.0 && moved != w->moved) {
        w->moved = moved;
        save(s);
    }
}

void live_sitting_keep(live_sitting *s)
{
    keep_with(s, SITTING_NO_ANSWER);
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
    if (w == NULL ||
        (s->taking.phase != TAKING_RUNNING && s->taking.phase != TAKING_LEAD_IN)) {
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
    (void)taking_tell(&s->taking, TAKING_STOP, 0);
}

/* A device that is gone, a file at its end, a full disk: what was recorded stays. */
static void end_input(live_sitting *s, const char *trouble)
{
    cut_window(s);
    if (taking_tell(&s->taking, TAKING_INPUT_ENDED, 0) && trouble != NULL &&
        s->taking.phase == TAKING_BROKEN) {
        (void)snprintf(s->trouble, sizeof s->trouble, "%s", trouble);
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

static void look(live_sitting *s)
{
    capture_get_state(s->capture, &s->state);
    lock_take(s->take.lock);
    const bool gaps = take_gaps(s);
    s->written = s->take.written;
    s->level = s->take.level;
    const bool failed = s->take.failed;
    if (failed) {
        (void)snprintf(s->trouble, sizeof s->trouble, "%s", s->take.err.text);
    }
    lock_leave(s->take.lock);
    if (gaps) {
        save(s);
    }
    if (failed) {
        end_input(s, NULL);
    }
}

/* The drain waits meanwhile: some 20 ms, which its ring holds many times over. */
static void look_for_contact(live_sitting *s)
{
    sitting_window *const w = last_window(s);
    if (contact_watch(s) == NULL || w == NULL) {
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

/* Before the time goes on: what the window lacks so far, and at its end. */
static void look_at_window(live_sitting *s)
{
    taking *const t = &s->taking;
    if ((t->phase != TAKING_LEAD_IN && t->phase != TAKING_RUNNING) ||
        s->written < t->start) {
        return;
    }
    s->missing_s = sitting_document_missing_s(&s->document, seconds_of(s, t->start),
                                              seconds_of(s, t->end));
    if (s->written >= t->end) {
        look_for_contact(s);
    }
    if (s->missing_s > 0.0 || s->lost.length_s > 0.0) {
        (void)taking_tell(t, TAKING_LACKS, 0);
    }
}

/* The count looks a little past the window (the tail): so much is recorded, if it comes. */
void live_sitting_step(live_sitting *s)
{
    taking *const t = &s->taking;
    const int row = t->window;
    look(s);
    look_at_window(s);
    (void)taking_tell(t, TAKING_TIME, s->written);
    if (t->window != row) {
        note_window(s);
    }
    if (s->state.health == CAPTURE_LOST) {
        end_input(s, "The input is gone. What was recorded is kept.");
    } else if (s->state.health == CAPTURE_ENDED) {
        end_input(s, "The input has ended. What was recorded is kept.");
    } else if (s->state.health == CAPTURE_STALLED && t->phase == TAKING_TAIL) {
        end_input(s, NULL);
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
    const taking *const t = &s->taking;
    const taking_step *const step = taking_at(t);
    *out = (live_view){.phase = t->phase,
                       .kind = live_sitting_kind(s),
                       .watched = step->watched,
                       .entry = step->entry,
                       .window = t->window,
                       .seconds = step->seconds,
                       .can_start = s->written >= t->settle && s->level.known,
                       .level_dbfs = s->level.level_dbfs,
                       .advice = s->level.advice,
                       .trouble = s->trouble,
                       .person = s->person,
                       .missing_s = s->missing_s,
                       .lost_start_s = s->lost.start_s - seconds_of(s, t->start),
                       .lost_length_s = s->lost.length_s,
                       .stalled = s->state.health == CAPTURE_STALLED,
                       .tapped = s->document.n_taps > s->taps_before,
                       .ticks = s->plan.ticks,
                       .now_s = seconds_of(s, s->written)};
    if (t->phase == TAKING_LEAD_IN) {
        out->left_s = fmax(0.0, seconds_of(s, t->start - s->written));
        out->elapsed_s = fmax(0.0, LEAD_IN_S - out->left_s);
    } else if (t->phase == TAKING_RUNNING) {
        out->elapsed_s = fmax(0.0, seconds_of(s, s->written - t->start));
        out->left_s = fmax(0.0, seconds_of(s, t->end - s->written));
    }
    if (s->plan.marks && !s->plan.checked) {
        view_marks(s, out);
    }
}
