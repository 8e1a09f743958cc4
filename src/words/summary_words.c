#include "src/words/summary_words.h"

#include "src/words/reason_text.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>

enum {
    VALUE_BYTES = 640
};

static const char *const STATUS_WORDS[SUMMARY_STATUSES] = {"counted", "caution",
                                                           "refused", "error"};

static size_t sum(const size_t *n, int most)
{
    size_t all = 0;
    for (int i = 0; i < most; i++) {
        all += n[i];
    }
    return all;
}

__attribute__((format(printf, 3, 4))) static void say(const summary_listener *l,
                                                      const char *label,
                                                      const char *format,
                                                      ...)
{
    char value[VALUE_BYTES];
    va_list args;
    va_start(args, format);
    (void)vsnprintf(value, sizeof value, format, args);
    va_end(args);
    l->pair(l->to, label, value);
}

/* "24 of 29, 82.8 % (64.2 to 94.2)" */
static void say_share(const summary_listener *l, const char *label, size_t k, size_t n)
{
    if (n == 0) {
        say(l, label, "0 of 0");
        return;
    }
    const fm_ends e = fm_share_exact_95((long)k, (long)n);
    say(l, label, "%zu of %zu, %.1f %% (%.1f to %.1f)", k, n,
        100.0 * (double)k / (double)n, 100.0 * e.low, 100.0 * e.high);
}

static void say_series(const summary_listener *l, const summary_series *v, int decimals)
{
    const double *const x = v->value;
    const size_t n = v->n;
    if (n == 0) {
        say(l, "rows with a number", "0");
        return;
    }
    say(l, "rows with a number", "%zu", n);
    say(l, "mean, median", "%.*f, %.*f", decimals + 1, fm_mean(x, n), decimals,
        fm_sorted_quantile(x, n, 0.5));
    say(l, "middle half", "%.*f to %.*f", decimals, fm_sorted_quantile(x, n, 0.25),
        decimals, fm_sorted_quantile(x, n, 0.75));
    say(l, "nine in ten", "%.*f to %.*f", decimals, fm_sorted_quantile(x, n, 0.05),
        decimals, fm_sorted_quantile(x, n, 0.95));
    say(l, "least, greatest", "%.*f, %.*f", decimals, x[0], decimals, x[n - 1]);
}

static void say_coverage(const summary *s, const summary_listener *l)
{
    say(l, "recordings", "%zu, %.2f hours of sound", s->n_files, s->sound_hours);
    say(l, "rows", "%zu, %.2f hours of windows", s->n_rows, s->counted_hours);
    for (int i = 0; i < SUMMARY_STATUSES; i++) {
        say_share(l, STATUS_WORDS[i], s->by_status[i], s->n_rows);
    }
    if (s->unknown_status > 0) {
        say(l, "of no known status", "%zu", s->unknown_status);
    }
}

static void say_reasons(const size_t *n, const summary_listener *l)
{
    for (int i = 0; i < SUMMARY_REASONS; i++) {
        const fm_reason reason = (fm_reason)i;
        const char *const code =
            i == SUMMARY_OTHER_REASON ? "another reason" : fm_reason_code(reason);
        if (n[i] == 0) {
            continue;
        }
        if (i == SUMMARY_OTHER_REASON || i == FM_REASON_NONE) {
            say(l, i == FM_REASON_NONE ? "no reason given" : code, "%zu", n[i]);
        } else {
            say(l, code, "%zu   %s: %s", n[i], reason_text_what(reason),
                reason_text_advice(reason));
        }
    }
}

static void say_patterns(const summary *s, const summary_listener *l)
{
    const size_t n = s->by_status[0] + s->by_status[1];
    for (int i = FM_PATTERN_COUNT - 1; i >= 0; i--) {
        say_share(l, fm_pattern_word((fm_pattern)i), s->patterns[i], n);
    }
    say_share(l, "rows with early beats", s->with_early, n);
    say_share(l, "rows with pauses", s->with_pauses, n);
}

static void say_breath(const summary *s, const summary_listener *l)
{
    const size_t n =
        s->breath_by_status[0] + s->breath_by_status[1] + s->breath_by_status[2];
    for (int i = 0; i < 3; i++) {
        say_share(l, STATUS_WORDS[i], s->breath_by_status[i], n);
    }
    say_series(l, &s->breath_per_min, 0);
    const size_t named = sum(s->breath_patterns, FM_BREATH_PATTERN_COUNT);
    for (int i = FM_BREATH_PATTERN_COUNT - 1; named > 0 && i >= 0; i--) {
        say_share(l, fm_breath_pattern_word((fm_breath_pattern)i),
                  s->breath_patterns[i], named);
    }
    if (named > 0) {
        say_share(l, "no breath, 10 s and more", s->with_breath_pause, named);
    }
}

static void say_quality(const summary *s, const summary_listener *l)
{
    l->pair(l->to, "", "quality, 0 to 1:");
    say_series(l, &s->quality, 2);
    l->pair(l->to, "", "confidence of rows with a number, 0 to 1:");
    say_series(l, &s->confidence, 3);
}

static void say_agreement(const fm_agreement *a, const summary_listener *l)
{
    say(l, "pairs", "%zu", a->n);
    if (a->n == 0) {
        return;
    }
    if (a->n < 2) {
        say(l, "difference", "%.2f per minute", a->bias);
        return;
    }
    say(l, "bias", "%.2f per minute (%.2f to %.2f)", a->bias, a->bias_95.low,
        a->bias_95.high);
    if (isfinite(a->limits.low)) {
        say(l, "limits of agreement", "%.2f to %.2f per minute (each -/+ %.2f)",
            a->limits.low, a->limits.high, a->limit_margin);
    } else {
        say(l, "limits of agreement", "none: two pairs say too little");
    }
    say(l, "mean, worst difference", "%.2f, %.2f per minute, either way",
        a->mean_absolute, a->worst_absolute);
    say_share(l, "within 1 per minute", a->within[0], a->n);
    say_share(l, "within 2 per minute", a->within[1], a->n);
    say_share(l, "within 3 per minute", a->within[2], a->n);
}

static void say_rate_agreement(const summary *s, const summary_listener *l)
{
    const size_t n =
        s->truth_by_status[0] + s->truth_by_status[1] + s->truth_by_status[2];
    say_agreement(&s->rate.agreement, l);
    say_share(l, "counted, and over 3 off", s->counted_wrong, s->truth_by_status[0]);
    say_share(l, "refused though truth known", s->truth_by_status[2], n);
    say_share(l, "pattern as the truth's", s->pattern_right, s->pattern_known);
    say(l, "readable rows without truth", "%zu", s->without_truth);
    if (s->truth_of_another > 0) {
        say(l, "  truth of another sound, left out", "%zu", s->truth_of_another);
    }
    if (s->truth_in_doubt > 0) {
        say(l, "truth in doubt, not left out",
            "%zu: no digest proves it, and a sure count is elsewhere",
            s->truth_in_doubt);
    }
    if (s->rate.agreement.n >= FM_CALIBRATION_BINS) {
        say(l, "confidence against outcome",
            "off by %.3f on average; Brier %.4f, of a constant forecast %.4f",
            s->calibration.expected_error, s->calibration.brier,
            s->calibration.brier_constant);
    }
}

static void say_worst(const summary *s, const summary_listener *l)
{
    for (size_t i = 0; i < s->n_worst; i++) {
        const summary_named *const w = &s->worst[i];
        say(l, STATUS_WORDS[w->status], "%.1f, true %.1f: %s from %.0f s",
            w->measured_per_min, w->truth_per_min, w->file, w->start_s);
    }
}

static void say_errors(const summary *s, const summary_listener *l)
{
    for (size_t i = 0; i < s->n_errors_named; i++) {
        say(l, "", "%s: %s", s->errors[i].file, s->errors[i].reason);
    }
    if (s->by_status[3] > s->n_errors_named) {
        say(l, "", "and %zu more", s->by_status[3] - s->n_errors_named);
    }
}

bool summary_has(const summary *s, summary_section section)
{
    const size_t n[SUMMARY_SECTIONS] = {
        [SUMMARY_COVERAGE] = 1,
        [SUMMARY_REFUSED] = sum(s->refused, SUMMARY_REASONS),
        [SUMMARY_DOUBTED] = sum(s->doubted, SUMMARY_REASONS),
        [SUMMARY_PULSE] = s->rate_bpm.n,
        [SUMMARY_PATTERN] = s->rate_bpm.n,
        [SUMMARY_BREATH] = sum(s->breath_by_status, 3),
        [SUMMARY_QUALITY] = s->quality.n,
        [SUMMARY_RATE_AGREEMENT] = s->has_truth,
        [SUMMARY_BREATH_AGREEMENT] = s->has_truth ? s->breath.agreement.n : 0,
        [SUMMARY_WORST] = s->n_worst,
        [SUMMARY_ERRORS] = s->n_errors_named,
    };
    return n[section] > 0;
}

void summary_say(const summary *s, summary_section section, const summary_listener *l)
{
    static const char *const headings[SUMMARY_SECTIONS] = {
        "Coverage",
        "Refused because of",
        "Caution because of",
        "Pulse, beats per minute",
        "Pattern of rows with a pulse",
        "Respirations",
        "Quality and confidence",
        "Pulse against the truth",
        "Respirations against the truth",
        "Farthest from the truth",
        "Could not be read",
    };
    l->heading(l->to, headings[section]);
    switch (section) {
    case SUMMARY_COVERAGE:
        say_coverage(s, l);
        break;
    case SUMMARY_REFUSED:
        say_reasons(s->refused, l);
        break;
    case SUMMARY_DOUBTED:
        say_reasons(s->doubted, l);
        break;
    case SUMMARY_PULSE:
        say_series(l, &s->rate_bpm, 0);
        break;
    case SUMMARY_PATTERN:
        say_patterns(s, l);
        break;
    case SUMMARY_BREATH:
        say_breath(s, l);
        break;
    case SUMMARY_QUALITY:
        say_quality(s, l);
        break;
    case SUMMARY_RATE_AGREEMENT:
        say_rate_agreement(s, l);
        break;
    case SUMMARY_BREATH_AGREEMENT:
        say_agreement(&s->breath.agreement, l);
        break;
    case SUMMARY_WORST:
        say_worst(s, l);
        break;
    case SUMMARY_ERRORS:
    default:
        say_errors(s, l);
        break;
    }
}
