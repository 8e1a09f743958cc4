#include "src/command/live_screen.h"

#include "src/base/text.h"

#include <math.h>
#include <string.h>

enum {
    BAR = 40,
    STRIP = 56 /* columns of the marks' strip */
};
static const double STRIP_S = 7.0;

#define TROUBLE                                                                        \
    "Stop counting if the person is in trouble: see to them and\n"                     \
    "call for help.\n"

#define ADD(out, ...) text_add((out), LIVE_SCREEN_BYTES, __VA_ARGS__)

static const char *title(const live_view *v)
{
    return v->kind == SITTING_PULSE ? "pulse" : "respirations";
}

static void add_level(const live_view *v, char out[LIVE_SCREEN_BYTES])
{
    if (!isfinite(v->level_dbfs)) {
        ADD(out, "Sound    listening for three seconds ...\n");
        return;
    }
    ADD(out, "Sound    %.0f dB   %s\n", v->level_dbfs,
        v->advice[0] == '\0' ? "good" : "");
    if (v->advice[0] != '\0') {
        ADD(out, "         %s\n", v->advice);
    }
}

static void add_settling(const live_view *v, char out[LIVE_SCREEN_BYTES])
{
    if (v->watched) {
        ADD(out, "An infant: the chest piece stays off. Asleep or calm,\n"
                 "before anyone touches: watch chest and belly for a minute\n"
                 "by the clock. One rise and one fall is one. This minute\n"
                 "has no second count.\n\n");
    } else if (v->kind == SITTING_PULSE) {
        ADD(out, "Ask the person before you record. The sound stays here.\n"
                 "Put the chest piece in place and hold it still.\n\n");
    } else {
        ADD(out, "Leave your hand and the chest piece where they are and say\n"
                 "nothing. Now the respirations: one rise and one fall of\n"
                 "the chest is one.\n\n");
    }
    add_level(v, out);
    if (v->stalled) {
        ADD(out, "\nNo sound is coming from the input. Waiting for it.\n");
    } else if (v->can_start) {
        ADD(out, "\nEnter    start: three ticks, then the %s\n",
            v->seconds == 60 ? "minute" : "seconds");
    }
    ADD(out, TROUBLE "Ctrl-C   end; what was recorded is kept\n");
}

static void add_lead_in(const live_view *v, char out[LIVE_SCREEN_BYTES])
{
    const int whole = (int)ceil(v->left_s);
    const int left = whole < 1 ? 1 : whole > 3 ? 3 : whole;
    ADD(out, "Get ready. %s in\n\n          %d\n",
        v->seconds == 60 ? "The minute starts" : "The seconds start", left);
    if (!v->ticks) {
        ADD(out, "\nThe ticks cannot be heard; watch the number.\n");
    }
}

static void add_clock(const live_view *v, char out[LIVE_SCREEN_BYTES])
{
    char bar[BAR + 1];
    const double share = v->elapsed_s / (double)v->seconds;
    const int full = (int)floor(fmin(1.0, share) * BAR);
    memset(bar, '.', BAR);
    memset(bar, '=', (size_t)full);
    bar[BAR] = '\0';
    ADD(out, "%3d s of %d   %s\n\n", (int)floor(v->elapsed_s), v->seconds, bar);
}

/* S1 as a bar, S2 as a dot, a sound that is not named as a colon; the newest at the right. */
static void add_marks(const live_view *v, char out[LIVE_SCREEN_BYTES])
{
    char strip[STRIP + 1];
    memset(strip, ' ', STRIP);
    strip[STRIP] = '\0';
    for (int i = 0; i < v->n_marks; i++) {
        const double age_s = v->now_s - v->marks[i].time_s;
        const int at = STRIP - 1 - (int)floor(age_s / STRIP_S * STRIP);
        if (at >= 0 && at < STRIP) {
            strip[at] = "|.:"[v->marks[i].kind];
        }
    }
    ADD(out, "%s\n", strip);
    ADD(out, "| first sound  . second  : one or the other (the last 7 s)\n");
    ADD(out, "For teaching: not sealed, and a mark may be wrong.\n\n");
}

static void add_running(const live_view *v,
                        const live_screen_state *state,
                        char out[LIVE_SCREEN_BYTES])
{
    add_clock(v, out);
    if (state->marks) {
        add_marks(v, out);
    } else if (state->checked) {
        ADD(out, "%s\n\n",
            v->kind == SITTING_PULSE
                ? "Count every beat. You may tap the space bar at each."
            : v->watched ? "Watch: count every breath. The chest piece stays off."
                         : "Count every breath. You may tap the space bar at each.");
    }
    add_level(v, out);
    if (v->stalled) {
        ADD(out, "\nNo sound is coming from the input. n: begin again later\n");
    } else if (v->missing_s > 0.0) {
        ADD(out, "\n%.1f s of sound are missing: not a full minute.\n", v->missing_s);
        ADD(out, "n        begin a new one now\n");
    }
    ADD(out, "\n" TROUBLE "%s",
        state->checked ? "" : "q        stop and count what there is\n");
    ADD(out, "Ctrl-C   end; what was recorded is kept\n");
}

static void add_entry(const live_view *v,
                      const live_screen_state *state,
                      char out[LIVE_SCREEN_BYTES])
{
    const bool second = v->entry == TAKING_SECOND;
    if (state->ask != NULL) {
        ADD(out,
            "Before it is stored:\n\n%s\n%s_\n\n%s\nEnter    go on; nothing typed: "
            "not said\n",
            state->ask, state->typed, state->note);
        return;
    }
    if (second) {
        ADD(out, "Stop. Now the second examiner, at the wrist.\n"
                 "What the first one entered is hidden.\n\n");
    } else {
        ADD(out, "Stop. How many %s did you count?\n\n",
            v->entry == TAKING_BREATH ? "respirations" : "beats");
    }
    ADD(out, "%s in %d s: %s_\n", second ? "Beats at the wrist" : "Your count",
        v->seconds, state->typed);
    ADD(out, "\n%s\n", state->note);
    ADD(out, "Enter    enter it; nothing is counted here before it is\n"
             "         stored\n"
             "c        Enter: you could not count, which is an answer\n");
    if (v->entry != TAKING_BREATH && state->breath_next && !state->watches_first) {
        ADD(out, "         Respirations come next, then both are shown.\n");
    } else if (v->watched) {
        ADD(out, "         The pulse comes next, then it is shown.\n");
    }
}

static void add_gapped(const live_view *v, char out[LIVE_SCREEN_BYTES])
{
    if (v->missing_s > 0.0) {
        ADD(out, "%.1f s of sound are missing: not a full minute.\n\n", v->missing_s);
    } else {
        ADD(out,
            "From %.0f s to %.0f s nothing was heard: not a full\n"
            "minute. Did the chest piece move?\n\n",
            floor(v->lost_start_s), ceil(v->lost_start_s + v->lost_length_s));
    }
    ADD(out, "n        a new minute\n");
    if (v->lost_length_s > 0.0) {
        ADD(out, "y        it moved: go on with this one\n"
                 "s        it stayed: go on with this one\n");
    }
    ADD(out, "Enter    go on with this one\n");
}

/* However long it is. */
static void add_trouble(const live_view *view, char out[LIVE_SCREEN_BYTES])
{
    char wrapped[LIVE_SCREEN_BYTES / 2];
    live_screen_wrap(view->trouble, wrapped, sizeof wrapped);
    ADD(out, "%s", wrapped);
}

void live_screen_format(const live_view *view,
                        const live_screen_state *state,
                        char out[LIVE_SCREEN_BYTES])
{
    out[0] = '\0';
    ADD(out, "fullminute  live %s%s", title(view),
        state->checked ? ", sealed until your entry" : "");
    if (state->until_stopped) {
        ADD(out, ", window %d", view->window);
    }
    ADD(out, "\n\n%s", state->person);
    switch (view->phase) {
    case TAKING_SETTLING:
        add_settling(view, out);
        break;
    case TAKING_LEAD_IN:
        add_lead_in(view, out);
        break;
    case TAKING_RUNNING:
        add_running(view, state, out);
        break;
    case TAKING_GAPPED:
        add_gapped(view, out);
        break;
    case TAKING_ENTRY:
        add_entry(view, state, out);
        break;
    case TAKING_TAIL:
        ADD(out, "Hold still a moment longer.\n");
        break;
    case TAKING_BROKEN:
        add_trouble(view, out);
        ADD(out, "%sEnter    end\n",
            state->named ? "" : "n        begin again, in a new recording\n");
        return;
    default:
        ADD(out, "Counting ...\n");
        break;
    }
    if (view->trouble[0] != '\0') {
        ADD(out, "\n");
        add_trouble(view, out);
    }
}

void live_screen_wrap(const char *text, char *out, size_t bytes)
{
    size_t n = 0;
    for (const char *at = text; *at != '\0'; at += strspn(at, " ")) {
        const size_t length = text_line(at, LIVE_SCREEN_COLUMNS);
        if (n + length + 3 > bytes) {
            break;
        }
        memcpy(out + n, at, length);
        n += length;
        out[n++] = '\n';
        at += length;
    }
    memcpy(out + n, n > 0 ? "\n" : "", n > 0 ? 2 : 1);
}

void live_screen_line(const live_view *view,
                      const live_screen_state *state,
                      char out[LIVE_SCREEN_BYTES])
{
    (void)state;
    out[0] = '\0';
    switch (view->phase) {
    case TAKING_SETTLING:
        ADD(out,
            view->watched ? "watching: %s, the chest piece off; no second count\n"
                          : "listening: %s\n",
            title(view));
        break;
    case TAKING_LEAD_IN:
        ADD(out, "three ticks, then %d s of %s\n", view->seconds, title(view));
        break;
    case TAKING_RUNNING:
        ADD(out, "counting time: %s, window %d\n", title(view), view->window);
        break;
    case TAKING_GAPPED:
        if (view->missing_s > 0.0) {
            ADD(out, "%.1f s of sound are missing: not a full minute\n",
                view->missing_s);
        } else {
            ADD(out, "from %.0f s to %.0f s nothing was heard: not a full minute\n",
                floor(view->lost_start_s),
                ceil(view->lost_start_s + view->lost_length_s));
        }
        break;
    case TAKING_ENTRY:
        ADD(out, "%s",
            view->entry == TAKING_PULSE    ? "your count of beats: "
            : view->entry == TAKING_SECOND ? "the second examiner's, at the wrist: "
                                           : "your count of respirations: ");
        break;
    case TAKING_BROKEN:
        ADD(out, "%s\n", view->trouble);
        break;
    default:
        break;
    }
}
