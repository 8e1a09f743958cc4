#include "dsp/compare/compare.h"

#include "dsp/compare/short_count.h"
#include "dsp/compare/slip.h"
#include "dsp/words.h"

#include <math.h>

FM_WORD_FUNCTION(fm_verdict_word, fm_verdict, FM_VERDICT_COUNT, FM_VERDICT_MAP)
FM_WORD_FUNCTION(fm_convention_word,
                 fm_convention,
                 FM_CONVENTION_COUNT,
                 FM_CONVENTION_MAP)
FM_WORD_FUNCTION(fm_site_word, fm_site, FM_SITE_COUNT, FM_SITE_MAP)
FM_WORD_FUNCTION(fm_breath_method_word,
                 fm_breath_method,
                 FM_BREATH_METHOD_COUNT,
                 FM_BREATH_METHOD_MAP)
FM_WORD_FUNCTION(fm_slip_word, fm_slip, FM_SLIP_COUNT, FM_SLIP_MAP)
FM_WORD_FUNCTION(fm_no_verdict_word,
                 fm_no_verdict,
                 FM_NO_VERDICT_COUNT,
                 FM_NO_VERDICT_MAP)

/** What differs between a pulse and respirations. */
typedef struct rules {
    int least_entered;     /* a pulse is never 0 */
    int most_per_min;      /* that may be entered */
    bool in_15_s;          /* may it be counted in 15 s? */
    double end_slack_s;    /* the seconds may end this much after the analysed window */
    double minute_slack_s; /* a minute may be this much shorter */
    double edge_s;         /* a known event this near an edge may be counted or not */
    bool truth_beats_refused; /* known events judge though the device refused */
    bool other_seconds;       /* an entry for other seconds than its own is named */
    fm_slip doubled, halved;  /* what near twice and near half of the reference are */
} rules;

static const rules RULES[] = {
    [FM_EVENT_BEAT] =
        {
            .least_entered = 1,
            .most_per_min = FM_MANUAL_MAX,
            .in_15_s = true,
            /* started on a beat: the analysis starts a little before it so that it is
             * surely inside */
            .end_slack_s = 0.06,
            .minute_slack_s = FM_COMPARE_EPSILON,
            .edge_s = 0.0,
            .truth_beats_refused = false,
            .other_seconds = true,
            .doubled = FM_SLIP_BOTH_SOUNDS,
            .halved = FM_SLIP_EVERY_OTHER,
        },
    [FM_EVENT_BREATH] =
        {
            .least_entered = 0,
            .most_per_min = FM_BREATHS_MANUAL_MAX,
            .in_15_s = false,
            /* a window of whole seconds may lie a sample beside them */
            .end_slack_s = 0.01,
            .minute_slack_s = 0.01,
            /* where a breath begins is fixed to 0.3-0.5 s at best (from memory) */
            .edge_s = 0.3,
            .truth_beats_refused = true,
            .other_seconds = false,
            .doubled = FM_SLIP_BOTH_PHASES,
            .halved = FM_SLIP_EVERY_OTHER_BREATH,
        },
};

/*
 * The device starts a window on the beat where it hears it, which may be this much after
 * the known onset: half an interval at 300 per minute, so never as far as another beat.
 */
static const double ONSET_ERROR_S = 0.1;

/* A gap shorter than this share of a breath hides none; as in the window's full_minute. */
static const double BREATH_GAP_SHARE = 0.25;

/* Rusconi 1994: 2.6 per minute awake, in whole breaths. */
static const double METHOD_PER_MIN = 3.0;

fm_verdict fm_compare_verdict(double manual_per_min,
                              double low_per_min,
                              double high_per_min,
                              double tolerance,
                              bool doubtful)
{
    if (!isfinite(manual_per_min) || !isfinite(low_per_min) ||
        !isfinite(high_per_min) || !(tolerance > 0.0)) {
        return FM_VERDICT_NOT_COMPARABLE;
    }
    const double limit = tolerance + FM_COMPARE_EPSILON;
    const double most = manual_per_min - low_per_min;   /* largest difference */
    const double least = manual_per_min - high_per_min; /* smallest, signed */
    if (most <= limit && least >= -limit) {
        return FM_VERDICT_AGREES;
    }
    if ((least > limit || most < -limit) && !doubtful) {
        return FM_VERDICT_DIFFERS;
    }
    return FM_VERDICT_TOO_CLOSE;
}

static size_t first_at_or_after(const double *s1_s, size_t n_s1, double time_s)
{
    size_t i = 0;
    while (i < n_s1 && s1_s[i] < time_s) {
        i++;
    }
    return i;
}

int fm_compare_beats_in(const double *s1_s,
                        size_t n_s1,
                        double start_s,
                        double seconds,
                        fm_convention convention)
{
    const size_t first = first_at_or_after(s1_s, n_s1, start_s);
    const size_t past = first_at_or_after(s1_s, n_s1, start_s + seconds);
    const int inside = (int)(past - first);
    return convention == FM_CONVENTION_ZERO && inside > 0 ? inside - 1 : inside;
}

static bool valid(const fm_compare_input *in, const rules *r)
{
    const fm_manual *m = &in->manual;
    const bool length =
        m->seconds == 60 || m->seconds == 30 || (m->seconds == 15 && r->in_15_s);
    return length && m->entered >= (m->could_not ? 0 : r->least_entered) &&
           !(m->could_not && m->entered != 0) &&
           m->entered * (60 / m->seconds) <= r->most_per_min &&
           (unsigned)m->convention < FM_CONVENTION_COUNT &&
           (unsigned)m->site < FM_SITE_COUNT &&
           (unsigned)m->method < FM_BREATH_METHOD_COUNT &&
           in->tolerance_per_min > 0.0 &&
           in->tolerance_per_min <= (double)r->most_per_min;
}

/** The events that are compared with: the device's, or the known ones. */
typedef struct events {
    const double *onsets_s;
    size_t n;
} events;

static events reference_events(const fm_compare_input *in)
{
    if (in->known != NULL) {
        return (events){in->known->onsets_s, in->known->n};
    }
    return (events){in->count->onsets_s, in->count->n};
}

/* Is the reference refused? */
static bool is_refused(const fm_compare_input *in)
{
    return !fm_is_known(in->count) &&
           !(in->known != NULL && RULES[in->kind].truth_beats_refused);
}

static int count_in(const double *times_s, size_t n, double from_s, double past_s)
{
    int inside = 0;
    for (size_t i = 0; i < n; i++) {
        inside += times_s[i] >= from_s && times_s[i] < past_s;
    }
    return inside;
}

/* How many of the known events in [start_s, end_s) nobody could hear. */
static int inaudible_in(const fm_known_events *known, double start_s, double end_s)
{
    int n = 0;
    for (size_t i = 0; i < known->n_inaudible; i++) {
        const size_t k = known->inaudible[i];
        n += k < known->n && count_in(&known->onsets_s[k], 1, start_s, end_s) == 1;
    }
    return n;
}

/* Of n known events in those seconds: how many a listener counts at least and at most. */
static void known_range(
    const fm_compare_input *in, int n, double start_s, double end_s, double range[2])
{
    const fm_known_events *const k = in->known;
    const double edge_s = RULES[in->kind].edge_s;
    range[0] = (double)(n - inaudible_in(k, start_s, end_s) -
                        count_in(k->onsets_s, k->n, end_s - edge_s, end_s));
    range[1] = (double)(n + count_in(k->onsets_s, k->n, start_s - edge_s, start_s));
}

static void set_no_verdict(fm_comparison *out, fm_no_verdict why)
{
    out->verdict = FM_VERDICT_NOT_COMPARABLE;
    out->no_verdict = why;
    out->reference_known = false;
    out->counted = 0;
    out->per_min = (double)NAN;
    out->low_per_min = (double)NAN;
    out->high_per_min = (double)NAN;
    out->difference_per_min = (double)NAN;
}

static void set_seconds(const fm_compare_input *in, fm_comparison *out)
{
    const events ref = reference_events(in);
    const double early_s = in->known != NULL ? ONSET_ERROR_S : 0.0;
    out->start_s = in->count->window.start_s;
    if (out->manual.convention != FM_CONVENTION_CLOCK) {
        const size_t first =
            first_at_or_after(ref.onsets_s, ref.n, out->start_s - early_s);
        if (first < ref.n) {
            out->start_s = ref.onsets_s[first];
        }
    }
    out->end_s = out->start_s + (double)out->manual.seconds;
}

/*
 * What the whole analysed window gives per minute. Where a whole minute is started on a
 * beat that is called zero, that beat is taken off, as in the count document.
 */
static void set_minute(const fm_compare_input *in, fm_comparison *out)
{
    const fm_event_count *c = in->count;
    const bool long_enough =
        c->window.end_s - c->window.start_s >= 60.0 - RULES[in->kind].minute_slack_s;
    const double off =
        in->manual.convention == FM_CONVENTION_ZERO && c->window.full_minute ? 1.0
                                                                             : 0.0;
    double range[2] = {c->rate_low_per_min - off, c->rate_high_per_min - off};
    out->minute_per_min = c->rate_per_min - off;
    if (in->known != NULL && long_enough) {
        const int n = fm_compare_beats_in(in->known->onsets_s, in->known->n,
                                          out->start_s, 60.0, in->manual.convention);
        out->minute_per_min = (double)n;
        known_range(in, n, out->start_s, out->start_s + 60.0, range);
    }
    out->minute_known = !is_refused(in) && isfinite(out->minute_per_min);
    out->minute_whole = out->minute_known && long_enough &&
                        (c->window.full_minute || in->known != NULL);
    if (!out->minute_known) {
        out->minute_per_min = range[0] = range[1] = (double)NAN;
    }
    out->minute_low_per_min = range[0];
    out->minute_high_per_min = range[1];
}

/*
 * The range of the reference in the learner's seconds. A count is a whole number, so
 * only whole events inside the device's interval are possible; in a shorter window the
 * doubtful ones of the minute may all have fallen into it.
 */
static void set_range(const fm_compare_input *in, fm_comparison *out)
{
    const double factor = 60.0 / (double)out->manual.seconds;
    const fm_event_count *c = in->count;
    out->per_min = (double)out->counted * factor;
    if (in->known != NULL) {
        double range[2];
        known_range(in, out->counted, out->start_s, out->end_s, range);
        out->low_per_min = range[0] * factor;
        out->high_per_min = range[1] * factor;
        return;
    }
    const double below = c->rate_per_min - c->rate_low_per_min;
    const double above = c->rate_high_per_min - c->rate_per_min;
    out->low_per_min =
        fmax(out->per_min - floor(below + FM_COMPARE_EPSILON) * factor, 0.0);
    out->high_per_min = out->per_min + floor(above + FM_COMPARE_EPSILON) * factor;
}

/*
 * A minute with missing audio: the learner may have counted what was there, or through
 * the gap. The range holds both hypotheses.
 */
static void set_range_with_gap(const fm_compare_input *in, fm_comparison *out)
{
    const double found = (double)out->counted;
    out->per_min = in->count->rate_per_min;
    out->low_per_min = fmin(found, in->count->rate_low_per_min);
    out->high_per_min = fmax(found, in->count->rate_high_per_min);
}

/* How far the reference reaches: a known beat may lie a little beside the device's. */
static double last_end_s(const fm_compare_input *in, const fm_comparison *out)
{
    const fm_window *window = &in->count->window;
    if (in->known == NULL) {
        return window->end_s;
    }
    return fmax(window->end_s, out->start_s + window->end_s - window->start_s);
}

static fm_no_verdict why_no_verdict(const fm_compare_input *in,
                                    const fm_comparison *out,
                                    bool gap)
{
    if (is_refused(in)) {
        return FM_NO_VERDICT_REFUSED;
    }
    if (out->end_s > last_end_s(in, out) + RULES[in->kind].end_slack_s) {
        return FM_NO_VERDICT_TOO_SHORT;
    }
    if (gap && (out->manual.seconds < 60 || !out->minute_known)) {
        return FM_NO_VERDICT_GAP;
    }
    if (in->known == NULL &&
        !(in->count->rate_low_per_min <= in->count->rate_high_per_min)) {
        return FM_NO_VERDICT_NO_RATE; /* either is NaN */
    }
    return FM_NO_VERDICT_NONE;
}

/* The longest gap that hides nothing. */
static double longest_ok_s(const fm_compare_input *in)
{
    const fm_event_count *c = in->count;
    if (in->kind == FM_EVENT_BEAT) {
        return fm_usual_interval_s(c->onsets_s, c->n);
    }
    const bool known = isfinite(c->rate_per_min) && c->rate_per_min > 0.0;
    return BREATH_GAP_SHARE * (known ? 60.0 / c->rate_per_min : 4.0);
}

/* Of the beats at the apex, those whose pulse is felt before the next beat. */
static int beats_that_arrive(const fm_known_events *known, double start_s, double end_s)
{
    int n = 0;
    for (size_t i = 0; i < known->n; i++) {
        const double s1_s = known->onsets_s[i];
        const double next_s = i + 1 < known->n ? known->onsets_s[i + 1] : s1_s + 1.0;
        const size_t k = first_at_or_after(known->wrist_s, known->n_wrist, s1_s);
        n += s1_s >= start_s && s1_s < end_s && k < known->n_wrist &&
             known->wrist_s[k] < next_s;
    }
    return n;
}

/*
 * A pulse arrives a little after its beat, so the last one may come after the end: both
 * ways of counting the same seconds are right.
 */
static void set_wrist(const fm_compare_input *in, fm_comparison *out)
{
    const double factor = 60.0 / (double)out->manual.seconds;
    const fm_known_events *known = in->known;
    int arrive = beats_that_arrive(known, out->start_s, out->end_s);
    arrive -= out->manual.convention == FM_CONVENTION_ZERO && arrive > 0;
    const int felt =
        fm_compare_beats_in(known->wrist_s, known->n_wrist, out->start_s,
                            (double)out->manual.seconds, out->manual.convention);
    out->at_wrist = true;
    out->counted = arrive;
    out->per_min = (double)arrive * factor;
    out->low_per_min = fmin(out->per_min, (double)felt * factor);
    out->high_per_min = fmax(out->per_min, (double)felt * factor);
}

static void set_reference(const fm_compare_input *in, fm_comparison *out)
{
    const events ref = reference_events(in);
    const bool gap =
        in->known == NULL && fm_seconds_are_hidden(&in->count->quality, out->start_s,
                                                   out->end_s, longest_ok_s(in));
    const fm_no_verdict why = why_no_verdict(in, out, gap);
    if (why != FM_NO_VERDICT_NONE) {
        set_no_verdict(out, why);
        return;
    }
    const bool through = in->kind == FM_EVENT_BEAT
                             ? gap
                             : in->known == NULL && out->manual.seconds == 60 &&
                                   !in->count->window.full_minute;
    out->reference_known = true;
    out->counted =
        fm_compare_beats_in(ref.onsets_s, ref.n, out->start_s,
                            (double)out->manual.seconds, out->manual.convention);
    if (through) {
        set_range_with_gap(in, out);
    } else {
        set_range(in, out);
    }
    out->apex_beats = out->counted;
    if (out->manual.site == FM_SITE_RADIAL) {
        out->more_at_wrist =
            out->manual_per_min > out->high_per_min + FM_COMPARE_EPSILON;
        if (in->known != NULL && in->known->has_wrist) {
            set_wrist(in, out);
        } else {
            out->fewer_at_wrist =
                out->manual_per_min < out->low_per_min - FM_COMPARE_EPSILON;
        }
    }
    out->difference_per_min = out->manual_per_min - out->per_min;
}

/*
 * Beats of the same seconds when the clock is started on the first of them. The window
 * then ends later by up to one interval; past the analysed end the next beat is taken
 * to come one median interval after the last.
 */
static int beats_from_first(const events *ref, double start_s, double seconds)
{
    const size_t first = first_at_or_after(ref->onsets_s, ref->n, start_s);
    if (first >= ref->n) {
        return 0;
    }
    const double from_s = ref->onsets_s[first];
    int n =
        fm_compare_beats_in(ref->onsets_s, ref->n, from_s, seconds, FM_CONVENTION_ONE);
    const double next_s =
        ref->onsets_s[ref->n - 1] + fm_median_interval_s(ref->onsets_s, ref->n);
    if (next_s < from_s + seconds - FM_COMPARE_EPSILON) {
        n++;
    }
    return n;
}

static void explain_by_convention(const events *ref, fm_comparison *out)
{
    const int off = out->manual.entered - out->counted;
    const double counted_per_min =
        (double)out->counted * 60.0 / (out->end_s - out->start_s);
    const bool gap = fabs(out->per_min - counted_per_min) > 0.01;
    if (gap || (off != 1 && off != -1)) {
        return;
    }
    if (out->manual.convention == FM_CONVENTION_ONE) {
        out->convention_explains = off == -1;
        out->explaining = FM_CONVENTION_ZERO;
    } else if (out->manual.convention == FM_CONVENTION_ZERO) {
        out->convention_explains = off == 1;
        out->explaining = FM_CONVENTION_ONE;
    } else {
        const int one =
            beats_from_first(ref, out->start_s, (double)out->manual.seconds);
        const int same = off == 1 ? one : one - 1;
        out->convention_explains = out->manual.entered == same;
        out->explaining = off == 1 ? FM_CONVENTION_ONE : FM_CONVENTION_ZERO;
    }
}

/* Listened and a little above, or watched and a little below. Known breaths are neither
 * watched nor listened to. */
static bool method_explains(const fm_compare_input *in, const fm_comparison *c)
{
    const double above = in->manual.method == FM_BREATH_LISTENED
                             ? c->difference_per_min
                             : -c->difference_per_min;
    return in->young && in->known == NULL && in->manual.method != FM_BREATH_NOT_SAID &&
           above > FM_COMPARE_EPSILON && above <= METHOD_PER_MIN + FM_COMPARE_EPSILON;
}

static fm_slip find_slip(const fm_compare_input *in, const fm_comparison *c)
{
    const rules *const r = &RULES[in->kind];
    const bool apical = c->manual.site == FM_SITE_APICAL;
    if (c->verdict != FM_VERDICT_DIFFERS || c->method_explains ||
        (!apical && c->difference_per_min < 0.0)) {
        return FM_SLIP_NONE;
    }
    const fm_slip_case off = {
        .entered = c->manual.entered,
        .seconds = c->manual.seconds,
        .reference = c->per_min,
        .counted = c->counted,
        .doubled = apical ? r->doubled : FM_SLIP_NONE,
        .halved = apical ? r->halved : FM_SLIP_NONE,
        .lost_thread = in->taps != NULL && in->taps->lost,
        .other_seconds = r->other_seconds,
        .n_short = c->n_short,
        .short_counts = c->short_counts,
    };
    const fm_slip slip = fm_slip_of(&off);
    /* at the wrist the short counts are the apex's */
    return c->at_wrist && slip == FM_SLIP_SHORT_COUNT ? FM_SLIP_NONE : slip;
}

static void set_short_counts(const fm_compare_input *in, fm_comparison *out)
{
    static const int lengths_s[] = {15, 30};
    const events ref = reference_events(in);
    const fm_window *const w = &in->count->window;
    for (size_t i = 0; i < 2 && !is_refused(in); i++) {
        const fm_short_count c = fm_compare_short_counts(
            ref.onsets_s, ref.n, w->start_s, w->end_s, lengths_s[i],
            in->known == NULL ? &in->count->quality : NULL);
        if (c.n_windows > 0) {
            out->short_counts[out->n_short++] = c;
        }
    }
}

/* No number, so nothing is compared but that. By ear alone: what is known of a recording
 * that the device cannot hear does not make it one that can be counted. */
static void set_could_not(const fm_compare_input *in, fm_comparison *out)
{
    const fm_outcome status = in->count->status;
    if (status == FM_REFUSED) {
        out->could_not = FM_VERDICT_AGREES;
    } else if (status == FM_CAUTION) {
        out->could_not = FM_VERDICT_TOO_CLOSE;
    } else if (out->reference_known) {
        out->could_not = FM_VERDICT_DIFFERS;
    }
    out->verdict = FM_VERDICT_NOT_COMPARABLE;
    out->no_verdict = FM_NO_VERDICT_COULD_NOT;
}

fm_status fm_compare(const fm_compare_input *in, fm_comparison *out)
{
    if ((unsigned)in->kind >= FM_EVENT_KINDS || !valid(in, &RULES[in->kind])) {
        return FM_ERR_ARG;
    }
    *out = (fm_comparison){
        .manual = in->manual,
        .manual_per_min = in->manual.could_not ? (double)NAN
                                               : (double)in->manual.entered * 60.0 /
                                                     (double)in->manual.seconds,
        .against_truth = in->known != NULL,
        .doubtful = in->known == NULL && in->count->status == FM_CAUTION,
        .tolerance_per_min = in->tolerance_per_min,
        .tapped = in->tapped,
    };
    const bool wrist =
        in->known != NULL && in->known->has_wrist && in->manual.site == FM_SITE_RADIAL;
    const events ref =
        wrist ? (events){in->known->wrist_s, in->known->n_wrist} : reference_events(in);
    set_seconds(in, out);
    set_minute(in, out);
    set_short_counts(in, out);
    set_reference(in, out);
    if (in->tapped) {
        out->taps = count_in(in->taps_s, in->n_taps, out->start_s, out->end_s);
    }
    if (in->manual.could_not) {
        set_could_not(in, out);
    }
    if (!out->reference_known || in->manual.could_not) {
        return FM_OK;
    }
    out->verdict =
        fm_compare_verdict(out->manual_per_min, out->low_per_min, out->high_per_min,
                           out->tolerance_per_min, out->doubtful);
    if (out->fewer_at_wrist) {
        out->verdict = FM_VERDICT_NOT_COMPARABLE;
        out->no_verdict = FM_NO_VERDICT_WRIST;
        return FM_OK;
    }
    if (in->kind == FM_EVENT_BEAT) {
        explain_by_convention(&ref, out);
    } else {
        out->method_explains = method_explains(in, out);
    }
    out->slip = find_slip(in, out);
    return FM_OK;
}
