#include "ecg_rhythm.h"

#include "score.h"
#include "stats.h"

#include "dsp/rhythm/rhythm.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

static const double NEAR_S = 0.1;

/* Index of the time nearest to at, within NEAR_S; n when there is none. */
static size_t nearest(const double *v, size_t n, double at)
{
    size_t best = n;
    for (size_t i = 0; i < n; i++) {
        if (fabs(v[i] - at) <= NEAR_S &&
            (best == n || fabs(v[i] - at) < fabs(v[best] - at))) {
            best = i;
        }
    }
    return best;
}

static void add_interval_errors(ecg_rhythm *sums,
                                const double *r_s,
                                size_t n_r,
                                const double *s1_s,
                                size_t n_s1,
                                double lag_s)
{
    double *grown =
        realloc(sums->errors_ms, (sums->n_errors + n_r + 1) * sizeof(*grown));
    if (grown == NULL) {
        return;
    }
    sums->errors_ms = grown;
    for (size_t i = 1; i < n_r; i++) {
        const size_t a = nearest(s1_s, n_s1, r_s[i - 1] + lag_s);
        const size_t b = nearest(s1_s, n_s1, r_s[i] + lag_s);
        if (a < n_s1 && b < n_s1 && b == a + 1) {
            const double heard = s1_s[b] - s1_s[a];
            sums->errors_ms[sums->n_errors++] =
                1000.0 * (heard - (r_s[i] - r_s[i - 1]));
        }
    }
}

static int flag_of(fm_interval_kind kind)
{
    if (kind == FM_INTERVAL_EARLY) {
        return FLAG_EARLY;
    }
    return kind == FM_INTERVAL_LATE || kind == FM_INTERVAL_PAUSE ? FLAG_LATE : FLAGS;
}

static double end_of(const fm_interval *i)
{
    return i->start_s + i->length_s;
}

static void add_flags(ecg_rhythm *sums,
                      const fm_rhythm *ecg,
                      const fm_rhythm *sound,
                      double lag_s)
{
    for (size_t i = 0; i < sound->n_intervals; i++) {
        const int flag = flag_of(sound->intervals[i].kind);
        if (flag < FLAGS) {
            sums->of_sound[flag]++;
        }
    }
    for (size_t i = 0; i < ecg->n_intervals; i++) {
        const int flag = flag_of(ecg->intervals[i].kind);
        if (flag >= FLAGS) {
            continue;
        }
        sums->of_ecg[flag]++;
        for (size_t k = 0; k < sound->n_intervals; k++) {
            const fm_interval *s = &sound->intervals[k];
            if (flag_of(s->kind) == flag &&
                fabs(end_of(s) - end_of(&ecg->intervals[i]) - lag_s) <= NEAR_S) {
                sums->right[flag]++;
                break;
            }
        }
    }
}

void ecg_rhythm_add(ecg_rhythm *sums,
                    const double *r_s,
                    size_t n_r,
                    const double *s1_s,
                    size_t n_s1,
                    double lag_s)
{
    if (n_r < 2 || n_s1 < 2) {
        return;
    }
    fm_rhythm *ecg = calloc(2, sizeof(*ecg));
    if (ecg == NULL) {
        return;
    }
    fm_rhythm *const sound = ecg + 1;
    fm_rhythm_describe(r_s, NULL, n_r, NULL, 0, r_s[0] - 0.01, r_s[n_r - 1] + 0.01,
                       ecg);
    fm_rhythm_describe(s1_s, NULL, n_s1, NULL, 0, s1_s[0] - 0.01, s1_s[n_s1 - 1] + 0.01,
                       sound);
    sums->n++;
    sums->table[ecg->pattern][sound->pattern]++;
    add_flags(sums, ecg, sound, lag_s);
    add_interval_errors(sums, r_s, n_r, s1_s, n_s1, lag_s);
    free(ecg);
}

static void print_flag(const ecg_rhythm *s, int flag, const char *name)
{
    (void)printf("  %-14s on the ECG %ld, heard %ld, both %ld; precision ", name,
                 s->of_ecg[flag], s->of_sound[flag], s->right[flag]);
    print_share(stdout, s->right[flag], s->of_sound[flag]);
    (void)printf("; recall ");
    print_share(stdout, s->right[flag], s->of_ecg[flag]);
    (void)printf("\n");
}

static void print_errors(const ecg_rhythm *s)
{
    double *size_ms = malloc((s->n_errors + 1) * sizeof(*size_ms));
    double sum = 0.0;
    double squares = 0.0;
    for (size_t i = 0; size_ms != NULL && i < s->n_errors; i++) {
        size_ms[i] = fabs(s->errors_ms[i]);
        sum += s->errors_ms[i];
        squares += s->errors_ms[i] * s->errors_ms[i];
    }
    if (size_ms != NULL && s->n_errors > 1) {
        const double n = (double)s->n_errors;
        sort_doubles(size_ms, s->n_errors);
        (void)printf("  intervals %zu: heard less ECG, mean %.1f ms, SD %.1f; size, "
                     "median %.1f, 95th percentile %.1f ms\n",
                     s->n_errors, sum / n, sqrt(squares / n - (sum / n) * (sum / n)),
                     sorted_quantile(size_ms, s->n_errors, 0.5),
                     sorted_quantile(size_ms, s->n_errors, 0.95));
    }
    free(size_ms);
}

void ecg_rhythm_print(const ecg_rhythm *s)
{
    if (s->n == 0) {
        return;
    }
    (void)printf("rhythm of the sound against rhythm of the ECG, %ld not refused\n",
                 s->n);
    print_errors(s);
    print_flag(s, FLAG_EARLY, "early");
    print_flag(s, FLAG_LATE, "late or pause");
    (void)printf("  %-24s", "by the ECG, by the sound:");
    for (int c = 0; c < FM_PATTERN_COUNT; c++) {
        (void)printf(" %-22s", fm_pattern_word((fm_pattern)c));
    }
    long regular = 0;
    for (int r = 0; r < FM_PATTERN_COUNT; r++) {
        (void)printf("\n  %-24s", fm_pattern_word((fm_pattern)r));
        for (int c = 0; c < FM_PATTERN_COUNT; c++) {
            (void)printf(" %-22ld", s->table[r][c]);
            regular += r == FM_PATTERN_REGULAR ? s->table[r][c] : 0;
        }
    }
    (void)printf("\n  irregularly irregular where the ECG is regular: ");
    print_share(stdout, s->table[FM_PATTERN_REGULAR][FM_PATTERN_IRREGULARLY_IRREGULAR],
                regular);
    (void)printf("\n\n");
}

void ecg_rhythm_free(ecg_rhythm *sums)
{
    free(sums->errors_ms);
    *sums = (ecg_rhythm){0};
}
