#include "src/command/live_screen.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

enum {
    BAR = 40,
    STRIP = 56 /* columns of the marks' strip */
};
static const double STRIP_S = 7.0;

static void add(char out[LIVE_SCREEN_BYTES], const char *format, ...)
    __attribute__((format(printf, 2, 3)));

static void add(char out[LIVE_SCREEN_BYTES], const char *format, ...)
{
    const size_t n = strlen(out);
    va_list args;
    va_start(args, format);
    (void)vsnprintf(out + n, LIVE_SCREEN_BYTES - n, format, args);
    va_end(args);
}

static const char *title(const live_view *v)
{
    return v->kind == SITTING_PULSE ? "pulse" : "respirations";
}

static void add_level(const live_view *v, char out[LIVE_SCREEN_BYTES])
{
    if (!isfinite(v->level_dbfs)) {
        add(out, "Sound    listening for three seconds ...\n");
        return;
    }
    add(out, "Sound    %.0f dB   %s\n", v->level_dbfs,
        v->advice[0] == '\0' ? "good" : "");
    if (v->advice[0] != '\0') {
        add(out, "         %s\n", v->advice);
    }
}

static void add_settling(const live_view *v, char out[LIVE_SCREEN_BYTES])
{
    if (v->kind == SITTING_PULSE) {
        add(out, "Ask the person before you record. The sound stays here.\n"
                 "Put the chest piece in place and hold it still.\n\n");
    } else {
        add(out, "Leave your hand and the chest piece where they are and say\n"
                 "nothing. Now the respirations: one rise and one fall of\n"
                 "the chest is one.\n\n");
    }
    add_level(v, out);
    if (v->stalled) {
        add(out, "\nNo sound is coming from the input. Waiting for it.\n");
    } else if (v->can_start) {
        add(out, "\nEnter    start: three ticks, then the %s\n",
            v->seconds == 60 ? "minute" : "seconds");
    }
    add(out, "Ctrl-C   end; what was recorded is kept\n");
}

static void add_lead_in(const live_view *v, char out[LIVE_SCREEN_BYTES])
{
    const int whole = (int)ceil(v->left_s);
    const int left = whole < 1 ? 1 : whole > 3 ? 3 : whole;
    add(out, "Get ready. %s in\n\n          %d\n",
        v->seconds == 60 ? "The minute starts" : "The seconds start", left);
    if (!v->ticks) {
        add(out, "\nThe ticks cannot be heard; watch the number.\n");
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
    add(out, "%3d s of %d   %s\n\n", (int)floor(v->elapsed_s), v->seconds, bar);
}

/* S1 as a bar, S2 as a dot; the newest at the right. */
static void add_marks(const live_view *v, char out[LIVE_SCREEN_BYTES])
{
    char strip[STRIP + 1];
    memset(strip, ' ', STRIP);
    strip[STRIP] = '\0';
    for (int i = 0; i < v->n_marks; i++) {
        const double age_s = v->now_s - v->marks[i].time_s;
        const int at = STRIP - 1 - (int)floor(age_s / STRIP_S * STRIP);
        if (at >= 0 && at < STRIP) {
            strip[at] = v->marks[i].is_s2 ? '.' : '|';
        }
    }
    add(out, "%s\n", strip);
    add(out, "| first sound   . second sound   (the last 7 s)\n");
    add(out, "For teaching: not sealed, and a mark may be wrong.\n\n");
}

static void add_running(const live_view *v,
                        const live_screen_state *state,
                        char out[LIVE_SCREEN_BYTES])
{
    add_clock(v, out);
    if (state->marks) {
        add_marks(v, out);
    } else if (state->checked) {
        add(out, "%s\n\n",
            v->kind == SITTING_PULSE
                ? "Count every beat. You may tap the space bar at each."
                : "Count every breath. You may tap the space bar at each.");
    }
    add_level(v, out);
    if (v->stalled) {
        add(out, "\nNo sound is coming from the input. n: begin anew later\n");
    } else if (v->missing_s > 0.0) {
        add(out, "\n%.1f s of sound are missing: not a full minute.\n", v->missing_s);
        add(out, "n        begin a new one now\n");
    }
    add(out, "\n%s", state->checked ? "" : "q        stop and count what there is\n");
    add(out, "Ctrl-C   end; what was recorded is kept\n");
}

static void add_entry(const live_view *v,
                      const live_screen_state *state,
                      char out[LIVE_SCREEN_BYTES])
{
    switch (v->entry) {
    case LIVE_ENTRY_SECOND:
        add(out, "Stop. Now the second examiner, at the wrist.\n"
                 "What the first one entered is hidden.\n\n");
        add(out, "Beats at the wrist in %d s: %s_\n", v->seconds, state->typed);
        break;
    case LIVE_ENTRY_BREATH:
        add(out, "Stop. How many respirations did you count?\n\n");
        add(out, "Your count in %d s: %s_\n", v->seconds, state->typed);
        break;
    case LIVE_ENTRY_PULSE:
    default:
        add(out, "Stop. How many beats did you count?\n\n");
        add(out, "Your count in %d s: %s_\n", v->seconds, state->typed);
        break;
    }
    add(out, "\n%s\n", state->note);
    add(out, "Enter    store it; only then is anything counted here\n");
    if (v->entry != LIVE_ENTRY_BREATH && state->breath_next) {
        add(out, "         Respirations come next, then both are shown.\n");
    }
}

static void add_gapped(const live_view *v, char out[LIVE_SCREEN_BYTES])
{
    add(out, "%.1f s of sound are missing: not a full minute.\n\n", v->missing_s);
    add(out, "n        a new minute\nEnter    go on with this one\n");
}

void live_screen_format(const live_view *view,
                        const live_screen_state *state,
                        char out[LIVE_SCREEN_BYTES])
{
    out[0] = '\0';
    add(out, "fullminute  live %s%s", title(view),
        state->checked ? ", sealed until your entry" : "");
    if (state->until_stopped) {
        add(out, ", window %d", view->window);
    }
    add(out, "\n\n");
    switch (view->phase) {
    case LIVE_SETTLING:
        add_settling(view, out);
        break;
    case LIVE_LEAD_IN:
        add_lead_in(view, out);
        break;
    case LIVE_RUNNING:
        add_running(view, state, out);
        break;
    case LIVE_GAPPED:
        add_gapped(view, out);
        break;
    case LIVE_ENTRY:
        add_entry(view, state, out);
        break;
    case LIVE_ENDING:
        add(out, "Hold still a moment longer.\n");
        break;
    case LIVE_BROKEN:
        add(out, "%s\n\n", view->trouble);
        add(out, "%sEnter    end\n",
            state->named ? "" : "n        begin anew, in a new recording\n");
        return;
    case LIVE_DONE:
    default:
        add(out, "Counting ...\n");
        break;
    }
    if (view->trouble[0] != '\0') {
        add(out, "\n%s\n", view->trouble);
    }
}

void live_screen_line(const live_view *view,
                      const live_screen_state *state,
                      char out[LIVE_SCREEN_BYTES])
{
    (void)state;
    out[0] = '\0';
    switch (view->phase) {
    case LIVE_SETTLING:
        add(out, "listening: %s\n", title(view));
        break;
    case LIVE_LEAD_IN:
        add(out, "three ticks, then %d s of %s\n", view->seconds, title(view));
        break;
    case LIVE_RUNNING:
        add(out, "counting time: %s, window %d\n", title(view), view->window);
        break;
    case LIVE_GAPPED:
        add(out, "%.1f s of sound are missing: not a full minute\n", view->missing_s);
        break;
    case LIVE_ENTRY:
        add(out, "%s",
            view->entry == LIVE_ENTRY_PULSE    ? "your count of beats: "
            : view->entry == LIVE_ENTRY_SECOND ? "the second examiner's, at the wrist: "
                                               : "your count of respirations: ");
        break;
    case LIVE_BROKEN:
        add(out, "%s\n", view->trouble);
        break;
    case LIVE_ENDING:
    case LIVE_DONE:
    default:
        break;
    }
}
