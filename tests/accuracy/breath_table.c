#include "breath_table.h"

#include "breath_case.h"
#include "stats.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

/* Whom a table's line is about, and which figure is scored. */
typedef struct line {
    const char *label;
    int kind;         /* -1: all but those in which nothing breathes */
    double low, high; /* true rate, low <= r < high */
    double speed;     /* NaN: any */
    int cue;          /* FM_CUE_COUNT: fused */
    int minute;       /* -1 any, 0 shorter, 1 whole minute */
} line;

static bool belongs(const line *l, const breath_outcome *o)
{
    if (!o->good || (l->minute >= 0 && (l->minute == 1) != o->whole_minute)) {
        return false;
    }
    const bool kind = l->kind < 0 ? o->kind != BREATH_NONE : o->kind == l->kind;
    const bool speed = isnan(l->speed) || fabs(o->speed - l->speed) < 0.01;
    return kind && speed && o->true_per_min >= l->low && o->true_per_min < l->high;
}

static bool said(const line *l, const breath_outcome *o, double *per_min)
{
    const fm_breath *b = &o->breath;
    if (l->cue < FM_CUE_COUNT) {
        *per_min = b->cue_rate_per_min[l->cue];
        return !isnan(*per_min);
    }
    *per_min = b->count.rate_per_min;
    return b->count.status != FM_REFUSED;
}

typedef struct sums {
    long n, said, counted, within1, within2, doubled, halved, counted_off3;
    long within15;
    double error, size;
} sums;

static void add(sums *s, const line *l, const breath_outcome *o)
{
    double per_min = (double)NAN;
    s->n++;
    const bool is_said = said(l, o, &per_min);
    if (l->cue == FM_CUE_COUNT) {
        s->counted += o->breath.count.status == FM_COUNTED ? 1 : 0;
        if (o->breath.count.status == FM_COUNTED) {
            s->counted_off3 += fabs(per_min - o->true_per_min) > 3.0 ? 1 : 0;
        }
    }
    if (!is_said) {
        return;
    }
    const double off = per_min - o->true_per_min;
    s->said++;
    s->error += off;
    s->size += fabs(off);
    s->within1 += fabs(off) <= 1.0 + 1e-9 ? 1 : 0;
    s->within15 += fabs(off) <= 1.5 + 1e-9 ? 1 : 0;
    s->within2 += fabs(off) <= 2.0 + 1e-9 ? 1 : 0;
    s->doubled += fabs(per_min / o->true_per_min - 2.0) < 0.25 ? 1 : 0;
    s->halved += fabs(per_min / o->true_per_min - 0.5) < 0.08 ? 1 : 0;
}

static double percent(long k, long n)
{
    return n > 0 ? 100.0 * (double)k / (double)n : (double)NAN;
}

static void print_line(const line *l, const breath_outcome *o, size_t n)
{
    sums s = {0};
    for (size_t i = 0; i < n; i++) {
        if (belongs(l, &o[i])) {
            add(&s, l, &o[i]);
        }
    }
    if (s.n == 0) {
        return;
    }
    const double said = s.said > 0 ? (double)s.said : (double)NAN;
    const share_interval one = share_exact_95(s.within1, s.said);
    const share_interval two = share_exact_95(s.within2, s.said);
    (void)printf("  %-24s %5ld %5.1f %5.1f  %5.1f (%5.1f-%5.1f)  %5.1f  %5.1f "
                 "(%5.1f-%5.1f) %6.2f %+6.2f %4ld %4ld %4ld\n",
                 l->label, s.n, percent(s.said, s.n), percent(s.counted, s.n),
                 percent(s.within1, s.said), 100.0 * one.low, 100.0 * one.high,
                 percent(s.within15, s.said), percent(s.within2, s.said),
                 100.0 * two.low, 100.0 * two.high, s.size / said, s.error / said,
                 s.doubled, s.halved, s.counted_off3);
}

/* What one number, the median of the true rates, would score. */
static void print_forecast(const breath_outcome *o, size_t n, int kind)
{
    double *rate = calloc(n + 1, sizeof *rate);
    size_t m = 0;
    for (size_t i = 0; rate != NULL && i < n; i++) {
        if (o[i].good && o[i].kind == kind &&
            (o[i].whole_minute || kind == BREATH_CHEST) && !isnan(o[i].true_per_min)) {
            rate[m++] = o[i].true_per_min;
        }
    }
    if (rate == NULL || m == 0) {
        free(rate);
        return;
    }
    sort_doubles(rate, m);
    const double median = sorted_quantile(rate, m, 0.5);
    long one = 0;
    long two = 0;
    double size = 0.0;
    for (size_t i = 0; i < m; i++) {
        one += fabs(rate[i] - median) <= 1.0 ? 1 : 0;
        two += fabs(rate[i] - median) <= 2.0 ? 1 : 0;
        size += fabs(rate[i] - median);
    }
    (void)printf(
        "  always saying %-10.1f %5zu              %5.1f                        "
        "%5.1f               %6.2f\n",
        median, m, percent(one, (long)m), percent(two, (long)m), size / (double)m);
    free(rate);
}

static void print_head(const char *title)
{
    (void)printf("\n%s\n  %-24s %5s %5s %5s  %5s %15s  %5s  %5s %15s %6s %6s %4s %4s "
                 "%4s\n",
                 title, "", "n", "said%", "cnt%", "<=1%", "(95 %)", "<=1.5", "<=2%",
                 "(95 %)", "MAE", "bias", "x2", "/2", ">3");
}

/* How many true starts were found at their place, where a number was said. */
static void print_starts(const breath_outcome *o, size_t n, int kind)
{
    size_t starts = 0;
    size_t matched = 0;
    for (size_t i = 0; i < n; i++) {
        if (o[i].good && o[i].kind == kind && o[i].breath.count.status != FM_REFUSED) {
            starts += o[i].n_starts;
            matched += o[i].n_matched;
        }
    }
    if (starts > 0) {
        (void)printf("  of %zu true starts where a number is said, %.1f %% are found "
                     "within 0.5 s\n",
                     starts, percent((long)matched, (long)starts));
    }
}

static void print_kind(const breath_outcome *o, size_t n, int kind)
{
    static const char *const bands[] = {"under 8", "8 to 15", "15 to 25", "25 to 40",
                                        "40 and more"};
    static const double edge[] = {0.0, 8.0, 15.0, 25.0, 40.0, 1000.0};
    line l = {"all, fused", kind, 0.0, 1000.0, (double)NAN, FM_CUE_COUNT, 1};
    print_head(breath_kind_word(kind));
    print_line(&l, o, n);
    for (int i = 0; i < 5; i++) {
        l.label = bands[i];
        l.low = edge[i];
        l.high = edge[i + 1];
        print_line(&l, o, n);
    }
    l.low = 0.0;
    l.high = 1000.0;
    for (int cue = 0; cue < FM_CUE_COUNT; cue++) {
        l.label = fm_cue_word((fm_cue)cue);
        l.cue = cue;
        print_line(&l, o, n);
    }
    print_forecast(o, n, kind);
    l.label = kind == BREATH_CYCLES ? "files of 10 to 30 s" : "windows of 7 to 45 s";
    l.cue = FM_CUE_COUNT;
    l.minute = 0;
    print_line(&l, o, n);
    if (kind != BREATH_NONE) {
        print_starts(o, n, kind);
    }
}

static bool any_of_length(const breath_outcome *o, size_t n, bool minute)
{
    for (size_t i = 0; i < n; i++) {
        if (o[i].good && o[i].kind == BREATH_MANIKIN && o[i].whole_minute == minute) {
            return true;
        }
    }
    return false;
}

static void print_speeds(const breath_outcome *o, size_t n)
{
    for (int minute = 0; minute < 2; minute++) {
        if (!any_of_length(o, n, minute == 1)) {
            continue;
        }
        print_head(minute ? "manikin by speed, repeated to a minute"
                          : "manikin by speed, the length of its tracks");
        for (int i = 0; i < BREATH_SPEEDS; i++) {
            char label[32];
            (void)snprintf(label, sizeof label, "x%.1f", breath_speed(i));
            const line l = {label,           BREATH_MANIKIN, 0.0,   1000.0,
                            breath_speed(i), FM_CUE_COUNT,   minute};
            print_line(&l, o, n);
        }
        const line all = {"all",       BREATH_MANIKIN, 0.0,   1000.0,
                          (double)NAN, FM_CUE_COUNT,   minute};
        print_line(&all, o, n);
    }
}

/* Real chests, most of them without a known rate. */
static void print_chests(const breath_outcome *o, size_t n)
{
    long all = 0;
    long said = 0;
    long counted = 0;
    line l = {"all, fused", BREATH_CHEST, 0.0, 1000.0, (double)NAN, FM_CUE_COUNT, -1};
    print_head(breath_kind_word(BREATH_CHEST));
    print_line(&l, o, n);
    for (int cue = 0; cue < FM_CUE_COUNT; cue++) {
        l.label = fm_cue_word((fm_cue)cue);
        l.cue = cue;
        print_line(&l, o, n);
    }
    print_forecast(o, n, BREATH_CHEST);
    for (size_t i = 0; i < n; i++) {
        if (o[i].good && o[i].kind == BREATH_CHEST) {
            all++;
            said += o[i].breath.count.status != FM_REFUSED ? 1 : 0;
            counted += o[i].breath.count.status == FM_COUNTED ? 1 : 0;
        }
    }
    (void)printf("  of all %ld, most with no rate known, %.1f %% are said, %.1f %% "
                 "counted\n",
                 all, percent(said, all), percent(counted, all));
}

void breath_tables(const breath_outcome *o, size_t n, bool each)
{
    bool has[BREATH_KINDS] = {false};
    for (size_t i = 0; i < n; i++) {
        const fm_breath *b = &o[i].breath;
        has[o[i].kind] = true;
        if (each) {
            (void)printf("%-24s kind %d true %5.1f said %5.1f status %d reason %s conf "
                         "%.3f snr %5.1f heart %d cues %.1f %.1f %.1f q %.2f %.2f "
                         "%.2f\n",
                         o[i].name, o[i].kind, o[i].true_per_min, b->count.rate_per_min,
                         (int)b->count.status, fm_reason_code(b->count.reason),
                         b->count.confidence, o[i].snr_db, (int)o[i].heart_status,
                         b->cue_rate_per_min[0], b->cue_rate_per_min[1],
                         b->cue_rate_per_min[2], b->cue_quality[0], b->cue_quality[1],
                         b->cue_quality[2]);
        }
    }
    for (int kind = 0; kind < BREATH_KINDS; kind++) {
        if (has[kind] && kind == BREATH_MANIKIN) {
            print_speeds(o, n);
        } else if (has[kind] && kind == BREATH_CHEST) {
            print_chests(o, n);
        } else if (has[kind]) {
            print_kind(o, n, kind);
        }
    }
}
