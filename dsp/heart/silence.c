#include "dsp/heart/silence.h"

#include "dsp/constants.h"
#include "dsp/heart/unusable.h"
#include "dsp/signal/peaks.h"

#include <math.h>

/* What names no other source here is ours, tuned on composed pauses and lost contact (silence.h). */

/* Where the heart's own sounds end after S1, as a share of the cycle: at fast rates systole is
 * nearly half of it (dsp/heart/systole.c), and S2 lasts. */
static const double SOUNDS_SHARE = 0.55;
static const double SOUNDS_MAX_S = 0.5;
static const double BEFORE_S1_S = 0.06;
/* Share of the silence under the usual quiet: not heard, and not sure that it was. In composed
 * pauses of every noise it is under a tenth; with contact lost over nine tenths. */
static const double LOST_SHARE = 0.5;
static const double UNSURE_SHARE = 0.4;
/* Another steady background, in level or colour, than the segment's own quiet ever has: the air. */
static const double STEADY_DB = 4.0;
static const double CHANGED_DB = 6.0;
/* A shorter silence is no lost contact that the level alone did not show: at fast uneven rates a
 * long diastole is quieter than the usual short one. */
static const double SILENCE_MIN_S = 0.9;
/* Louder in its quietest moment, by so much, than the usual quiet ever is: noise, in which a beat may be
 * missed, or found where there is none. */
static const double NOISE_DB = 3.0;
static const float NOT_SURE = 0.25f; /* under FM_SURE_FROM */
/* A sound lies over a silence in which beats may be missing where it is so much louder than the middle
 * silence of this segment, and than most: than four fifths of them where more than one beat is
 * missing, further over nine tenths where it may be one. */
static const double COVERED_DB = 4.5;
static const double COVERED_MOST[2] = {0.9, 0.8};
static const double COVERED_OVER_MOST_DB[2] = {2.5, 1.0};
/* A beat so much softer than the middle one is soft. */
static const double SOFT_DB = 8.0;
/* More than one beat dropped: so many intervals. On a steady clock (the intervals around differ by
 * no more, as a share) a pause comes back anywhere, a lost contact near a whole number of them: so
 * near, and more for each interval, as jitter and breathing add up. */
static const double DROPPED_FROM = 2.5;
static const double CLOCK_STEADY = 0.15;
static const double CLOCK_NEAR = 0.10;
static const double CLOCK_DRIFT = 0.03;
static const double UNCLOCKED_MIN_S = 1.3;
/* So many of a gap's beats, each so sure: heard. */
static const float HEARD_SURE = 0.5f;
static const double HEARD_BEATS = 2.0;
static const double HEARD_SHARE = 0.6;
/* So far beside a gap a soft beat belongs to it, s. */
static const double EDGE_S = 1.5;

enum {
    COVERED_LEAST = 6 /* silences, to know what is usual */
};

typedef enum silence {
    HEARD,
    NOT_HEARD,
    UNSURE
} silence;

typedef struct silence_input {
    const fm_contact *c;
    const fm_segment *s;
    const double *s1_s;
    size_t n;
    double cycle_s;
    double usual_db; /* of a beat */
} silence_input;

static double usual_peak_db(const silence_input *in)
{
    float db[FM_BEATS_MAX];
    size_t n = 0;
    for (size_t i = 0; i < in->n && n < FM_BEATS_MAX; i++) {
        const double peak_db = fm_contact_peak_db(in->c, in->s1_s[i]);
        if (!isnan(peak_db)) {
            db[n++] = (float)peak_db;
        }
    }
    return n > 0 ? (double)fm_quantile(db, n, 0.5) : (double)NAN;
}

static bool soft(const silence_input *in, size_t i)
{
    return fm_contact_peak_db(in->c, in->s1_s[i]) < in->usual_db - SOFT_DB;
}

/* The middle of the nearest intervals, which tells what was to be expected here, and how far
 * they differ, as a share of it. */
static double local_cycle_s(const silence_input *in, size_t i, double *range)
{
    enum {
        EACH_SIDE = 4
    };
    float near_s[2 * EACH_SIDE];
    size_t n = 0;
    const size_t from = i > EACH_SIDE ? i - EACH_SIDE : 1;
    for (size_t k = from; k < in->n && k <= i + EACH_SIDE; k++) {
        const double length_s = in->s1_s[k] - in->s1_s[k - 1];
        if (k != i && n < (size_t)2 * EACH_SIDE) {
            near_s[n++] = (float)length_s;
        }
    }
    *range = 1.0;
    if (n < 3) {
        return in->cycle_s;
    }
    const double middle_s = (double)fm_quantile(near_s, n, 0.5);
    *range =
        (double)(fm_quantile(near_s, n, 0.9) - fm_quantile(near_s, n, 0.1)) / middle_s;
    return middle_s;
}

/* May more than one beat have been missed, on the old clock, or where there is none? A fast
 * fibrillation has such intervals of its own, but none so long. */
static bool may_be_missed(double intervals, bool clock, double silence_s)
{
    const double near = CLOCK_NEAR + CLOCK_DRIFT * intervals;
    const bool on_clock = fabs(intervals - floor(intervals + 0.5)) <= near;
    return intervals >= DROPPED_FROM &&
           (clock ? on_clock : silence_s >= UNCLOCKED_MIN_S);
}

/* The silence between beats i - 1 and i, which is so many intervals of a steady clock, or not. */
static silence classify_silence(const silence_input *in,
                                size_t i,
                                double from_s,
                                double to_s,
                                double intervals,
                                bool clock)
{
    const fm_contact_level level = fm_contact_level_of(in->c, from_s, to_s);
    const double faint = fm_contact_faint_s(in->c, from_s, to_s) / (to_s - from_s);
    if (isnan(level.off_db)) {
        return HEARD; /* lost audio: told elsewhere */
    }
    if (faint >= LOST_SHARE ||
        (level.wavers_db < STEADY_DB && level.changed_db > CHANGED_DB)) {
        return NOT_HEARD;
    }
    if (level.off_db > NOISE_DB) {
        return HEARD; /* noise over it: no silence, and told elsewhere */
    }
    const bool edges = soft(in, i - 1) && soft(in, i);
    if (level.under_share >= UNSURE_SHARE || edges ||
        may_be_missed(intervals, clock, to_s - from_s)) {
        return UNSURE;
    }
    return HEARD;
}

/* Where the heart's sounds of interval i have ended, and the next S1 begins. */
static void silence_of(
    const silence_input *in, size_t i, double cycle_s, double *from_s, double *to_s)
{
    *from_s = in->s1_s[i - 1] + fmin(SOUNDS_SHARE * cycle_s, SOUNDS_MAX_S);
    *to_s = in->s1_s[i] - BEFORE_S1_S;
}

static void classify_interval(const silence_input *in,
                              size_t i,
                              fm_quality *q,
                              fm_silences *out)
{
    double range;
    const double cycle_s = local_cycle_s(in, i, &range);
    const double length_s = in->s1_s[i] - in->s1_s[i - 1];
    double from_s;
    double to_s;
    silence_of(in, i, cycle_s, &from_s, &to_s);
    from_s = fmax(in->s->window_start_s, from_s);
    to_s = fmin(in->s->window_end_s, to_s);
    if (length_s < FM_PAUSE_INTERVALS * cycle_s || to_s - from_s < SILENCE_MIN_S ||
        fm_spans_touch(q->gaps, q->n_gaps, from_s, to_s)) {
        return;
    }
    const silence what = classify_silence(in, i, from_s, to_s, length_s / cycle_s,
                                          range <= CLOCK_STEADY);
    if (what == NOT_HEARD) {
        fm_contact_add_gap(q, from_s, to_s, FM_REASON_CONTACT_LOST);
        out->n_lost++;
    } else if (what == UNSURE) {
        fm_contact_add_gap(q, from_s, to_s, FM_REASON_CONTACT_OR_PAUSE);
        out->n_unsure++;
        out->unsure_s += length_s;
        if (to_s - from_s > out->worst_unsure.length_s) {
            out->worst_unsure =
                (fm_span){from_s, to_s - from_s, FM_REASON_CONTACT_OR_PAUSE};
        }
    }
}

/* Gaps by the level alone in which most beats of the clock were found, and surely, are none: the
 * heart was heard there, under something louder that fell silent. */
static void drop_heard(const silence_input *in,
                       const float *sureness,
                       fm_quality *q,
                       fm_silences *out)
{
    size_t kept = 0;
    for (size_t g = 0; g < q->n_gaps; g++) {
        const fm_span *gap = &q->gaps[g];
        double sure = 0.0;
        for (size_t i = 0; i < in->n; i++) {
            sure += sureness[i] >= HEARD_SURE && fm_spans_contain(gap, 1, in->s1_s[i]);
        }
        if (gap->reason == FM_REASON_CONTACT_LOST && sure >= HEARD_BEATS &&
            sure >= HEARD_SHARE * gap->length_s / in->cycle_s) {
            out->n_lost--;
        } else {
            q->gaps[kept++] = *gap;
        }
    }
    q->n_gaps = kept;
}

/* Beats beside a gap that fade out or in belong to it. */
static void widen(const silence_input *in,
                  const fm_span *gap,
                  double *from_s,
                  double *to_s)
{
    *from_s = gap->start_s;
    *to_s = gap->start_s + gap->length_s;
    for (size_t i = in->n; i > 0; i--) {
        const double at_s = in->s1_s[i - 1];
        if (at_s < *from_s && at_s > gap->start_s - EDGE_S) {
            if (!soft(in, i - 1)) {
                break;
            }
            *from_s = at_s - BEFORE_S1_S;
        }
    }
    for (size_t i = 0; i < in->n; i++) {
        const double at_s = in->s1_s[i];
        if (at_s > *to_s && at_s < gap->start_s + gap->length_s + EDGE_S) {
            if (!soft(in, i)) {
                break;
            }
            *to_s = at_s + BEFORE_S1_S;
        }
    }
    *from_s = fmax(*from_s, in->s->window_start_s);
    *to_s = fmin(*to_s, in->s->window_end_s);
}

static void widen_all(const silence_input *in, fm_quality *q)
{
    const fm_quality before = *q;
    for (size_t i = 0; i < before.n_gaps; i++) {
        double from_s;
        double to_s;
        if (before.gaps[i].reason == FM_REASON_CONTACT_LOST) {
            widen(in, &before.gaps[i], &from_s, &to_s);
            fm_contact_add_gap(q, from_s, to_s, FM_REASON_CONTACT_LOST);
        }
    }
}

/* Level from which a silence is covered with one beat missing, and with more; infinite where too few
 * are known. */
static void covered_from_db(const silence_input *in, double from_db[2])
{
    float off_db[FM_BEATS_MAX];
    size_t n = 0;
    for (size_t i = 1; i < in->n && n < FM_BEATS_MAX; i++) {
        double range;
        double from_s;
        double to_s;
        silence_of(in, i, local_cycle_s(in, i, &range), &from_s, &to_s);
        const double level_db = fm_contact_level_of(in->c, from_s, to_s).off_db;
        if (!isnan(level_db)) {
            off_db[n++] = (float)level_db;
        }
    }
    for (size_t k = 0; k < 2; k++) {
        from_db[k] = (double)INFINITY;
        if (n >= COVERED_LEAST) {
            const double middle_db = (double)fm_quantile(off_db, n, 0.5);
            const double most_db = (double)fm_quantile(off_db, n, COVERED_MOST[k]);
            from_db[k] =
                fmax(middle_db + COVERED_DB, most_db + COVERED_OVER_MOST_DB[k]);
        }
    }
}

/* May beats be missing in interval i, with a sound over its silence? */
static bool covered(const silence_input *in, size_t i, const double from_db[2])
{
    double range;
    double from_s;
    double to_s;
    const double cycle_s = local_cycle_s(in, i, &range);
    const double intervals = (in->s1_s[i] - in->s1_s[i - 1]) / cycle_s;
    silence_of(in, i, cycle_s, &from_s, &to_s);
    return intervals > FM_PAUSE_INTERVALS &&
           fm_contact_level_of(in->c, from_s, to_s).off_db >
               from_db[intervals > DROPPED_FROM ? 1 : 0];
}

void fm_silence_doubt(
    const fm_contact *c, const double *s1_s, size_t n, double cycle_s, float *sureness)
{
    const silence_input in = {.c = c, .s1_s = s1_s, .n = n, .cycle_s = cycle_s};
    double from_db[2];
    covered_from_db(&in, from_db);
    for (size_t i = 1; c->known && i < n; i++) {
        const size_t next = i + 1 < n ? i + 1 : i;
        const size_t before = i > 1 ? i - 2 : 0;
        /* an early beat has no quiet of its own: with the interval before and after it */
        if (fm_contact_least_db(c, s1_s[before], s1_s[next]) > NOISE_DB ||
            covered(&in, i, from_db)) {
            sureness[i] = fminf(sureness[i], NOT_SURE);
            sureness[i - 1] = fminf(sureness[i - 1], NOT_SURE);
        }
    }
}

void fm_silence_classify(const fm_contact *c,
                         const fm_segment *s,
                         const double *s1_s,
                         const float *sureness,
                         size_t n,
                         double cycle_s,
                         fm_quality *q,
                         fm_silences *out)
{
    silence_input in = {c, s, s1_s, n, cycle_s, 0.0};
    in.usual_db = usual_peak_db(&in);
    drop_heard(&in, sureness, q, out);
    for (size_t i = 1; i < n; i++) {
        classify_interval(&in, i, q, out);
    }
    widen_all(&in, q);
}
