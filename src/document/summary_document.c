/* The summary as JSON, "fullminute.summary/1". */
#include "src/base/field.h"
#include "src/base/json_text.h"
#include "src/document/document_parts.h"
#include "src/document/summary.h"

#include <math.h>

static const field_word STATUSES[] = {
    {"counted", 0}, {"caution", 1}, {"refused", 2}, {"error", 3}, {NULL, 0}};
static const field_word REASONS[] = {
    FM_REASON_MAP(FIELD_WORD){"other", SUMMARY_OTHER_REASON}, {NULL, 0}};
static const field_word PATTERNS[] = {FM_PATTERN_MAP(FIELD_WORD){NULL, 0}};
static const field_word BREATHINGS[] = {FM_BREATH_PATTERN_MAP(FIELD_WORD){NULL, 0}};

static json_t *whole(size_t n)
{
    return json_integer((json_int_t)n);
}

/* To a millionth; null when not known. */
static json_t *number(double v)
{
    return isfinite(v) ? json_real(round(v * 1e6) / 1e6) : json_null();
}

/* n[0..most-1] by their words; none: with those that are 0. */
static json_t *counts(const field_word *words, const size_t *n, int most, bool none)
{
    document_part p = document_start();
    for (int i = 0; i < most; i++) {
        if (none || n[i] > 0) {
            document_put(&p, field_word_of(words, i), whole(n[i]));
        }
    }
    return document_end(&p);
}

static json_t *statuses(const size_t *n, int most)
{
    return counts(STATUSES, n, most, true);
}

static json_t *series(const summary_series *v)
{
    static const struct {
        const char *name;
        double q;
    } places[] = {{"least", 0.0}, {"p05", 0.05}, {"p25", 0.25},    {"median", 0.5},
                  {"p75", 0.75},  {"p95", 0.95}, {"greatest", 1.0}};
    document_part p = document_start();
    document_put(&p, "n", whole(v->n));
    document_put(&p, "mean", number(fm_mean(v->value, v->n)));
    for (size_t i = 0; i < sizeof places / sizeof *places; i++) {
        document_put(&p, places[i].name,
                     number(fm_sorted_quantile(v->value, v->n, places[i].q)));
    }
    return document_end(&p);
}

static json_t *share(size_t k, size_t n)
{
    const fm_ends e = fm_share_exact_95((long)k, (long)n);
    document_part p = document_start();
    document_put(&p, "k", whole(k));
    document_put(&p, "n", whole(n));
    document_put(&p, "share", number(n > 0 ? (double)k / (double)n : (double)NAN));
    document_put(&p, "low", number(e.low));
    document_put(&p, "high", number(e.high));
    return document_end(&p);
}

static json_t *agreement(const fm_agreement *a)
{
    document_part p = document_start();
    document_put(&p, "n", whole(a->n));
    document_put(&p, "bias", number(a->bias));
    document_put(&p, "bias_low", number(a->bias_95.low));
    document_put(&p, "bias_high", number(a->bias_95.high));
    document_put(&p, "sd", number(a->sd));
    document_put(&p, "limit_low", number(a->limits.low));
    document_put(&p, "limit_high", number(a->limits.high));
    document_put(&p, "limit_margin", number(a->limit_margin));
    document_put(&p, "mean_absolute", number(a->mean_absolute));
    document_put(&p, "worst_absolute", number(a->worst_absolute));
    document_put(&p, "within_1", share(a->within[0], a->n));
    document_put(&p, "within_2", share(a->within[1], a->n));
    document_put(&p, "within_3", share(a->within[2], a->n));
    return document_end(&p);
}

static json_t *worst(const summary *s)
{
    json_t *list = json_array();
    for (size_t i = 0; i < s->n_worst; i++) {
        const summary_named *const w = &s->worst[i];
        document_part p = document_start();
        document_put(&p, "file", document_text(w->file));
        document_put(&p, "window_start_s", number(w->start_s));
        document_put(&p, "status", json_string(field_word_of(STATUSES, w->status)));
        document_put(&p, "rate_bpm", number(w->measured_per_min));
        document_put(&p, "truth_bpm", number(w->truth_per_min));
        list = document_append(list, document_end(&p));
    }
    return list;
}

static json_t *errors(const summary *s)
{
    json_t *list = json_array();
    for (size_t i = 0; i < s->n_errors_named; i++) {
        document_part p = document_start();
        document_put(&p, "file", document_text(s->errors[i].file));
        document_put(&p, "reason", document_text(s->errors[i].reason));
        list = document_append(list, document_end(&p));
    }
    return list;
}

static json_t *truth(const summary *s)
{
    if (!s->has_truth) {
        return json_null();
    }
    document_part p = document_start();
    document_put(&p, "rows_without", whole(s->without_truth));
    document_put(&p, "rows_of_another_sound", whole(s->truth_of_another));
    document_put(&p, "rows_in_doubt", whole(s->truth_in_doubt));
    document_put(&p, "status", statuses(s->truth_by_status, 3));
    document_put(&p, "rate_bpm", agreement(&s->rate.agreement));
    document_put(&p, "counted_and_over_3_off",
                 share(s->counted_wrong, s->truth_by_status[0]));
    document_put(&p, "breath_per_min", agreement(&s->breath.agreement));
    document_put(&p, "pattern_right", share(s->pattern_right, s->pattern_known));
    document_put(&p, "expected_calibration_error",
                 number(s->calibration.expected_error));
    document_put(&p, "brier", number(s->calibration.brier));
    document_put(&p, "brier_of_a_constant", number(s->calibration.brier_constant));
    document_put(&p, "farthest", worst(s));
    return document_end(&p);
}

char *summary_document_format(const summary *s)
{
    document_part p = document_start();
    document_put(&p, "schema", json_string("fullminute.summary/1"));
    document_put(&p, "sources", whole(s->n_sources));
    document_put(&p, "rows", whole(s->n_rows));
    document_put(&p, "recordings", whole(s->n_files));
    document_put(&p, "hours_of_windows", number(s->counted_hours));
    document_put(&p, "hours_of_sound", number(s->sound_hours));
    document_put(&p, "status", statuses(s->by_status, SUMMARY_STATUSES));
    document_put(&p, "refused_because",
                 counts(REASONS, s->refused, SUMMARY_REASONS, false));
    document_put(&p, "doubted_because",
                 counts(REASONS, s->doubted, SUMMARY_REASONS, false));
    document_put(&p, "rate_bpm", series(&s->rate_bpm));
    document_put(&p, "patterns", counts(PATTERNS, s->patterns, FM_PATTERN_COUNT, true));
    document_put(&p, "rows_with_early_beats", whole(s->with_early));
    document_put(&p, "rows_with_pauses", whole(s->with_pauses));
    document_put(&p, "breath_status", statuses(s->breath_by_status, 3));
    document_put(&p, "breath_per_min", series(&s->breath_per_min));
    document_put(&p, "breath_patterns",
                 counts(BREATHINGS, s->breath_patterns, FM_BREATH_PATTERN_COUNT, true));
    document_put(&p, "rows_with_breath_pause", whole(s->with_breath_pause));
    document_put(&p, "quality", series(&s->quality));
    document_put(&p, "confidence", series(&s->confidence));
    document_put(&p, "errors", errors(s));
    document_put(&p, "truth", truth(s));
    json_t *const object = document_end(&p);
    char *const text = json_text_of(object, JSON_REAL_PRECISION(12));
    json_decref(object);
    return text;
}
