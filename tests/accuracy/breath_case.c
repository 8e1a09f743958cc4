#include "breath_case.h"

#include "dsp/fullminute_compose.h"
#include "dsp/signal/random.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* Streams of a seed that this file draws from; the composer uses others. */
static const uint64_t COMPOSED_STREAM = 0xB4EA7;
static const uint64_t CYCLES_STREAM = 0xB4EA8;
static const double MINUTE_S = 60.0;

enum {
    KINDS_COMPOSED = 4,
    CYCLES_LEAST = 6,
    LENGTHS_MAX = 512
};

const char *breath_kind_word(int kind)
{
    static const char *const words[BREATH_KINDS] = {
        "breath 15 dB and better",
        "breath 0 to 15 dB",
        "heart sounds only",
        "nothing breathes",
        "real lengths",
        "manikin",
        "real chests, the rate from the ECG's beat intervals",
        "real breathing"};
    return words[kind];
}

static bool chance(fm_random *state, double p)
{
    return fm_random_between(state, 0.0, 1.0) < p;
}

static double log_between(fm_random *state, double low, double high)
{
    return exp(fm_random_between(state, log(low), log(high)));
}

/* A whole minute: breaths begun in it. A shorter window: the rate between the breaths
 * begun in it, or in the whole recording where they are fewer than three. */
static double true_rate(const fm_truth *t, double window_s)
{
    size_t inside = 0;
    for (size_t i = 0; i < t->n_breaths; i++) {
        inside += t->breath_starts_s[i] < window_s ? 1 : 0;
    }
    if (window_s > MINUTE_S - 1e-6) {
        return (double)inside;
    }
    const size_t n = inside >= 3 ? inside : t->n_breaths;
    return n < 2 ? 0.0
                 : 60.0 * (double)(n - 1) /
                       (t->breath_starts_s[n - 1] - t->breath_starts_s[0]);
}

bool breath_case_of(const fm_recipe *r, breath_case *c)
{
    fm_truth truth = {0};
    const size_t n = fm_recipe_samples(r);
    c->sound = (sound){malloc((n > 0 ? n : 1) * sizeof(float)), n, r->rate_hz};
    const fm_status status = c->sound.samples == NULL
                                 ? FM_ERR_NOMEM
                                 : fm_compose(r, c->sound.samples, n, &truth);
    if (status != FM_OK) {
        const char *fault = fm_recipe_fault(r);
        (void)fprintf(stderr, "accuracy: compose: %s\n",
                      fault != NULL ? fault : fm_status_text(status));
        sound_free(&c->sound);
        return false;
    }
    c->speed = 1.0;
    c->true_per_min = true_rate(&truth, c->window_s);
    for (size_t i = 0; i < truth.n_breaths && c->n_starts < FM_BREATHS_MAX; i++) {
        if (truth.breath_starts_s[i] < c->window_s) {
            c->starts_s[c->n_starts++] = truth.breath_starts_s[i];
        }
    }
    for (size_t i = 0; i < truth.n_s1; i++) {
        c->beats += truth.s1_s[i] < c->window_s ? 1 : 0;
    }
    c->snr_db = truth.breath_snr_db;
    fm_truth_free(&truth);
    return true;
}

static void draw_heart(fm_recipe *r, fm_random *state, double breaths_per_min)
{
    /* A heart beats at least twice a breath (from memory: 3 to 5 times at rest). */
    const double low = fmax(45.0, 2.2 * breaths_per_min);
    r->bpm = fm_random_between(state, low, fmax(110.0, 1.25 * low));
    r->s2_db = fm_random_between(state, -5.0, 4.0);
    r->loudness_jitter_db = fm_random_between(state, 0.4, 2.0);
    r->jitter = fm_random_between(state, 0.004, 0.015);
    r->chest_piece = chance(state, 0.8);
    if (chance(state, 0.2) && r->bpm < 150.0) {
        const int n = FM_COMPOSE_MURMUR_COUNT - 1;
        r->murmur = (fm_compose_murmur)(1 + (int)(fm_random_next(state) % (uint64_t)n));
        r->murmur_db = fm_random_between(state, -20.0, -8.0);
    }
    if (chance(state, 0.25) && r->bpm > 55.0 && r->bpm < 105.0) {
        static const fm_compose_rhythm other[] = {
            FM_COMPOSE_PREMATURE, FM_COMPOSE_FIBRILLATION, FM_COMPOSE_BIGEMINY};
        r->rhythm = other[fm_random_next(state) % 3];
    }
}

/* Inspiration and expiration with their usual difference. */
static void draw_phases(fm_recipe *r, fm_random *state)
{
    r->inspiration_share = fm_random_between(state, 0.32, 0.5);
    r->expiration_db = fm_random_between(state, -13.0, -2.0);
    r->expiration_pitch = fm_random_between(state, 0.5, 0.9);
    r->expiration_heard = fm_random_between(state, 0.4, 0.9);
    r->crackles = chance(state, 0.25) ? fm_random_between(state, 1.0, 8.0) : 0.0;
    r->wheeze = chance(state, 0.2) ? fm_random_between(state, 0.3, 1.0) : 0.0;
}

static void draw_breathing(fm_recipe *r, fm_random *state)
{
    r->breaths_per_min = log_between(state, 6.0, 70.0);
    r->breath_jitter = fm_random_between(state, 0.02, 0.15);
    const double way = fm_random_between(state, 0.0, 1.0);
    if (way < 0.12) {
        r->breathing = FM_COMPOSE_IRREGULAR_BREATHING;
        r->breath_spread = fm_random_between(state, 0.15, 0.35);
    } else if (way < 0.2) {
        r->breathing = FM_COMPOSE_PAUSED_BREATHING;
        r->breath_pause_s = fm_random_between(state, 4.0, 20.0);
    } else if (way < 0.28) {
        r->breathing = FM_COMPOSE_WAXING_BREATHING;
    }
    draw_phases(r, state);
    const double unusual = fm_random_between(state, 0.0, 1.0);
    if (unusual < 0.12) {
        r->expiration_db = -(double)INFINITY;
    } else if (unusual < 0.25) { /* as loud, as high, or more so */
        r->expiration_db = fm_random_between(state, -2.0, 4.0);
        r->expiration_pitch = fm_random_between(state, 0.7, 1.0);
    }
}

/* In some people breathing hardly moves the loudness, in others the intervals. */
static void draw_lack(fm_recipe *r, fm_random *state)
{
    const double lacking = fm_random_between(state, 0.0, 1.0);
    const double share = fm_random_between(state, 0.0, 0.2);
    r->loudness_swing_db *= lacking < 0.25 ? share : 1.0;
    r->rsa_ms *= lacking > 0.85 ? share : 1.0;
}

/* All that a seed draws. */
static fm_recipe draw_composed(uint64_t seed, breath_case *c)
{
    fm_random state = fm_random_init(seed, COMPOSED_STREAM);
    fm_recipe r = fm_recipe_default();
    *c = (breath_case){.kind = (int)(seed % KINDS_COMPOSED), .window_s = MINUTE_S};
    r.seed = seed;
    r.seconds = floor(fm_random_between(&state, 61.0, 72.0));
    draw_breathing(&r, &state);
    if (seed / KINDS_COMPOSED % 4 == 2) { /* as usual in everything but the rate */
        const fm_recipe usual = fm_recipe_default();
        r = usual;
        r.seed = seed;
        r.seconds = 64.0;
        r.breaths_per_min = log_between(&state, 6.0, 70.0);
    }
    draw_heart(&r, &state, r.breaths_per_min);
    const double interval_ms = 60000.0 / r.bpm;
    const double rsa_ms = log_between(&state, 0.02, 0.2) * interval_ms;
    r.rsa_ms = r.rhythm == FM_COMPOSE_STEADY ? rsa_ms : 0.0;
    r.loudness_swing_db = fm_random_between(&state, 1.0, 6.0);
    r.peak_dbfs = fm_random_between(&state, -30.0, -3.0);
    const double snr_db = fm_random_between(&state, 0.0, 15.0);
    if (c->kind == BREATH_LOUD || c->kind == BREATH_SOFT) {
        r.breath_snr_db = c->kind == BREATH_LOUD ? 15.0 + snr_db : snr_db;
    } else {
        r.breath_db = -(double)INFINITY;
    }
    if (c->kind == BREATH_NONE) {
        r.rsa_ms = 0.0;
        r.loudness_swing_db = 0.0;
    }
    if (chance(&state, 0.5)) {
        static const fm_compose_noise added[] = {
            FM_COMPOSE_WHITE,  FM_COMPOSE_PINK,     FM_COMPOSE_ROOM, FM_COMPOSE_HUM,
            FM_COMPOSE_SPEECH, FM_COMPOSE_FRICTION, FM_COMPOSE_MUSIC};
        const uint64_t choices = c->kind == BREATH_LOUD ? 4 : 7;
        r.noise[added[fm_random_next(&state) % choices]] = true;
        r.snr_db = fm_random_between(&state, 5.0, 30.0);
    }
    if (seed / KINDS_COMPOSED % 8 == 4 && r.breath_snr_db >= 0.0) {
        r.heart = false; /* a place on the chest where it is not heard */
        r.noise[FM_COMPOSE_PINK] = true;
    }
    if (seed / KINDS_COMPOSED % 4 == 3) {
        c->window_s = fm_random_between(&state, 7.0, 45.0);
        r.seconds = c->window_s + fm_random_between(&state, 0.0, 4.0);
    }
    draw_lack(&r, &state);
    if (chance(&state, 0.5)) { /* no breathing, but a modulation of the intervals too */
        r.slow_wave_ms =
            fm_random_between(&state, 10.0, fmin(100.0, 0.12 * interval_ms));
    }
    (void)snprintf(c->name, sizeof c->name, "seed %llu", (unsigned long long)seed);
    return r;
}

bool breath_case_composed(uint64_t seed, breath_case *c)
{
    const fm_recipe r = draw_composed(seed, c);
    return breath_case_of(&r, c);
}

bool breath_case_beside(uint64_t seed, double breath_snr_db, breath_case *c)
{
    fm_recipe r = draw_composed(seed, c);
    const bool heard = isfinite(breath_snr_db);
    c->window_s = MINUTE_S;
    r.seconds = fmax(r.seconds, MINUTE_S + 2.0);
    r.heart = true;
    if (!(r.loudness_swing_db >
          0.0)) { /* the kind that holds its breath breathes here */
        r.loudness_swing_db = 2.0;
    }
    r.breath_db = heard ? fm_recipe_default().breath_db : -(double)INFINITY;
    r.breath_snr_db = heard ? breath_snr_db : (double)NAN;
    return breath_case_of(&r, c);
}

bool breath_rows_read(breath_rows *rows, const char *path)
{
    enum {
        ROWS_MAX = 4096,
        TOTAL_MAX = 65536
    };
    char line[8192];
    FILE *file = fopen(path, "r");
    *rows = (breath_rows){0};
    if (file == NULL) {
        (void)fprintf(stderr, "accuracy: cannot open %s\n", path);
        return false;
    }
    rows->first = calloc(ROWS_MAX + 1, sizeof *rows->first);
    rows->length_s = calloc(TOTAL_MAX, sizeof *rows->length_s);
    size_t total = 0;
    while (rows->first != NULL && rows->length_s != NULL && rows->n < ROWS_MAX &&
           fgets(line, sizeof line, file) != NULL) {
        const char *at = strchr(line, ',');
        const size_t before = total;
        char *end = NULL;
        for (at = at != NULL ? at + 1 : line; total < TOTAL_MAX; at = end) {
            const double length_s = strtod(at, &end);
            if (end == at) {
                break;
            }
            rows->length_s[total++] = length_s;
        }
        if (total > before) {
            rows->n++;
            rows->first[rows->n] = total;
        }
    }
    (void)fclose(file);
    return rows->n > 0;
}

void breath_rows_free(breath_rows *rows)
{
    free(rows->first);
    free(rows->length_s);
    *rows = (breath_rows){0};
}

static size_t row_length(const breath_rows *rows, size_t row)
{
    return rows->first[row + 1] - rows->first[row];
}

size_t breath_rows_with(const breath_rows *rows, size_t n)
{
    size_t found = 0;
    for (size_t row = 0; row < rows->n; row++) {
        found += row_length(rows, row) >= n ? 1 : 0;
    }
    return found;
}

static double row_mean_s(const breath_rows *rows, size_t row)
{
    double sum = 0.0;
    for (size_t k = rows->first[row]; k < rows->first[row + 1]; k++) {
        sum += rows->length_s[k];
    }
    return sum / (double)row_length(rows, row);
}

/* The lengths of a row, then of others alike, until they last long enough. */
static size_t join_rows(const breath_rows *rows,
                        size_t base,
                        double least_s,
                        fm_random *state,
                        double *length_s)
{
    const double mean_s = row_mean_s(rows, base);
    double sum_s = 0.0;
    size_t n = 0;
    size_t row = base;
    while (sum_s < least_s) {
        for (size_t k = rows->first[row]; k < rows->first[row + 1]; k++) {
            if (n < LENGTHS_MAX) {
                length_s[n++] = rows->length_s[k];
                sum_s += rows->length_s[k];
            }
        }
        do {
            row = (size_t)(fm_random_next(state) % rows->n);
        } while (fabs(row_mean_s(rows, row) / mean_s - 1.0) > 0.15);
    }
    return n;
}

bool breath_case_cycles(
    const breath_rows *rows, size_t i, uint64_t seed, bool cut, breath_case *c)
{
    fm_random state = fm_random_init(seed, CYCLES_STREAM);
    fm_recipe r = fm_recipe_default();
    double length_s[LENGTHS_MAX];
    size_t row = 0;
    for (size_t seen = 0;; row++) {
        if (row_length(rows, row) >= CYCLES_LEAST && seen++ == i) {
            break;
        }
    }
    *c = (breath_case){.kind = BREATH_CYCLES, .window_s = MINUTE_S};
    r.seed = seed;
    r.seconds = 65.0;
    r.n_breath_lengths = join_rows(rows, row, r.seconds + 35.0, &state, length_s);
    r.breath_lengths_s = length_s;
    draw_heart(&r, &state, 60.0 / row_mean_s(rows, row));
    draw_phases(&r, &state);
    r.loudness_swing_db = fm_random_between(&state, 0.5, 4.0);
    r.breath_snr_db = fm_random_between(&state, 10.0, 25.0);
    if (cut) {
        c->window_s = fm_random_between(&state, 10.0, 30.0);
        r.seconds = c->window_s;
    }
    (void)snprintf(c->name, sizeof c->name, "row %zu seed %llu", row,
                   (unsigned long long)seed);
    return breath_case_of(&r, c);
}
