/* The tables of the composed set. */
#include "composed.h"

#include "calibration.h"
#include "stats.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Which outcomes a row sums. */
typedef struct row_filter {
    int kind;      /* -1: any */
    double low_db; /* snr_db in [low_db, high_db] */
    double high_db;
    int rhythm;     /* -1: any */
    double low_bpm; /* truth in [low_bpm, high_bpm) */
    double high_bpm;
    double rate_hz; /* 0: any */
} row_filter;

static const row_filter ANY = {
    .kind = -1, .low_db = -99.0, .high_db = 1e9, .rhythm = -1, .high_bpm = 1e9};

static bool passes(const row_filter *f, const composed_outcome *o)
{
    const double snr = fmin(o->asked.snr_db, 1e8);
    const double bpm = o->score.truth_rate_bpm;
    return o->good && (f->kind < 0 || f->kind == o->asked.kind) && snr >= f->low_db &&
           snr <= f->high_db &&
           (f->rhythm < 0 || f->rhythm == (int)o->asked.recipe.rhythm) &&
           bpm >= f->low_bpm && bpm < f->high_bpm &&
           (f->rate_hz < 1.0 || fabs(f->rate_hz - o->asked.recipe.rate_hz) < 1.0);
}

static double percent(long k, long n)
{
    return n > 0 ? 100.0 * (double)k / (double)n : (double)NAN;
}

static void print_heading(FILE *out, const char *what)
{
    (void)fprintf(out, "\n%-28s %4s %7s %7s %6s %6s %6s %7s %7s %7s %7s %8s %8s\n",
                  what, "n", "F1 60ms", "deliv.", "in 1", "in 2", "in 3", "counted",
                  "caution", "refused", "wrong>3", "pattern", "findings");
}

/* wrong>3 is a number of recordings: counted, and off by more than 3. */
static void print_row(FILE *out,
                      const char *name,
                      const composed_outcome *o,
                      size_t n,
                      const row_filter *f)
{
    tally t = {0};
    for (size_t i = 0; i < n; i++) {
        if (passes(f, &o[i])) {
            (void)tally_add(&t, &o[i].score);
        }
    }
    if (t.n > 0) {
        (void)fprintf(out,
                      "%-28s %4ld %7.4f %7.4f %5.1f%% %5.1f%% %5.1f%% %6.1f%% %6.1f%% "
                      "%6.1f%% %7ld %7.1f%% %7.1f%%\n",
                      name, t.n, f1_of(t.hits[LAG_SET][0], t.n_truth, t.n_found),
                      f1_of(t.hits_delivered[LAG_SET][0], t.n_truth, t.found_delivered),
                      percent(t.within[0], t.n), percent(t.within[1], t.n),
                      percent(t.within[2], t.n), percent(t.by_status[FM_COUNTED], t.n),
                      percent(t.by_status[FM_CAUTION], t.n),
                      percent(t.by_status[FM_REFUSED], t.n), t.counted_wrong,
                      percent(t.pattern_right, t.n), percent(t.findings_right, t.n));
    }
    tally_free(&t);
}

static void print_noises(FILE *out, const composed_outcome *o, size_t n)
{
    print_heading(out, "noise and level");
    for (int kind = 0; kind < SAMPLE_KINDS; kind++) {
        const int levels = kind == SAMPLE_CLEAN ? 1 : SAMPLE_LEVELS;
        for (int level = 0; level < levels; level++) {
            row_filter f = ANY;
            char name[48];
            f.kind = kind;
            if (kind == SAMPLE_CLEAN) {
                (void)snprintf(name, sizeof name, "clean");
            } else {
                f.low_db = sample_level_db(level) - 0.5;
                f.high_db = sample_level_db(level) + 0.5;
                (void)snprintf(name, sizeof name, "%s %.0f dB", sample_kind_word(kind),
                               sample_level_db(level));
            }
            print_row(out, name, o, n, &f);
        }
    }
    print_heading(out, "noise");
    for (int kind = 0; kind < SAMPLE_KINDS; kind++) {
        row_filter f = ANY;
        f.kind = kind;
        print_row(out, sample_kind_word(kind), o, n, &f);
    }
    print_heading(out, "level");
    for (int level = 0; level < SAMPLE_LEVELS; level++) {
        row_filter f = ANY;
        char name[48];
        f.low_db = sample_level_db(level) - 0.5;
        f.high_db = sample_level_db(level) + 0.5;
        (void)snprintf(name, sizeof name, "%.0f dB", sample_level_db(level));
        print_row(out, name, o, n, &f);
    }
}

static void print_rhythms(
    FILE *out, const composed_outcome *o, size_t n, double low_db, const char *heading)
{
    print_heading(out, heading);
    for (int rhythm = 0; rhythm < (int)FM_COMPOSE_RHYTHM_COUNT; rhythm++) {
        row_filter f = ANY;
        f.rhythm = rhythm;
        f.low_db = low_db;
        print_row(out, fm_compose_rhythm_word((fm_compose_rhythm)rhythm), o, n, &f);
    }
}

static void print_rates(FILE *out, const composed_outcome *o, size_t n)
{
    static const double edges[] = {0.0,   50.0,  70.0,  90.0, 110.0,
                                   130.0, 150.0, 175.0, 260.0};
    print_heading(out, "beats in the minute");
    for (size_t i = 0; i + 1 < sizeof edges / sizeof *edges; i++) {
        row_filter f = ANY;
        char name[48];
        f.low_bpm = edges[i];
        f.high_bpm = edges[i + 1];
        (void)snprintf(name, sizeof name, "%.0f to under %.0f", edges[i], edges[i + 1]);
        print_row(out, name, o, n, &f);
    }
    static const double rates_hz[] = {2000.0, 4000.0, 44100.0};
    print_heading(out, "sample rate");
    for (size_t i = 0; i < sizeof rates_hz / sizeof *rates_hz; i++) {
        row_filter f = ANY;
        char name[48];
        f.rate_hz = rates_hz[i];
        (void)snprintf(name, sizeof name, "%.0f Hz", rates_hz[i]);
        print_row(out, name, o, n, &f);
    }
}

/* Rows: true pattern; columns: what was said of counted minutes. */
static void print_confusion(FILE *out, const composed_outcome *o, size_t n)
{
    long cells[FM_PATTERN_COUNT][FM_PATTERN_COUNT] = {{0}};
    for (size_t i = 0; i < n; i++) {
        if (o[i].good && o[i].score.status == FM_COUNTED) {
            cells[o[i].score.rhythm.truth][o[i].score.rhythm.said]++;
        }
    }
    (void)fprintf(out, "\n%-26s said of counted minutes:\n%-26s", "true pattern", "");
    for (int c = 0; c < (int)FM_PATTERN_COUNT; c++) {
        (void)fprintf(out, " %-24s", fm_pattern_word((fm_pattern)c));
    }
    (void)fputc('\n', out);
    for (int r = 0; r < (int)FM_PATTERN_COUNT; r++) {
        (void)fprintf(out, "%-26s", fm_pattern_word((fm_pattern)r));
        for (int c = 0; c < (int)FM_PATTERN_COUNT; c++) {
            (void)fprintf(out, " %-24ld", cells[r][c]);
        }
        (void)fputc('\n', out);
    }
}

static void print_goal(FILE *out, const char *label, long k, long n)
{
    (void)fprintf(out, "%-58s ", label);
    print_share(out, k, n);
    (void)fputc('\n', out);
}

static void print_goals(FILE *out, const composed_outcome *o, size_t n)
{
    const composed_figures f = composed_sum(o, n);
    (void)fprintf(out, "\n%-58s decoded %.4f, delivered %.4f\n",
                  "10 dB and better: S1 F1 at 60 ms (bar 0.99)", f.f1_high,
                  f.f1_high_delivered);
    print_goal(out, "10 dB and better: counted (bar 95 %)", f.counted_high, f.n_high);
    print_goal(out, "10 dB and better: counted, within 2 beats (bar 99 %)",
               f.within2_high, f.counted_high);
    print_goal(out, "all: counted, off by more than 3 beats (bar 1 %)", f.counted_wrong,
               f.counted);
    print_goal(out, "clean: counted, exact, every S1 within 30 ms", f.clean_exact,
               f.n_clean);
    print_goal(out, "the same but for beats within 30 ms of an end",
               f.clean_exact_inside, f.n_clean);
    print_goal(out, "clean: counted, pattern and repeat right", f.patterns_right_clean,
               f.n_clean);
    print_goal(out, "clean: counted, findings right", f.findings_right_clean,
               f.n_clean);
}

static void print_calibration(FILE *out, const composed_outcome *o, size_t n)
{
    forecast *f = malloc((n + 1) * sizeof *f);
    for (size_t i = 0; f != NULL && i < n; i++) {
        f[i] = forecast_of(&o[i].score);
    }
    if (f != NULL) {
        calibration_print(out, f, n);
    }
    free(f);
}

void composed_print(FILE *out, const composed_outcome *o, size_t n)
{
    print_noises(out, o, n);
    print_rhythms(out, o, n, ANY.low_db, "rhythm, all levels");
    print_rhythms(out, o, n, 9.5, "rhythm, 10 dB and better");
    print_rates(out, o, n);
    print_heading(out, "all");
    row_filter f = ANY;
    print_row(out, "all", o, n, &f);
    f.low_db = 9.5;
    print_row(out, "10 dB and better", o, n, &f);
    print_confusion(out, o, n);
    print_calibration(out, o, n);
    print_goals(out, o, n);
}

void composed_print_each(FILE *out, const composed_outcome *o, size_t n)
{
    (void)fprintf(out, "%-14s %6s %-16s %5s %-16s %5s %5s %5s %-8s %-20s %5s %6s %s\n",
                  "recording", "Hz", "noise", "dB", "rhythm", "bpm", "truth", "found",
                  "status", "reason", "conf", "F1", "pattern, true and found");
    for (size_t i = 0; i < n; i++) {
        const scored *s = &o[i].score;
        const fm_recipe *r = &o[i].asked.recipe;
        (void)fprintf(
            out,
            "%-14s %6.0f %-16s %5.0f %-16s %5.0f %5.0f %5.0f %-8s %-20s %5.3f %6.3f "
            "%s%s %s | %s %s%s%s%s\n",
            s->name, r->rate_hz, sample_kind_word(o[i].asked.kind), o[i].asked.snr_db,
            fm_compose_rhythm_word(r->rhythm), r->bpm, s->truth_rate_bpm,
            s->found_rate_bpm, status_word(s->status), fm_reason_code(s->reason),
            s->confidence, f1_of(s->hits[LAG_SET][0], s->n_truth, s->n_found),
            s->rhythm.pattern_right ? "" : "! ", fm_pattern_word(s->rhythm.truth),
            s->rhythm.truth_repeat, fm_pattern_word(s->rhythm.said),
            s->rhythm.said_repeat, r->murmur != FM_COMPOSE_NO_MURMUR ? ", murmur" : "",
            r->s1_db < -4.0 ? ", soft S1" : "",
            o[i].band == FM_BAND_HIGH ? ", high" : "");
    }
}
