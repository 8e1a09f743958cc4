#include "src/command/demonstrate_run.h"

#include "src/command/demonstrate_log.h"
#include "src/command/demonstrate_screen.h"
#include "src/command/live_keys.h"
#include "src/command/live_run.h"
#include "src/command/screen.h"
#include "src/port/devices.h"
#include "src/port/file.h"
#include "src/port/interrupt.h"
#include "src/port/player.h"
#include "src/port/steady.h"
#include "src/usecase/blind.h"
#include "src/usecase/demonstrate_play.h"

#include <math.h>
#include <stdio.h>

enum {
    KEYS_AT_ONCE = 64,
    NOTE_BYTES = 64,
    PLAIN_EVERY_S = 5
};

static const double STEP_S = 0.02;
static const double STEP_LEAST_S = 0.0005;
static const double SEEK_S = 5.0;
static const double PATIENCE_S = 2.0;
static const double RATE_USUAL_HZ = 48000.0;
static const double RATE_LEAST_HZ = 4000.0;

/* One demonstration on the screen. */
struct show {
    const demonstrate_plan *plan;
    const demonstration *d;
    demonstrate_play play;
    demonstrate_screen_state state;
    demonstrate_log log;
    live_keys *keys; /* NULL: plain lines */
    screen shown;
    int said_s; /* plain lines: the last time told */
    bool stop;
    char note[NOTE_BYTES];
};

/* ---- The output ---- */

/* A player, and since when it seems dead. */
struct output {
    player *p;
    double dead_since_s; /* NaN: it is not */
};

static void out_start(void *context, const float *samples, int64_t n, int64_t from)
{
    player_start(((struct output *)context)->p, samples, n, from);
}

static void out_stop(void *context)
{
    player_stop(((struct output *)context)->p);
}

static int64_t out_heard(void *context)
{
    return player_heard(((struct output *)context)->p);
}

/* A sound server that wakes, or a computer with much to do, may stall for longer than a
   player waits, and then go on; nothing is lost by waiting. */
static bool out_alive(void *context)
{
    struct output *const o = context;
    if (player_alive(o->p)) {
        o->dead_since_s = (double)NAN;
        return true;
    }
    if (isnan(o->dead_since_s)) {
        o->dead_since_s = steady_now_s();
    }
    return steady_now_s() - o->dead_since_s < PATIENCE_S;
}

static demonstrate_output output_of(struct output *o)
{
    return (demonstrate_output){.context = o,
                                .start = out_start,
                                .stop = out_stop,
                                .heard = out_heard,
                                .alive = out_alive,
                                .latency_s = player_latency_s(o->p)};
}

/* ---- Keys ---- */

static void loop_ends(struct show *s)
{
    const double from_s = isfinite(s->state.loop_from_s) ? s->state.loop_from_s : 0.0;
    const double to_s = demonstrate_play_at_s(&s->play);
    if (demonstrate_play_loop(&s->play, from_s, to_s)) {
        s->state.loop_from_s = (double)NAN;
    } else {
        (void)snprintf(s->note, sizeof s->note,
                       "A loop is at least %.0f s: [ at its start, ] at its end",
                       DEMONSTRATE_LOOP_MIN_S);
    }
}

static void press(struct show *s, int byte)
{
    s->note[0] = '\0';
    switch (byte) {
    case ' ':
        if (s->play.playing) {
            demonstrate_play_pause(&s->play);
        } else {
            demonstrate_play_go(&s->play);
        }
        break;
    case LIVE_KEY_LEFT:
        demonstrate_play_seek(&s->play, -SEEK_S);
        break;
    case LIVE_KEY_RIGHT:
        demonstrate_play_seek(&s->play, SEEK_S);
        break;
    case '[':
    case 'a':
        demonstrate_play_loop_clear(&s->play);
        s->state.loop_from_s = demonstrate_play_at_s(&s->play);
        break;
    case ']':
    case 'b':
        loop_ends(s);
        break;
    case 'x':
        demonstrate_play_loop_clear(&s->play);
        s->state.loop_from_s = (double)NAN;
        break;
    case 'm':
        s->state.marks = !s->state.marks;
        break;
    case 'c':
        demonstrate_play_click(&s->play, !s->play.click);
        break;
    case 'r':
        s->state.short_counts = !s->state.short_counts;
        break;
    case 'q':
    case LIVE_KEY_END: /* the terminal is gone */
        s->stop = true;
        break;
    default:
        break;
    }
}

/* Until the next mark is heard, or a key comes. */
static void wait_a_little(struct show *s)
{
    live_key keys[KEYS_AT_ONCE];
    const double next_s = demonstrate_play_until_next_s(&s->play);
    const double wait_s = fmax(STEP_LEAST_S, fmin(STEP_S, next_s));
    if (s->keys == NULL) {
        steady_wait_s(wait_s);
        return;
    }
    const size_t n = live_keys_take(s->keys, keys, KEYS_AT_ONCE, wait_s);
    for (size_t i = 0; i < n; i++) {
        press(s, keys[i].byte);
    }
}

/* ---- Showing ---- */

static void say_lines(struct show *s)
{
    const int at_s = (int)floor(demonstrate_play_at_s(&s->play));
    for (size_t i = s->play.fresh; s->state.marks && i < s->play.next; i++) {
        const demonstrate_mark *const m = &s->d->marks[i];
        (void)printf("%7.3f s  %s%s\n", m->at_s, m->is_s2 ? "." : "| first sound",
                     m->unheard ? ", not to be heard" : "");
    }
    if (!s->state.marks && at_s / PLAIN_EVERY_S != s->said_s / PLAIN_EVERY_S) {
        (void)printf("%3d s\n", at_s);
        s->said_s = at_s;
    }
    (void)fflush(stdout);
}

static void show_moment(struct show *s)
{
    char text[DEMONSTRATE_SCREEN_BYTES];
    if (s->keys != NULL) {
        demonstrate_screen_format(&s->play, &s->state, text);
        screen_draw(&s->shown, text);
    } else {
        say_lines(s);
    }
    for (size_t i = s->play.fresh; s->state.marks && i < s->play.next; i++) {
        demonstrate_log_add(&s->log, s->d->start_s + s->d->marks[i].at_s,
                            s->d->marks[i].is_s2);
    }
}

static bool over(const struct show *s)
{
    const bool ends = s->plan->once || s->keys == NULL;
    return s->stop || s->play.lost || interrupt_asked() || (ends && s->play.ended) ||
           (s->plan->once && s->play.rounds > 0);
}

static void go(struct show *s)
{
    if (isfinite(s->plan->loop_s[0])) {
        (void)demonstrate_play_loop(&s->play, s->plan->loop_s[0], s->plan->loop_s[1]);
    }
    demonstrate_play_click(&s->play, s->plan->click);
    demonstrate_play_go(&s->play);
    while (!over(s)) {
        demonstrate_play_step(&s->play);
        show_moment(s);
        if (!over(s)) {
            wait_a_little(s);
        }
    }
    demonstrate_play_pause(&s->play);
}

static bool set_up(struct show *s, app_err *err)
{
    screen_open(&s->shown);
    if (!s->plan->terminal || s->shown.kept < 0) {
        screen_close(&s->shown);
        s->shown = (screen){.to = stderr, .kept = -1};
        return true;
    }
    s->keys = live_keys_open(screen_descriptor(&s->shown), err);
    if (s->keys != NULL) {
        screen_begin(&s->shown);
        return true;
    }
    screen_close(&s->shown);
    return false;
}

static void say_first(const struct show *s)
{
    if (!s->plan->marks) {
        (void)puts(s->state.name);
    }
    (void)printf("%s\n", demonstrate_screen_origin(s->d));
    if (s->plan->request.small_speaker) {
        (void)puts("Small speaker: sound made higher, timing unchanged");
    }
}

static int outcome(const struct show *s, app_err *err)
{
    if (s->play.lost) {
        (void)app_err_set(
            err, APP_FAILED,
            "the sound output is gone or has stopped, at %.1f s; see that "
            "it is plugged in, then start again (see fullminute sources)",
            demonstrate_play_at_s(&s->play));
        return APP_FAILED;
    }
    return interrupt_asked() ? APP_INTERRUPTED : APP_DONE;
}

/* With the output open and everything loaded. */
static int perform(const demonstrate_plan *plan,
                   const demonstration *d,
                   player *p,
                   app_err *err)
{
    char text[DEMONSTRATE_SCREEN_BYTES];
    char number[BLIND_NAME_BYTES];
    const char *const path = plan->request.path;
    struct output o = {p, (double)NAN};
    const demonstrate_output out = output_of(&o);
    struct show s = {.plan = plan, .d = d, .log = DEMONSTRATE_LOG_NONE};
    s.state = (demonstrate_screen_state){.name = plan->marks ? file_base_name(path)
                                                             : blind_name(path, number),
                                         .marks = plan->marks,
                                         .short_counts = plan->short_counts,
                                         .small_speaker = plan->request.small_speaker,
                                         .loop_from_s = (double)NAN,
                                         .note = s.note};
    if (!demonstrate_log_open(&s.log, plan->log_path, plan->force, err)) {
        return err->code;
    }
    demonstrate_play_init(&s.play, d, &out);
    int status = APP_FAILED;
    if (set_up(&s, err)) {
        const bool plain = s.keys == NULL;
        if (plain) {
            say_first(&s);
        }
        go(&s);
        live_keys_close(s.keys);
        if (!plain) {
            screen_close(&s.shown);
        }
        status = outcome(&s, err);
        if (s.state.short_counts && plain) {
            demonstrate_screen_short_counts(d, text);
            (void)fputs(text, stdout);
        }
    }
    app_err log_err = APP_ERR_NONE;
    if (!demonstrate_log_close(&s.log, &log_err) && err->text[0] == '\0') {
        *err = log_err;
        status = APP_FAILED;
    }
    return status;
}

/* A loop that is not inside is known only now. */
static bool check_loop(const demonstrate_plan *plan,
                       const demonstration *d,
                       app_err *err)
{
    return !isfinite(plan->loop_s[0]) || plan->loop_s[1] <= d->seconds + 1e-6 ||
           app_err_set(err, APP_USAGE,
                       "--loop %g-%g: what is played is %.1f s long; its times count "
                       "from its own start",
                       plan->loop_s[0], plan->loop_s[1], d->seconds);
}

static int with_output(const demonstrate_plan *plan,
                       const device *output,
                       bool *hung,
                       app_err *err)
{
    demonstration d;
    demonstrate_request request = plan->request;
    request.rate_hz = output->default_rate_hz >= RATE_LEAST_HZ ? output->default_rate_hz
                                                               : RATE_USUAL_HZ;
    if (!demonstration_load(&request, &d, err)) {
        return err->code;
    }
    int status = APP_USAGE;
    if (check_loop(plan, &d, err)) {
        status = APP_FAILED;
        player *const p = player_open(output->index, request.rate_hz, err);
        if (p != NULL) {
            status = perform(plan, &d, p, err);
            *hung = !player_close(p);
        }
    }
    if (!*hung) { /* an output that hangs may still read what it plays */
        demonstration_free(&d);
    }
    return status;
}

int demonstrate_run(const demonstrate_plan *plan, app_err *err)
{
    devices list;
    bool hung = false;
    int status = APP_FAILED;
    if (!devices_open(&list, false, err)) {
        return APP_FAILED;
    }
    const device *const output = devices_find(&list, plan->output, true, err);
    if (output != NULL) {
        status = with_output(plan, output, &hung, err);
    } else {
        status = err->code;
    }
    live_run_leave(hung, status, err);
    devices_close(&list);
    return status;
}
