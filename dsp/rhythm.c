#include "dsp/rhythm.h"

#include "dsp/interval_measures.h"
#include "dsp/rhythm_private.h"

#include <math.h>
#include <string.h>

static const double SURE_MIN = 0.3; /* a beat under it may be none; ours */

/* Sinus arrhythmia: extreme intervals differ by more than 120 ms (THEW definitions,
 * thew-project.org; others take 160). Under 40 ms the swing is not said; ours. */
static const double BREATHING_IRREGULAR_S = 0.120;
static const double BREATHING_SEEN_S = 0.035;
/* Share of the variance one sinusoid must explain: independent intervals reach 0.3 to 0.5
 * in a stretch of 20 s, breathing 0.6 and more; tuned on composed rhythms. */
static const double SWING_STRONG = 0.62;
static const double SWING_SEEN = 0.50;
static const double SWING_SAME = 0.55;

/* RMSSD / mean over which fibrillation is suspected (Dash 2009); timing errors of 15 ms
 * alone make sqrt 6 times that of RMSSD, which counts at fast rates (EVIDENCE 3.2). */
static const double UNSTEADY_RATIO = 0.10;
static const double UNSTEADY_TIMING_S = 0.037;
static const double DOUBT_RATIO = 0.075; /* between: no pattern is named; ours */

static const double EXPECTED_SHARE =
    0.5;                                /* a base must hold half the intervals; ours */
static const double UNSURE_SHARE = 0.2; /* more doubtful ones: no pattern; ours */
static const double MANY_PER_MIN = 5.5; /* six a minute and more are not occasional */
static const double DRIFT_MAX = 0.10;   /* change of rate within a minute */

static bool in_hole(double from_s, double to_s, const fm_span *holes, size_t n_holes)
{
    for (size_t i = 0; i < n_holes; i++) {
        const double end_s = holes[i].start_s + holes[i].length_s;
        if (holes[i].start_s < to_s && end_s > from_s && holes[i].length_s > 0.0) {
            return true;
        }
    }
    return false;
}

/* All intervals that no hole cuts, in order. */
static void list_intervals(fm_rhythm_series *s,
                           const double *s1_s,
                           const float *sureness,
                           size_t n,
                           const fm_span *holes,
                           size_t n_holes)
{
    double last_s = (double)NAN;
    bool last_sure = false;
    bool chained = false;
    s->n = 0;
    for (size_t i = 0; i < n && i < FM_BEATS_MAX; i++) {
        if (!isfinite(s1_s[i]) || s1_s[i] <= last_s) {
            continue;
        }
        const bool sure = sureness == NULL || (double)sureness[i] >= SURE_MIN;
        if (!isnan(last_s)) {
            const bool cut = in_hole(last_s, s1_s[i], holes, n_holes);
            if (!cut) {
                s->beat[s->n++] = (fm_rhythm_beat){.start_s = last_s,
                                                   .length_s = s1_s[i] - last_s,
                                                   .base_s = s1_s[i] - last_s,
                                                   .follows = chained,
                                                   .doubtful = !sure || !last_sure};
            }
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

static double listed_s(const fm_rhythm_series *s)
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

/* RMSSD over mean of the intervals that lie near what was expected. */
static double base_ratio(const fm_rhythm_series *s)
{
    fm_measured_interval x[FM_BEATS_MAX];
    size_t n = 0;
    bool linked = false;
    for (size_t i = 0; i < s->n; i++) {
        const bool in = s->beat[i].kind == FM_INTERVAL_EXPECTED;
        if (in) {
            x[n++] = (fm_measured_interval){.length_s = s->beat[i].length_s,
                                            .follows = linked && s->beat[i].follows};
        }
        linked = in;
    }
    const fm_interval_measures m = fm_interval_measures_estimate(x, n);
    return m.rmssd_ms / 1000.0 / m.mean_interval_s;
}

/* Change of the interval over a minute as a share of it: Theil-Sen slope (Sen, J. Am.
 * Stat. Assoc. 63:1379, 1968) of means over blocks of eight, which breathing moves little. */
static double drift_per_min(const fm_rhythm_series *s)
{
    enum {
        BLOCK = 8,
        BLOCKS_MAX = FM_BEATS_MAX / BLOCK
    };
    double t[BLOCKS_MAX];
    double y[BLOCKS_MAX];
    size_t n = 0;
    for (size_t first = 0; first + BLOCK <= s->n; first += BLOCK) {
        double x[BLOCK];
        double sum_s = 0.0;
        for (size_t k = 0; k < BLOCK; k++) {
            const fm_rhythm_beat *b = &s->beat[first + k];
            x[k] = b->kind == FM_INTERVAL_EXPECTED ? b->length_s : b->base_s;
            sum_s += x[k];
        }
        t[n] = 0.5 * (s->beat[first].start_s + s->beat[first + BLOCK - 1].start_s);
        y[n++] = log(sum_s / BLOCK);
    }
    double slopes[BLOCKS_MAX * (BLOCKS_MAX - 1) / 2];
    size_t pairs = 0;
    for (size_t i = 0; i < n; i++) {
        for (size_t k = i + 1; k < n; k++) {
            slopes[pairs++] = (y[k] - y[i]) / (t[k] - t[i]);
        }
    }
    return pairs == 0 ? 0.0 : 60.0 * fm_rhythm_median(slopes, pairs);
}

static void set_repeat_group(fm_rhythm *out, const fm_rhythm_group *g)
{
    out->pattern = FM_PATTERN_REGULARLY_IRREGULAR;
    out->repeat[0] = (char)('0' + g->n_basic);
    out->repeat[1] = ':';
    out->repeat[2] = (char)('0' + (int)g->n);
    out->repeat[3] = '\0';
}

/* Pattern of a base with single events, once the kinds are named. */
static void judge_events(const fm_rhythm_series *s, bool breathing, fm_rhythm *out)
{
    const size_t events =
        count_kind(s, FM_INTERVAL_EARLY) + count_kind(s, FM_INTERVAL_PAUSE);
    const double per_min = 60.0 * (double)events / listed_s(s);
    add_events(s, out);
    if (per_min >= MANY_PER_MIN) {
        out->pattern = FM_PATTERN_IRREGULARLY_IRREGULAR;
    } else if (breathing) {
        out->pattern = FM_PATTERN_REGULARLY_IRREGULAR;
        memcpy(out->repeat, "breathing", sizeof "breathing");
    } else {
        out->pattern =
            events > 0 ? FM_PATTERN_OCCASIONALLY_IRREGULAR : FM_PATTERN_REGULAR;
    }
}

static bool base_unsteady(const fm_rhythm_series *s, double limit)
{
    const double mean_s = listed_s(s) / (double)s->n;
    const double expected = (double)count_kind(s, FM_INTERVAL_EXPECTED);
    const double sure = (double)(s->n - count_kind(s, FM_INTERVAL_UNSURE));
    return expected < EXPECTED_SHARE * sure ||
           !(base_ratio(s) < fmax(limit, UNSTEADY_TIMING_S / mean_s));
}

static void judge_plain(fm_rhythm_series *s, fm_rhythm *out)
{
    fm_rhythm_swing swing;
    fm_rhythm_set_base(s);
    fm_rhythm_name_kinds(s);
    fm_rhythm_find_swing(s, &swing);
    const bool unsteady = base_unsteady(s, UNSTEADY_RATIO);
    const bool same = swing.same >= SWING_SAME && swing.range_s >= BREATHING_SEEN_S;
    const bool strong = same && swing.share >= SWING_STRONG;
    out->varies_with_breathing =
        same && swing.share >= (unsteady ? SWING_STRONG : SWING_SEEN);
    if (strong) {
        for (size_t i = 0; i < s->n; i++) {
            s->beat[i].base_s = swing.fit_s[i];
        }
        fm_rhythm_name_kinds(s);
        judge_events(s, swing.range_s > BREATHING_IRREGULAR_S, out);
    } else if (unsteady) {
        out->pattern = FM_PATTERN_IRREGULARLY_IRREGULAR;
    } else if (base_unsteady(s, DOUBT_RATIO)) {
        out->pattern = FM_PATTERN_UNDETERMINED;
    } else {
        judge_events(
            s, out->varies_with_breathing && swing.range_s > BREATHING_IRREGULAR_S,
            out);
    }
    const bool even = out->pattern == FM_PATTERN_REGULAR;
    if (even && fabs(drift_per_min(s)) > DRIFT_MAX) {
        out->pattern = FM_PATTERN_UNDETERMINED;
    }
}

static void judge(fm_rhythm_series *s, fm_rhythm *out)
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
    judge_plain(s, out);
}

static void measure(const fm_rhythm_series *s, fm_rhythm *out)
{
    fm_measured_interval x[FM_BEATS_MAX];
    size_t n = 0;
    bool linked = false;
    for (size_t i = 0; i < s->n; i++) {
        const bool in = s->beat[i].kind != FM_INTERVAL_UNSURE;
        if (in) {
            x[n++] = (fm_measured_interval){.length_s = s->beat[i].length_s,
                                            .follows = linked && s->beat[i].follows};
        }
        linked = in;
    }
    const fm_interval_measures m = fm_interval_measures_estimate(x, n);
    out->mean_interval_s = m.mean_interval_s;
    out->sdnn_ms = m.sdnn_ms;
    out->rmssd_ms = m.rmssd_ms;
    out->pnn50 = m.pnn50;
    out->cv = m.cv;
    out->sd1_ms = m.sd1_ms;
    out->sd2_ms = m.sd2_ms;
}

void fm_rhythm_describe(const double *s1_s,
                        const float *sureness,
                        size_t n,
                        const fm_span *holes,
                        size_t n_holes,
                        double window_start_s,
                        double window_end_s,
                        fm_rhythm *out)
{
    fm_rhythm_series s = {0};
    *out = (fm_rhythm){.pattern = FM_PATTERN_UNDETERMINED};
    list_intervals(&s, s1_s, sureness, n, holes, n_holes);
    if (s.n >= FM_RHYTHM_MIN_INTERVALS &&
        window_end_s - window_start_s >= FM_RHYTHM_MIN_S) {
        judge(&s, out);
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
