#include "src/command/live_run.h"

#include "src/base/text.h"
#include "src/command/command.h"
#include "src/command/live_keys.h"
#include "src/command/live_screen.h"
#include "src/command/own_ask.h"
#include "src/command/say.h"
#include "src/command/screen.h"
#include "src/port/interrupt.h"
#include "src/port/steady.h"
#include "src/usecase/sitting_windows.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

const field_word live_run_listen_words[] = {
    {"headphones", true}, {"stethoscope", false}, {NULL, 0}};

enum {
    KEYS_AT_ONCE = 64,
    DIGITS_MAX = 4,
    NOTHING_TYPED = -1, /* no number that anybody enters */
    NOTE_BYTES = APP_ERR_TEXT_BYTES + 64,
    PERSON_BYTES = 512
};

static const double STEP_S = 0.05;
static const double STEP_MARKS_S = 0.02;
/* A key held down repeats far faster than anybody taps. */
static const double REPEAT_S = 0.12;

/* One sitting on the screen. */
struct loop {
    const live_plan *plan;
    live_sitting *sitting;
    live_keys *keys;
    screen shown;
    bool raw;
    bool ended_input;
    bool stop;  /* the person ended it */
    bool again; /* in a new recording */
    char typed[OWN_ASK_TYPED + 1];
    own_count own;                /* as far as it is entered */
    const own_question *question; /* beside the number; NULL: the number itself */
    int n_asked;
    char ask[OWN_ASK_BYTES];
    char note[NOTE_BYTES];
    char person[PERSON_BYTES]; /* what a number entered asks for, while all is sealed */
    char said[LIVE_SCREEN_BYTES]; /* the last line, where there is no terminal */
    double last_key_s;
};

bool live_run_check(const options *o, const live_plan *plan, bool live, app_err *err)
{
    static const char *const NAMES[] = {"input",  "input-channel", "gain", "recording",
                                        "listen", "no-ticks",      NULL};
    const char *const alone = live ? NULL : options_first_of(o, NAMES);
    if (alone != NULL) {
        return app_err_set(err, APP_USAGE, "--%s goes with --live", alone);
    }
    const char *const path = plan->recording;
    const size_t n = path != NULL ? strlen(path) : 0;
    if (path != NULL && (n < 5 || strcmp(path + n - 4, ".wav") != 0)) {
        return app_err_set(err, APP_USAGE,
                           "--recording %s: a live recording is a WAV file; give a "
                           "name that ends in .wav",
                           path);
    }
    if (live && o->n_operands > 0) {
        return app_err_set(
            err, APP_USAGE,
            "--live listens at an input and reads no file; leave out %s, "
            "or --live, or give --input file:%s to try a sitting with it",
            o->operands[0], o->operands[0]);
    }
    return true;
}

static live_screen_state screen_state(struct loop *l, const live_view *view)
{
    const char *const ask =
        l->question != NULL ? own_question_say(l->question, l->ask) : NULL;
    return (live_screen_state){.checked = l->plan->checked,
                               .marks = l->plan->marks,
                               .until_stopped = l->plan->until_stopped,
                               .breath_next = l->plan->pulse && l->plan->breath,
                               .watches_first = view->watched,
                               .person = l->person,
                               .ask = ask,
                               .named = l->plan->recording != NULL,
                               .typed = l->typed,
                               .note = l->note};
}

/* Only when something has changed. */
static void draw(struct loop *l, const live_view *view)
{
    char text[LIVE_SCREEN_BYTES];
    const live_screen_state state = screen_state(l, view);
    if (l->raw) {
        live_screen_format(view, &state, text);
        screen_draw(&l->shown, text);
        return;
    }
    live_screen_line(view, &state, text);
    if (strcmp(text, l->said) != 0) {
        memcpy(l->said, text, sizeof text);
        (void)fputs(text, l->shown.to);
    }
}

/* ---- Keys ---- */

/* The number again, with what is wrong. */
static void ask_again(struct loop *l, const char *note)
{
    live_screen_wrap(note, l->note, sizeof l->note);
    l->question = NULL;
    l->n_asked = 0;
    if (!l->raw) {
        (void)fputs(l->note, l->shown.to);
        l->said[0] = '\0';
    }
}

static void store(struct loop *l)
{
    char note[NOTE_BYTES];
    app_err err = APP_ERR_NONE;
    live_view view;
    const bool stored = live_sitting_enter(l->sitting, &l->own, &err);
    l->own = own_count_of(NOTHING_TYPED);
    if (!stored) {
        (void)snprintf(note, sizeof note, "Not stored: ");
        text_add(note, sizeof note, "%s.", err.text);
        ask_again(l, note);
        return;
    }
    l->note[0] = '\0';
    l->question = NULL;
    l->n_asked = 0;
    live_sitting_get_view(l->sitting, &view);
    live_screen_wrap(view.person, l->person, sizeof l->person);
    if (!l->raw) {
        (void)fputs(l->person, l->shown.to);
    }
}

/* The next question beside the number; the last answered, it is stored. Lines out of a pipe
 * are numbers alone. */
static void go_on(struct loop *l, taking_entry of)
{
    l->question = l->raw ? own_question_at(of, l->n_asked++) : NULL;
    if (l->question == NULL) {
        store(l);
    }
}

static void take_typed(struct loop *l)
{
    char note[NOTE_BYTES];
    app_err err = APP_ERR_NONE;
    live_view view;
    live_sitting_get_view(l->sitting, &view);
    if (l->question == NULL) {
        if (own_ask_number(view.entry, l->typed, view.seconds, true, &l->own, note,
                           sizeof note)) {
            l->note[0] = '\0';
            go_on(l, view.entry);
        } else {
            ask_again(l, note);
        }
    } else if (own_question_take(l->question, l->typed, &l->own.words, &err)) {
        l->note[0] = '\0';
        go_on(l, view.entry);
    } else {
        live_screen_wrap(err.text, l->note, sizeof l->note);
    }
    l->typed[0] = '\0';
}

static void type(struct loop *l, int byte)
{
    const size_t n = strlen(l->typed);
    const size_t most = l->question == NULL ? DIGITS_MAX : OWN_ASK_TYPED;
    if (byte == '\r' || byte == '\n') {
        take_typed(l);
    } else if ((byte == 127 || byte == 8) && n > 0) {
        l->typed[n - 1] = '\0';
    } else if (byte > ' ' && byte < 127 && n < most) {
        l->typed[n] = (char)byte;
        l->typed[n + 1] = '\0';
    }
}

static void press(struct loop *l, const live_key *key, const live_view *view)
{
    const bool enter = key->byte == '\r' || key->byte == '\n';
    const bool again = key->byte == 'n' || key->byte == 'N';
    const bool held = key->monotonic_s - l->last_key_s < REPEAT_S;
    l->last_key_s = key->monotonic_s;
    switch (view->phase) {
    case TAKING_SETTLING:
        if (enter) {
            live_sitting_start(l->sitting);
        }
        break;
    case TAKING_RUNNING:
        if (again && (view->missing_s > 0.0 || view->stalled)) {
            live_sitting_again(l->sitting);
        } else if (!l->plan->checked && (key->byte == 'q' || enter)) {
            live_sitting_stop(l->sitting);
        } else if (!held && key->byte < LIVE_KEY_OTHER) {
            live_sitting_tap(l->sitting, key->monotonic_s);
        }
        break;
    case TAKING_GAPPED:
        if (again) {
            live_sitting_again(l->sitting);
        } else if (key->byte == 'y' || key->byte == 'Y') {
            live_sitting_keep_moved(l->sitting);
        } else if (key->byte == 's' || key->byte == 'S') {
            live_sitting_keep_still(l->sitting);
        } else if (enter) {
            live_sitting_keep(l->sitting);
        }
        break;
    case TAKING_ENTRY:
        type(l, key->byte);
        break;
    case TAKING_BROKEN:
        l->again = again && l->plan->recording == NULL;
        l->stop = l->again || enter;
        break;
    default:
        break;
    }
}

/* Lines that wait in a pipe are for the entries; nothing of them is used before. */
static void read_lines(struct loop *l, const live_view *view)
{
    live_key key;
    if (view->phase == TAKING_SETTLING) {
        live_sitting_start(l->sitting);
    } else if (view->phase == TAKING_GAPPED) {
        live_sitting_keep(l->sitting);
    } else if (view->phase == TAKING_BROKEN) {
        l->stop = true;
    }
    if (view->phase != TAKING_ENTRY) {
        steady_wait_s(STEP_S);
        return;
    }
    if (live_keys_take(l->keys, &key, 1, STEP_S) == 1) {
        if (key.byte == LIVE_KEY_END) {
            l->ended_input = true;
        } else {
            type(l, key.byte);
        }
    }
}

static void read_keys(struct loop *l)
{
    live_key keys[KEYS_AT_ONCE];
    live_view view;
    const size_t n = live_keys_take(l->keys, keys, KEYS_AT_ONCE,
                                    l->plan->marks ? STEP_MARKS_S : STEP_S);
    for (size_t i = 0; i < n; i++) {
        if (keys[i].byte == LIVE_KEY_END) {
            l->ended_input = true; /* the terminal is gone */
            return;
        }
        live_sitting_get_view(l->sitting, &view);
        press(l, &keys[i], &view);
    }
}

static live_outcome go(struct loop *l)
{
    live_view view;
    for (;;) {
        live_sitting_step(l->sitting);
        live_sitting_get_view(l->sitting, &view);
        draw(l, &view);
        if (interrupt_asked()) {
            live_sitting_stop(l->sitting);
            return LIVE_OUTCOME_STOPPED;
        }
        if (view.phase == TAKING_COUNTING) {
            return LIVE_OUTCOME_COMPLETE;
        }
        if (l->ended_input) {
            return LIVE_OUTCOME_NOT_ENTERED;
        }
        if (l->stop || view.phase == TAKING_ENDED) {
            return LIVE_OUTCOME_STOPPED;
        }
        if (l->raw) {
            read_keys(l);
        } else {
            read_lines(l, &view);
        }
    }
}

/* The seal's first sentence, once, before anything is recorded. */
static void say_first(const struct loop *l)
{
    if (l->raw) {
        screen_begin(&l->shown);
    } else {
        (void)fputs("Ask the person before you record. The sound stays on this "
                    "computer.\n",
                    l->shown.to);
    }
}

static live_outcome sit(struct loop *l, char **path, bool *hung, app_err *err)
{
    live_outcome outcome = LIVE_OUTCOME_FAILED;
    l->keys = live_keys_open(screen_descriptor(&l->shown), err);
    if (l->keys != NULL) {
        l->raw = live_keys_raw(l->keys);
        say_first(l);
        outcome = go(l);
    }
    *path = strdup(live_sitting_path(l->sitting));
    live_keys_close(l->keys);
    app_err closing = APP_ERR_NONE;
    if (!live_sitting_close(l->sitting, hung, &closing)) {
        *err = closing;
        outcome = LIVE_OUTCOME_FAILED;
    }
    return outcome;
}

live_outcome live_run(const live_plan *plan, char **path, bool *hung, app_err *err)
{
    live_outcome outcome = LIVE_OUTCOME_FAILED;
    struct loop l;
    *path = NULL;
    do {
        l = (struct loop){.plan = plan, .own = own_count_of(NOTHING_TYPED)};
        free(*path);
        *path = NULL;
        l.sitting = live_sitting_open(plan, err);
        if (l.sitting == NULL) {
            return LIVE_OUTCOME_FAILED;
        }
        screen_open(&l.shown);
        outcome = sit(&l, path, hung, err);
        screen_close(&l.shown);
    } while (l.again && !*hung && plan->recording == NULL &&
             outcome == LIVE_OUTCOME_STOPPED);
    return outcome;
}

/* A checked sitting is gone on with where it holds something entered or to be entered. */
static bool can_be_checked(const char *path)
{
    app_err ignored = APP_ERR_NONE;
    sitting_document d = sitting_document_none();
    bool found = false;
    const bool can = sitting_windows_find(path, &d, &found, &ignored) && found &&
                     (sitting_document_window(&d, SITTING_PULSE) != NULL ||
                      sitting_document_window(&d, SITTING_BREATH) != NULL);
    sitting_document_free(&d);
    return can;
}

void live_run_say(const char *command, live_outcome outcome, const char *path)
{
    if (path == NULL) {
        return;
    }
    say_named(stderr, "The recording is ", path, "\n");
    if (outcome == LIVE_OUTCOME_STOPPED || outcome == LIVE_OUTCOME_NOT_ENTERED) {
        const bool counted = strcmp(command, "check") == 0 && !can_be_checked(path);
        (void)fprintf(stderr, "%s: fullminute %s ",
                      counted
                          ? "It holds no whole minute to enter a count for. To count "
                            "what there is"
                          : "To go on with it",
                      counted ? "count" : command);
        say_line(path, stderr);
    }
}

void live_run_leave(bool hung, int status, app_err *err)
{
    if (!hung) {
        return;
    }
    (void)fflush(stdout);
    if (err->text[0] != '\0') {
        app_err_word(err, TERMINAL_HINTS);
        say_named(stderr, "fullminute: ", err->text, "\n");
    }
    (void)fflush(stderr);
    _exit(err->text[0] != '\0' ? err->code : status);
}
