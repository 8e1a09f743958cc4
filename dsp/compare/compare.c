#include "dsp/compare/compare.h"

#include "dsp/compare/compare_shared.h"

#include <math.h>

#define WORD_FUNCTION(name, type, count, map)                                          \
    const char *name(type value)                                                       \
    {                                                                                  \
        static const char *const words[count] = {map(WORD_ENTRY)};                     \
        return (unsigned)value < (unsigned)(count) ? words[value] : "unknown";         \
    }
#define WORD_ENTRY(name, word) [name] = (word),

WORD_FUNCTION(fm_verdict_word, fm_verdict, FM_VERDICT_COUNT, FM_VERDICT_MAP)
WORD_FUNCTION(fm_convention_word, fm_convention, FM_CONVENTION_COUNT, FM_CONVENTION_MAP)
WORD_FUNCTION(fm_site_word, fm_site, FM_SITE_COUNT, FM_SITE_MAP)
WORD_FUNCTION(fm_slip_word, fm_slip, FM_SLIP_COUNT, FM_SLIP_MAP)
WORD_FUNCTION(fm_no_verdict_word, fm_no_verdict, FM_NO_VERDICT_COUNT, FM_NO_VERDICT_MAP)

/*
 * A window started on a beat may end this much after the analysed minute: the analysis
 * starts a little before that beat so that it is surely inside.
 */
static const double END_SLACK_S = 0.06;

/*
 * The device starts a window on the beat where it hears it, which may be this much after
 * the known onset: half an interval at 300 per minute, so never as far as another beat.
 */
static const double ONSET_ERROR_S = 0.1;

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

static double median_interval_s(const double *s1_s, size_t n_s1)
{
    double sorted[FM_BEATS_MAX] = {0.0};
    size_t n = 0;
    for (size_t i = 1; i < n_s1 && n < FM_BEATS_MAX; i++) {
        const double length = s1_s[i] - s1_s[i - 1];
        size_t k = n++;
        for (; k > 0 && sorted[k - 1] > length; k--) {
            sorted[k] = sorted[k - 1];
        }
        sorted[k] = length;
    }
    return n > 0 ? sorted[n / 2] : (double)NAN;
}

/* Does [start_s, end_s) meet missing audio longer than a beat? */
static bool touches_gap(const fm_quality *quality,
                        double start_s,
                        double end_s,
                        double interval_s)
{
    return fm_seconds_are_hidden(quality, start_s, end_s,
                                 isfinite(interval_s) ? interval_s : 1.0);
}

fm_short_count fm_compare_short_counts(const double *s1_s,
                                       size_t n_s1,
                                       double start_s,
                                       double end_s,
                                       int seconds,
                                       const fm_quality *quality)
{
    fm_short_count out = {.seconds = seconds,
                          .min_per_min = (double)NAN,
                          .max_per_min = (double)NAN,
                          .mean_per_min = (double)NAN};
    const double length_s = (double)seconds;
    const double interval_s = median_interval_s(s1_s, n_s1);
    double sum = 0.0;
    for (int k = 0; start_s + (double)k + length_s <= end_s + FM_COMPARE_EPSILON; k++) {
        const double from_s = start_s + (double)k;
        if (touches_gap(quality, from_s, from_s + length_s, interval_s)) {
            continue;
        }
        const int beats =
            fm_compare_beats_in(s1_s, n_s1, from_s, length_s, FM_CONVENTION_CLOCK);
        const double per_min = (double)beats * 60.0 / length_s;
        out.min_per_min = out.n_windows == 0 ? per_min : fmin(out.min_per_min, per_min);
        out.max_per_min = out.n_windows == 0 ? per_min : fmax(out.max_per_min, per_min);
        sum += per_min;
        out.n_windows++;
    }
    if (out.n_windows > 0) {
        out.mean_per_min = sum / (double)out.n_windows;
    }
    return out;
}

static bool valid(const fm_compare_input *in)
{
    const fm_manual *m = &in->manual;
    return (m->seconds == 15 || m->seconds == 30 || m->seconds == 60) &&
           m->entered >= 1 && m->entered * (60 / m->seconds) <= FM_MANUAL_MAX &&
           (unsigned)m->convention < FM_CONVENTION_COUNT &&
           (unsigned)m->site < FM_SITE_COUNT && in->tolerance_per_min > 0.0 &&
           in->tolerance_per_min <= (double)FM_MANUAL_MAX;
}

/** The beats that are compared with: the device's, or the known ones. */
typedef struct beats {
    const double *s1_s;
    size_t n_s1;
} beats;

static beats reference_beats(const fm_compare_input *in)
{
    if (in->known != NULL) {
        return (beats){in->known->s1_s, in->known->n_s1};
    }
    return (beats){in->count->heart.count.onsets_s, in->count->heart.count.n};
}

/* How many of the known beats in [start_s, end_s) nobody could hear. */
static int inaudible_in(const fm_known_beats *known, double start_s, double end_s)
{
    int n = 0;
    for (size_t i = 0; known != NULL && i < known->n_inaudible; i++) {
        const size_t k = known->inaudible[i];
        n += k < known->n_s1 && known->s1_s[k] >= start_s && known->s1_s[k] < end_s;
    }
    return n;
}

static void set_no_verdict(fm_comparison *out, fm_no_verdict why)
{
    out->verdict = FM_VERDICT_NOT_COMPARABLE;
    out->no_verdict = why;
    out->reference_known = false;
    out->beats = 0;
    out->per_min = (double)NAN;
    out->low_per_min = (double)NAN;
    out->high_per_min = (double)NAN;
    out->difference_per_min = (double)NAN;
}

static void set_seconds(const fm_compare_input *in, fm_comparison *out)
{
    const beats ref = reference_beats(in);
    const double early_s = in->known != NULL ? ONSET_ERROR_S : 0.0;
    out->start_s = in->count->heart.count.window.start_s;
    if (out->manual.convention != FM_CONVENTION_CLOCK) {
        const size_t first =
            first_at_or_after(ref.s1_s, ref.n_s1, out->start_s - early_s);
        if (first < ref.n_s1) {
            out->start_s = ref.s1_s[first];
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
    const fm_heart *heart = &in->count->heart;
    const fm_window *window = &in->count->heart.count.window;
    const double off =
        in->manual.convention == FM_CONVENTION_ZERO && window->full_minute ? 1.0 : 0.0;
    out->minute_per_min = heart->count.rate_per_min - off;
    out->minute_low_per_min = heart->count.rate_low_per_min - off;
    out->minute_high_per_min = heart->count.rate_high_per_min - off;
    if (in->known != NULL &&
        window->end_s - window->start_s >= 60.0 - FM_COMPARE_EPSILON) {
        const int n = fm_compare_beats_in(in->known->s1_s, in->known->n_s1,
                                          out->start_s, 60.0, in->manual.convention);
        const int unheard = inaudible_in(in->known, out->start_s, out->start_s + 60.0);
        out->minute_per_min = (double)n;
        out->minute_low_per_min = (double)(n - unheard);
        out->minute_high_per_min = (double)n;
    }
    out->minute_known =
        heart->count.status != FM_REFUSED && isfinite(out->minute_per_min);
    out->minute_whole = out->minute_known &&
                        (window->full_minute || in->known != NULL) &&
                        window->end_s - window->start_s >= 60.0 - FM_COMPARE_EPSILON;
    if (!out->minute_known) {
        out->minute_per_min = (double)NAN;
        out->minute_low_per_min = (double)NAN;
        out->minute_high_per_min = (double)NAN;
    }
}

/*
 * The range of the reference in the learner's seconds. A count is a whole number, so
 * only whole beats inside the device's interval are possible; in a shorter window the
 * doubtful beats of the minute may all have fallen into it.
 */
static void set_range(const fm_compare_input *in, fm_comparison *out)
{
    const double factor = 60.0 / (double)out->manual.seconds;
    const fm_heart *heart = &in->count->heart;
    out->per_min = (double)out->beats * factor;
    if (in->known != NULL) {
        const int unheard = inaudible_in(in->known, out->start_s, out->end_s);
        out->low_per_min = (double)(out->beats - unheard) * factor;
        out->high_per_min = out->per_min;
        return;
    }
    const double below = heart->count.rate_per_min - heart->count.rate_low_per_min;
    const double above = heart->count.rate_high_per_min - heart->count.rate_per_min;
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
    const fm_heart *heart = &in->count->heart;
    const double found = (double)out->beats;
    out->per_min = heart->count.rate_per_min;
    out->low_per_min = fmin(found, heart->count.rate_low_per_min);
    out->high_per_min = fmax(found, heart->count.rate_high_per_min);
}

/* How far the reference reaches: a known beat may lie a little beside the device's. */
static double last_end_s(const fm_compare_input *in, const fm_comparison *out)
{
    const fm_window *window = &in->count->heart.count.window;
    if (in->known == NULL) {
        return window->end_s;
    }
    return fmax(window->end_s, out->start_s + window->end_s - window->start_s);
}

static fm_no_verdict why_no_verdict(const fm_compare_input *in,
                                    const fm_comparison *out,
                                    bool gap)
{
    const fm_heart *heart = &in->count->heart;
    if (heart->count.status == FM_REFUSED) {
        return FM_NO_VERDICT_REFUSED;
    }
    if (out->end_s > last_end_s(in, out) + END_SLACK_S) {
        return FM_NO_VERDICT_TOO_SHORT;
    }
    if (gap && (out->manual.seconds < 60 || !out->minute_known)) {
        return FM_NO_VERDICT_GAP;
    }
    if (in->known == NULL &&
        !(heart->count.rate_low_per_min <= heart->count.rate_high_per_min)) {
        return FM_NO_VERDICT_NO_RATE; /* either is NaN */
    }
    return FM_NO_VERDICT_NONE;
}

/* Of the beats at the apex, those whose pulse is felt before the next beat. */
static int beats_that_arrive(const fm_known_beats *known, double start_s, double end_s)
{
    int n = 0;
    for (size_t i = 0; i < known->n_s1; i++) {
        const double s1_s = known->s1_s[i];
        const double next_s = i + 1 < known->n_s1 ? known->s1_s[i + 1] : s1_s + 1.0;
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
    const fm_known_beats *known = in->known;
    int arrive = beats_that_arrive(known, out->start_s, out->end_s);
    arrive -= out->manual.convention == FM_CONVENTION_ZERO && arrive > 0;
    const int felt =
        fm_compare_beats_in(known->wrist_s, known->n_wrist, out->start_s,
                            (double)out->manual.seconds, out->manual.convention);
    out->at_wrist = true;
    out->beats = arrive;
    out->per_min = (double)arrive * factor;
    out->low_per_min = fmin(out->per_min, (double)felt * factor);
    out->high_per_min = fmax(out->per_min, (double)felt * factor);
}

static void set_reference(const fm_compare_input *in, fm_comparison *out)
{
    const beats ref = reference_beats(in);
    const bool gap = in->known == NULL &&
                     touches_gap(&in->count->heart.count.quality, out->start_s,
                                 out->end_s, median_interval_s(ref.s1_s, ref.n_s1));
    const fm_no_verdict why = why_no_verdict(in, out, gap);
    if (why != FM_NO_VERDICT_NONE) {
        set_no_verdict(out, why);
        return;
    }
    out->reference_known = true;
    out->beats =
        fm_compare_beats_in(ref.s1_s, ref.n_s1, out->start_s,
                            (double)out->manual.seconds, out->manual.convention);
    if (gap) {
        set_range_with_gap(in, out);
    } else {
        set_range(in, out);
    }
    out->apex_beats = out->beats;
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
static int beats_from_first(const beats *ref, double start_s, double seconds)
{
    const size_t first = first_at_or_after(ref->s1_s, ref->n_s1, start_s);
    if (first >= ref->n_s1) {
        return 0;
    }
    const double from_s = ref->s1_s[first];
    int n =
        fm_compare_beats_in(ref->s1_s, ref->n_s1, from_s, seconds, FM_CONVENTION_ONE);
    const double next_s =
        ref->s1_s[ref->n_s1 - 1] + median_interval_s(ref->s1_s, ref->n_s1);
    if (next_s < from_s + seconds - FM_COMPARE_EPSILON) {
        n++;
    }
    return n;
}

static void explain_by_convention(const beats *ref, fm_comparison *out)
{
    const int off = out->manual.entered - out->beats;
    const double counted_per_min =
        (double)out->beats * 60.0 / (out->end_s - out->start_s);
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

/* A short count's entry that was multiplied up before it was entered. */
static bool multiplied_already(const fm_comparison *c)
{
    const int factor = 60 / c->manual.seconds;
    const int counted = c->manual.entered / factor;
    return factor > 1 && counted * factor == c->manual.entered &&
           fm_rate_looks_like((double)counted, (double)c->beats);
}

/* A full-minute entry that is what 15 s of this minute give. */
static bool is_a_quarter(const fm_comparison *c)
{
    return c->manual.seconds == 60 && c->n_short > 0 &&
           c->short_counts[0].seconds == 15 &&
           4.0 * c->manual_per_min >= c->short_counts[0].min_per_min &&
           4.0 * c->manual_per_min <= c->short_counts[0].max_per_min;
}

static fm_slip find_slip(const fm_comparison *c, const fm_taps *taps)
{
    const bool apical = c->manual.site == FM_SITE_APICAL;
    if (c->verdict != FM_VERDICT_DIFFERS || (!apical && c->difference_per_min < 0.0)) {
        return FM_SLIP_NONE;
    }
    if (taps != NULL && taps->lost) {
        return FM_SLIP_LOST_THREAD;
    }
    if (multiplied_already(c)) {
        return FM_SLIP_MULTIPLIED;
    }
    if (is_a_quarter(c)) {
        return FM_SLIP_SECONDS;
    }
    if (apical && fm_rate_looks_like(c->manual_per_min, 2.0 * c->per_min)) {
        return FM_SLIP_BOTH_SOUNDS;
    }
    if (apical && fm_rate_looks_like(c->manual_per_min, 0.5 * c->per_min)) {
        return FM_SLIP_EVERY_OTHER;
    }
    if (c->at_wrist) {
        return FM_SLIP_NONE; /* the short counts are the apex's */
    }
    return fm_entry_looks_multiplied(c->manual.entered, c->manual.seconds,
                                     c->short_counts, c->n_short)
               ? FM_SLIP_SHORT_COUNT
               : FM_SLIP_NONE;
}

static void set_short_counts(const fm_compare_input *in, fm_comparison *out)
{
    const beats ref = reference_beats(in);
    if (in->count->heart.count.status != FM_REFUSED) {
        out->n_short = fm_short_counts_of(
            ref.s1_s, ref.n_s1, &in->count->heart.count.window,
            in->known == NULL ? &in->count->heart.count.quality : NULL,
            out->short_counts);
    }
}

fm_status fm_compare(const fm_compare_input *in, fm_comparison *out)
{
    if (!valid(in)) {
        return FM_ERR_ARG;
    }
    *out = (fm_comparison){
        .manual = in->manual,
        .manual_per_min =
            (double)in->manual.entered * 60.0 / (double)in->manual.seconds,
        .against_truth = in->known != NULL,
        .doubtful = in->known == NULL && in->count->heart.count.status == FM_CAUTION,
        .tolerance_per_min = in->tolerance_per_min,
    };
    const bool wrist =
        in->known != NULL && in->known->has_wrist && in->manual.site == FM_SITE_RADIAL;
    const beats ref =
        wrist ? (beats){in->known->wrist_s, in->known->n_wrist} : reference_beats(in);
    set_seconds(in, out);
    set_minute(in, out);
    set_short_counts(in, out);
    set_reference(in, out);
    if (!out->reference_known) {
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
    explain_by_convention(&ref, out);
    out->slip = find_slip(out, in->taps);
    return FM_OK;
}
