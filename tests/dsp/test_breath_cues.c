/*
 * The cues on closed forms: band powers and heart sounds made here, so that what breathes
 * is known.
 *   Input:     frames of 10 ms: power 1e-4 times what is said below; a heart sound every
 *              0.8 s that lifts every band by 20 dB for 80 ms; no random numbers.
 *   Tolerance: beside each.
 */
#include "dsp/breath/breath_cues.h"

#include "../support.h"

#include <stdlib.h>

enum {
    FRAMES = 6000,
    BEAT = 80, /* frames */
    SOUND = 8
};

static const double PI = 3.14159265358979323846;

typedef struct bench {
    fm_features f;
    fm_beats beats;
    fm_candidate candidate[FRAMES / BEAT];
    float power[FM_BANDS][FRAMES];
    fm_breath_cues *cues;
} bench;

/* Breath modulates the power of every band by `modulation_db` with a length of 4 s; the heart
 * sounds' own level is modulated by heart_db with it. */
static bench *bench_open(double modulation_db, double heart_db)
{
    bench *b = calloc(1, sizeof(*b));
    assert_non_null(b);
    b->f.n_frames = FRAMES;
    b->cues = calloc(1, sizeof(*b->cues));
    assert_non_null(b->cues);
    for (size_t band = 0; band < FM_BANDS; band++) {
        b->f.power[band] = b->power[band];
    }
    for (size_t k = 0; k < FRAMES; k++) {
        const double phase = -cos(2.0 * PI * (double)k / 400.0);
        const double rest = 1e-4 * pow(10.0, 0.05 * modulation_db * phase);
        const bool sounds = k % BEAT < SOUND;
        const double heart = sounds ? 1e-2 * pow(10.0, 0.05 * heart_db * phase) : 0.0;
        for (size_t band = 0; band < FM_BANDS; band++) {
            b->power[band][k] = (float)(rest + heart);
        }
    }
    b->beats.candidates = b->candidate;
    for (size_t i = 0; i < FRAMES / BEAT; i++) {
        b->candidate[i].frame = i * BEAT + SOUND / 2;
        b->candidate[i].time_s = (double)b->candidate[i].frame / 100.0;
        b->beats.path.index[i] = (uint16_t)i;
        b->beats.path.n++;
        b->beats.path.n_s1++;
    }
    return b;
}

static void bench_close(bench *b)
{
    free(b->cues);
    free(b);
}

static double mean_over(const fm_breath_series *s, int c, size_t first, size_t last)
{
    const double w = s->weight[c][last] - s->weight[c][first];
    return w > 0.0 ? (s->sum[c][last] - s->sum[c][first]) / w : (double)NAN;
}

static void heart_sounds_weigh_little(void **state)
{
    (void)state;
    bench *b = bench_open(0.0, 0.0);
    const fm_breath_series *s =
        fm_breath_cues_make(b->cues, &b->f, &b->beats, NULL, 0, 0);
    assert_int_equal(s->n, FRAMES);
    const double in = s->weight[0][3203] - s->weight[0][3200];
    const double between = s->weight[0][3240] - s->weight[0][3237];
    /* 20 dB over the rest: the weight is the square of 1 / 101 */
    assert_true(in / between < 0.001);
    assert_within(between, 3.0, 1e-3);
    bench_close(b);
}

/* 6 dB of modulation is 1.38 nepers of power from top to bottom, in every sound channel. */
static void breath_modulates_every_sound_channel(void **state)
{
    (void)state;
    bench *b = bench_open(6.0, 0.0);
    const fm_breath_series *s =
        fm_breath_cues_make(b->cues, &b->f, &b->beats, NULL, 0, 0);
    for (int c = 0; c < FM_BREATH_SOUND_CHANNELS; c++) {
        const double top = mean_over(s, c, 3000 - 40, 3000 + 40) * -1.0;
        const double bottom = mean_over(s, c, 3200 - 40, 3200 + 40) * -1.0;
        /* 3000 frames: cos(15 pi) = -1: phase is +1 there; 3200: -1. Means over a fifth of
         * the modulation lose 6 % of it */
        assert_within(bottom - top, 2.0 * 6.0 / 20.0 * log(10.0), 0.15);
    }
    bench_close(b);
}

static void loudness_follows_the_heart_sounds(void **state)
{
    (void)state;
    bench *b = bench_open(0.0, 2.0);
    const fm_breath_series *s =
        fm_breath_cues_make(b->cues, &b->f, &b->beats, NULL, 0, 0);
    assert_within(s->weight[FM_BREATH_S1][FRAMES], (double)(FRAMES / BEAT), 1.01);
    assert_within(s->weight[FM_BREATH_S2][FRAMES], 0.0, 1e-12);
    const double high = mean_over(s, FM_BREATH_S1, 2950, 3050);
    const double low = mean_over(s, FM_BREATH_S1, 3150, 3250);
    /* 2 dB of power from top to bottom are 0.46 nepers; a beat lies within 40 frames */
    assert_true(high - low > 0.3 && high - low < 0.47);
    bench_close(b);
}

static void even_beats_have_no_modulation_of_intervals(void **state)
{
    (void)state;
    bench *b = bench_open(0.0, 0.0);
    const fm_breath_series *s =
        fm_breath_cues_make(b->cues, &b->f, &b->beats, NULL, 0, 0);
    assert_within(s->weight[FM_BREATH_INTERVAL][FRAMES], (double)(FRAMES / BEAT - 1),
                  1e-9);
    assert_within(s->sum[FM_BREATH_INTERVAL][FRAMES], 0.0, 1e-4);
    bench_close(b);
}

static void gaps_weigh_nothing(void **state)
{
    (void)state;
    bench *b = bench_open(6.0, 2.0);
    const fm_span gap = {110.0, 5.0, FM_REASON_GAP}; /* recording's clock */
    const fm_breath_series *s =
        fm_breath_cues_make(b->cues, &b->f, &b->beats, &gap, 1, 100.0);
    for (int c = 0; c < FM_BREATH_CHANNELS; c++) {
        assert_within(s->weight[c][1500] - s->weight[c][1000], 0.0, 1e-12);
        assert_true(s->weight[FM_BREATH_LOW][1700] > s->weight[FM_BREATH_LOW][1520]);
    }
    bench_close(b);
}

/* Beats are found in the first 20 s alone, where it is quiet; what follows is 13 dB louder
 * and breathes. It is no trace of the heart: full weight, nothing taken off. */
static void loud_breath_after_the_last_beat_keeps_its_weight(void **state)
{
    (void)state;
    enum {
        LAST = 2000,
        LATER = 2400 /* no trace of the last beat */
    };
    bench *b = bench_open(6.0, 0.0);
    b->beats.path.n = LAST / BEAT;
    b->beats.path.n_s1 = LAST / BEAT;
    for (size_t band = 0; band < FM_BANDS; band++) {
        for (size_t k = LAST; k < FRAMES; k++) {
            const double phase = -cos(2.0 * PI * (double)k / 400.0);
            b->power[band][k] = (float)(2e-3 * pow(10.0, 0.3 * phase));
        }
    }
    const fm_breath_series *s =
        fm_breath_cues_make(b->cues, &b->f, &b->beats, NULL, 0, 0);
    for (int c = 0; c < FM_BREATH_SOUND_CHANNELS; c++) {
        assert_within(s->weight[c][FRAMES] - s->weight[c][LATER], FRAMES - LATER, 1e-3);
        const double modulation = mean_over(s, c, 4600 - 40, 4600 + 40) -
                                  mean_over(s, c, 4800 - 40, 4800 + 40);
        assert_within(modulation, 2.0 * 6.0 / 20.0 * log(10.0), 0.15);
    }
    bench_close(b);
}

static void no_beats_is_sound_only(void **state)
{
    (void)state;
    bench *b = bench_open(6.0, 0.0);
    b->beats.path.n = 0;
    const fm_breath_series *s =
        fm_breath_cues_make(b->cues, &b->f, &b->beats, NULL, 0, 0);
    assert_within(s->weight[FM_BREATH_LOW][FRAMES], (double)FRAMES, 1e-6);
    assert_within(s->weight[FM_BREATH_S1][FRAMES], 0.0, 1e-12);
    assert_within(s->weight[FM_BREATH_INTERVAL][FRAMES], 0.0, 1e-12);
    bench_close(b);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(heart_sounds_weigh_little),
        cmocka_unit_test(breath_modulates_every_sound_channel),
        cmocka_unit_test(loudness_follows_the_heart_sounds),
        cmocka_unit_test(even_beats_have_no_modulation_of_intervals),
        cmocka_unit_test(gaps_weigh_nothing),
        cmocka_unit_test(loud_breath_after_the_last_beat_keeps_its_weight),
        cmocka_unit_test(no_beats_is_sound_only),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
