#include "dsp/heart/verdict.h"

#include <math.h>

/* Confidence from which a number is given where it sounds like speech, music or loud
 * breath: more is asked than elsewhere, so that nothing is given for any of the sounds without a
 * heart that `accuracy --refusals` composes. Chosen by hand on those; ours. */
static const double SPEECH_FROM = 0.80;
static const double FOREIGN_FROM = 0.70;
/* At 80 per minute systole is 0.40 of the cycle (dsp/heart/systole.c); S2 so near the middle is not at
 * its place. Ours. */
static const double EVEN_UNDER_BPM = 80.0;
static const double EVEN_NEAR = 0.04;

static const double QUIET_POWER =
    1e-9;                             /* -90 dBFS: nothing but the converter's noise */
static const double TONE_SHARE = 0.6; /* of the power in steady lines; ours */
/* A recording with less is heard well all the same; more is worth a word. Common practice, no source. */
static const double CLIPPED_FRACTION = 0.01;
/* Share of the window that is lost, with one loss of a second in it, or friction: the first thing a
 * person can mend. Ours. */
static const double LOST_SHARE = 0.15;
static const double LOST_ONCE_S = 1.0;
static const double FRICTION_SHARE = 0.05;
/* Beats that stand out clearly, on the whole: then it is the rate that is in doubt. Ours. */
static const float SURE_ON_THE_WHOLE = 0.55f;
/* Tuned on speech, music and noises without a heart, composed. */
static const float SPEECH_FLATNESS = 0.21f;
static const float SPEECH_HIGH_SHARE = 0.15f;
/* Pitched moments (dsp/heart/speech_pitch.h), halfway between lungs and speech. */
static const double VOICED_SHARE = 0.45;
/* Steady lines are a tone where nothing beats beside them, a sine where -30 dB is all that lies in the
 * heart's band; under a fifth, autocorrelation shows no rhythm. On composed tones, hums and noises; ours. */
static const double TONE_RESTLESSNESS = 0.6;
static const double OUT_OF_BAND_SHARE = 1e-3;
static const float PERIODICITY_LITTLE = 0.2f;
/* Tuned on composed early beats without S2, third sounds and the open heart data. Groups of
 * two beats at up to 120 per minute are halved to less than this rate. */
static const double HALF_UNDER_BPM = 60.0;
static const double LIKE_LEFT_SHARE = 0.2;
static const double LIKE_LEFT_SPREAD_S = 0.05;
/* Fewer are enough where they keep their place to some 20 ms, as composed early beats do. */
static const double LIKE_LEFT_FEW = 0.15;
static const double LIKE_LEFT_STILL_S = 0.03;
/* Where the network takes them for no S1, as it does third sounds, but they are as loud: the least
 * and the widest that composed early beats without S2 leave (0.25, 31 ms), with some room; of 103
 * slow hearts of the open data two are so. */
static const double LOUD_LEFT_SHARE = 0.5;
static const double LOUD_LEFT_STILL_S = 0.035;
/* Below this there is hardly a heart in it, and no rate to be ambiguous. */
static const double HEART_LIKELY = 0.15;
/* Of the score a beat, over the best hypothesis with another count. Both ours. */
static const float MARGIN_SMALL = 0.25f;

/* What may lie in gaps widens the range by no more: 3 per minute is what the confidence speaks of. Ours. */
static const double GAP_WIDTH_MAX_BPM = 3.0;
/* A rate that is vouched for is known to within this: wider, it would be no count. Ours. */
static const double COUNTED_HALF_MAX_BPM = 4.0;

/* The longest unusable stretch for a reason; length 0 when there is none. */
static fm_span worst_stretch(const fm_quality *q, fm_reason reason)
{
    fm_span worst = {0.0, 0.0, reason};
    const fm_span *lists[] = {q->unusable, q->gaps};
    const size_t counts[] = {q->n_unusable, q->n_gaps};
    for (size_t l = 0; l < 2; l++) {
        for (size_t i = 0; i < counts[l]; i++) {
            if (lists[l][i].reason == reason && lists[l][i].length_s > worst.length_s) {
                worst = lists[l][i];
            }
        }
    }
    return worst;
}

static double stretches_s(const fm_quality *q, fm_reason reason)
{
    double sum = 0.0;
    for (size_t i = 0; i < q->n_unusable; i++) {
        sum += q->unusable[i].reason == reason ? q->unusable[i].length_s : 0.0;
    }
    return sum;
}

/* High and uneven, as speech, music and loud breath are: a heart is not the loudest here. */
static bool sounds_foreign(const fm_case *c)
{
    const float *e = c->evidence->value;
    return (e[FM_EVIDENCE_FLATNESS] < SPEECH_FLATNESS &&
            e[FM_EVIDENCE_HIGH_SHARE] > SPEECH_HIGH_SHARE) ||
           c->conditioned->line_share > TONE_SHARE;
}

/* Harmonic lines are a hum beside a heart; others, music. */
static bool sounds_like_speech(const fm_case *c)
{
    return c->voiced_share > VOICED_SHARE ||
           (c->conditioned->line_share > TONE_SHARE && !c->conditioned->harmonic);
}

/* Confidence from which a number is given all the same. */
static double foreign_from(const fm_case *c)
{
    return sounds_like_speech(c) ? SPEECH_FROM : FOREIGN_FROM;
}

/* What it is that is foreign. */
static fm_reason foreign_reason(const fm_case *c)
{
    if (sounds_like_speech(c)) {
        return FM_REASON_SPEECH_OR_MUSIC;
    }
    if (c->conditioned->line_share > TONE_SHARE) {
        return FM_REASON_TONE;
    }
    return c->confidence < HEART_LIKELY ? FM_REASON_NO_HEART
                                        : FM_REASON_BREATH_COVERS_HEART;
}

/* Steady lines and nothing else, or a single sine outside the band of heart sounds. */
static bool sounds_like_tone(const fm_case *c)
{
    return (c->conditioned->line_share > TONE_SHARE && c->conditioned->harmonic &&
            c->conditioned->restlessness < TONE_RESTLESSNESS) ||
           (c->single_tone && c->in_band_share < OUT_OF_BAND_SHARE);
}

/* May the count be half of the truth? A slow rate, and sounds like S1 that no beat was made
 * of, always at the same place after S2: early beats or extra sounds, and the sound alone
 * cannot tell which. Where all else is sure, the range holds both; else no number is given. */
static bool may_be_half(const fm_case *c, double rate_bpm)
{
    const bool many = c->like_left_share >= LIKE_LEFT_SHARE &&
                      c->like_left_spread_s < LIKE_LEFT_SPREAD_S;
    const bool still = c->like_left_share >= LIKE_LEFT_FEW &&
                       c->like_left_spread_s < LIKE_LEFT_STILL_S;
    const bool loud = c->loud_left_share >= LOUD_LEFT_SHARE &&
                      c->loud_left_spread_s < LOUD_LEFT_STILL_S;
    return rate_bpm < HALF_UNDER_BPM && (many || still || loud);
}

/* May the count be half of the truth because S1 and S2 are alike? They come evenly spaced, at a
 * rate at which diastole is clearly the longer (dsp/heart/systole.c). Both rates are in the range then. */
static bool may_be_double(const fm_case *c)
{
    return c->cycle_bpm < EVEN_UNDER_BPM && fabs(c->systole_share - 0.5) < EVEN_NEAR;
}

static bool may_be_pause(const fm_case *c)
{
    return c->silences != NULL && c->silences->n_unsure > 0;
}

/* The first that holds is the reason: what a person can mend comes first. */
static fm_reason find_reason(const fm_case *c, const fm_event_count *n)
{
    const float *e = c->evidence->value;
    if (sounds_like_tone(c)) {
        return FM_REASON_TONE;
    }
    if (c->window_s - c->usable_s > LOST_SHARE * c->window_s && n->quality.n_gaps > 0 &&
        worst_stretch(&n->quality, FM_REASON_GAP).length_s > LOST_ONCE_S) {
        return FM_REASON_GAP;
    }
    if (c->window_s - c->usable_s > LOST_SHARE * c->window_s &&
        worst_stretch(&n->quality, FM_REASON_CONTACT_LOST).length_s > LOST_ONCE_S) {
        return FM_REASON_CONTACT_LOST;
    }
    if (may_be_pause(c) && c->confidence >= FM_CAUTION_FROM) {
        return FM_REASON_CONTACT_OR_PAUSE;
    }
    if (n->quality.clipped_fraction > CLIPPED_FRACTION) {
        return FM_REASON_CLIPPED;
    }
    if (stretches_s(&n->quality, FM_REASON_FRICTION) > FRICTION_SHARE * c->window_s) {
        return FM_REASON_FRICTION;
    }
    if (may_be_half(c, n->rate_per_min) && c->confidence >= FM_CAUTION_FROM) {
        return FM_REASON_RATE_AMBIGUOUS;
    }
    if (may_be_double(c) && c->confidence >= FM_COUNTED_FROM) {
        return FM_REASON_RATE_AMBIGUOUS;
    }
    if (sounds_foreign(c)) {
        return foreign_reason(c);
    }
    if (e[FM_EVIDENCE_PERIODICITY] < PERIODICITY_LITTLE &&
        e[FM_EVIDENCE_ACF] < PERIODICITY_LITTLE) {
        return FM_REASON_NO_PERIODICITY;
    }
    if (c->confidence < HEART_LIKELY) {
        return FM_REASON_NO_PERIODICITY;
    }
    if (e[FM_EVIDENCE_SURENESS] > SURE_ON_THE_WHOLE &&
        e[FM_EVIDENCE_MARGIN] < MARGIN_SMALL) {
        return FM_REASON_RATE_AMBIGUOUS;
    }
    if (e[FM_EVIDENCE_SURENESS] > SURE_ON_THE_WHOLE &&
        (e[FM_EVIDENCE_PLAIN_AGREES] < 0.5f || e[FM_EVIDENCE_ACF_AGREES] < 0.5f)) {
        return FM_REASON_ESTIMATORS_DISAGREE;
    }
    return FM_REASON_NO_PERIODICITY;
}

/* Half the width of the 95 % interval, per minute: wider where less is sure (tuned so
 * that 95 % of composed truths lie inside, tests/accuracy). */
static double half_width_bpm(double confidence, double window_s)
{
    const double in_minute = confidence >= 0.97   ? 1.0
                             : confidence >= 0.92 ? 2.0
                             : confidence >= 0.90 ? 4.0
                             : confidence >= 0.75 ? 6.0
                                                  : 8.0;
    return in_minute *
           (window_s < 60.0 ? 60.0 / (window_s > 6.0 ? window_s : 6.0) : 1.0) *
           (window_s < 60.0 ? 0.5 : 1.0);
}

/* What beats in the gaps may add to either side: half a beat, and twice the SD of the number that
 * uneven intervals put there (closed form for independent ones), as a rate. */
static double gap_width_bpm(const fm_case *c, double rate_bpm)
{
    if (!(c->lost_s > 0.0) || !(rate_bpm > 0.0)) {
        return 0.0;
    }
    const double beats = 0.5 + 2.0 * c->uneven * sqrt(c->lost_s * rate_bpm / 60.0);
    return fmin(GAP_WIDTH_MAX_BPM, beats * 60.0 / fmax(c->window_s, 60.0));
}

/* The rate if every silence that may be a pause was one; else the rate itself. */
static double lowest_hypothesis_bpm(const fm_case *c, const fm_heart *h)
{
    if (!may_be_pause(c) || !(h->count.rate_per_min > 0.0)) {
        return h->count.rate_per_min;
    }
    const double missed = c->silences->unsure_s * h->count.rate_per_min / 60.0 -
                          (double)c->silences->n_unsure;
    return h->count.rate_per_min - missed * 60.0 / c->window_s;
}

static void refuse(fm_heart *h, fm_reason reason)
{
    h->count.status = FM_REFUSED;
    h->count.reason = reason;
    h->count.rate_low_per_min = (double)NAN;
    h->count.rate_high_per_min = (double)NAN;
}

static double confidence_of(const fm_case *c, double rate_bpm)
{
    double confidence = isfinite(c->confidence) ? c->confidence : 0.0;
    const bool half = may_be_half(c, rate_bpm);
    if (half && confidence < FM_COUNTED_FROM) {
        return fmin(confidence, FM_CAUTION_FROM - 0.01);
    }
    if (half || may_be_pause(c) || may_be_double(c)) {
        confidence = fmin(confidence, FM_COUNTED_FROM - 0.01);
    }
    return confidence;
}

void fm_verdict_give(const fm_case *c, fm_count *out)
{
    fm_heart *h = &out->heart;
    const double confidence = confidence_of(c, h->count.rate_per_min);
    h->count.confidence = confidence;
    h->count.usable_s = c->usable_s;
    h->count.quality.overall =
        confidence * c->usable_s / (c->window_s > 0.0 ? c->window_s : 1.0);
    if (c->window_s < FM_USABLE_MIN_S) {
        refuse(h, FM_REASON_TOO_SHORT);
    } else if (c->conditioned->power < QUIET_POWER && !sounds_like_tone(c)) {
        refuse(h, FM_REASON_TOO_QUIET);
    } else if (c->usable_s < FM_USABLE_MIN_S || h->count.n <= FM_INTERVALS_MIN ||
               !isfinite(h->count.rate_per_min) || confidence < FM_CAUTION_FROM ||
               (confidence < foreign_from(c) && sounds_foreign(c))) {
        refuse(h, find_reason(c, &h->count));
    } else {
        double half = half_width_bpm(c->confidence, c->window_s) +
                      gap_width_bpm(c, h->count.rate_per_min);
        if (confidence >= FM_COUNTED_FROM) {
            half = fmin(half, COUNTED_HALF_MAX_BPM);
        }
        h->count.rate_low_per_min = fmax(0.0, lowest_hypothesis_bpm(c, h) - half);
        const bool twice = may_be_double(c) || may_be_half(c, h->count.rate_per_min);
        h->count.rate_high_per_min =
            (twice ? 2.0 * h->count.rate_per_min : h->count.rate_per_min) + half;
        h->count.status = confidence >= FM_COUNTED_FROM ? FM_COUNTED : FM_CAUTION;
        h->count.reason =
            h->count.status == FM_CAUTION ? find_reason(c, &h->count) : FM_REASON_NONE;
    }
    if (h->count.status == FM_REFUSED) {
        h->count.confidence = fmin(confidence, FM_CAUTION_FROM);
    }
    /* one by one: equal results are equal bytes, what lies between the numbers too */
    h->count.reason_span = worst_stretch(&h->count.quality, h->count.reason);
}
