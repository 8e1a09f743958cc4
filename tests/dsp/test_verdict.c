/*
 * From evidence to outcome: what the contract promises whatever the numbers are, and each
 * reason from a case that is clearly its own.
 *   Input:     cases made here; nothing is analysed. The bars themselves are tuned and
 *              are not pinned: every case lies well to one side of them.
 */
#include "dsp/heart/verdict.h"

#include "tests/support.h"

#include <stdlib.h>
#include <string.h>

#define N_ELEMENTS(a) (sizeof(a) / sizeof((a)[0]))

/* A case with all it points to, and the result it writes to. */
typedef struct trial {
    fm_evidence evidence;
    fm_conditioned conditioned;
    fm_case c;
    fm_count out;
} trial;

/* A clean minute of 72 with nothing against it. */
static trial *clean_minute(double confidence)
{
    trial *t = calloc(1, sizeof(*t));
    assert_non_null(t);
    float *e = t->evidence.value;
    e[FM_EVIDENCE_SCORE] = 3.0f;
    e[FM_EVIDENCE_MARGIN] = 3.0f;
    e[FM_EVIDENCE_SURENESS] = 0.95f;
    e[FM_EVIDENCE_ACF] = 0.7f;
    e[FM_EVIDENCE_ACF_AGREES] = 1.0f;
    e[FM_EVIDENCE_PERIODICITY] = 0.6f;
    e[FM_EVIDENCE_PLAIN_AGREES] = 1.0f;
    e[FM_EVIDENCE_HIGH_SHARE] = 0.05f;
    e[FM_EVIDENCE_FLATNESS] = 0.5f;
    t->conditioned = (fm_conditioned){.power = 0.01, .restlessness = 3.0};
    t->c = (fm_case){.evidence = &t->evidence,
                     .conditioned = &t->conditioned,
                     .in_band_share = 0.9,
                     .confidence = confidence,
                     .window_s = 60.0,
                     .usable_s = 60.0};
    t->out.heart.count.window.end_s = 60.0;
    t->out.heart.count.n = 72;
    t->out.heart.count.rate_per_min = 72.0;
    return t;
}

static void assert_refused_for(trial *t, fm_reason reason)
{
    fm_verdict_give(&t->c, &t->out);
    const fm_heart *h = &t->out.heart;
    assert_int_equal(h->count.status, FM_REFUSED);
    assert_string_equal(fm_reason_code(h->count.reason), fm_reason_code(reason));
    assert_false(fm_is_known(&h->count));
    assert_true(isnan(h->count.rate_low_per_min));
    assert_true(isnan(h->count.rate_high_per_min));
    assert_true(h->count.confidence >= 0.0 && h->count.confidence <= 0.9);
    free(t);
}

/* What holds for every outcome. */
static void assert_contract(const trial *t)
{
    const fm_heart *h = &t->out.heart;
    assert_true(h->count.confidence >= 0.0 && h->count.confidence <= 1.0);
    assert_true(t->out.heart.count.quality.overall >= 0.0 &&
                t->out.heart.count.quality.overall <= 1.0);
    assert_int_equal(fm_is_known(&h->count), h->count.status != FM_REFUSED);
    assert_int_equal(h->count.reason == FM_REASON_NONE, h->count.status == FM_COUNTED);
    if (h->count.status == FM_REFUSED) {
        assert_true(isnan(h->count.rate_low_per_min) &&
                    isnan(h->count.rate_high_per_min));
    } else {
        assert_true(h->count.rate_low_per_min >= 0.0);
        assert_true(h->count.rate_low_per_min <= h->count.rate_per_min);
        assert_true(h->count.rate_high_per_min >= h->count.rate_per_min);
    }
}

static void a_clean_minute_is_counted(void **state)
{
    (void)state;
    trial *t = clean_minute(0.99);
    fm_verdict_give(&t->c, &t->out);
    assert_int_equal(t->out.heart.count.status, FM_COUNTED);
    assert_contract(t);
    /* vouched for is: within 3 */
    assert_true(t->out.heart.count.rate_high_per_min -
                    t->out.heart.count.rate_low_per_min <=
                6.0);
    assert_within(t->out.heart.count.usable_s, 60.0, 0.0);
    assert_within(t->out.heart.count.reason_span.length_s, 0.0, 0.0);
    free(t);
}

/* Less confidence never gives a better outcome, nor a narrower range. */
static void the_contract_holds_for_every_confidence(void **state)
{
    (void)state;
    const double windows_s[] = {6.0, 8.0, 15.0, 30.0, 59.9, 60.0};
    const double rates_bpm[] = {31.0, 45.0, 72.0, 130.0, 220.0};
    size_t seen[3] = {0};
    for (size_t w = 0; w < N_ELEMENTS(windows_s); w++) {
        for (size_t k = 0; k < N_ELEMENTS(rates_bpm); k++) {
            fm_outcome last = FM_REFUSED;
            double last_width = (double)INFINITY;
            for (int percent = 0; percent <= 1000; percent += 5) {
                trial *t = clean_minute(percent / 1000.0);
                t->c.window_s = windows_s[w];
                t->c.usable_s = windows_s[w];
                t->out.heart.count.rate_per_min = rates_bpm[k];
                t->out.heart.count.n = (size_t)(rates_bpm[k] * windows_s[w] / 60.0);
                fm_verdict_give(&t->c, &t->out);
                assert_contract(t);
                const fm_heart *h = &t->out.heart;
                assert_true(h->count.status >= last);
                last = h->count.status;
                seen[h->count.status]++;
                if (fm_is_known(&h->count)) {
                    const double width =
                        h->count.rate_high_per_min - h->count.rate_low_per_min;
                    assert_true(width > 0.0 && width <= last_width);
                    last_width = width;
                }
                free(t);
            }
        }
    }
    assert_true(seen[FM_REFUSED] > 0 && seen[FM_CAUTION] > 0 && seen[FM_COUNTED] > 0);
}

/* The contract: no rate under five intervals or six usable seconds, whatever is said. */
static void too_little_is_never_counted(void **state)
{
    (void)state;
    trial *t = clean_minute(1.0);
    t->c.window_s = 5.9;
    t->c.usable_s = 5.9;
    assert_refused_for(t, FM_REASON_TOO_SHORT);
    for (size_t beats = 0; beats <= 5; beats++) {
        t = clean_minute(1.0);
        t->out.heart.count.n = beats;
        fm_verdict_give(&t->c, &t->out);
        assert_int_equal(t->out.heart.count.status, FM_REFUSED);
        assert_contract(t);
        free(t);
    }
    t = clean_minute(1.0);
    t->c.usable_s = 5.9;
    fm_verdict_give(&t->c, &t->out);
    assert_int_equal(t->out.heart.count.status, FM_REFUSED);
    assert_contract(t);
    free(t);
}

/* Few beats in a short window leave much open, yet no rate is below nothing. */
static void a_wide_range_stays_above_zero(void **state)
{
    (void)state;
    size_t n_known = 0;
    for (int percent = 0; percent <= 100; percent++) {
        trial *t = clean_minute(percent / 100.0);
        t->c.window_s = 6.0;
        t->c.usable_s = 6.0;
        t->out.heart.count.n = 6;
        t->out.heart.count.rate_per_min = 51.0; /* five intervals in 5.9 s */
        fm_verdict_give(&t->c, &t->out);
        assert_contract(t);
        n_known += fm_is_known(&t->out.heart.count);
        free(t);
    }
    assert_true(n_known > 0);
}

/* A number that is not one speaks for nothing. */
static void not_a_number_is_refused(void **state)
{
    (void)state;
    trial *t = clean_minute(1.0);
    t->out.heart.count.rate_per_min = (double)NAN;
    fm_verdict_give(&t->c, &t->out);
    assert_int_equal(t->out.heart.count.status, FM_REFUSED);
    assert_contract(t);
    free(t);
    t = clean_minute((double)NAN);
    fm_verdict_give(&t->c, &t->out);
    assert_int_equal(t->out.heart.count.status, FM_REFUSED);
    assert_contract(t);
    free(t);
}

static void silence_is_too_quiet(void **state)
{
    (void)state;
    trial *t = clean_minute(0.99);
    t->conditioned.power = 1e-12; /* -120 dBFS */
    assert_refused_for(t, FM_REASON_TOO_QUIET);
}

static void a_steady_line_is_a_tone(void **state)
{
    (void)state;
    trial *t = clean_minute(0.2);
    t->conditioned.line_share = 0.99;
    t->conditioned.harmonic = true;
    t->conditioned.restlessness = 0.1;
    assert_refused_for(t, FM_REASON_TONE);
    /* far above the band of heart sounds: almost nothing of it is left */
    t = clean_minute(0.2);
    t->c.single_tone = true;
    t->c.in_band_share = 1e-8;
    t->conditioned.power = 1e-11;
    assert_refused_for(t, FM_REASON_TONE);
}

static void lost_audio_is_a_gap(void **state)
{
    (void)state;
    trial *t = clean_minute(0.2);
    t->out.heart.count.quality.n_gaps = 3;
    t->out.heart.count.quality.gaps[0] = (fm_span){2.0, 1.5, FM_REASON_GAP};
    t->out.heart.count.quality.gaps[1] = (fm_span){10.0, 24.0, FM_REASON_GAP};
    t->out.heart.count.quality.gaps[2] = (fm_span){40.0, 3.0, FM_REASON_GAP};
    t->c.usable_s = 60.0 - 28.5;
    fm_verdict_give(&t->c, &t->out);
    assert_int_equal(t->out.heart.count.reason, FM_REASON_GAP);
    assert_within(t->out.heart.count.reason_span.start_s, 10.0, 0.0); /* the longest */
    assert_within(t->out.heart.count.reason_span.length_s, 24.0, 0.0);
    free(t);
}

static void friction_is_named_with_its_longest_stretch(void **state)
{
    (void)state;
    const double confidences[] = {0.2, 0.75};
    for (size_t i = 0; i < N_ELEMENTS(confidences); i++) {
        trial *t = clean_minute(confidences[i]);
        t->out.heart.count.quality.n_unusable = 3;
        t->out.heart.count.quality.unusable[0] =
            (fm_span){5.0, 12.0, FM_REASON_NO_PERIODICITY};
        t->out.heart.count.quality.unusable[1] =
            (fm_span){22.0, 9.0, FM_REASON_FRICTION};
        t->out.heart.count.quality.unusable[2] =
            (fm_span){50.0, 3.0, FM_REASON_FRICTION};
        t->c.usable_s = 36.0;
        fm_verdict_give(&t->c, &t->out);
        assert_int_equal(t->out.heart.count.status, i == 0 ? FM_REFUSED : FM_CAUTION);
        assert_int_equal(t->out.heart.count.reason, FM_REASON_FRICTION);
        assert_within(t->out.heart.count.reason_span.start_s, 22.0, 0.0);
        assert_within(t->out.heart.count.reason_span.length_s, 9.0, 0.0);
        assert_contract(t);
        free(t);
    }
}

static void clipped_samples_are_named(void **state)
{
    (void)state;
    trial *t = clean_minute(0.2);
    t->out.heart.count.quality.clipped_fraction = 0.2;
    assert_refused_for(t, FM_REASON_CLIPPED);
}

/* Overtones and much of it high up: a voice. Nearly sure is then not sure enough. */
static void voices_are_refused(void **state)
{
    (void)state;
    const double confidences[] = {0.2, 0.7};
    for (size_t i = 0; i < N_ELEMENTS(confidences); i++) {
        trial *t = clean_minute(confidences[i]);
        t->evidence.value[FM_EVIDENCE_FLATNESS] = 0.05f;
        t->evidence.value[FM_EVIDENCE_HIGH_SHARE] = 0.6f;
        t->c.voiced_share = 0.9;
        assert_refused_for(t, FM_REASON_SPEECH_OR_MUSIC);
    }
    /* many lines that are no multiples of one: music */
    trial *t = clean_minute(0.2);
    t->conditioned.line_share = 0.9;
    t->conditioned.restlessness = 0.1;
    assert_refused_for(t, FM_REASON_SPEECH_OR_MUSIC);
}

/* As high and uneven as speech, and without a pitch: breath. A hum beside a heart: lines of one. */
static void what_has_no_pitch_is_no_voice(void **state)
{
    (void)state;
    const double confidences[] = {0.05, 0.5};
    const fm_reason reasons[] = {FM_REASON_NO_HEART, FM_REASON_BREATH_COVERS_HEART};
    for (size_t i = 0; i < N_ELEMENTS(confidences); i++) {
        trial *t = clean_minute(confidences[i]);
        t->evidence.value[FM_EVIDENCE_FLATNESS] = 0.05f;
        t->evidence.value[FM_EVIDENCE_HIGH_SHARE] = 0.6f;
        t->c.voiced_share = 0.1;
        assert_refused_for(t, reasons[i]);
    }
    trial *t = clean_minute(0.2);
    t->conditioned.line_share = 0.9;
    t->conditioned.harmonic = true;
    t->conditioned.restlessness = 3.0;
    assert_refused_for(t, FM_REASON_TONE);
}

static void noise_has_no_periodicity(void **state)
{
    (void)state;
    trial *t = clean_minute(0.1);
    t->evidence.value[FM_EVIDENCE_PERIODICITY] = 0.05f;
    t->evidence.value[FM_EVIDENCE_ACF] = 0.05f;
    t->evidence.value[FM_EVIDENCE_SURENESS] = 0.2f;
    assert_refused_for(t, FM_REASON_NO_PERIODICITY);
}

static void two_counts_alike_are_ambiguous(void **state)
{
    (void)state;
    trial *t = clean_minute(0.3);
    t->evidence.value[FM_EVIDENCE_MARGIN] = 0.01f;
    assert_refused_for(t, FM_REASON_RATE_AMBIGUOUS);
}

static void a_second_estimate_that_differs_is_told(void **state)
{
    (void)state;
    trial *t = clean_minute(0.3);
    t->evidence.value[FM_EVIDENCE_PLAIN_AGREES] = 0.0f;
    assert_refused_for(t, FM_REASON_ESTIMATORS_DISAGREE);
    t = clean_minute(0.3);
    t->evidence.value[FM_EVIDENCE_ACF_AGREES] = 0.0f;
    assert_refused_for(t, FM_REASON_ESTIMATORS_DISAGREE);
}

/* Three beats were missing for 3 s and came back on the clock: 72 with a pause is 69 without. */
static void what_may_be_a_pause_is_doubted_and_the_range_holds_both(void **state)
{
    (void)state;
    trial *t = clean_minute(0.999);
    const fm_span silence = {25.0, 3.0, FM_REASON_CONTACT_OR_PAUSE};
    const fm_silences found = {
        .n_unsure = 1, .unsure_s = 4.0 * 60.0 / 72.0, .worst_unsure = silence};
    t->c.silences = &found;
    t->out.heart.count.quality.gaps[t->out.heart.count.quality.n_gaps++] = silence;
    fm_verdict_give(&t->c, &t->out);
    const fm_heart *h = &t->out.heart;
    assert_int_equal(h->count.status, FM_CAUTION);
    assert_int_equal(h->count.reason, FM_REASON_CONTACT_OR_PAUSE);
    assert_within(h->count.reason_span.start_s, 25.0, 0.0);
    assert_true(h->count.rate_low_per_min <= 69.0);
    assert_true(h->count.rate_high_per_min >= 72.0);
    assert_true(h->count.rate_high_per_min - h->count.rate_low_per_min <= 8.0);
    free(t);
}

/* 74 with S2 in the middle of the cycle: 148 with S1 and S2 alike, or a long systole. */
static void evenly_spaced_sounds_leave_both_rates_in_the_range(void **state)
{
    (void)state;
    trial *t = clean_minute(0.999);
    t->c.systole_share = 0.5;
    t->c.cycle_bpm = 74.0;
    fm_verdict_give(&t->c, &t->out);
    const fm_heart *h = &t->out.heart;
    assert_int_equal(h->count.status, FM_CAUTION);
    assert_int_equal(h->count.reason, FM_REASON_RATE_AMBIGUOUS);
    assert_true(h->count.rate_low_per_min <= 72.0 &&
                h->count.rate_high_per_min >= 144.0);
    free(t);
    t = clean_minute(0.999);
    t->c.systole_share = 0.36;
    t->c.cycle_bpm = 74.0;
    fm_verdict_give(&t->c, &t->out);
    assert_int_equal(t->out.heart.count.status, FM_COUNTED);
    free(t);
}

/* 45 with sounds like S1 left over in every third beat: 45, or 90 with early beats passed over. */
static void sounds_like_s1_left_over_put_the_double_in_the_range(void **state)
{
    (void)state;
    trial *t = clean_minute(0.999);
    t->out.heart.count.rate_per_min = 45.0;
    t->c.like_left_share = 0.3;
    t->c.like_left_spread_s = 0.01;
    fm_verdict_give(&t->c, &t->out);
    const fm_heart *h = &t->out.heart;
    assert_int_equal(h->count.status, FM_CAUTION);
    assert_int_equal(h->count.reason, FM_REASON_RATE_AMBIGUOUS);
    assert_true(h->count.rate_low_per_min <= 45.0 &&
                h->count.rate_high_per_min >= 90.0);
    free(t);
    t = clean_minute(FM_COUNTED_FROM - 0.05);
    t->out.heart.count.rate_per_min = 45.0;
    t->c.like_left_share = 0.3;
    t->c.like_left_spread_s = 0.01;
    assert_refused_for(t, FM_REASON_RATE_AMBIGUOUS);
}

/* A contact lost for certain leaves the rest vouched for. */
static void a_lost_contact_alone_is_no_doubt(void **state)
{
    (void)state;
    trial *t = clean_minute(0.999);
    const fm_silences found = {.n_lost = 1};
    t->c.silences = &found;
    t->c.usable_s = 57.0;
    t->out.heart.count.quality.gaps[t->out.heart.count.quality.n_gaps++] =
        (fm_span){25.0, 3.0, FM_REASON_CONTACT_LOST};
    fm_verdict_give(&t->c, &t->out);
    assert_int_equal(t->out.heart.count.status, FM_COUNTED);
    assert_int_equal(t->out.heart.count.reason, FM_REASON_NONE);
    free(t);
}

/* Only the heart's verdict and the overall quality are written. */
static void what_was_found_is_left_alone(void **state)
{
    (void)state;
    trial *t = clean_minute(0.3);
    t->out.heart.count.onsets_s[5] = 4.25;
    t->out.heart.count.quality.clipped_fraction = 0.125;
    fm_verdict_give(&t->c, &t->out);
    assert_int_equal(t->out.heart.count.n, 72);
    assert_within(t->out.heart.count.rate_per_min, 72.0, 0.0);
    assert_int_equal(t->out.heart.count.n, 72);
    assert_within(t->out.heart.count.onsets_s[5], 4.25, 0.0);
    assert_within(t->out.heart.count.quality.clipped_fraction, 0.125, 0.0);
    assert_within(t->out.heart.count.window.end_s, 60.0, 0.0);
    free(t);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_clean_minute_is_counted),
        cmocka_unit_test(the_contract_holds_for_every_confidence),
        cmocka_unit_test(too_little_is_never_counted),
        cmocka_unit_test(a_wide_range_stays_above_zero),
        cmocka_unit_test(not_a_number_is_refused),
        cmocka_unit_test(silence_is_too_quiet),
        cmocka_unit_test(a_steady_line_is_a_tone),
        cmocka_unit_test(lost_audio_is_a_gap),
        cmocka_unit_test(friction_is_named_with_its_longest_stretch),
        cmocka_unit_test(clipped_samples_are_named),
        cmocka_unit_test(voices_are_refused),
        cmocka_unit_test(what_has_no_pitch_is_no_voice),
        cmocka_unit_test(noise_has_no_periodicity),
        cmocka_unit_test(two_counts_alike_are_ambiguous),
        cmocka_unit_test(a_second_estimate_that_differs_is_told),
        cmocka_unit_test(what_may_be_a_pause_is_doubted_and_the_range_holds_both),
        cmocka_unit_test(evenly_spaced_sounds_leave_both_rates_in_the_range),
        cmocka_unit_test(sounds_like_s1_left_over_put_the_double_in_the_range),
        cmocka_unit_test(a_lost_contact_alone_is_no_doubt),
        cmocka_unit_test(what_was_found_is_left_alone),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
