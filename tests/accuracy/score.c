#include "score.h"

#include "match.h"
#include "stats.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

const double TOLERANCE_S[TOLERANCES] = {0.060, 0.100, 0.150};

/* IEC 60601-2-27: heart rate within the greater of 10 % and 5 per minute (from the
 * issue's text; the standard was not read). */
static const double IEC_SHARE = 0.10;
static const double IEC_PER_MIN = 5.0;

const char *status_word(fm_outcome status)
{
    static const char *const words[] = {"refused", "caution", "counted"};
    return words[status];
}

/* A recording's own lag outside this range says that something else was followed; the
 * set's lag is taken then. R peaks by a detector lie a little before or after the true
 * peak, so S1 may seem to come first. */
static const double OWN_LAG_LOW_S = -0.06;
static const double OWN_LAG_HIGH_S = 0.20;

/* How near its true onset every beat of a clean recording must be. */
static const double CLOSE_S = 0.030;

bool lag_is_plausible(double lag_s)
{
    return lag_s >= OWN_LAG_LOW_S && lag_s <= OWN_LAG_HIGH_S;
}

void score_beats(scored *s, const beats_pair *b, double set_lag_s, bool own_lag)
{
    s->n_truth = b->n_truth;
    s->n_found = b->n_found;
    s->lag_s = median_lag(b->truth, b->n_truth, b->found, b->n_found);
    const double plausible = lag_is_plausible(s->lag_s) ? s->lag_s : set_lag_s;
    const double lags[LAGS] = {set_lag_s, own_lag ? plausible : set_lag_s};
    for (int lag = 0; lag < LAGS; lag++) {
        for (int i = 0; i < TOLERANCES; i++) {
            s->hits[lag][i] = match_times(b->truth, b->n_truth, b->found, b->n_found,
                                          lags[lag], TOLERANCE_S[i]);
        }
    }
    const size_t close =
        match_times(b->truth, b->n_truth, b->found, b->n_found, lags[LAG_OWN], CLOSE_S);
    s->exact = b->n_truth == b->n_found && close == b->n_truth;
}

void score_rates(scored *s, double truth, double found)
{
    s->truth_rate_bpm = truth;
    s->found_rate_bpm = found;
    const double error = fabs(found - truth);
    s->error = isfinite(error) ? error : (double)INFINITY;
}

static void tally_add_error(tally *t, const scored *s)
{
    for (int i = 0; i < 3; i++) {
        t->within[i] += s->error <= (double)(i + 1);
    }
    t->delivered3 += s->error <= 3.0 && s->status != FM_REFUSED;
    t->printed3 +=
        s->status != FM_REFUSED && fabs(s->printed_rate_bpm - s->truth_rate_bpm) <= 3.0;
    t->counted2 += s->error <= 2.0 && s->status == FM_COUNTED;
    t->counted_wrong += !(s->error <= 3.0) && s->status == FM_COUNTED;
    t->iec += s->error <= fmax(IEC_SHARE * s->truth_rate_bpm, IEC_PER_MIN);
    t->with_rhythm += s->rhythm.known;
    t->pattern_right += s->rhythm.pattern_right;
    t->findings_right += s->rhythm.findings_right;
    t->exact += s->exact && s->status != FM_REFUSED;
    const double ratio =
        s->truth_rate_bpm > 0.0 ? s->found_rate_bpm / s->truth_rate_bpm : (double)NAN;
    t->half += ratio > 0.45 && ratio < 0.55;
    t->doubled += ratio > 1.8 && ratio < 2.2;
}

bool tally_add(tally *t, const scored *s)
{
    t->n++;
    t->by_status[s->status]++;
    tally_add_error(t, s);
    t->n_truth += s->n_truth;
    t->n_found += s->n_found;
    const bool delivered = s->status != FM_REFUSED;
    t->found_delivered += delivered ? s->n_found : 0;
    for (int lag = 0; lag < LAGS; lag++) {
        for (int i = 0; i < TOLERANCES; i++) {
            t->hits[lag][i] += s->hits[lag][i];
            t->hits_delivered[lag][i] += delivered ? s->hits[lag][i] : 0;
        }
    }
    if (!isfinite(s->error)) {
        t->no_rate++;
        return true;
    }
    double *grown = realloc(t->errors, (t->n_errors + 1) * sizeof *grown);
    if (grown == NULL) {
        return false;
    }
    t->errors = grown;
    t->errors[t->n_errors++] = s->error;
    return true;
}

void tally_free(tally *t)
{
    free(t->errors);
    *t = (tally){0};
}

double f1_of(size_t hits, size_t n_truth, size_t n_found)
{
    const size_t all = n_truth + n_found;
    return all > 0 ? 2.0 * (double)hits / (double)all : (double)NAN;
}

void print_share(FILE *out, long k, long n)
{
    if (n == 0) {
        (void)fprintf(out, "- (0/0)");
        return;
    }
    const share_interval s = share_exact_95(k, n);
    (void)fprintf(out, "%.1f %% (%ld/%ld, %.1f-%.1f)", 100.0 * (double)k / (double)n, k,
                  n, 100.0 * s.low, 100.0 * s.high);
}

static void print_line(FILE *out, const char *label, long k, long n)
{
    (void)fprintf(out, "  %-34s ", label);
    print_share(out, k, n);
    (void)fputc('\n', out);
}

static void print_beats(FILE *out,
                        const char *label,
                        const size_t hits[TOLERANCES],
                        size_t n_truth,
                        size_t n_found)
{
    for (int i = 0; i < TOLERANCES; i++) {
        const double h = (double)hits[i];
        (void)fprintf(out, "  S1 %-22s %3.0f ms  Se %.4f  PPV %.4f  F1 %.4f\n", label,
                      1000.0 * TOLERANCE_S[i], h / (double)n_truth,
                      n_found > 0 ? h / (double)n_found : (double)NAN,
                      f1_of(hits[i], n_truth, n_found));
    }
}

static void print_all_beats(FILE *out, const tally *t, bool from_ecg)
{
    static const char *const decoded[] = {"decoded, set lag", "decoded, own lag"};
    static const char *const delivered[] = {"delivered, set lag", "delivered, own lag"};
    for (int lag = 0; lag < (from_ecg ? LAGS : 1); lag++) {
        print_beats(out, from_ecg ? decoded[lag] : "decoded", t->hits[lag], t->n_truth,
                    t->n_found);
        print_beats(out, from_ecg ? delivered[lag] : "delivered",
                    t->hits_delivered[lag], t->n_truth, t->found_delivered);
    }
}

void tally_print(FILE *out, tally *t, bool from_ecg)
{
    (void)fprintf(out, "%s: %ld windows, %zu true beats\n", t->name, t->n, t->n_truth);
    if (t->n == 0) {
        return;
    }
    print_all_beats(out, t, from_ecg);
    sort_doubles(t->errors, t->n_errors);
    (void)fprintf(out,
                  "  rate error, decoded, per minute    mean %.2f  median %.2f  95th "
                  "percentile %.2f  (%ld without a rate left out)\n",
                  mean_of(t->errors, t->n_errors),
                  sorted_quantile(t->errors, t->n_errors, 0.5),
                  sorted_quantile(t->errors, t->n_errors, 0.95), t->no_rate);
    print_line(out, "within 1, decoded", t->within[0], t->n);
    print_line(out, "within 2, decoded", t->within[1], t->n);
    print_line(out, "within 3, decoded", t->within[2], t->n);
    print_line(out, "within the IEC rule, decoded", t->iec, t->n);
    print_line(out, "within 3, a refusal is a miss", t->delivered3, t->n);
    const long spoken = t->n - t->by_status[FM_REFUSED];
    print_line(out, "within 3 of counted and caution", t->delivered3, spoken);
    print_line(out, "the printed rate within 3, of these", t->printed3, spoken);
    print_line(out, "counted", t->by_status[FM_COUNTED], t->n);
    print_line(out, "caution", t->by_status[FM_CAUTION], t->n);
    print_line(out, "refused", t->by_status[FM_REFUSED], t->n);
    print_line(out, "counted, and wrong by over 3", t->counted_wrong,
               t->by_status[FM_COUNTED]);
    if (!from_ecg) {
        print_line(out, "exact, every S1 within 30 ms", t->exact, t->n);
    }
    if (t->with_rhythm > 0) {
        print_line(out, "pattern right, decoded", t->pattern_right, t->with_rhythm);
        print_line(out, "findings right, decoded", t->findings_right, t->with_rhythm);
    }
    print_line(out, "half the rate, decoded", t->half, t->n);
    print_line(out, "double the rate, decoded", t->doubled, t->n);
}

void scored_print_heading(FILE *out)
{
    (void)fprintf(out, "%-20s %-9s %7s %7s %-8s %-19s %6s %6s %6s %6s %s\n",
                  "recording", "group", "truth", "found", "status", "reason", "conf",
                  "F1", "F1own", "lag ms", "");
}

void scored_print(FILE *out, const scored *s)
{
    (void)fprintf(out, "%-20s %-9s %7.2f %7.2f %-8s %-19s %6.3f %6.3f %6.3f %6.0f %s",
                  s->name, s->group, s->truth_rate_bpm, s->found_rate_bpm,
                  status_word(s->status), fm_reason_code(s->reason), s->confidence,
                  f1_of(s->hits[LAG_SET][1], s->n_truth, s->n_found),
                  f1_of(s->hits[LAG_OWN][1], s->n_truth, s->n_found), 1000.0 * s->lag_s,
                  s->exact ? "exact" : "");
    const rhythm_score *r = &s->rhythm;
    if (r->known && !r->pattern_right) {
        (void)fprintf(out, " pattern: %s %s, said: %s %s", fm_pattern_word(r->truth),
                      r->truth_repeat, fm_pattern_word(r->said), r->said_repeat);
    }
    (void)fprintf(out, "%s\n",
                  r->known && !r->findings_right ? " findings differ" : "");
}
