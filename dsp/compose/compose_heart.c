/*
 * The heart sounds: each is rendered alone, passed through the responses, its onset found
 * by the definition, and then placed so that the onset lies where the rhythm wants it.
 *
 * S1 has most energy at 30-150 Hz and lasts 70-150 ms, S2 reaches 200 Hz and lasts
 * 60-120 ms, S3 and S4 lie at 20-70 Hz, murmurs at 100-600 Hz; S3 comes 120-180 ms after
 * S2, S4 80-140 ms before S1, the parts of S2 lie 30-80 ms apart when split (all from
 * memory). The component tables below are ours, compared with
 * average spectra of open heart sound recordings. Sounds have a weak part to 300 Hz, so
 * that a small microphone still hears something.
 */
#include "dsp/compose/compose_private.h"

#include "dsp/constants.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum {
    COMPONENTS_MAX = 7
};

/* A struck component: sine of a frequency under a rise and a decay, after a delay. */
typedef struct component {
    double frequency_hz;
    double amplitude;
    double delay_s;
    double rise_s;
    double decay_s;
} component;

typedef struct shape {
    int n;
    component part[COMPONENTS_MAX];
} shape;

static const shape S1_SHAPE = {7,
                               {{32.0, 0.60, 0.000, 0.0090, 0.034},
                                {50.0, 1.00, 0.003, 0.0060, 0.028},
                                {74.0, 0.66, 0.008, 0.0045, 0.024},
                                {108.0, 0.34, 0.026, 0.0040, 0.019},
                                {150.0, 0.16, 0.028, 0.0030, 0.014},
                                {215.0, 0.060, 0.012, 0.0025, 0.012},
                                {290.0, 0.030, 0.014, 0.0025, 0.010}}};

static const shape S2_SHAPE = {6,
                               {{40.0, 0.46, 0.000, 0.0050, 0.024},
                                {63.0, 0.85, 0.000, 0.0040, 0.019},
                                {96.0, 0.62, 0.001, 0.0030, 0.016},
                                {142.0, 0.30, 0.001, 0.0025, 0.013},
                                {205.0, 0.12, 0.001, 0.0020, 0.011},
                                {300.0, 0.050, 0.001, 0.0018, 0.009}}};

static const shape S3_SHAPE = {
    2, {{32.0, 1.00, 0.000, 0.010, 0.030}, {50.0, 0.40, 0.000, 0.008, 0.022}}};

static const shape S4_SHAPE = {
    2, {{36.0, 1.00, 0.000, 0.010, 0.024}, {56.0, 0.35, 0.000, 0.008, 0.018}}};

static const double S2_USUAL_DB = -2.0;
static const double P2_DB = -7.0; /* the later part of S2 at the apex; ours */
static const double SILENT_DB = -60.0;
static const double S3_AFTER_S2_S = 0.140;
static const double S4_BEFORE_S1_S = 0.110;
static const double S3_ROOM_S = 0.20; /* diastole shorter than this: no S3; ours */
static const double S4_ROOM_S = 0.30; /* shorter than this: no S4; ours */
static const double SCRATCH_S = 0.40;
static const double LEAD_S = 0.02;        /* zeros before the sound in the scratch */
static const double RMS_WINDOW_S = 0.010; /* the onset by definition: 10 ms RMS, */
static const double ONSET_SHARE = 0.10;   /* 10 % of its peak */
static const double FIBRILLATION_S1_DB = 2.0; /* S1 varies with filling; from memory */

/* How this person's heart differs from the table. */
typedef struct person {
    double frequency[2]; /* S1, S2: factor on all frequencies */
    double amplitude[2][COMPONENTS_MAX];
    double phase[2][COMPONENTS_MAX];
} person;

typedef struct heart {
    const fm_recipe *recipe;
    const fm_breathing *breathing;
    fm_random random;
    person who;
    fm_cascade response;
    float *scratch;
    size_t n_scratch;
    float *out;
    size_t n;
} heart;

double fm_db_gain(double db)
{
    return pow(10.0, db / 20.0);
}

static person person_make(uint64_t seed)
{
    fm_random random = fm_random_init(seed, FM_STREAM_PERSON);
    person who;
    for (int sound = 0; sound < 2; sound++) {
        who.frequency[sound] = exp(0.10 * fm_random_normal(&random));
        who.frequency[sound] = fmax(0.8, fmin(1.25, who.frequency[sound]));
        for (int k = 0; k < COMPONENTS_MAX; k++) {
            const double off = 2.0 * fm_random_normal(&random);
            who.amplitude[sound][k] = fm_db_gain(fmax(-5.0, fmin(5.0, off)));
            who.phase[sound][k] = fm_random_between(&random, 0.0, 2.0 * FM_PI);
        }
    }
    return who;
}

/* Add one component to the scratch; sine and envelopes by recurrence. */
static void add_component(
    heart *h, const component *c, double amplitude, double phase, double start_s)
{
    const double rate_hz = h->recipe->rate_hz;
    if (c->frequency_hz > 0.45 * rate_hz) {
        return;
    }
    const double from_s = start_s + c->delay_s;
    const size_t first = (size_t)ceil(from_s * rate_hz);
    const double after_s = (double)first / rate_hz - from_s;
    const double w = 2.0 * FM_PI * c->frequency_hz / rate_hz;
    const double turn_c = cos(w);
    const double turn_s = sin(w);
    double re = cos(phase + w * after_s * rate_hz);
    double im = sin(phase + w * after_s * rate_hz);
    double decay = amplitude * exp(-after_s / c->decay_s);
    double rise = exp(-after_s / c->rise_s);
    const double decay_step = exp(-1.0 / (rate_hz * c->decay_s));
    const double rise_step = exp(-1.0 / (rate_hz * c->rise_s));
    for (size_t i = first; i < h->n_scratch; i++) {
        h->scratch[i] += (float)(decay * (1.0 - rise) * im);
        const double next = re * turn_c - im * turn_s;
        im = re * turn_s + im * turn_c;
        re = next;
        decay *= decay_step;
        rise *= rise_step;
    }
}

/* One striking of a shape into the scratch; which: 0 S1, 1 S2 or -1 (S3, S4). */
static void strike(heart *h, const shape *s, int which, double gain, double start_s)
{
    for (int k = 0; k < s->n; k++) {
        component c = s->part[k];
        double amplitude = gain * c.amplitude;
        double phase = 0.4 * fm_random_normal(&h->random);
        c.frequency_hz *= 1.0 + 0.015 * fm_random_normal(&h->random);
        amplitude *= fm_db_gain(0.7 * fm_random_normal(&h->random));
        if (which >= 0) {
            c.frequency_hz *= h->who.frequency[which];
            amplitude *= h->who.amplitude[which][k];
            phase = 0.25 * phase + h->who.phase[which][k];
        }
        add_component(h, &c, amplitude, phase, start_s);
    }
}

static void scratch_clear(heart *h)
{
    memset(h->scratch, 0, h->n_scratch * sizeof *h->scratch);
}

/* Onset by its definition: index of the middle of the first 10 ms whose RMS reaches 10 %
 * of the peak RMS; *peak gets that peak. */
static size_t onset_find(const heart *h, double *peak)
{
    const size_t w = (size_t)lround(RMS_WINDOW_S * h->recipe->rate_hz);
    double best = 0.0;
    size_t onset = 0;
    for (int pass = 0; pass < 2; pass++) {
        double sum = 0.0;
        for (size_t i = 0; i < h->n_scratch; i++) {
            const double in = (double)h->scratch[i];
            const double gone = i >= w ? (double)h->scratch[i - w] : 0.0;
            sum = fmax(0.0, sum + in * in - gone * gone);
            if (pass == 0) {
                best = fmax(best, sum);
            } else if (sum >= ONSET_SHARE * ONSET_SHARE * best) {
                onset = i + 1 >= w / 2 ? i + 1 - w / 2 : 0;
                break;
            }
        }
    }
    *peak = sqrt(best / (double)w);
    return onset;
}

/* Add the scratch to the recording with its sample `from` at sample `at`. */
static void scratch_place(heart *h, size_t from, double gain, long long at)
{
    for (size_t i = 0; i < h->n_scratch; i++) {
        const long long where = at + (long long)i - (long long)from;
        if (where >= 0 && (unsigned long long)where < h->n) {
            h->out[where] += (float)(gain * (double)h->scratch[i]);
        }
    }
}

/* Scale the scratch to a peak RMS of gain, before the responses; then the responses. */
static void scratch_finish(heart *h, double gain)
{
    double peak = 0.0;
    (void)onset_find(h, &peak);
    const double factor = peak > 0.0 ? gain / peak : 0.0;
    for (size_t i = 0; i < h->n_scratch; i++) {
        h->scratch[i] = (float)(factor * (double)h->scratch[i]);
    }
    fm_cascade response = h->response;
    fm_cascade_process(&response, h->scratch, h->n_scratch);
}

/* Render what is in the scratch at an onset; returns the onset as a time on the grid. */
static double render_at(heart *h, double gain, double onset_s)
{
    double peak = 0.0;
    scratch_finish(h, gain);
    const size_t onset = onset_find(h, &peak);
    const long long at = llround(onset_s * h->recipe->rate_hz);
    scratch_place(h, onset, 1.0, at);
    return (double)at / h->recipe->rate_hz;
}

/* Loudness of one sound: breathing (soft with full lungs) and its own variation. */
static double loudness_db(heart *h, double time_s)
{
    const double volume = fm_breathing_volume(h->breathing, time_s);
    return -h->recipe->loudness_swing_db * (volume - h->breathing->middle) +
           h->recipe->loudness_jitter_db * fm_random_normal(&h->random);
}

static double render_s1(heart *h, const fm_beat *beat)
{
    const fm_recipe *r = h->recipe;
    double db = r->s1_db + loudness_db(h, beat->s1_s);
    if (r->rhythm == FM_COMPOSE_FIBRILLATION) {
        db += FIBRILLATION_S1_DB * fm_random_normal(&h->random);
    } else if (beat->mark == FM_MARK_EARLY) {
        const double drawn_db = fm_random_between(&h->random, -4.0, 3.0);
        db += isnan(r->early_s1_db) ? drawn_db : r->early_s1_db;
    }
    scratch_clear(h);
    strike(h, &S1_SHAPE, 0, 1.0, LEAD_S);
    return render_at(h, r->s1_db <= SILENT_DB ? 0.0 : fm_db_gain(db), beat->s1_s);
}

static double render_s2(heart *h, const fm_beat *beat, double s1_s)
{
    const fm_recipe *r = h->recipe;
    const double time_s = s1_s + beat->systole_s;
    const double volume = fm_breathing_volume(h->breathing, time_s);
    double db = S2_USUAL_DB + r->s2_db + loudness_db(h, time_s);
    if (beat->mark == FM_MARK_EARLY) {
        db += fm_random_between(&h->random, -9.0, -4.0);
    }
    scratch_clear(h);
    strike(h, &S2_SHAPE, 1, 1.0, LEAD_S);
    strike(h, &S2_SHAPE, 1, fm_db_gain(P2_DB),
           LEAD_S + (0.3 + 0.7 * volume) * r->s2_split_ms / 1000.0);
    return render_at(h, r->s2_db <= SILENT_DB ? 0.0 : fm_db_gain(db), time_s);
}

static void render_extra(heart *h, const fm_beat *beat, double s1_s)
{
    const fm_recipe *r = h->recipe;
    const double diastole_s = beat->after_s - beat->systole_s;
    if (r->s3_db > SILENT_DB && diastole_s >= S3_ROOM_S && beat->opens) {
        scratch_clear(h);
        strike(h, &S3_SHAPE, -1, 1.0, LEAD_S);
        const double db = r->s3_db + loudness_db(h, s1_s);
        (void)render_at(h, fm_db_gain(db), s1_s + beat->systole_s + S3_AFTER_S2_S);
    }
    /* No atrial beat of its own, no S4: none in fibrillation, in flutter, nor before an
     * early beat. */
    if (r->s4_db > SILENT_DB && beat->before_s - beat->systole_s >= S4_ROOM_S &&
        beat->mark != FM_MARK_EARLY && r->rhythm != FM_COMPOSE_FIBRILLATION &&
        r->rhythm != FM_COMPOSE_FLUTTER) {
        scratch_clear(h);
        strike(h, &S4_SHAPE, -1, 1.0, LEAD_S);
        const double db = r->s4_db + loudness_db(h, s1_s);
        (void)render_at(h, fm_db_gain(db), s1_s - S4_BEFORE_S1_S);
    }
}

/* Where a murmur lies in its beat, as times from S1 onset, and what it sounds like. */
typedef struct murmur_plan {
    double from_s, to_s;
    double low_hz, high_hz;
} murmur_plan;

static murmur_plan murmur_of(fm_compose_murmur kind, const fm_beat *beat)
{
    const double systole_s = beat->systole_s;
    const double diastole_s = beat->after_s - systole_s;
    switch (kind) {
    case FM_COMPOSE_EARLY_SYSTOLIC:
        return (murmur_plan){0.03, 0.03 + 0.5 * systole_s, 120.0, 350.0};
    case FM_COMPOSE_HOLOSYSTOLIC:
        return (murmur_plan){0.01, systole_s + 0.01, 150.0, 500.0};
    case FM_COMPOSE_EJECTION:
        return (murmur_plan){0.06, systole_s - 0.02, 100.0, 350.0};
    case FM_COMPOSE_EARLY_DIASTOLIC:
        return (murmur_plan){systole_s + 0.02, systole_s + 0.02 + 0.5 * diastole_s,
                             200.0, 550.0};
    case FM_COMPOSE_MID_DIASTOLIC:
        return (murmur_plan){systole_s + fmin(0.10, 0.2 * diastole_s),
                             systole_s + 0.8 * diastole_s, 40.0, 130.0};
    case FM_COMPOSE_NO_MURMUR:
    case FM_COMPOSE_MURMUR_COUNT:
    default:
        return (murmur_plan){0};
    }
}

/* Envelope of a murmur over its own length, share 0..1: peak 1. */
static double murmur_envelope(fm_compose_murmur kind, double share)
{
    const double edge = fmin(1.0, fmin(share, 1.0 - share) / 0.12);
    switch (kind) {
    case FM_COMPOSE_EJECTION: /* rises and falls */
        return sin(FM_PI * share);
    case FM_COMPOSE_EARLY_SYSTOLIC:
    case FM_COMPOSE_EARLY_DIASTOLIC: /* falls away */
        return fmin(1.0, share / 0.08) * (1.0 - share);
    default: /* level, with soft ends */
        return edge;
    }
}

static void render_murmur(heart *h, const fm_beat *beat, double s1_s)
{
    const fm_recipe *r = h->recipe;
    const murmur_plan plan = murmur_of(r->murmur, beat);
    const double length_s = plan.to_s - plan.from_s;
    if (r->murmur == FM_COMPOSE_NO_MURMUR || length_s < 0.03 || !beat->opens) {
        return;
    }
    const double rate_hz = r->rate_hz;
    fm_cascade band = {0};
    fm_cascade_highpass(&band, rate_hz, plan.low_hz, 0.707);
    fm_cascade_lowpass(&band, rate_hz, plan.high_hz, 0.707);
    /* White noise of power 1 keeps (high - low) / (rate / 2) of it. */
    const double kept = fmin(1.0, (plan.high_hz - plan.low_hz) / (0.5 * rate_hz));
    const double gain = fm_db_gain(r->murmur_db + loudness_db(h, s1_s)) / sqrt(kept);
    fm_cascade response = h->response;
    const double start = floor((s1_s + plan.from_s) * rate_hz);
    const double tail = 0.02 * rate_hz;
    for (double i = 0.0; i < length_s * rate_hz + tail; i += 1.0) {
        const double share = i / (length_s * rate_hz);
        const double envelope = share < 1.0 ? murmur_envelope(r->murmur, share) : 0.0;
        const double x = envelope * fm_random_normal(&h->random);
        const double y = fm_cascade_step(&response, fm_cascade_step(&band, x));
        const double at = start + i;
        if (at >= 0.0 && at < (double)h->n) {
            h->out[(size_t)at] += (float)(gain * y);
        }
    }
}

static bool inside(double time_s, const heart *h)
{
    return time_s >= 0.0 && time_s < (double)h->n / h->recipe->rate_hz;
}

/* Too little time to fill: nothing reaches the wrist (ours, after common teaching). In
 * fibrillation more beats fail to arrive, the textbook pulse deficit. */
static double wrist_share(const fm_recipe *r)
{
    const double usual = r->rhythm == FM_COMPOSE_FIBRILLATION ? 0.75 : 0.6;
    return isnan(r->wrist_share) ? usual : r->wrist_share;
}

/* The wrist feels the beat about 200 ms after S1 (from memory). */
static void note_radial(const heart *h,
                        const fm_beat *beat,
                        double s1_s,
                        fm_truth *truth)
{
    const double at_s = s1_s + 0.20;
    if (beat->before_s >= wrist_share(h->recipe) * beat->usual_s && beat->opens &&
        inside(at_s, h)) {
        truth->radial_s[truth->n_radial++] = at_s;
    }
}

static void render_beat(heart *h, const fm_beat *beat, fm_truth *truth)
{
    const double s1_s = render_s1(h, beat);
    if (inside(s1_s, h)) {
        if (h->recipe->s1_db <= SILENT_DB || fm_compose_cannot_hear(h->recipe, s1_s)) {
            truth->inaudible_s1[truth->n_inaudible_s1++] = truth->n_s1;
        }
        truth->s1_s[truth->n_s1++] = s1_s;
    }
    if (beat->opens) {
        const double s2_s = render_s2(h, beat, s1_s);
        if (inside(s2_s, h)) {
            truth->s2_s[truth->n_s2++] = s2_s;
        }
    }
    render_extra(h, beat, s1_s);
    render_murmur(h, beat, s1_s);
    note_radial(h, beat, s1_s, truth);
}

fm_status fm_heart_render(const fm_recipe *recipe,
                          const fm_beats *beats,
                          const fm_breathing *breathing,
                          float *out,
                          size_t n,
                          fm_truth *truth)
{
    heart h = {.recipe = recipe,
               .breathing = breathing,
               .random = fm_random_init(recipe->seed, FM_STREAM_HEART),
               .who = person_make(recipe->seed),
               .response = fm_compose_response(recipe),
               .n_scratch = (size_t)(SCRATCH_S * recipe->rate_hz),
               .n = n};
    h.out = out;
    h.scratch = fm_compose_memory(h.n_scratch, sizeof *h.scratch);
    truth->s1_s = fm_compose_memory(beats->n, sizeof *truth->s1_s);
    truth->s2_s = fm_compose_memory(beats->n, sizeof *truth->s2_s);
    truth->inaudible_s1 = fm_compose_memory(beats->n, sizeof *truth->inaudible_s1);
    truth->radial_s = fm_compose_memory(beats->n, sizeof *truth->radial_s);
    const bool ok = h.scratch != NULL && truth->s1_s != NULL && truth->s2_s != NULL &&
                    truth->inaudible_s1 != NULL && truth->radial_s != NULL;
    for (size_t i = 0; ok && i < beats->n; i++) {
        render_beat(&h, &beats->beat[i], truth);
    }
    truth->has_radial = ok;
    free(h.scratch);
    return ok ? FM_OK : FM_ERR_NOMEM;
}
