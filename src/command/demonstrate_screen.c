#include "src/command/demonstrate_screen.h"

#include "src/base/text.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

enum {
    STRIP = 54,
    STRIP_ROWS = 3,
    STRIP_STEPS = 2 * STRIP_ROWS, /* a row is half or wholly filled */
    COLUMNS_A_SECOND = 9,
    STRIP_S = STRIP / COLUMNS_A_SECOND,
    SECONDS = 60,
    RING_WIDE = 22, /* 22 cells above and below and 8 at either side: 60 */
    RING_HIGH = 10,
    DIAL_LEFT = 3,
    DIAL_WIDE = RING_WIDE + 2 * DIAL_LEFT,
    DIAL_ROWS = RING_HIGH + 2,
    PANE_WIDE = DEMONSTRATE_SCREEN_COLUMNS - DIAL_WIDE - 1
};

/* Right of the dial, row by row. */
struct pane {
    char rows[DIAL_ROWS][PANE_WIDE + 1];
    int n;
};

static void say(struct pane *pane, const char *format, ...) APP_PRINTF_LIKE(2, 3);

#define ADD(out, ...) text_add((out), DEMONSTRATE_SCREEN_BYTES, __VA_ARGS__)

static void say(struct pane *pane, const char *format, ...)
{
    va_list args;
    if (pane->n < DIAL_ROWS) {
        va_start(args, format);
        (void)vsnprintf(pane->rows[pane->n++], PANE_WIDE + 1, format, args);
        va_end(args);
    }
}

/* A name of any bytes, without what could move the cursor. */
static void add_name(const char *name, char out[DEMONSTRATE_SCREEN_BYTES])
{
    char clean[DEMONSTRATE_SCREEN_COLUMNS - 25];
    size_t n = 0;
    for (; name[n] != '\0' && n + 1 < sizeof clean; n++) {
        clean[n] = '?';
        if (name[n] >= ' ' && name[n] < 127) {
            clean[n] = name[n];
        }
    }
    clean[n] = '\0';
    ADD(out, "fullminute  demonstrate  %s\n\n", clean);
}

/* ---- The strip ---- */

static float loudest(const demonstration *d, double from_s, double to_s)
{
    float most = 0.0F;
    for (size_t i = (size_t)(from_s * DEMONSTRATE_ENVELOPE_HZ);
         i < (size_t)(to_s * DEMONSTRATE_ENVELOPE_HZ) && i < d->n_envelope; i++) {
        most = fmaxf(most, d->envelope[i]);
    }
    return most;
}

static void draw_loudness(const demonstration *d,
                          double page_s,
                          char rows[STRIP_ROWS][STRIP + 1])
{
    for (int c = 0; c < STRIP; c++) {
        const double from_s = page_s + (double)c / COLUMNS_A_SECOND;
        const float most = loudest(d, from_s, from_s + 1.0 / COLUMNS_A_SECOND);
        /* the root: soft sounds are to be seen too */
        const int steps = (int)lround(sqrt((double)most) * STRIP_STEPS);
        for (int r = 0; r < STRIP_ROWS; r++) {
            const int above = steps - 2 * (STRIP_ROWS - 1 - r);
            rows[r][c] = (char)(above >= 2 ? '#' : above == 1 ? '.' : ' ');
        }
    }
}

static void draw_marks(const demonstrate_play *p, double page_s, char row[STRIP + 1])
{
    for (size_t i = 0; i < p->next; i++) {
        const demonstrate_mark *const m = &p->d->marks[i];
        const int c = (int)floor((m->at_s - page_s) * COLUMNS_A_SECOND);
        if (c >= 0 && c < STRIP && !(m->is_s2 && row[c] != ' ')) {
            row[c] = (char)(m->is_s2 ? '.' : m->unheard ? 'o' : '|');
        }
    }
}

static void draw_scale(double page_s, char row[STRIP + 8])
{
    memset(row, ' ', STRIP + 7);
    for (int s = 0; s < STRIP_S; s++) {
        char number[8];
        const int n = snprintf(number, sizeof number, "%d", (int)page_s + s);
        memcpy(row + (ptrdiff_t)s * COLUMNS_A_SECOND, number, (size_t)n);
    }
    memcpy(row + STRIP - 1, "s", 2);
}

static void add_strip(const demonstrate_play *p,
                      bool marks,
                      char out[DEMONSTRATE_SCREEN_BYTES])
{
    char rows[STRIP_ROWS][STRIP + 1];
    char marked[STRIP + 1];
    char scale[STRIP + 8];
    const double at_s = demonstrate_play_at_s(p);
    const double last_s = fmax(0.0, p->d->seconds - 1e-9);
    const double page_s = floor(fmin(at_s, last_s) / STRIP_S) * STRIP_S;
    const int hairline =
        (int)fmin(floor((at_s - page_s) * COLUMNS_A_SECOND), STRIP - 1);
    memset(marked, ' ', STRIP);
    marked[STRIP] = '\0';
    for (int r = 0; r < STRIP_ROWS; r++) {
        memset(rows[r], ' ', STRIP);
        rows[r][STRIP] = '\0';
    }
    if (marks) {
        draw_loudness(p->d, page_s, rows);
        draw_marks(p, page_s, marked);
    }
    for (int r = 0; r < STRIP_ROWS; r++) {
        rows[r][hairline] = '!';
        ADD(out, "  %s\n", rows[r]);
    }
    draw_scale(page_s, scale);
    ADD(out, "  %s\n  %s\n\n", marked, scale);
}

/* ---- The dial ---- */

/* Where a second stands: clockwise round a ring whose top has 0 in its middle. */
static void ring_cell(int second, int *row, int *column)
{
    const int right = RING_WIDE / 2;     /* cells from 0 to the corner: 0..10 */
    const int side = RING_HIGH - 2;      /* 11..18 */
    const int bottom = right + side;     /* 19..40 */
    const int left = bottom + RING_WIDE; /* 41..48 */
    const int top = left + side;         /* 49..59 */
    *row = second < right || second >= top ? 0
           : second < bottom               ? second - right + 1
           : second < left                 ? RING_HIGH - 1
                                           : RING_HIGH - 2 - (second - left);
    *column = second < right    ? right + second
              : second < bottom ? RING_WIDE - 1
              : second < left   ? RING_WIDE - 1 - (second - bottom)
              : second < top    ? 0
                                : second - top;
}

static void draw_number(char rows[DIAL_ROWS][DIAL_WIDE + 1], int second)
{
    char number[8];
    int r = 0;
    int c = 0;
    ring_cell(second, &r, &c);
    const int n = snprintf(number, sizeof number, "%d", second);
    const bool above = r == 0;
    const bool below = r == RING_HIGH - 1;
    const int row = above ? 0 : below ? DIAL_ROWS - 1 : r + 1;
    const int column = above || below ? DIAL_LEFT + c
                       : c > 0        ? DIAL_LEFT + RING_WIDE + 1
                                      : DIAL_LEFT - 1 - n;
    memcpy(&rows[row][column], number, (size_t)n);
}

/* Beats heard in a second: only those that have passed. */
static int heard_in(const demonstrate_play *p, int second)
{
    int n = 0;
    for (size_t i = 0; i < p->next; i++) {
        const demonstrate_mark *const m = &p->d->marks[i];
        n += !m->is_s2 && (int)floor(m->at_s) == second;
    }
    return n;
}

static char cell_of(const demonstrate_play *p, bool marks, int second)
{
    const double at_s = demonstrate_play_at_s(p);
    if (second >= (int)ceil(p->d->seconds)) {
        return ' ';
    }
    if ((double)second > at_s || (at_s <= 0.0 && !p->playing)) {
        return '.';
    }
    if (!marks || p->d->origin == DEMONSTRATE_NONE) {
        return '=';
    }
    const int n = heard_in(p, second);
    return (char)(n == 0 ? '-' : '0' + (n > 9 ? 9 : n));
}

static void add_dial(const demonstrate_play *p,
                     bool marks,
                     const struct pane *pane,
                     char out[DEMONSTRATE_SCREEN_BYTES])
{
    char rows[DIAL_ROWS][DIAL_WIDE + 1];
    for (int r = 0; r < DIAL_ROWS; r++) {
        memset(rows[r], ' ', DIAL_WIDE);
        rows[r][DIAL_WIDE] = '\0';
    }
    for (int s = 0; s < SECONDS; s++) {
        int r = 0;
        int c = 0;
        ring_cell(s, &r, &c);
        rows[r + 1][DIAL_LEFT + c] = cell_of(p, marks, s);
        if (s % 5 == 0) {
            draw_number(rows, s);
        }
    }
    for (int r = 0; r < DIAL_ROWS; r++) {
        ADD(out, "%s %s\n", rows[r], r < pane->n ? pane->rows[r] : "");
    }
}

/* ---- Words ---- */

const char *demonstrate_screen_origin(const demonstration *d)
{
    switch (d->origin) {
    case DEMONSTRATE_TRUTH:
        return "Marks: the truth beside it";
    case DEMONSTRATE_COUNT:
        return d->doubtful ? "Marks: counted, in doubt" : "Marks: counted from it";
    case DEMONSTRATE_NONE:
    default:
        return "No marks: not countable";
    }
}

static bool whole_minute(const demonstration *d)
{
    return d->seconds >= (double)SECONDS - 0.001;
}

static void say_short(struct pane *pane, const fm_short_count *s)
{
    const int times = SECONDS / s->seconds;
    if (s->n_windows == 0) {
        say(pane, "%d s x %d     -", s->seconds, times);
    } else if (s->max_per_min - s->min_per_min < 0.5) {
        say(pane, "%d s x %d     %.0f", s->seconds, times, s->min_per_min);
    } else {
        say(pane, "%d s x %d     %.0f to %.0f", s->seconds, times, s->min_per_min,
            s->max_per_min);
    }
}

static void say_short_counts(struct pane *pane, const demonstration *d)
{
    if (d->origin == DEMONSTRATE_NONE) {
        say(pane, "Not countable: no counts.");
        return;
    }
    say(pane, "By where you start:");
    say_short(pane, &d->short_counts[0]);
    say_short(pane, &d->short_counts[1]);
    if (whole_minute(d)) {
        say(pane, "Full minute  %d", d->beats);
    } else {
        say(pane, "All %.0f s     %d beats", d->seconds, d->beats);
    }
}

void demonstrate_screen_short_counts(const demonstration *d,
                                     char out[DEMONSTRATE_SCREEN_BYTES])
{
    struct pane pane = {.n = 0};
    say_short_counts(&pane, d);
    out[0] = '\0';
    for (int i = 0; i < pane.n; i++) {
        ADD(out, "%s\n", pane.rows[i]);
    }
}

static int beats_heard(const demonstrate_play *p)
{
    int n = 0;
    for (size_t i = 0; i < p->next; i++) {
        n += !p->d->marks[i].is_s2;
    }
    return n;
}

static void fill_pane(const demonstrate_play *p,
                      const demonstrate_screen_state *state,
                      struct pane *pane)
{
    const demonstration *const d = p->d;
    say(pane, "%4.1f s of %.0f   %s", demonstrate_play_at_s(p), d->seconds,
        p->lost      ? "output gone"
        : p->playing ? "playing"
        : p->ended   ? "at its end"
                     : "paused");
    if (!state->marks) {
        say(pane, "Marks hidden");
    } else {
        say(pane, "%s", demonstrate_screen_origin(d));
        if (d->origin != DEMONSTRATE_NONE) {
            say(pane, "Beats so far %d", beats_heard(p));
        }
    }
    if (p->looping) {
        say(pane, "Loop %.1f to %.1f s", (double)p->loop_from / d->rate_hz,
            (double)p->loop_to / d->rate_hz);
    } else if (isfinite(state->loop_from_s)) {
        say(pane, "Loop from %.1f s to ...", state->loop_from_s);
    }
    if (p->click) {
        say(pane, "Click on each first sound");
    }
    if (state->small_speaker) {
        say(pane, "Small speaker: sound made");
        say(pane, "higher, timing unchanged");
    }
    if (state->short_counts) {
        say(pane, "%s", "");
        say_short_counts(pane, d);
    }
}

void demonstrate_screen_format(const demonstrate_play *play,
                               const demonstrate_screen_state *state,
                               char out[DEMONSTRATE_SCREEN_BYTES])
{
    struct pane pane = {.n = 0};
    out[0] = '\0';
    add_name(state->name, out);
    add_strip(play, state->marks, out);
    fill_pane(play, state, &pane);
    add_dial(play, state->marks, &pane, out);
    ADD(out, "%s\n",
        state->note[0] != '\0' ? state->note
        : state->marks ? "| first sound  . second sound; dial: beats in each second"
                       : "");
    ADD(out, "space pause  arrows 5 s  [ ] loop  x no loop  m marks\n"
             "c click  r short counts  q end\n");
}
