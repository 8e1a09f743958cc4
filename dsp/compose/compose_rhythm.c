/*
 * When the beats come: one interval after another by the rhythm's rule.
 *
 * Bounds: no beat within 270 ms of the last (220 per minute; refractory time 240-300 ms,
 * from memory), none later than 2.5 s. Early beats with a full compensatory
 * pause: coupling + pause = two basic intervals (from memory). Dropped beats after
 * Wenckebach: the group lasts n basic intervals, its intervals shorten towards the drop,
 * and the last is shorter than twice any other (worked trace 1080, 1040, 1920 ms of the
 * MSD Manual's 4:3 figure). Fibrillation: a refractory part and a gamma-distributed rest,
 * skewed to long intervals, successive ones independent (from memory); its RMSSD / mean
 * lies over 0.1 (Dash, Chon, Raeder, Lu, Ann Biomed Eng 37:1701, 2009). Flutter: the atria
 * beat on evenly, 240 to 340 a minute (NCI's definition), and every second, third or
 * fourth of their beats is conducted (from memory; ecgmadesimple.ca names these), each
 * as often as the next; ours. After a row of early beats the sinus goes on where it would
 * have been (from memory).
 */
#include "dsp/compose/compose_private.h"

#include <math.h>
#include <stdlib.h>

static const double TWO_PI = 6.28318530717958647692;
static const double INTERVAL_MIN_S = 0.27;
static const double INTERVAL_MAX_S = 2.5;
static const double FIBRILLATION_MIN_S = 0.24;
static const double NO_VALVE_COUPLING = 0.52; /* earlier: no S2; ours, no source */
static const double USUAL_WEIGHT = 0.2;       /* of the newest interval; ours */
static const double GIVEN_FIRST_BEAT_S = 0.3;
static const double CUT_S1_S = 0.12;
enum {
    ROW_RUN = 3 /* early beats in a row that make a run (from memory) */
};
static const double EVENT_MARGIN_S = 2.5; /* keeps events off the minute's edge; ours */

typedef struct rhythm_state {
    const fm_recipe *recipe;
    const fm_breathing *breathing;
    fm_random random;
    double rsa_s;
    double slow_phase[2];
    double pending_s; /* interval after an early beat; 0: none */
    double event_s;   /* when the next single event is due */
    size_t event_slot;
    int group_place;
    int run_left;
    int row_left;        /* early beats still to come in a row */
    double row_s;        /* sum of the row's intervals so far */
    double row_coupling; /* the same for all of a row */
    bool changed;
    size_t given;
    fm_beat_mark mark;      /* set by the rule: what the interval's first beat is */
    fm_beat_mark mark_next; /* and what its last beat is */
} rhythm_state;

static double clamp(double x, double low, double high)
{
    return x < low ? low : (x > high ? high : x);
}

/* The mean interval of a recipe's basic rate. */
static double basic_s_of(const fm_recipe *recipe)
{
    if (recipe->rhythm == FM_COMPOSE_FLUTTER) {
        return 0.5 * (double)(recipe->conduct_least + recipe->conduct_most) * 60.0 /
               recipe->flutter_bpm;
    }
    return 60.0 / recipe->bpm;
}

double fm_recipe_rsa_s(const fm_recipe *recipe)
{
    if (!isnan(recipe->rsa_ms)) {
        return recipe->rsa_ms / 1000.0;
    }
    const double basic_s = 60.0 / recipe->bpm;
    switch (recipe->rhythm) {
    case FM_COMPOSE_SINUS_ARRHYTHMIA:
        return fmin(0.220, 0.35 * basic_s);
    case FM_COMPOSE_FIBRILLATION:
    case FM_COMPOSE_FLUTTER:
    case FM_COMPOSE_GIVEN:
        return 0.0;
    default:
        return fmin(0.020, 0.03 * basic_s);
    }
}

/* What the pressure reflex adds to an interval: two waves of 0.09 and 0.11 Hz, which together
 * come and go. That intervals are modulated at about 0.1 Hz, as strongly as by breathing, is
 * published (Task Force of the ESC and the NASPE, Circulation 93 (1996) 1043: 0.04-0.15 Hz, by itself
 * 1170 ms^2 lying at rest, breathing's 975 ms^2); that there are two is ours. */
static double slow_wave(const rhythm_state *s, double t)
{
    const double each_s = 0.25e-3 * s->recipe->slow_wave_ms;
    return each_s * (sin(TWO_PI * 0.09 * t + s->slow_phase[0]) +
                     sin(TWO_PI * 0.11 * t + s->slow_phase[1]));
}

/* A sinus interval that starts at t: basic, breathing (shortest with full lungs), jitter. */
static double sinus_interval(rhythm_state *s, double t, double basic_s)
{
    const double middle_s = t + 0.5 * basic_s;
    const double volume = fm_breathing_volume(s->breathing, middle_s);
    const double breathed_s = basic_s + s->rsa_s * (s->breathing->middle - volume);
    return (breathed_s + slow_wave(s, middle_s)) *
           (1.0 + s->recipe->jitter * fm_random_normal(&s->random));
}

/* The next event: one in each slot of 60 / events_per_min s, away from the slot's ends. */
static void plan_event(rhythm_state *s)
{
    const double usual = s->recipe->early_row >= ROW_RUN ? 2.0 : 4.0;
    const double per_min =
        isnan(s->recipe->events_per_min) ? usual : s->recipe->events_per_min;
    const double slot_s = 60.0 / per_min;
    const double margin_s = fmin(EVENT_MARGIN_S, 0.2 * slot_s);
    const double start_s = slot_s * (double)s->event_slot++;
    s->event_s =
        fm_random_between(&s->random, start_s + margin_s, start_s + slot_s - margin_s);
}

/* An early beat's interval, nearly the same every time, and what is left for the one after
 * it; the sinus node goes on with its own variation meanwhile. */
static double early_interval(rhythm_state *s, double t, double coupling)
{
    const double basic_s = 60.0 / s->recipe->bpm;
    const double jitter = 1.0 + s->recipe->jitter * fm_random_normal(&s->random);
    const double early_s = fmax(INTERVAL_MIN_S, coupling * basic_s * jitter);
    const double sinus_s = sinus_interval(s, t, basic_s);
    s->pending_s = fmin(INTERVAL_MAX_S, s->recipe->compensation * sinus_s - early_s);
    s->mark_next = FM_MARK_EARLY;
    return early_s;
}

/* One early beat of a row. After the last the sinus goes on where it would have been: the
 * row and its pause last whole basic intervals, the pause one of them at least. */
static double row_interval(rhythm_state *s, double t)
{
    const fm_recipe *r = s->recipe;
    const double basic_s = 60.0 / r->bpm;
    const double jitter = 1.0 + r->jitter * fm_random_normal(&s->random);
    const double early_s = fmax(INTERVAL_MIN_S, s->row_coupling * basic_s * jitter);
    s->row_s += early_s;
    s->row_left--;
    s->mark_next = FM_MARK_EARLY;
    if (s->row_left == 0) {
        const double whole = ceil((double)r->early_row * s->row_coupling + 1.0);
        const double sinus_s = sinus_interval(s, t, basic_s);
        const double pause_s = (whole - 2.0 + r->compensation) * sinus_s - s->row_s;
        s->pending_s = clamp(pause_s, basic_s, INTERVAL_MAX_S);
    }
    return early_s;
}

static double premature_interval(rhythm_state *s, double t)
{
    const double basic_s = 60.0 / s->recipe->bpm;
    if (s->row_left > 0) {
        return row_interval(s, t);
    }
    if (t + basic_s < s->event_s) {
        return sinus_interval(s, t, basic_s);
    }
    plan_event(s);
    const double drawn = fm_random_between(&s->random, 0.60, 0.75);
    const double coupling = isnan(s->recipe->coupling) ? drawn : s->recipe->coupling;
    if (s->recipe->early_row == 1) {
        return early_interval(s, t, coupling);
    }
    s->mark = s->recipe->early_row >= ROW_RUN ? FM_MARK_RUN : FM_MARK_NONE;
    s->row_left = s->recipe->early_row;
    s->row_s = 0.0;
    s->row_coupling = coupling;
    return row_interval(s, t);
}

static double group_interval(rhythm_state *s, double t, int beats)
{
    const double basic_s = 60.0 / s->recipe->bpm;
    s->group_place = (s->group_place + 1) % beats;
    if (s->group_place != beats - 1) {
        return sinus_interval(s, t, basic_s);
    }
    s->group_place = beats; /* the pending interval counts as the group's last */
    return early_interval(s, t,
                          isnan(s->recipe->coupling) ? 0.65 : s->recipe->coupling);
}

/* n - 1 intervals over n basic ones: lengthened by creep, creep/2, ..., and the rest. */
static double dropped_interval(rhythm_state *s)
{
    const double basic_s = 60.0 / s->recipe->bpm;
    const int beats = s->recipe->group - 1;
    const int place = s->group_place;
    s->group_place = (place + 1) % beats;
    const double jitter = 1.0 + s->recipe->jitter * fm_random_normal(&s->random);
    double lengthened = 0.0;
    for (int k = 0; k < beats - 1; k++) {
        const double more = s->recipe->group_creep / (double)(k + 1);
        if (k == place) {
            return basic_s * (1.0 + more) * jitter;
        }
        lengthened += more;
    }
    return basic_s * (2.0 - lengthened) * jitter;
}

static double fibrillation_interval(rhythm_state *s)
{
    const double mean_s = 60.0 / s->recipe->bpm;
    const double sd_s = s->recipe->spread * mean_s;
    double shape = 3.0;
    double rest_s = sd_s * sqrt(shape);
    double least_s = mean_s - rest_s;
    if (least_s < FIBRILLATION_MIN_S) {
        least_s = FIBRILLATION_MIN_S;
        rest_s = mean_s - least_s;
        shape = 1.0;
    }
    double length_s = 0.0;
    do { /* a gamma variable of whole shape is a sum of exponentials */
        double sum = 0.0;
        for (int k = 0; k < (int)shape; k++) {
            sum -= log(1.0 - fm_random_uniform(&s->random));
        }
        length_s = least_s + rest_s * sum / shape;
    } while (length_s > INTERVAL_MAX_S);
    return length_s;
}

/* The atria beat on evenly; each conducted beat is off by a little of their interval. */
static double flutter_interval(rhythm_state *s)
{
    const fm_recipe *r = s->recipe;
    const double flutter_s = 60.0 / r->flutter_bpm;
    const int span = r->conduct_most - r->conduct_least + 1;
    const int ratio =
        r->conduct_least + (int)(fm_random_next(&s->random) % (uint64_t)span);
    return flutter_s * ((double)ratio + r->jitter * fm_random_normal(&s->random));
}

static double pauses_interval(rhythm_state *s, double t)
{
    const double basic_s = 60.0 / s->recipe->bpm;
    if (t + basic_s < s->event_s) {
        return sinus_interval(s, t, basic_s);
    }
    plan_event(s);
    s->mark = FM_MARK_PAUSE;
    return s->recipe->pause_length * basic_s *
           (1.0 + s->recipe->jitter * fm_random_normal(&s->random));
}

static double change_at_s(const fm_recipe *r)
{
    return isnan(r->change_at_s) ? 0.5 * fmin(60.0, r->seconds) : r->change_at_s;
}

static double change_bpm(const fm_recipe *r)
{
    if (!isnan(r->change_bpm)) {
        return r->change_bpm;
    }
    return fmin(210.0, r->bpm * (r->rhythm == FM_COMPOSE_FAST_RUN ? 1.6 : 1.4));
}

static double changing_interval(rhythm_state *s, double t)
{
    const fm_recipe *r = s->recipe;
    const bool run = r->rhythm == FM_COMPOSE_FAST_RUN;
    if (!s->changed && t >= change_at_s(r)) {
        s->changed = true;
        s->run_left = run ? r->run_beats : 0;
        s->mark = run ? FM_MARK_RUN : FM_MARK_CHANGE;
    }
    const bool fast = run ? s->run_left > 0 : s->changed;
    s->run_left -= s->run_left > 0 ? 1 : 0;
    return sinus_interval(s, t, 60.0 / (fast ? change_bpm(r) : r->bpm));
}

static double next_interval(rhythm_state *s, double t)
{
    const fm_recipe *r = s->recipe;
    if (s->pending_s > 0.0) {
        const double length_s = s->pending_s;
        s->pending_s = 0.0;
        return length_s;
    }
    switch (r->rhythm) {
    case FM_COMPOSE_PREMATURE:
        return premature_interval(s, t);
    case FM_COMPOSE_BIGEMINY:
        return group_interval(s, t, 2);
    case FM_COMPOSE_TRIGEMINY:
        return group_interval(s, t, 3);
    case FM_COMPOSE_QUADRIGEMINY:
        return group_interval(s, t, 4);
    case FM_COMPOSE_DROPPED:
        return dropped_interval(s);
    case FM_COMPOSE_FIBRILLATION:
        return fibrillation_interval(s);
    case FM_COMPOSE_FLUTTER:
        return flutter_interval(s);
    case FM_COMPOSE_PAUSES:
        return pauses_interval(s, t);
    case FM_COMPOSE_DRIFT:
        return sinus_interval(
            s, t,
            60.0 / (r->bpm * (1.0 + r->drift_percent_per_min / 100.0 * t / 60.0)));
    case FM_COMPOSE_RATE_CHANGE:
    case FM_COMPOSE_FAST_RUN:
        return changing_interval(s, t);
    case FM_COMPOSE_GIVEN:
        return r->intervals_s[s->given++ % r->n_intervals];
    case FM_COMPOSE_STEADY:
    case FM_COMPOSE_SINUS_ARRHYTHMIA:
    case FM_COMPOSE_RHYTHM_COUNT:
    default:
        return sinus_interval(s, t, 60.0 / r->bpm);
    }
}

/* Systole of a beat: by the usual interval around it, moved a little by the filling before
 * it (3 % of the difference, at most 15 ms; ours), 8 % shorter for an early beat (from
 * memory), 4 ms SD from beat to beat (ours), never over 0.6 of the interval it is in. */
static double systole_of(rhythm_state *s, const fm_beat *beat)
{
    const double usual_s =
        s->recipe->systole_scale * fm_systole_usual_s(60.0 / beat->usual_s);
    const double filling_s =
        clamp(0.03 * (beat->before_s - beat->usual_s), -0.015, 0.015);
    const double early = beat->mark == FM_MARK_EARLY ? 0.92 : 1.0;
    const double jitter_s = 0.004 * clamp(fm_random_normal(&s->random), -2.5, 2.5);
    return fmin(early * usual_s + filling_s + jitter_s, 0.6 * beat->after_s);
}

static bool append(fm_beats *b, const fm_beat *beat)
{
    if (b->n == b->capacity) {
        const size_t more = b->capacity == 0 ? 256 : 2 * b->capacity;
        fm_beat *grown = realloc(b->beat, more * sizeof *grown);
        if (grown == NULL) {
            return false;
        }
        b->beat = grown;
        b->capacity = more;
    }
    b->beat[b->n++] = *beat;
    return true;
}

static void state_start(rhythm_state *s,
                        const fm_recipe *recipe,
                        const fm_breathing *breathing)
{
    *s = (rhythm_state){.recipe = recipe,
                        .breathing = breathing,
                        .random = fm_random_init(recipe->seed, FM_STREAM_RHYTHM),
                        .rsa_s = fm_recipe_rsa_s(recipe)};
    fm_random waves = fm_random_init(recipe->seed, FM_STREAM_SLOW_WAVES);
    for (int i = 0; i < 2; i++) {
        s->slow_phase[i] = fm_random_between(&waves, 0.0, TWO_PI);
    }
    plan_event(s);
}

/* The first beat drawn: one interval before the first S1 wanted (so that the S2 of a beat
 * before the recording is heard), or the first S1 itself for given intervals. */
static double first_time(rhythm_state *s)
{
    const fm_recipe *r = s->recipe;
    if (r->rhythm == FM_COMPOSE_GIVEN) {
        return isnan(r->first_beat_s) ? GIVEN_FIRST_BEAT_S : r->first_beat_s;
    }
    const double basic_s = basic_s_of(r);
    /* no S1 is cut by the start: whether that one counts nobody could say */
    const double last_s = fmax(0.06, basic_s - CUT_S1_S);
    const double drawn_s = fm_random_between(&s->random, 0.05, last_s);
    return (isnan(r->first_beat_s) ? drawn_s : r->first_beat_s) - basic_s;
}

fm_status fm_beats_make(const fm_recipe *recipe,
                        const fm_breathing *breathing,
                        fm_beats *b)
{
    rhythm_state s;
    state_start(&s, recipe, breathing);
    double t = first_time(&s);
    const bool lead = recipe->rhythm != FM_COMPOSE_GIVEN;
    const double basic_s = basic_s_of(recipe);
    double before_s = lead ? basic_s : recipe->intervals_s[0];
    double usual_s = before_s;
    double coupling = 1.0;
    fm_beat_mark mark = FM_MARK_NONE;
    *b = (fm_beats){0};
    while (t < recipe->seconds) {
        s.mark = FM_MARK_NONE;
        s.mark_next = FM_MARK_NONE;
        const bool first = b->n == 0 && lead;
        double after_s = first ? basic_s : next_interval(&s, t);
        if (recipe->rhythm != FM_COMPOSE_GIVEN) {
            const bool fibrillation = recipe->rhythm == FM_COMPOSE_FIBRILLATION;
            after_s = clamp(after_s, fibrillation ? FIBRILLATION_MIN_S : INTERVAL_MIN_S,
                            INTERVAL_MAX_S);
        }
        fm_beat beat = {.s1_s = t,
                        .before_s = before_s,
                        .after_s = after_s,
                        .usual_s = usual_s,
                        .mark = s.mark != FM_MARK_NONE ? s.mark : mark,
                        .opens = coupling >= NO_VALVE_COUPLING};
        beat.systole_s = systole_of(&s, &beat);
        if (!append(b, &beat)) {
            return FM_ERR_NOMEM;
        }
        coupling = s.mark_next == FM_MARK_EARLY ? after_s / basic_s : 1.0;
        usual_s += USUAL_WEIGHT * (after_s - usual_s);
        before_s = after_s;
        mark = s.mark_next;
        t += after_s;
    }
    return FM_OK;
}
