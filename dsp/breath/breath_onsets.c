#include "dsp/breath/breath_onsets.h"

#include "dsp/signal/peaks.h"

#include <math.h>

/* A length so many times the chosen one is followed too, and so many times less. */
static const double ASIDE = 1.12;
/* What the natural log of a rate's probability counts beside that of variance explained
 * (tuned on breathing of real lengths, paced and composed). */
static const double PRIOR = 0.35;
/* Another length is followed where it is at least so probable (ours). */
static const double ALTERNATIVE_LEAST = 0.05;
/* A quarter of the breath silent before a lobe counts as much as this share of the
 * loudest lobe's height: expiration is followed by the pause (tuned on composed). */
static const double SILENCE_COUNTS = 0.5;
static const float LOBE_HEIGHT = 0.15f; /* tuned on composed */

static const unsigned SOUND =
    1U << FM_BREATH_LOW | 1U << FM_BREATH_MIDDLE | 1U << FM_BREATH_HIGH;
static const unsigned LOUDNESS = 1U << FM_BREATH_S1 | 1U << FM_BREATH_S2;
static const unsigned INTERVALS = 1U << FM_BREATH_INTERVAL;

enum {
    ROUNDS = 2 /* of learning and following */
};

/* Median length of the breaths and their spread. */
static void measure_cycles(fm_onset_finder *s, fm_breath_onsets *out)
{
    const size_t n_states = s->model.n_states;
    const size_t n = fm_track_passings(&s->frames, &s->path, n_states, 0.5,
                                       s->passing_s, FM_TRACK_CYCLES);
    float length[FM_TRACK_CYCLES];
    out->cycle_s = s->frames.step_s * (double)n_states;
    out->mean_s = out->cycle_s;
    out->cv = 1.0;
    if (n < 3) {
        return;
    }
    out->mean_s = (s->passing_s[n - 1] - s->passing_s[0]) / (double)(n - 1);
    for (size_t i = 0; i + 1 < n; i++) {
        length[i] = (float)(s->passing_s[i + 1] - s->passing_s[i]);
    }
    const float median = fm_quantile(length, n - 1, 0.5);
    for (size_t i = 0; i + 1 < n; i++) {
        length[i] = fabsf(length[i] - median);
    }
    out->cycle_s = (double)median;
    out->cv = (double)(fm_quantile(length, n - 1, 0.7) / median);
}

/* Learns and follows in turn; a path that stays as it was teaches nothing new. */
static void settle(fm_onset_finder *s, unsigned mask, size_t n_states, int rounds)
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

/* Channels that a cue's first model varies in, and those that are followed. */
static unsigned start_of(fm_cue cue)
{
    return cue == FM_CUE_SOUND ? SOUND : cue == FM_CUE_LOUDNESS ? LOUDNESS : INTERVALS;
}

static unsigned mask_of(fm_cue cue)
{
    return cue == FM_CUE_LOUDNESS ? LOUDNESS | INTERVALS : start_of(cue);
}

static void make_frames(fm_onset_finder *s,
                        const fm_breath_series *series,
                        double lobe_s)
{
    fm_track_frames_make(series, lobe_s / FM_TRACK_PHASES, &s->frames);
}

static void follow_one(fm_onset_finder *s, fm_cue cue)
{
    fm_track_model_start(&s->frames, start_of(cue), &s->model);
    (void)fm_track_find(&s->frames, &s->model, start_of(cue), &s->memory, &s->path);
    settle(s, mask_of(cue), FM_TRACK_PHASES, ROUNDS);
}

static void follow_two(fm_onset_finder *s, fm_cue cue)
{
    fm_track_pair(&s->path, s->frames.n);
    settle(s, mask_of(cue), FM_TRACK_STATES, ROUNDS);
}

/* One curve of the channels a source modulates; the higher the band the more it counts, as
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

/* The phase at which a breath begins: the rise of the lobe that is the louder and the
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

/* Lobes of a breath as it was learned: rises of LOBE_HEIGHT of the curve's range. */
static size_t count_lobes(const fm_track_model *m, unsigned mask)
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
    const float step = LOBE_HEIGHT * (high - curve[lowest]);
    float extreme = curve[lowest]; /* lowest since a lobe, or highest of one begun */
    bool rising = false;
    size_t lobes = 0;
    for (size_t i = 1; i < n; i++) {
        const float now = curve[(lowest + i) % n];
        if (rising) {
            extreme = fmaxf(extreme, now);
            rising = now > extreme - step;
            extreme = rising ? extreme : now;
        } else {
            extreme = fminf(extreme, now);
            rising = now > extreme + step;
            lobes += rising ? 1 : 0;
            extreme = rising ? now : extreme;
        }
    }
    return lobes;
}

/* Breaths that the path goes through between two times. */
static double cycles_between(const fm_onset_finder *s, double from_s, double to_s)
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

/* How a path is begun: one wave of loudness a breath; two, every other one the second half
 * of a breath; or even going, each moment's phase by the clock alone. */
typedef enum start_kind {
    START_ONE,
    START_TWO,
    START_EVEN
} start_kind;

static void follow_even(fm_onset_finder *s, fm_cue cue)
{
    for (size_t i = 0; i < s->frames.n; i++) {
        s->path.phase[i] = (uint8_t)(i % FM_TRACK_STATES);
    }
    settle(s, mask_of(cue), FM_TRACK_STATES, ROUNDS);
}

static void follow(fm_onset_finder *s,
                   const fm_breath_series *series,
                   fm_cue cue,
                   double length_s,
                   start_kind start,
                   fm_breath_onsets *out)
{
    make_frames(s, series, start == START_ONE ? length_s : 0.5 * length_s);
    if (start == START_EVEN) {
        follow_even(s, cue);
    } else {
        follow_one(s, cue);
    }
    if (start == START_TWO) {
        follow_two(s, cue);
    }
    out->explained = 0.0;
    for (int c = 0; c < FM_BREATH_CHANNELS; c++) {
        const double share = c < FM_BREATH_SOUND_CHANNELS ? 1.0 / 3.0 : 1.0;
        out->explained += (mask_of(cue) >> c & 1U)
                              ? share * fm_track_explained(&s->frames, &s->model, c)
                              : 0.0;
    }
    out->transition_cost =
        s->frames.n > 0 ? s->path.transition_cost / (double)s->frames.n : 0.0;
    measure_cycles(s, out);
}

/* What a path explains, less for uneven going, and how probable its rate is otherwise. */
static double worth(const fm_breath_onsets *p, const fm_breath_choice *choice)
{
    return p->explained - 0.5 * p->transition_cost - 0.5 * p->cv +
           PRIOR * log(fm_breath_gathered_at(choice, 60.0 / p->mean_s) + 0.01);
}

/* One length and one way to begin it. */
typedef struct attempt {
    double length_s;
    int start;
    double worth;
} attempt;

static void try_length(fm_onset_finder *s,
                       const fm_breath_series *series,
                       fm_cue cue,
                       double length_s,
                       const fm_breath_choice *choice,
                       attempt *best,
                       fm_breath_onsets *out)
{
    const int last = cue == FM_CUE_SOUND ? START_EVEN : START_ONE;
    for (int start = START_ONE; start <= last; start++) {
        follow(s, series, cue, length_s, (start_kind)start, out);
        const double w = worth(out, choice);
        if (w > best->worth) {
            *best = (attempt){length_s, start, w};
        }
    }
}

/* The chosen length, two steps either side, where breathing wanders, and its alternative. */
static void follow_best(fm_onset_finder *s,
                        const fm_breath_series *series,
                        fm_cue cue,
                        const fm_breath_choice *choice,
                        fm_breath_onsets *out)
{
    const double length_s = 60.0 / choice->rate_per_min;
    double probability = 0.0;
    const size_t alternative =
        fm_breath_alternative(choice, choice->rate_per_min, &probability);
    attempt best = {length_s, START_ONE, -(double)INFINITY};
    try_length(s, series, cue, length_s, choice, &best, out);
    if (cue == FM_CUE_SOUND) {
        try_length(s, series, cue, length_s * ASIDE, choice, &best, out);
        try_length(s, series, cue, length_s / ASIDE, choice, &best, out);
        if (probability > ALTERNATIVE_LEAST) {
            try_length(s, series, cue, fm_breath_hypothesis_s(alternative), choice,
                       &best, out);
        }
    }
    follow(s, series, cue, best.length_s, (start_kind)best.start, out);
}

void fm_breath_onsets_find(fm_onset_finder *s,
                           const fm_breath_series *series,
                           double from_s,
                           double to_s,
                           fm_cue cue,
                           const fm_breath_choice *choice,
                           fm_breath_onsets *out)
{
    follow_best(s, series, cue, choice, out);
    const double phase = beginning(&s->model, start_of(cue));
    out->lobes = count_lobes(&s->model, start_of(cue));
    out->cycles = cycles_between(s, from_s, to_s);
    out->n = fm_track_passings(&s->frames, &s->path, s->model.n_states, phase,
                               out->start_s, FM_TRACK_CYCLES);
}
