#include "src/usecase/batch_row.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* What a count says beside its number when the file was cut: no reason of the heart. */
static const char TRUNCATED_CODE[] = "truncated";
static const char TRUNCATED[] =
    "the header promises more sound than there is; what is there was counted: copy it "
    "again if it should be longer";

/* ---- Fields ---- */

static void put_number(batch_row *b, row_column column, double value, int decimals)
{
    if (!isfinite(value)) {
        b->row.field[column] = "";
        return;
    }
    /* Rounded as the count document rounds; adding zero turns -0 into 0. */
    const double scale = pow(10.0, decimals);
    (void)snprintf(b->digits[column], BATCH_DIGITS, "%.*f", decimals,
                   round(value * scale) / scale + 0.0);
    b->row.field[column] = b->digits[column];
}

static void put_whole(batch_row *b, row_column column, size_t value)
{
    (void)snprintf(b->digits[column], BATCH_DIGITS, "%zu", value);
    b->row.field[column] = b->digits[column];
}

static const char *status_word(fm_outcome outcome)
{
    return row_status_word(outcome == FM_COUNTED   ? ROW_COUNTED
                           : outcome == FM_CAUTION ? ROW_CAUTION
                                                   : ROW_REFUSED);
}

static void put_reason(batch_row *b, const analysed *a)
{
    const fm_heart *const h = &a->count.heart;
    if (h->count.reason != FM_REASON_NONE) {
        b->row.field[ROW_REASON_CODE] = fm_reason_code(h->count.reason);
        b->row.field[ROW_REASON] =
            reason_text_format(h->count.reason, &h->count.reason_span, b->reason);
    } else if (a->source.truncated) {
        b->row.field[ROW_REASON_CODE] = TRUNCATED_CODE;
        b->row.field[ROW_REASON] = TRUNCATED;
    }
}

static void put_heart(batch_row *b, const analysed *a)
{
    const fm_heart *const h = &a->count.heart;
    const count_source *const s = &a->source;
    put_whole(b, ROW_BEATS, (size_t)count_source_beats(s, &a->count));
    put_number(b, ROW_RATE_BPM, count_source_rate(s, &a->count, h->count.rate_per_min),
               1);
    put_number(b, ROW_RATE_LOW_BPM,
               count_source_rate(s, &a->count, h->count.rate_low_per_min), 1);
    put_number(b, ROW_RATE_HIGH_BPM,
               count_source_rate(s, &a->count, h->count.rate_high_per_min), 1);
    put_number(b, ROW_CONFIDENCE, h->count.confidence, 3);
}

static size_t count_kind(const fm_rhythm *r, fm_interval_kind kind)
{
    size_t n = 0;
    for (size_t i = 0; i < r->n_intervals; i++) {
        n += r->intervals[i].kind == kind;
    }
    return n;
}

/* "repeat 4:3; early beats 2; pauses 1" */
static void put_findings(batch_row *b, const fm_rhythm *r)
{
    size_t used = 0;
    if (r->repeat[0] != '\0') {
        used =
            (size_t)snprintf(b->findings, sizeof b->findings, "repeat %s", r->repeat);
    }
    for (size_t i = 0; i < r->n_findings && used < sizeof b->findings; i++) {
        const fm_finding *const f = &r->findings[i];
        used +=
            (size_t)snprintf(b->findings + used, sizeof b->findings - used, "%s%s %zu",
                             i > 0 ? "; " : "", fm_finding_word(f->kind), f->count);
    }
    b->row.field[ROW_FINDINGS] = b->findings;
}

static void put_rhythm(batch_row *b, const fm_rhythm *r)
{
    b->row.field[ROW_PATTERN] = fm_pattern_word(r->pattern);
    put_findings(b, r);
    put_number(b, ROW_MEAN_INTERVAL_S, r->mean_interval_s, 3);
    put_number(b, ROW_SDNN_MS, r->sdnn_ms, 1);
    put_number(b, ROW_RMSSD_MS, r->rmssd_ms, 1);
    put_number(b, ROW_PNN50, r->pnn50, 3);
    put_number(b, ROW_CV, r->cv, 4);
    put_whole(b, ROW_EARLY, count_kind(r, FM_INTERVAL_EARLY));
    put_whole(b, ROW_LATE, count_kind(r, FM_INTERVAL_LATE));
    put_whole(b, ROW_PAUSES, count_kind(r, FM_INTERVAL_PAUSE));
}

/* "pause 27.312 41.404; pause 50.000 61.250": start and end, s. */
static void put_breath_findings(batch_row *b, const fm_breath *v)
{
    size_t used = 0;
    for (size_t i = 0; i < v->n_pauses && used < sizeof b->breath_findings; i++) {
        used += (size_t)snprintf(b->breath_findings + used,
                                 sizeof b->breath_findings - used, "%spause %.3f %.3f",
                                 i > 0 ? "; " : "", v->pauses[i].start_s,
                                 v->pauses[i].end_s);
    }
    b->row.field[ROW_BREATH_FINDINGS] = b->breath_findings;
}

static void put_breath(batch_row *b, const fm_breath *v)
{
    b->row.field[ROW_BREATH_PATTERN] = fm_breath_pattern_word(v->pattern);
    put_breath_findings(b, v);
    b->row.field[ROW_BREATH_STATUS] = status_word(v->count.status);
    if (v->count.status != FM_REFUSED) {
        put_whole(b, ROW_BREATHS, v->count.n);
        put_number(b, ROW_BREATH_RATE_PER_MIN, v->count.rate_per_min, 1);
        put_number(b, ROW_BREATH_CONFIDENCE, v->count.confidence, 3);
    }
}

void batch_row_fill(batch_row *out, const analysed *result)
{
    const fm_count *const c = &result->count;
    memset(out, 0, sizeof *out);
    out->row.field[ROW_STATUS] = status_word(c->heart.count.status);
    put_reason(out, result);
    put_number(out, ROW_WINDOW_START_S, c->heart.count.window.start_s, 3);
    put_number(out, ROW_WINDOW_S,
               c->heart.count.window.end_s - c->heart.count.window.start_s, 3);
    put_number(out, ROW_DURATION_S, result->source.duration_s, 3);
    if (c->heart.count.status != FM_REFUSED) {
        put_heart(out, result);
        put_rhythm(out, &c->rhythm);
    }
    put_breath(out, &c->breath);
    put_number(out, ROW_QUALITY, c->heart.count.quality.overall, 3);
}

/* ---- Marks ---- */

struct mark {
    double start_s;
    double end_s;
    const char *word;
    double sureness; /* NaN: none */
};

void batch_marks_header(bytes *to)
{
    bytes_add_text(to, "start_s\tend_s\tmark\tsureness\n");
}

static int by_time(const void *a, const void *b)
{
    const struct mark *const x = a;
    const struct mark *const y = b;
    if (x->start_s < y->start_s || x->start_s > y->start_s) {
        return x->start_s < y->start_s ? -1 : 1;
    }
    return strcmp(x->word, y->word);
}

static size_t add_moments(struct mark *to,
                          const double *at_s,
                          size_t n,
                          const char *word)
{
    for (size_t i = 0; i < n; i++) {
        to[i] = (struct mark){at_s[i], at_s[i], word, (double)NAN};
    }
    return n;
}

static size_t add_spans(struct mark *to, const fm_span *s, size_t n)
{
    for (size_t i = 0; i < n; i++) {
        to[i] = (struct mark){s[i].start_s, s[i].start_s + s[i].length_s,
                              fm_reason_code(s[i].reason), (double)NAN};
    }
    return n;
}

static size_t gather(struct mark *to, const fm_count *c)
{
    size_t n = 0;
    if (c->heart.count.status != FM_REFUSED) {
        n += add_moments(to, c->heart.count.onsets_s, c->heart.count.n, "S1");
        for (size_t i = 0; i < n; i++) {
            to[i].sureness = (double)c->heart.s1_sureness[i];
        }
        n += add_moments(to + n, c->heart.s2_s, c->heart.n_s2, "S2");
    }
    if (c->breath.count.status != FM_REFUSED) {
        n += add_moments(to + n, c->breath.count.onsets_s, c->breath.count.n, "breath");
    }
    for (size_t i = 0; i < c->breath.n_pauses; i++) {
        to[n++] = (struct mark){c->breath.pauses[i].start_s, c->breath.pauses[i].end_s,
                                "no breath", (double)NAN};
    }
    n += add_spans(to + n, c->heart.count.quality.gaps, c->heart.count.quality.n_gaps);
    n += add_spans(to + n, c->heart.count.quality.unusable,
                   c->heart.count.quality.n_unusable);
    return n;
}

void batch_marks_add(const analysed *result, bytes *to)
{
    enum {
        MARKS_MAX =
            2 * FM_BEATS_MAX + FM_BREATHS_MAX + FM_BREATH_PAUSES_MAX + 2 * FM_SPANS_MAX,
        LINE_BYTES = 128
    };
    struct mark *const marks = calloc(MARKS_MAX, sizeof *marks);
    if (marks == NULL) {
        to->failed = true;
        return;
    }
    const size_t n = gather(marks, &result->count);
    qsort(marks, n, sizeof *marks, by_time);
    for (size_t i = 0; i < n; i++) {
        char line[LINE_BYTES];
        char sureness[16] = "";
        if (isfinite(marks[i].sureness)) {
            (void)snprintf(sureness, sizeof sureness, "%.2f", marks[i].sureness);
        }
        (void)snprintf(line, sizeof line, "%.3f\t%.3f\t%s\t%s\n", marks[i].start_s,
                       marks[i].end_s, marks[i].word, sureness);
        bytes_add_text(to, line);
    }
    free(marks);
}
