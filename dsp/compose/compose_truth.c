/*
 * What is true of a composed recording's rhythm, by the rule of what was composed; the
 * words are those a count document uses.
 */
#include "dsp/breath/respiration_pause.h"
#include "dsp/compose/compose_private.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const double MINUTE_S = 60.0;
static const double SHORT_S = 20.0;       /* under this, or */
static const size_t SHORT_INTERVALS = 15; /* under this many: undetermined */
static const double BREATHING_REGULAR_S =
    0.120; /* extremes further apart: sinus arrhythmia
                                    (THEW definitions) */
static const double BREATHING_SEEN_S =
    0.040; /* asked modulation from which intervals are said
                                    to vary with breathing; ours, no source */
static const int EVENTS_OCCASIONAL = 5; /* a minute; more is irregularly irregular */
static const int RUN_BEATS = 3; /* early ones in a row are a run (from memory) */
static const double CHANGE_SEEN = 0.10; /* a smaller change of rate is none */
static const double EVEN_JITTER = 0.15; /* lengths that vary more are uneven; ours, no
                                           source */
static const double ROUNDED_S = 1e-6;

void fm_truth_free(fm_truth *t)
{
    if (t == NULL) {
        return;
    }
    free(t->s1_s);
    free(t->s2_s);
    free(t->inaudible_s1);
    free(t->breath_starts_s);
    free(t->breath_pauses);
    free(t->radial_s);
    *t = (fm_truth){0};
}

static void finding_add(fm_truth *truth, fm_finding_kind kind, double time_s)
{
    size_t k = 0;
    while (k < truth->n_findings && truth->findings[k].kind != kind) {
        k++;
    }
    if (k == truth->n_findings) {
        if (k == FM_FINDINGS_MAX) {
            return;
        }
        truth->findings[k] = (fm_finding){.kind = kind};
        truth->n_findings++;
    }
    fm_finding *f = &truth->findings[k];
    if (f->count < FM_FINDING_TIMES) {
        f->times_s[f->count] = time_s;
    }
    f->count++;
}

/* Early beats that make a run are the run's, and no findings of their own. */
static bool finding_of(const fm_recipe *recipe,
                       fm_beat_mark mark,
                       fm_finding_kind *kind)
{
    if (recipe->rhythm == FM_COMPOSE_PREMATURE && recipe->early_row < RUN_BEATS &&
        mark == FM_MARK_EARLY) {
        *kind = FM_FINDING_EARLY_BEATS;
    } else if (mark == FM_MARK_PAUSE) {
        *kind = FM_FINDING_PAUSES;
    } else if (mark == FM_MARK_CHANGE) {
        *kind = FM_FINDING_RATE_CHANGE;
    } else if (mark == FM_MARK_RUN) {
        *kind = FM_FINDING_FAST_RUN;
    } else {
        return false;
    }
    return true;
}

/* Findings with the onsets as measured; returns how many lie in the first minute. */
static int findings_collect(const fm_recipe *recipe,
                            const fm_beats *beats,
                            fm_truth *truth)
{
    int in_minute = 0;
    size_t index = 0;
    for (size_t i = 0; i < beats->n && index < truth->n_s1; i++) {
        const fm_beat *beat = &beats->beat[i];
        if (llround(beat->s1_s * recipe->rate_hz) < 0) {
            continue;
        }
        const double time_s = truth->s1_s[index++];
        fm_finding_kind kind = FM_FINDING_EARLY_BEATS;
        if (finding_of(recipe, beat->mark, &kind)) {
            finding_add(truth, kind, time_s);
            in_minute += time_s < MINUTE_S ? 1 : 0;
        }
    }
    return in_minute;
}

static size_t minute_beats(const fm_truth *truth)
{
    size_t n = 0;
    while (n < truth->n_s1 && truth->s1_s[n] < MINUTE_S) {
        n++;
    }
    return n;
}

/* Longest less shortest interval of the first minute, s. */
static double extremes_s(const fm_truth *truth)
{
    const size_t n = minute_beats(truth);
    double shortest_s = (double)INFINITY;
    double longest_s = 0.0;
    for (size_t i = 1; i < n; i++) {
        const double length_s = truth->s1_s[i] - truth->s1_s[i - 1];
        shortest_s = fmin(shortest_s, length_s);
        longest_s = fmax(longest_s, length_s);
    }
    return n < 2 ? 0.0 : longest_s - shortest_s;
}

static void repeat_set(fm_truth *truth, int intervals, int beats)
{
    truth->repeat[0] = (char)('0' + intervals);
    truth->repeat[1] = ':';
    truth->repeat[2] = (char)('0' + beats);
    truth->repeat[3] = '\0';
    truth->pattern = FM_PATTERN_REGULARLY_IRREGULAR;
}

static void describe_breathing(const fm_recipe *recipe, fm_truth *truth)
{
    truth->pattern = FM_PATTERN_REGULAR;
    truth->varies_with_breathing = fm_recipe_rsa_s(recipe) >= BREATHING_SEEN_S;
    if (truth->varies_with_breathing && extremes_s(truth) > BREATHING_REGULAR_S) {
        truth->pattern = FM_PATTERN_REGULARLY_IRREGULAR;
        memcpy(truth->repeat, "breathing", sizeof "breathing");
    }
}

static void describe_events(int in_minute, fm_truth *truth)
{
    const double length_s = fmin(MINUTE_S, truth->duration_s);
    const double per_min = (double)in_minute * MINUTE_S / length_s;
    if (in_minute == 0) {
        truth->pattern = FM_PATTERN_REGULAR;
    } else if (per_min < (double)EVENTS_OCCASIONAL + 0.5) {
        truth->pattern = FM_PATTERN_OCCASIONALLY_IRREGULAR;
    } else {
        truth->pattern = FM_PATTERN_IRREGULARLY_IRREGULAR;
    }
}

static void describe_rhythm(const fm_recipe *recipe, int in_minute, fm_truth *truth)
{
    switch (recipe->rhythm) {
    case FM_COMPOSE_STEADY:
    case FM_COMPOSE_SINUS_ARRHYTHMIA:
        describe_breathing(recipe, truth);
        break;
    case FM_COMPOSE_DRIFT:
        describe_breathing(recipe, truth);
        if (fabs(recipe->drift_percent_per_min) >= 100.0 * CHANGE_SEEN) {
            truth->pattern = FM_PATTERN_UNDETERMINED;
        }
        break;
    case FM_COMPOSE_PREMATURE:
    case FM_COMPOSE_PAUSES:
        describe_events(in_minute, truth);
        if (recipe->rhythm == FM_COMPOSE_PREMATURE && recipe->early_row >= RUN_BEATS &&
            in_minute > 0) {
            truth->pattern = FM_PATTERN_UNDETERMINED;
        }
        break;
    case FM_COMPOSE_FLUTTER:
        truth->pattern = recipe->conduct_least == recipe->conduct_most
                             ? FM_PATTERN_REGULAR
                             : FM_PATTERN_IRREGULARLY_IRREGULAR;
        break;
    case FM_COMPOSE_BIGEMINY:
        repeat_set(truth, 2, 2);
        break;
    case FM_COMPOSE_TRIGEMINY:
        repeat_set(truth, 3, 3);
        break;
    case FM_COMPOSE_QUADRIGEMINY:
        repeat_set(truth, 4, 4);
        break;
    case FM_COMPOSE_DROPPED:
        repeat_set(truth, recipe->group, recipe->group - 1);
        break;
    case FM_COMPOSE_FIBRILLATION:
        truth->pattern = FM_PATTERN_IRREGULARLY_IRREGULAR;
        break;
    case FM_COMPOSE_RATE_CHANGE:
    case FM_COMPOSE_FAST_RUN:
        truth->pattern = in_minute > 0 ? FM_PATTERN_UNDETERMINED : FM_PATTERN_REGULAR;
        break;
    default:
        truth->pattern = FM_PATTERN_UNDETERMINED;
        break;
    }
}

void fm_truth_describe(const fm_recipe *recipe, const fm_beats *beats, fm_truth *truth)
{
    const int in_minute = findings_collect(recipe, beats, truth);
    truth->pattern_known = recipe->rhythm != FM_COMPOSE_GIVEN && recipe->heart;
    truth->pattern = FM_PATTERN_UNDETERMINED;
    const size_t n = minute_beats(truth);
    if (!truth->pattern_known) {
        return;
    }
    describe_rhythm(recipe, in_minute, truth);
    if (truth->duration_s < SHORT_S || n < SHORT_INTERVALS + 1) {
        truth->pattern = FM_PATTERN_UNDETERMINED;
        truth->repeat[0] = '\0';
    }
}

/* ---- Breathing ---- */

static bool paused_in_minute(const fm_truth *truth)
{
    return truth->n_breath_pauses > 0 && truth->breath_pauses[0].start_s < MINUTE_S;
}

static fm_breath_pattern breathing_pattern(const fm_recipe *recipe,
                                           const fm_truth *truth)
{
    if (recipe->breathing == FM_COMPOSE_WAXING_BREATHING) {
        return FM_BREATH_PATTERN_WAXING;
    }
    if (paused_in_minute(truth)) {
        return FM_BREATH_PATTERN_WITH_PAUSES;
    }
    return recipe->breathing == FM_COMPOSE_IRREGULAR_BREATHING ||
                   recipe->breath_jitter > EVEN_JITTER
               ? FM_BREATH_PATTERN_UNEVEN
               : FM_BREATH_PATTERN_EVEN;
}

fm_status fm_truth_describe_breathing(const fm_recipe *recipe,
                                      const fm_breathing *breathing,
                                      fm_truth *truth)
{
    truth->breathing_known = recipe->n_breath_lengths == 0;
    truth->breath_pauses = fm_compose_memory(breathing->n, sizeof(fm_breath_pause));
    if (truth->breath_pauses == NULL) {
        return FM_ERR_NOMEM;
    }
    for (size_t k = 0; truth->breathing_known && k + 1 < breathing->n; k++) {
        const double end_s = fmin(breathing->starts_s[k + 1], truth->duration_s);
        const double start_s =
            fmax(0.0, breathing->starts_s[k] + fm_breathing_length_s(breathing, k));
        if (breathing->rest_s[k] > 0.0 &&
            end_s - start_s > FM_BREATH_PAUSE_S - ROUNDED_S) {
            truth->breath_pauses[truth->n_breath_pauses++] =
                (fm_breath_pause){start_s, end_s};
        }
    }
    truth->breath_pattern = truth->breathing_known ? breathing_pattern(recipe, truth)
                                                   : FM_BREATH_PATTERN_UNDETERMINED;
    return FM_OK;
}
