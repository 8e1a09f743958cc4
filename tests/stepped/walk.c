#include "tests/stepped/walk.h"

#include "dsp/signal/random.h"
#include "src/capture/source.h"
#include "src/port/steady.h"
#include "src/usecase/document_files.h"
#include "src/usecase/live_private.h"
#include "src/usecase/reveal.h"
#include "tests/stepped/stepped.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static const double STEP_S = 0.05;
static const double WAKE_S = 0.01;

/* The one that walks: what is written has nobody to hand it over. */
static walk *walking;
static bool disk_is_full;
static bool sound_is_full;
static walk_input given_input = WALK_INPUT_SOUND;

/* ---- The input ---- */

typedef struct scripted {
    source base; /* first: a source is a scripted */
    capture_reader reader;
    walk_input input;
    steady_task *task;
    double start_s;
    int64_t given; /* frames written, those that are dropped counted in */
    bool dropped, finished;
    fm_random chance;
} scripted;

static bool is_in(double at_s, double from_s, double length_s)
{
    return at_s >= from_s && at_s < from_s + length_s;
}

static void give_one(scripted *p, double at_s)
{
    const walk_input *const in = &p->input;
    float value = 0.0F;
    unsigned flags = 0;
    (void)p->reader.read(p->reader.context, &value, 1);
    if (is_in(at_s, in->stall_from_s, in->stall_s) ||
        is_in(at_s, in->overflow_s, in->dropped_s)) {
        p->dropped = p->dropped || at_s >= in->overflow_s;
        return;
    }
    if (p->dropped) {
        flags = SOURCE_OVERFLOW;
        p->dropped = false;
    }
    if (in->lifted_s < WALK_NEVER) { /* the body's own quiet, and the room's */
        const float hiss = (float)fm_random_between(&p->chance, -1.0, 1.0);
        value = is_in(at_s, in->lifted_s, in->lifted_for_s) ? 0.0005F * hiss
                                                            : value + 0.01F * hiss;
    }
    (void)ring_write(p->base.r, &value, 1, flags);
}

static bool scripted_round(void *context)
{
    scripted *const p = context;
    const double since_s = steady_now_s() - p->start_s;
    while (p->given < (int64_t)floor(since_s * p->base.rate_hz)) {
        const double at_s = (double)p->given / p->base.rate_hz;
        if (at_s >= p->input.lost_s) {
            p->finished = true;
            return false;
        }
        give_one(p, at_s);
        p->given++;
    }
    return true;
}

static bool scripted_start(source *s, app_err *err)
{
    (void)err;
    scripted *const p = (scripted *)s;
    p->start_s = steady_now_s();
    p->task = steady_task_start(scripted_round, p, WAKE_S);
    return true;
}

static bool scripted_finished(source *s)
{
    return ((scripted *)s)->finished;
}

static double scripted_load(source *s)
{
    (void)s;
    return 0.0;
}

static void scripted_close(source *s)
{
    scripted *const p = (scripted *)s;
    steady_task_stop(p->task);
    free(p);
}

source *__wrap_paced_source_open(const capture_reader *reader, app_err *err);
source *__wrap_paced_source_open(const capture_reader *reader, app_err *err)
{
    (void)err;
    scripted *const p = calloc(1, sizeof *p);
    assert_non_null(p);
    p->reader = *reader;
    p->input = given_input;
    p->chance = fm_random_init(21, 0);
    p->base = (source){.start = scripted_start,
                       .finished = scripted_finished,
                       .close = scripted_close,
                       .load = scripted_load,
                       .rate_hz = reader->rate_hz,
                       .channels = reader->channels,
                       .monitor_latency_s = (double)NAN};
    return &p->base;
}

/* ---- What is noted ---- */

static void note(walk *w, const char *line)
{
    if (w == NULL) {
        return;
    }
    const size_t n = strlen(w->log);
    assert_true(n + strlen(line) + 2 < sizeof w->log);
    (void)snprintf(w->log + n, sizeof w->log - n, "%s\n", line);
}

static const char *moved_word(sitting_answer moved)
{
    return moved == SITTING_YES ? " moved" : moved == SITTING_NO ? " still" : "";
}

static size_t add_entry(char *line, size_t n, const char *who, const sitting_entry *e)
{
    const int more =
        e->given ? snprintf(line, n, "; %s %d in %d s", who, e->entered, e->seconds)
                 : 0;
    return (size_t)more;
}

static void note_document(walk *w, const sitting_document *d)
{
    char line[1024];
    size_t n = (size_t)snprintf(line, sizeof line, "disk %s",
                                d->sealed ? "sealed" : "unsealed");
    for (size_t i = 0; i < d->n_windows; i++) {
        const sitting_window *const v = &d->windows[i];
        n += (size_t)snprintf(line + n, sizeof line - n, "; %s %.2f-%.2f%s%s%s",
                              v->kind == SITTING_PULSE ? "pulse" : "breath", v->start_s,
                              v->end_s, v->set_aside ? " aside" : "",
                              v->lost_length_s > 0.0 ? " contact" : "",
                              moved_word(v->moved));
    }
    n += add_entry(line + n, sizeof line - n, "pulse", &d->pulse);
    n += add_entry(line + n, sizeof line - n, "second", &d->second);
    n += add_entry(line + n, sizeof line - n, "breath", &d->breath);
    if (isfinite(d->deficit_per_min)) {
        n += (size_t)snprintf(line + n, sizeof line - n, "; deficit %.0f",
                              d->deficit_per_min);
    }
    for (size_t i = 0; i < d->n_gaps; i++) {
        n += (size_t)snprintf(line + n, sizeof line - n, "; %s %.1f s",
                              d->gaps[i].cause, d->gaps[i].length_s);
    }
    if (d->n_taps > 0) {
        (void)snprintf(line + n, sizeof line - n, "; %zu taps", d->n_taps);
    }
    note(w, line);
}

bool __real_sitting_document_write(const sitting_document *d,
                                   const char *path,
                                   app_err *err);
bool __wrap_sitting_document_write(const sitting_document *d,
                                   const char *path,
                                   app_err *err);
bool __wrap_sitting_document_write(const sitting_document *d,
                                   const char *path,
                                   app_err *err)
{
    if (disk_is_full) {
        note(walking, "refused");
        return app_err_set(err, APP_FAILED, "cannot write %s: no space", path);
    }
    assert_true(__real_sitting_document_write(d, path, err));
    note_document(walking, d);
    return true;
}

bool __real_recording_write(
    recording *r, const float *in, size_t n, float *as_written, app_err *err);
bool __wrap_recording_write(
    recording *r, const float *in, size_t n, float *as_written, app_err *err);
bool __wrap_recording_write(
    recording *r, const float *in, size_t n, float *as_written, app_err *err)
{
    return sound_is_full
               ? app_err_set(err, APP_FAILED, "cannot write the sound: no space")
               : __real_recording_write(r, in, n, as_written, err);
}

static void look(walk *w)
{
    static const char *const PHASES[] = {
        [TAKING_ENDED] = "done",      [TAKING_SETTLING] = "settling",
        [TAKING_LEAD_IN] = "lead-in", [TAKING_RUNNING] = "running",
        [TAKING_GAPPED] = "gapped",   [TAKING_ENTRY] = "entry",
        [TAKING_TAIL] = "ending",     [TAKING_BROKEN] = "broken",
        [TAKING_COUNTING] = "done"};
    static live_view v;
    char screen[sizeof w->screen];
    char line[sizeof w->screen + 16];
    live_sitting_get_view(w->s, &v);
    (void)snprintf(screen, sizeof screen, "%s %s%s%s", PHASES[v.phase],
                   v.phase == TAKING_ENTRY   ? TAKING_ENTRY_WORDS[v.entry]
                   : v.kind == SITTING_PULSE ? "pulse"
                                             : "breath",
                   v.watched ? " watched" : "", v.stalled ? " stalled" : "");
    assert_true(v.n_marks == 0 || !w->plan.checked); /* nothing of the beats */
    if (strcmp(screen, w->screen) != 0) {
        memcpy(w->screen, screen, sizeof w->screen);
        (void)snprintf(line, sizeof line, "screen %s", w->screen);
        note(w, line);
    }
}

/* ---- The walk ---- */

void walk_init(walk *w)
{
    *w = (walk){.folder = "/tmp/fullminute-walk-XXXXXX"};
    assert_non_null(mkdtemp(w->folder));
    (void)snprintf(w->sound, sizeof w->sound, "%s/it.wav", w->folder);
    (void)snprintf(w->document, sizeof w->document, "%s/it.sitting.json", w->folder);
    assert_int_equal(setenv("HOME", w->folder, 1), 0); /* nothing is remembered here */
    (void)unsetenv("XDG_CONFIG_HOME");
    w->plan = live_plan_default();
    w->plan.input = "file:" RECORDINGS_DIR "/steady-072.flac";
    w->plan.recording = w->sound;
    w->plan.ticks = false;
    w->plan.breath = false;
    w->plan.seconds = 15;
    walking = w;
    disk_is_full = false;
    sound_is_full = false;
}

void walk_open(walk *w, const walk_input *input)
{
    app_err err = APP_ERR_NONE;
    given_input = *input;
    w->s = live_sitting_open(&w->plan, &err);
    if (w->s == NULL) {
        fail_msg("%s", err.text);
    }
    look(w);
}

void walk_go(walk *w, double seconds)
{
    for (int64_t i = llround(seconds / STEP_S); i > 0; i--) {
        stepped_go(STEP_S);
        live_sitting_step(w->s);
        look(w);
    }
}

void walk_until(walk *w, const char *screen)
{
    for (int i = 0; i < 2400 && strcmp(w->screen, screen) != 0; i++) {
        walk_go(w, STEP_S);
    }
    if (strcmp(w->screen, screen) != 0) {
        fail_msg("never on the screen: %s; noted so far:\n%s", screen, w->log);
    }
}

void walk_do(walk *w, void (*how)(live_sitting *s))
{
    how(w->s);
    look(w);
}

bool walk_enter(walk *w, int entered, app_err *err)
{
    const own_count own = own_count_of(entered);
    const bool ok = live_sitting_enter(w->s, &own, err);
    look(w);
    return ok;
}

void walk_disk_full(bool full)
{
    disk_is_full = full;
}

void walk_sound_full(bool full)
{
    sound_is_full = full;
}

void walk_read(const walk *w, sitting_document *d)
{
    app_err err = APP_ERR_NONE;
    if (!sitting_document_read(w->document, d, &err)) {
        fail_msg("%s", err.text);
    }
}

void walk_said(walk *w, const char *expected)
{
    if (getenv("WALK_PRINT") != NULL) {
        print_message("%s--\n", w->log);
    } else {
        assert_string_equal(w->log, expected);
    }
    w->log[0] = '\0';
}

bool walk_reveals(const walk *w, app_err *err)
{
    reveal_request request = reveal_request_none(w->sound);
    int64_t row = 0;
    request.from_sitting = true;
    json_t *const json = reveal_make(&request, &row, err);
    const bool made = json != NULL && json_object_get(json, "check") != NULL;
    json_decref(json);
    return made;
}

void walk_close(walk *w)
{
    app_err err = APP_ERR_NONE;
    bool hung = false;
    const bool ok = live_sitting_close(w->s, &hung, &err);
    w->s = NULL;
    if (!ok || hung) {
        fail_msg("closing: %s", err.text);
    }
}

void walk_end(walk *w)
{
    (void)unlink(w->sound);
    (void)unlink(w->document);
    (void)rmdir(w->folder);
    walking = NULL;
}
