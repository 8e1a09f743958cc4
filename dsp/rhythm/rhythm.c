#include "dsp/rhythm/rhythm.h"

#include "dsp/constants.h"
#include "dsp/rhythm/interval_measures.h"
#include "dsp/rhythm/rhythm_private.h"

#include <math.h>
#include <string.h>

/* Sinus arrhythmia: extreme intervals differ by more than 120 ms (THEW definitions,
 * thew-project.org; others take 160). Under 45 ms the modulation is not said; ours. */
static const double BREATHING_IRREGULAR_S = 0.120;
static const double BREATHING_SEEN_S = 0.045;
/* Share of the variance, beyond chance, that sinusoids must explain: independent intervals
 * stay near 0, breathing has 0.5 and more; tuned on composed rhythms. */
static const double MODULATION_STRONG = 0.45;
static const double MODULATION_SEEN = 0.40;
static const double MODULATION_SAME =
    0.55; /* share of stretches with one period; ours */

/* Intervals in fibrillation are independent (from memory); in a modulation the next one is much
 * like this one. Correlation over which a wide spread is no sign of fibrillation: ours. */
static const double SMOOTH = 0.40;

/* Independent errors in the times of a steady heart's beats: correlation -0.5 of an
 * interval with the next, and the sum of four no wider than one (closed form: 0.25 of the
 * variance of four independent ones). Simulated independent intervals are past both limits
 * in 3 of 1000 minutes with 40 beats, in none of 3000 with 100. */
static const double TIMING_NEXT = -0.30;
static const double TIMING_SUMS = 0.40;

/* RMSSD / mean over which fibrillation is suspected (Dash 2009). Timing errors alone give
 * sqrt 6 of their SD (closed form): 44 ms for the worst we expect, 18 ms, which counts at
 * fast rates. */
static const double UNSTEADY_RATIO = 0.10;
static const double UNSTEADY_TIMING_S = 0.044;
static const double DOUBT_RATIO = 0.075; /* between: no pattern is named; ours */

static const double EXPECTED_SHARE =
    0.5;                                /* a base must hold half the intervals; ours */
static const double UNSURE_SHARE = 0.2; /* more doubtful ones: no pattern; ours */
static const double MANY_PER_MIN = 5.5; /* six a minute and more are not occasional */

/* A straight drift of 10 % in the window and more is no longer even; the rate of a person
 * at rest wanders by as much to and fro, which is. Share of variance on the line: ours. */
static const double DRIFT_MAX = 0.10;
static const double DRIFT_STRAIGHT = 0.80;

static bool in_excluded(double from_s,
                        double to_s,
                        const fm_span *excluded,
                        size_t n_excluded)
{
    for (size_t i = 0; i < n_excluded; i++) {
        const double end_s = excluded[i].start_s + excluded[i].length_s;
        if (excluded[i].start_s < to_s && end_s > from_s &&
            excluded[i].length_s > 0.0) {
            return true;
        }
    }
    return false;
}

/* All intervals that no excluded span cuts, in order. Beside one a beat lacks its neighbours,
 * or its S2: its intervals are doubtful. */
static void list_intervals(fm_rhythm_series *s,
                           const double *s1_s,
                           const float *sureness,
                           size_t n,
                           const fm_span *excluded,
                           size_t n_excluded)
{
    double last_s = (double)NAN;
    bool last_sure = false;
    bool chained = false;
    bool after_excluded = false;
    s->n = 0;
    for (size_t i = 0; i < n && i < FM_BEATS_MAX; i++) {
        if (!isfinite(s1_s[i]) || s1_s[i] <= last_s) {
            continue;
        }
        const bool sure = sureness == NULL || sureness[i] >= FM_SURE_FROM;
        if (!isnan(last_s)) {
            const bool cut = in_excluded(last_s, s1_s[i], excluded, n_excluded);
            if (cut && chained) { /* it ends beside an excluded span */
                s->beat[s->n - 1].doubtful = true;
            }
            if (!cut) {
                s->beat[s->n++] =
                    (fm_rhythm_beat){.start_s = last_s,
                                     .length_s = s1_s[i] - last_s,
                                     .base_s = s1_s[i] - last_s,
                                     .follows = chained,
                                     .doubtful = !sure || !last_sure || after_excluded};
            }
            after_excluded = cut;
            chained = !cut;
        }
        last_s = s1_s[i];
        last_sure = sure;
    }
}

static size_t count_kind(const fm_rhythm_series *s, fm_interval_kind kind)
{
    size_t n = 0;
    for (size_t i = 0; i < s->n; i++) {
        n += s->beat[i].kind == kind ? 1 : 0;
    }
    return n;
}

double fm_rhythm_listed_s(const fm_rhythm_series *s)
{
    double sum_s = 0.0;
    for (size_t i = 0; i < s->n; i++) {
        sum_s += s->beat[i].length_s;
    }
    return sum_s;
}

static void add_finding(fm_rhythm *out,
                        fm_finding_kind kind,
                        size_t n,
                        const double *times_s)
{
    if (n == 0 || out->n_findings >= FM_FINDINGS_MAX) {
        return;
    }
    fm_finding *f = &out->findings[out->n_findings++];
    f->kind = kind;
    f->count = n;
    for (size_t i = 0; i < n && i < FM_FINDING_TIMES; i++) {
        f->times_s[i] = times_s[i];
    }
}

/* Early beats are named by the beat that came early, pauses by the beat before. */
static void add_events(const fm_rhythm_series *s, fm_rhythm *out)
{
    double early_s[FM_FINDING_TIMES];
    double pauses_s[FM_FINDING_TIMES];
    size_t n_early = 0;
    size_t n_pauses = 0;
    for (size_t i = 0; i < s->n; i++) {
        const fm_rhythm_beat *b = &s->beat[i];
        if (b->kind == FM_INTERVAL_EARLY) {
            if (n_early < FM_FINDING_TIMES) {
                early_s[n_early] = b->start_s + b->length_s;
            }
            n_early++;
        } else if (b->kind == FM_INTERVAL_PAUSE) {
            if (n_pauses < FM_FINDING_TIMES) {
                pauses_s[n_pauses] = b->start_s;
            }
            n_pauses++;
        }
    }
    add_finding(out, FM_FINDING_EARLY_BEATS, n_early, early_s);
    add_finding(out, FM_FINDING_PAUSES, n_pauses, pauses_s);
}

/* Of all sure intervals, or of those alone that lie near what was expected. */
static fm_interval_measures measures_of(const fm_rhythm_series *s, bool expected_only)
{
    fm_measured_interval x[FM_BEATS_MAX];
    size_t n = 0;
    bool linked = false;
    for (size_t i = 0; i < s->n; i++) {
        const fm_interval_kind kind = s->beat[i].kind;
        const bool in =
            expected_only ? kind == FM_INTERVAL_EXPECTED : kind != FM_INTERVAL_UNSURE;
        if (in) {
            x[n++] = (fm_measured_interval){.length_s = s->beat[i].length_s,
                                            .follows = linked && s->beat[i].follows};
        }
        linked = in;
    }
    return fm_interval_measures_estimate(x, n);
}

/* RMSSD over mean. */
static double rmssd_ratio(const fm_rhythm_series *s, bool expected_only)
{
    const fm_interval_measures m = measures_of(s, expected_only);
    return m.rmssd_ms / 1000.0 / m.mean_interval_s;
}

static double even_length(const fm_rhythm_beat *b)
{
    return b->kind == FM_INTERVAL_EXPECTED ? b->length_s : b->base_s;
}

/* Does the rate drift straight on through the window by more than a resting one does? A
 * straight line through the logarithms of the intervals, events replaced. */
static bool drifts(const fm_rhythm_series *s)
{
    double t = 0.0;
    double y = 0.0;
    double tt = 0.0;
    double ty = 0.0;
    double yy = 0.0;
    const double t0 = s->beat[0].start_s;
    const double y0 = log(even_length(&s->beat[0]));
    for (size_t i = 0; i < s->n; i++) {
        const double ti = s->beat[i].start_s - t0;
        const double yi = log(even_length(&s->beat[i])) - y0;
        t += ti;
        y += yi;
        tt += ti * ti;
        ty += ti * yi;
        yy += yi * yi;
    }
    const double n = (double)s->n;
    const double ctt = tt - t * t / n;
    const double cty = ty - t * y / n;
    const double cyy = yy - y * y / n;
    const double span_s = s->beat[s->n - 1].start_s - t0;
    return fabs(span_s * cty / ctt) > DRIFT_MAX &&
           cty * cty > DRIFT_STRAIGHT * ctt * cyy;
}

static void set_repeat_group(fm_rhythm *out, const fm_rhythm_group *g)
{
    out->pattern = FM_PATTERN_REGULARLY_IRREGULAR;
    out->repeat[0] = (char)('0' + g->n_basic);
    out->repeat[1] = ':';
    out->repeat[2] = (char)('0' + (int)g->n);
    out->repeat[3] = '\0';
}

static bool is_event(const fm_rhythm_beat *b)
{
    return b->kind == FM_INTERVAL_EARLY || b->kind == FM_INTERVAL_PAUSE;
}

/* A single event in the first interval or the last is none: nothing before, or behind, says that the
 * sound was a beat, and a chest piece is placed, or lifted, just there. */
static void doubt_lone_edge(fm_rhythm_series *s)
{
    size_t events = 0;
    for (size_t i = 0; i < s->n; i++) {
        events += is_event(&s->beat[i]) ? 1 : 0;
    }
    fm_rhythm_beat *last = &s->beat[s->n - 1];
    if (events != 1 || (!is_event(&s->beat[0]) && !is_event(last))) {
        return;
    }
    if (is_event(last)) {
        last->kind = FM_INTERVAL_UNSURE;
        return;
    }
    s->beat[0].kind = FM_INTERVAL_UNSURE;
    if (s->n > 1 && s->beat[1].kind == FM_INTERVAL_AFTER_EARLY) {
        s->beat[1].kind = FM_INTERVAL_EXPECTED;
    }
}

/* Pattern of a base with single events, once the kinds are named. */
static void classify_events(fm_rhythm_series *s, bool breathing, fm_rhythm *out)
{
    doubt_lone_edge(s);
    const size_t events =
        count_kind(s, FM_INTERVAL_EARLY) + count_kind(s, FM_INTERVAL_PAUSE);
    const size_t late = count_kind(s, FM_INTERVAL_LATE);
    const double most = MANY_PER_MIN / 60.0 * fm_rhythm_listed_s(s);
    add_events(s, out);
    if ((double)(events + late) >= most) {
        out->pattern = FM_PATTERN_IRREGULARLY_IRREGULAR;
    } else if (breathing) {
        out->pattern = FM_PATTERN_REGULARLY_IRREGULAR;
        memcpy(out->repeat, "breathing", sizeof "breathing");
    } else {
        out->pattern =
            events > 0 ? FM_PATTERN_OCCASIONALLY_IRREGULAR : FM_PATTERN_REGULAR;
    }
}

/* How each interval is related to the next, about their mean. */
typedef struct structure {
    double next; /* correlation of an interval with the next one */
    double sums; /* variance of sums of SUMMED in a row, in that of independent ones */
} structure;

enum {
    SUMMED = 4
};

static structure structure_of(const fm_rhythm_series *s)
{
    const double mean_s = fm_rhythm_listed_s(s) / (double)s->n;
    double squares = 0.0;
    double products = 0.0;
    double sum_squares = 0.0;
    double sum_s = 0.0;
    size_t run = 0;
    size_t sums = 0;
    for (size_t i = 0; i < s->n; i++) {
        const double off_s = s->beat[i].length_s - mean_s;
        run = s->beat[i].follows ? run + 1 : 1;
        sum_s = run == 1 ? off_s : sum_s + off_s;
        if (run > SUMMED) {
            sum_s -= s->beat[i - SUMMED].length_s - mean_s;
        }
        squares += off_s * off_s;
        products += run > 1 ? off_s * (s->beat[i - 1].length_s - mean_s) : 0.0;
        sum_squares += run >= SUMMED ? sum_s * sum_s : 0.0;
        sums += run >= SUMMED ? 1 : 0;
    }
    if (!(squares > 0.0) || sums == 0) {
        return (structure){0.0, 1.0};
    }
    const double variance = squares / (double)s->n;
    return (structure){products / squares,
                       sum_squares / (double)sums / variance / SUMMED};
}

/* Is the unevenness that of beats badly timed, and not of the heart? A beat heard late
 * makes one interval longer and the next one shorter by as much. */
static bool badly_timed(structure x)
{
    return x.next <= TIMING_NEXT && x.sums <= TIMING_SUMS;
}

typedef enum steadiness {
    STEADY,
    DOUBTFUL,
    UNSTEADY
} steadiness;

/* How steady the base is under single events: by RMSSD / mean of the expected intervals.
 * Setting events aside trims a fibrillation too, so near the limit the whole series and
 * the robust spread (root two of it is RMSSD for independent intervals) decide. */
static steadiness base_steadiness(const fm_rhythm_series *s)
{
    const double mean_s = fm_rhythm_listed_s(s) / (double)s->n;
    const double expected = (double)count_kind(s, FM_INTERVAL_EXPECTED);
    const double sure = (double)(s->n - count_kind(s, FM_INTERVAL_UNSURE));
    const double timing = UNSTEADY_TIMING_S / mean_s;
    const double limit = fmax(UNSTEADY_RATIO, timing);
    const double ratio = rmssd_ratio(s, true);
    if (expected < EXPECTED_SHARE * sure || !(ratio < limit)) {
        return UNSTEADY;
    }
    if (ratio < fmax(DOUBT_RATIO, timing)) {
        return STEADY;
    }
    const bool wide =
        rmssd_ratio(s, false) >= limit && fm_rhythm_spread(s) * sqrt(2.0) >= limit;
    return wide ? UNSTEADY : DOUBTFUL;
}

static void classify_plain(fm_rhythm_series *s, fm_rhythm *out)
{
    fm_rhythm_modulation modulation;
    fm_rhythm_set_base(s);
    fm_rhythm_name_kinds(s);
    fm_rhythm_find_modulation(s, &modulation);
    const steadiness base = base_steadiness(s);
    const double needed = base == STEADY ? MODULATION_SEEN : MODULATION_STRONG;
    const bool modulated = modulation.same >= MODULATION_SAME &&
                           modulation.range_s >= BREATHING_SEEN_S &&
                           modulation.share >= needed;
    const bool breathing = modulated && modulation.range_s > BREATHING_IRREGULAR_S;
    out->varies_with_breathing = modulated;
    if (modulated && modulation.share >= MODULATION_STRONG) {
        for (size_t i = 0; i < s->n; i++) {
            s->beat[i].base_s = modulation.fit_s[i];
        }
        fm_rhythm_name_kinds(s);
        classify_events(s, breathing, out);
    } else if (base == UNSTEADY) {
        const structure x = structure_of(s);
        out->pattern = x.next >= SMOOTH || badly_timed(x)
                           ? FM_PATTERN_UNDETERMINED
                           : FM_PATTERN_IRREGULARLY_IRREGULAR;
    } else if (base == DOUBTFUL) {
        out->pattern = FM_PATTERN_UNDETERMINED;
    } else {
        classify_events(s, breathing, out);
    }
    if (out->pattern == FM_PATTERN_REGULAR && drifts(s)) {
        out->pattern = FM_PATTERN_UNDETERMINED;
    }
}

static void classify(fm_rhythm_series *s, fm_rhythm *out)
{
    fm_rhythm_group group;
    fm_rhythm_change change;
    fm_rhythm_find_group(s, &group);
    if (group.found) {
        fm_rhythm_name_group(s, &group);
        set_repeat_group(out, &group);
        return;
    }
    fm_rhythm_find_change(s, &change);
    if (change.found) {
        fm_rhythm_set_base(s);
        fm_rhythm_name_kinds(s);
        add_events(s, out);
        add_finding(out, FM_FINDING_RATE_CHANGE, change.n_changes, change.changes_s);
        add_finding(out, FM_FINDING_FAST_RUN, change.n_runs, change.runs_s);
        return;
    }
    classify_plain(s, out);
}

static void measure(const fm_rhythm_series *s, fm_rhythm *out)
{
    const fm_interval_measures m = measures_of(s, false);
    out->mean_interval_s = m.mean_interval_s;
    out->sdnn_ms = m.sdnn_ms;
    out->rmssd_ms = m.rmssd_ms;
    out->pnn50 = m.pnn50;
    out->cv = m.cv;
    out->sd1_ms = m.sd1_ms;
    out->sd2_ms = m.sd2_ms;
}

/* Eight arguments are the price of a plain call. NOLINTNEXTLINE(*-function-size) */
void fm_rhythm_describe(const double *s1_s,
                        const float *sureness,
                        size_t n,
                        const fm_span *excluded,
                        size_t n_excluded,
                        double window_start_s,
                        double window_end_s,
                        fm_rhythm *out)
{
    fm_rhythm_series s = {0};
    *out = (fm_rhythm){.pattern = FM_PATTERN_UNDETERMINED};
    list_intervals(&s, s1_s, sureness, n, excluded, n_excluded);
    if (s.n >= FM_RHYTHM_MIN_INTERVALS &&
        window_end_s - window_start_s >= FM_RHYTHM_MIN_S) {
        classify(&s, out);
    } else {
        fm_rhythm_set_base(&s);
        fm_rhythm_name_kinds(&s);
    }
    const size_t unsure = count_kind(&s, FM_INTERVAL_UNSURE);
    if ((double)unsure > UNSURE_SHARE * (double)s.n) {
        out->pattern = FM_PATTERN_UNDETERMINED;
    }
    measure(&s, out);
    out->n_intervals = s.n;
    for (size_t i = 0; i < s.n; i++) {
        const fm_rhythm_beat *b = &s.beat[i];
        out->intervals[i] = (fm_interval){b->start_s, b->length_s, b->kind};
    }
}
