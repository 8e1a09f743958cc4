#include "dsp/breath_search.h"

#include "dsp/breath_faint.h"
#include "dsp/peaks.h"

#include <math.h>
#include <stdlib.h>

/* Humps from half a breath at 70 a minute to a whole one at 5. */
static const double HUMP_MIN_S = 0.43;
static const double HUMP_MAX_S = 12.0;
static const double HUMP_STEP = 1.16;
/* The heart swings once a breath, not once a hump: 80 a minute, over any breath (ours). */
static const double HEART_HUMP_MIN_S = 0.75;
/* Limits of a breath, s: 72 and 4.6 a minute. */
static const double CYCLE_MIN_S = 0.83;
static const double CYCLE_MAX_S = 13.0;
/* What the heart shows once a beat cannot tell more than half as many breaths (Nyquist): more
 * are the mirror image of fewer. A little less, as neither goes quite evenly. */
static const double BEATS_MIN = 1.95;
/* A quarter of the breath silent before a hump counts as much as this share of the
 * loudest hump's height: expiration is followed by the pause (tuned on composed). */
static const double SILENCE_COUNTS = 0.5;
static const float HUMP_HEIGHT = 0.15f; /* tuned on composed */

static const unsigned SOUND =
    1U << FM_BREATH_LOW | 1U << FM_BREATH_MIDDLE | 1U << FM_BREATH_HIGH;
static const unsigned LOUDNESS = 1U << FM_BREATH_S1 | 1U << FM_BREATH_S2;
static const unsigned INTERVALS = 1U << FM_BREATH_INTERVAL;

enum {
    ROUNDS = 2,     /* of learning and following */
    HEARD_LEAST = 8 /* frames with a beat (ours) */
};

struct fm_breath_search {
    fm_track_frames frames;
    fm_track_model model;
    fm_track_path path;
    fm_track_memory memory;
    fm_faint_memory faint;
    double passing_s[FM_TRACK_CYCLES];
    double from_s;
    double to_s;
};

fm_breath_search *fm_breath_search_create(void)
{
    return calloc(1, sizeof(fm_breath_search));
}

void fm_breath_search_destroy(fm_breath_search *s)
{
    free(s);
}

/* Breaths a minute between the first and the last that begin in the window. */
static double mean_rate(const fm_breath_search *s, size_t n)
{
    double first_s = 0.0;
    double last_s = 0.0;
    size_t inside = 0;
    for (size_t i = 0; i < n; i++) {
        if (s->passing_s[i] >= s->from_s && s->passing_s[i] < s->to_s) {
            first_s = inside == 0 ? s->passing_s[i] : first_s;
            last_s = s->passing_s[i];
            inside++;
        }
    }
    return last_s > first_s ? 60.0 * (double)(inside - 1) / (last_s - first_s) : 0.0;
}

/* Median length of the breaths and their spread. */
static void measure_cycles(fm_breath_search *s, size_t n_states, fm_reading *r)
{
    const size_t n = fm_track_passings(&s->frames, &s->path, n_states, 0.5,
                                       s->passing_s, FM_TRACK_CYCLES);
    float length[FM_TRACK_CYCLES];
    r->cycles = n;
    r->cycle_s = s->frames.step_s * (double)n_states;
    r->rate_per_min = mean_rate(s, n);
    r->cv = 1.0;
    if (n < 3) {
        return;
    }
    for (size_t i = 0; i + 1 < n; i++) {
        length[i] = (float)(s->passing_s[i + 1] - s->passing_s[i]);
    }
    const float median = fm_quantile(length, n - 1, 0.5);
    for (size_t i = 0; i + 1 < n; i++) {
        length[i] = fabsf(length[i] - median);
    }
    r->cycle_s = (double)median;
    r->cv = (double)(fm_quantile(length, n - 1, 0.7) / median);
}

/* Learns and follows in turn; a path that stays as it was teaches nothing new. */
static void settle(fm_breath_search *s, unsigned mask, size_t n_states, int rounds)
{
    bool changed = true;
    for (int i = 0; i < rounds && changed; i++) {
        fm_track_learn(&s->frames, &s->path, n_states, &s->model);
        changed = fm_track_find(&s->frames, &s->model, mask, &s->memory, &s->path);
    }
    if (changed) {
        fm_track_learn(&s->frames, &s->path, n_states, &s->model);
    }
}

/* Channels a source swings in at first, and listens to. */
static unsigned start_of(int source)
{
    const unsigned start[FM_SOURCES] = {SOUND, LOUDNESS, INTERVALS, LOUDNESS};
    return start[source];
}

static unsigned mask_of(int source)
{
    const unsigned mask[FM_SOURCES] = {SOUND, LOUDNESS, INTERVALS,
                                       LOUDNESS | INTERVALS};
    return mask[source];
}

static void describe(
    fm_breath_search *s, int source, double hump_s, size_t humps, fm_reading *r)
{
    *r = (fm_reading){.source = source, .hump_s = hump_s, .humps = humps};
    r->moves = s->frames.n > 0 ? s->path.moves / (double)s->frames.n : 0.0;
    for (int c = 0; c < FM_BREATH_CHANNELS; c++) {
        r->explained[c] = fm_track_explained(&s->frames, &s->model, c);
    }
    measure_cycles(s, s->model.n_states, r);
}

static void make_frames(fm_breath_search *s,
                        const fm_breath_series *series,
                        double hump_s)
{
    fm_track_frames_make(series, hump_s / FM_TRACK_PHASES, &s->frames);
}

static void follow_one(fm_breath_search *s, int source)
{
    fm_track_model_start(&s->frames, start_of(source), &s->model);
    (void)fm_track_find(&s->frames, &s->model, start_of(source), &s->memory, &s->path);
    settle(s, mask_of(source), FM_TRACK_PHASES, ROUNDS);
}

static void follow_two(fm_breath_search *s, int source)
{
    fm_track_pair(&s->path, s->frames.n);
    settle(s, mask_of(source), FM_TRACK_STATES, ROUNDS);
}

static bool keep(fm_readings *out, fm_reading *r)
{
    const double shortest_s = r->source == FM_SOURCE_SOUND
                                  ? CYCLE_MIN_S
                                  : fmax(CYCLE_MIN_S, BEATS_MIN * out->beat_s);
    if (!(r->cycle_s >= shortest_s && r->cycle_s <= CYCLE_MAX_S) ||
        out->n >= FM_READINGS_MAX) {
        return false;
    }
    r->partner = out->n;
    out->reading[out->n++] = *r;
    return true;
}

/* Breath sound: one hump a breath, and two. */
static void run_sound(fm_breath_search *s, double hump_s, fm_readings *out)
{
    fm_reading r;
    follow_one(s, FM_SOURCE_SOUND);
    describe(s, FM_SOURCE_SOUND, hump_s, 1, &r);
    const bool one = keep(out, &r);
    if (hump_s > 0.5 * HUMP_MAX_S) {
        return;
    }
    follow_two(s, FM_SOURCE_SOUND);
    describe(s, FM_SOURCE_SOUND, hump_s, 2, &r);
    if (keep(out, &r) && one) {
        out->reading[out->n - 1].partner = out->n - 2;
        out->reading[out->n - 2].partner = out->n - 1;
    }
}

/* Are there beats enough to follow a source by? Without any every path costs the same, and the
 * one that comes out says nothing. */
static bool is_heard(const fm_breath_search *s, int source)
{
    for (int c = FM_BREATH_SOUND_CHANNELS; c < FM_BREATH_CHANNELS; c++) {
        if ((mask_of(source) >> c & 1U) &&
            s->frames.n_heard[c - FM_BREATH_SOUND_CHANNELS] >= HEARD_LEAST) {
            return true;
        }
    }
    return false;
}

/* What swings with the heart does so once a breath. */
static void run_heart(fm_breath_search *s, double hump_s, fm_readings *out)
{
    for (int source = 0; source < FM_SOURCES; source++) {
        if (source != FM_SOURCE_SOUND && is_heard(s, source)) {
            fm_reading r;
            follow_one(s, source);
            describe(s, source, hump_s, 1, &r);
            (void)keep(out, &r);
        }
    }
}

void fm_breath_search_run(fm_breath_search *s,
                          const fm_breath_series *series,
                          double from_s,
                          double to_s,
                          double beat_s,
                          fm_readings *out)
{
    s->from_s = from_s;
    s->to_s = to_s;
    out->n = 0;
    out->length_s = series->length_s;
    out->beat_s = beat_s;
    for (double hump_s = HUMP_MIN_S; hump_s < HUMP_MAX_S; hump_s *= HUMP_STEP) {
        make_frames(s, series, hump_s);
        run_sound(s, hump_s, out);
        if (hump_s >= HEART_HUMP_MIN_S) {
            run_heart(s, hump_s, out);
        }
    }
    fm_track_frames_make(series, 0.2, &s->frames);
    fm_swings_make(series, beat_s, &out->swings);
    out->swing = sqrt(s->frames.variance[FM_BREATH_MIDDLE]);
}

/* One curve of the channels a source swings in; the higher the band the more it counts, as
 * inspiration is the higher of the two (Gavriely 1981: 446 Hz against 286 Hz). */
static void add_up(const fm_track_model *m, unsigned mask, float *curve)
{
    for (size_t k = 0; k < m->n_states; k++) {
        curve[k] = 0.0f;
        for (int c = 0; c < FM_BREATH_CHANNELS; c++) {
            curve[k] += (mask >> c & 1U) ? (float)(c + 1) * m->mean[c][k] : 0.0f;
        }
    }
}

/* From a top back to where its rise began: the lowest phase, or the last under a quarter
 * of the height. */
static size_t rise_of(const float *curve, size_t n, size_t top, float quarter)
{
    size_t at = top;
    for (size_t back = 1; back < n; back++) {
        const size_t k = (top + n - back) % n;
        if (curve[k] > curve[at] && curve[at] < 0.5f * (curve[top] + quarter)) {
            break;
        }
        at = curve[k] <= curve[at] ? k : at;
        if (curve[k] < quarter) {
            return k;
        }
    }
    return at;
}

/* The phase at which a breath begins: the rise of the hump that is the louder and the
 * higher and follows the longer silence. */
static double beginning(const fm_track_model *m, unsigned mask)
{
    const size_t n = m->n_states;
    float curve[FM_TRACK_STATES] = {0};
    add_up(m, mask, curve);
    float low = curve[0];
    float high = curve[0];
    for (size_t k = 1; k < n; k++) {
        low = fminf(low, curve[k]);
        high = fmaxf(high, curve[k]);
    }
    const float quarter = low + 0.25f * (high - low);
    double best = -1.0;
    size_t at = 0;
    for (size_t k = 0; k < n; k++) {
        if (curve[k] < curve[(k + 1) % n] || curve[k] < curve[(k + n - 1) % n]) {
            continue;
        }
        const size_t rise = rise_of(curve, n, k, quarter);
        size_t silent = 0;
        while (silent < n && curve[(rise + n - silent) % n] < quarter) {
            silent++;
        }
        const double silence = fmin(1.0, 4.0 * (double)silent / (double)n);
        const double height = (double)((curve[k] - low) / (high - low + 1e-9f));
        if (height + SILENCE_COUNTS * silence > best) {
            best = height + SILENCE_COUNTS * silence;
            at = rise;
        }
    }
    return (double)at + 0.5;
}

/* Humps of a breath as it was learned: rises of HUMP_HEIGHT of the curve's range. */
static size_t count_humps(const fm_track_model *m, unsigned mask)
{
    const size_t n = m->n_states;
    float curve[FM_TRACK_STATES] = {0};
    add_up(m, mask, curve);
    size_t lowest = 0;
    float high = curve[0];
    for (size_t k = 1; k < n; k++) {
        lowest = curve[k] < curve[lowest] ? k : lowest;
        high = fmaxf(high, curve[k]);
    }
    const float step = HUMP_HEIGHT * (high - curve[lowest]);
    float turn = curve[lowest]; /* lowest since a hump, or highest of the one begun */
    bool rising = false;
    size_t humps = 0;
    for (size_t i = 1; i < n; i++) {
        const float now = curve[(lowest + i) % n];
        if (rising) {
            turn = fmaxf(turn, now);
            rising = now > turn - step;
            turn = rising ? turn : now;
        } else {
            turn = fminf(turn, now);
            rising = now > turn + step;
            humps += rising ? 1 : 0;
            turn = rising ? now : turn;
        }
    }
    return humps;
}

/* Breaths that the path goes through between two times. */
static double turns_between(const fm_breath_search *s, double from_s, double to_s)
{
    const size_t n_states = s->model.n_states;
    size_t steps = 0;
    for (size_t i = 1; i < s->frames.n; i++) {
        const double at_s = (double)i * s->frames.step_s;
        if (at_s >= from_s && at_s < to_s) {
            steps += (s->path.phase[i] + n_states - s->path.phase[i - 1]) % n_states;
        }
    }
    return (double)steps / (double)n_states;
}

void fm_breath_search_place(fm_breath_search *s,
                            const fm_breath_series *series,
                            const fm_reading *reading,
                            fm_breath_places *out)
{
    make_frames(s, series, reading->hump_s);
    follow_one(s, reading->source);
    if (reading->humps == 2) {
        follow_two(s, reading->source);
    }
    const double phase = beginning(&s->model, start_of(reading->source));
    if (reading->source == FM_SOURCE_SOUND) {
        fm_faint_find(&s->frames, &s->model, &s->faint, &s->path);
    }
    out->humps = count_humps(&s->model, start_of(reading->source));
    out->turns = turns_between(s, s->from_s, s->to_s);
    out->n = fm_track_passings(&s->frames, &s->path, s->model.n_states, phase,
                               out->start_s, FM_TRACK_CYCLES);
}
