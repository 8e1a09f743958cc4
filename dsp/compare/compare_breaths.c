#include "dsp/compare/compare_breaths.h"

#include "dsp/compare/compare_shared.h"

#include <math.h>

#define WORD_ENTRY(name, word) [name] = (word),

const char *fm_breath_method_word(fm_breath_method value)
{
    static const char *const words[] = {FM_BREATH_METHOD_MAP(WORD_ENTRY)};
    return (unsigned)value < FM_BREATH_METHOD_COUNT ? words[value] : "unknown";
}

const char *fm_breath_slip_word(fm_breath_slip value)
{
    static const char *const words[] = {FM_BREATH_SLIP_MAP(WORD_ENTRY)};
    return (unsigned)value < FM_BREATH_SLIP_COUNT ? words[value] : "unknown";
}

/* A breath that begins this near an edge may be counted or not: where a breath begins is
 * fixed to 0.3-0.5 s at best (from memory). */
static const double EDGE_S = 0.3;

/* A gap shorter than this share of a breath hides none; as in the window's full_minute. */
static const double GAP_SHARE = 0.25;

/* Rusconi 1994: 2.6 per minute awake, in whole breaths. */
static const double METHOD_PER_MIN = 3.0;

/* A window of whole seconds may lie a sample beside them. */
static const double END_SLACK_S = 0.01;

/** The breaths that are compared with: the device's, or the known ones. */
typedef struct starts {
    const double *s;
    size_t n;
} starts;

static bool valid(const fm_compare_breaths_input *in)
{
    const fm_manual_breaths *const m = &in->manual;
    return (m->seconds == 30 || m->seconds == 60) && m->entered >= 0 &&
           m->entered * (60 / m->seconds) <= FM_BREATHS_MANUAL_MAX &&
           (unsigned)m->method < FM_BREATH_METHOD_COUNT &&
           in->tolerance_per_min > 0.0 &&
           in->tolerance_per_min <= (double)FM_BREATHS_MANUAL_MAX;
}

static starts reference_starts(const fm_compare_breaths_input *in)
{
    if (in->has_known) {
        return (starts){in->known_s, in->n_known};
    }
    return (starts){in->breath->count.onsets_s, in->breath->count.n};
}

static int count_in(const double *times_s, size_t n, double from_s, double past_s)
{
    int inside = 0;
    for (size_t i = 0; i < n; i++) {
        inside += times_s[i] >= from_s && times_s[i] < past_s;
    }
    return inside;
}

static double usual_length_s(const fm_compare_breaths_input *in)
{
    const double rate = in->breath->count.rate_per_min;
    return isfinite(rate) && rate > 0.0 ? 60.0 / rate : 4.0;
}

/* Do the learner's seconds meet missing audio that may hide a breath? */
static bool touches_gap(const fm_compare_breaths_input *in,
                        double start_s,
                        double end_s)
{
    return !in->has_known &&
           fm_seconds_are_hidden(&in->breath->count.quality, start_s, end_s,
                                 GAP_SHARE * usual_length_s(in));
}

static bool is_minute(const fm_window *w)
{
    return w->end_s - w->start_s >= 60.0 - END_SLACK_S;
}

/* Known breaths in some seconds, and how many they are at least and at most. */
static int known_in(const starts *ref, double from_s, double past_s, double range[2])
{
    const int n = count_in(ref->s, ref->n, from_s, past_s);
    range[0] = (double)(n - count_in(ref->s, ref->n, past_s - EDGE_S, past_s));
    range[1] = (double)(n + count_in(ref->s, ref->n, from_s - EDGE_S, from_s));
    return n;
}

/* What the breath's whole window gives per minute. */
static void set_minute(const fm_compare_breaths_input *in, fm_breath_comparison *out)
{
    const fm_breath *const b = in->breath;
    const double nan = (double)NAN;
    out->minute_per_min = b->count.status == FM_REFUSED ? nan : b->count.rate_per_min;
    out->minute_low_per_min =
        b->count.status == FM_REFUSED ? nan : b->count.rate_low_per_min;
    out->minute_high_per_min =
        b->count.status == FM_REFUSED ? nan : b->count.rate_high_per_min;
    if (in->has_known && is_minute(&b->count.window)) {
        const starts ref = reference_starts(in);
        double range[2];
        out->minute_per_min =
            (double)known_in(&ref, out->start_s, out->start_s + 60.0, range);
        out->minute_low_per_min = range[0];
        out->minute_high_per_min = range[1];
    }
    out->minute_known = isfinite(out->minute_per_min);
    out->minute_whole = out->minute_known && is_minute(&b->count.window) &&
                        (b->count.window.full_minute || in->has_known);
}

/* The range of the reference in the learner's seconds, in whole breaths; in half a minute
 * the doubtful breaths of the minute may all have fallen into it. */
static void set_range(const fm_compare_breaths_input *in, fm_breath_comparison *out)
{
    const double factor = 60.0 / (double)out->manual.seconds;
    const fm_breath *const b = in->breath;
    const starts ref = reference_starts(in);
    double edge[2];
    out->breaths = known_in(&ref, out->start_s, out->end_s, edge);
    out->per_min = (double)out->breaths * factor;
    if (in->has_known) {
        out->low_per_min = edge[0] * factor;
        out->high_per_min = edge[1] * factor;
        return;
    }
    if (out->manual.seconds == 60 && !b->count.window.full_minute) {
        /* a minute with missing sound: counted through the gap, or what was there */
        out->per_min = b->count.rate_per_min;
        out->low_per_min = fmin((double)out->breaths, b->count.rate_low_per_min);
        out->high_per_min = fmax((double)out->breaths, b->count.rate_high_per_min);
        return;
    }
    const double below =
        floor(b->count.rate_per_min - b->count.rate_low_per_min + FM_COMPARE_EPSILON);
    const double above =
        floor(b->count.rate_high_per_min - b->count.rate_per_min + FM_COMPARE_EPSILON);
    out->low_per_min = fmax(0.0, out->per_min - below * factor);
    out->high_per_min = out->per_min + above * factor;
}

static void set_no_verdict(fm_breath_comparison *out, fm_no_verdict why)
{
    out->verdict = FM_VERDICT_NOT_COMPARABLE;
    out->no_verdict = why;
    out->reference_known = false;
    out->breaths = 0;
    out->per_min = (double)NAN;
    out->low_per_min = (double)NAN;
    out->high_per_min = (double)NAN;
    out->difference_per_min = (double)NAN;
}

static fm_no_verdict why_no_verdict(const fm_compare_breaths_input *in,
                                    const fm_breath_comparison *out)
{
    const fm_breath *const b = in->breath;
    if (b->count.status == FM_REFUSED && !in->has_known) {
        return FM_NO_VERDICT_REFUSED;
    }
    if (out->end_s > b->count.window.end_s + END_SLACK_S) {
        return FM_NO_VERDICT_TOO_SHORT;
    }
    if (touches_gap(in, out->start_s, out->end_s) &&
        (out->manual.seconds < 60 || !out->minute_known)) {
        return FM_NO_VERDICT_GAP;
    }
    if (!in->has_known && !(b->count.rate_low_per_min <= b->count.rate_high_per_min)) {
        return FM_NO_VERDICT_NO_RATE; /* either is NaN */
    }
    return FM_NO_VERDICT_NONE;
}

static void set_reference(const fm_compare_breaths_input *in, fm_breath_comparison *out)
{
    const fm_no_verdict why = why_no_verdict(in, out);
    if (why != FM_NO_VERDICT_NONE) {
        set_no_verdict(out, why);
        return;
    }
    out->reference_known = true;
    set_range(in, out);
    out->difference_per_min = out->manual_per_min - out->per_min;
}

static void set_short_counts(const fm_compare_breaths_input *in,
                             fm_breath_comparison *out)
{
    const starts ref = reference_starts(in);
    if (in->breath->count.status != FM_REFUSED || in->has_known) {
        out->n_short = fm_short_counts_of(
            ref.s, ref.n, &in->breath->count.window,
            in->has_known ? NULL : &in->breath->count.quality, out->short_counts);
    }
}

static fm_breath_slip find_slip(const fm_breath_comparison *c)
{
    if (c->verdict != FM_VERDICT_DIFFERS || c->method_explains) {
        return FM_BREATH_SLIP_NONE;
    }
    if (fm_rate_looks_like(c->manual_per_min, 2.0 * c->per_min)) {
        return FM_BREATH_SLIP_BOTH_PHASES;
    }
    if (fm_rate_looks_like(c->manual_per_min, 0.5 * c->per_min)) {
        return FM_BREATH_SLIP_EVERY_OTHER;
    }
    return fm_entry_looks_multiplied(c->manual.entered, c->manual.seconds,
                                     c->short_counts, c->n_short)
               ? FM_BREATH_SLIP_SHORT_COUNT
               : FM_BREATH_SLIP_NONE;
}

/* Listened and a little above, or watched and a little below. Known breaths are neither
 * watched nor listened to. */
static bool method_explains(const fm_compare_breaths_input *in,
                            const fm_breath_comparison *c)
{
    const double above = in->manual.method == FM_BREATH_LISTENED
                             ? c->difference_per_min
                             : -c->difference_per_min;
    return in->young && !in->has_known && in->manual.method != FM_BREATH_NOT_SAID &&
           above > FM_COMPARE_EPSILON && above <= METHOD_PER_MIN + FM_COMPARE_EPSILON;
}

fm_status fm_compare_breaths(const fm_compare_breaths_input *in,
                             fm_breath_comparison *out)
{
    if (!valid(in)) {
        return FM_ERR_ARG;
    }
    *out = (fm_breath_comparison){
        .manual = in->manual,
        .manual_per_min =
            (double)in->manual.entered * 60.0 / (double)in->manual.seconds,
        .against_truth = in->has_known,
        .doubtful = !in->has_known && in->breath->count.status == FM_CAUTION,
        .tolerance_per_min = in->tolerance_per_min,
        .start_s = in->breath->count.window.start_s,
        .end_s = in->breath->count.window.start_s + (double)in->manual.seconds,
        .tapped = in->tapped,
    };
    if (in->tapped) {
        out->taps = count_in(in->taps_s, in->n_taps, out->start_s, out->end_s);
    }
    set_minute(in, out);
    set_short_counts(in, out);
    set_reference(in, out);
    if (!out->reference_known) {
        return FM_OK;
    }
    out->verdict =
        fm_compare_verdict(out->manual_per_min, out->low_per_min, out->high_per_min,
                           out->tolerance_per_min, out->doubtful);
    out->method_explains = method_explains(in, out);
    out->slip = find_slip(out);
    return FM_OK;
}
