/*
 * The causal marker for the live screen. It may be wrong; how soon it speaks and that most
 * of a clean heart is marked is what it promises.
 *   Source:    the design's own bar: under 300 ms of audio after the sound.
 *   Input:     clean composed recordings (dsp/compose shares no code with it), fixed
 *              seeds, pushed 5 ms at a time.
 *   Tolerance: 300 ms from onset to mark; nine of ten S1 marked within 80 ms of their
 *              onset, after two seconds in which the level is learned.
 */
#include "dsp/provisional.h"

#include "dsp/signal/random.h"

#include "compose_support.h"

#define N_ELEMENTS(a) (sizeof(a) / sizeof((a)[0]))

enum {
    MARKS = 400
};

static const double LEARNING_S = 2.0;

/* A mark, and how much audio had been pushed when it could be taken. */
typedef struct taken {
    fm_provisional mark;
    double at_s;
} taken;

static composed compose_clean(double bpm, double rate_hz, uint64_t seed)
{
    fm_recipe recipe = fm_recipe_default();
    recipe.seconds = 30.0;
    recipe.rate_hz = rate_hz;
    recipe.bpm = bpm;
    recipe.seed = seed;
    return compose_or_fail(&recipe);
}

/* Push in blocks, take after each. */
static size_t mark_all(
    fm_provisional_marker *m, const composed *c, double rate_hz, size_t block, taken *t)
{
    size_t n = 0;
    for (size_t at = 0; at < c->n; at += block) {
        const size_t now = block < c->n - at ? block : c->n - at;
        fm_provisional_marker_push(m, c->x + at, now);
        fm_provisional marks[16];
        const size_t got = fm_provisional_marker_take(m, marks, N_ELEMENTS(marks));
        assert_true(n + got <= MARKS);
        for (size_t i = 0; i < got; i++) {
            t[n++] = (taken){marks[i], (double)(at + now) / rate_hz};
        }
    }
    return n;
}

/* The nearest sound of the truth, S1 or S2. */
static double nearest_s(const fm_truth *truth, double time_s)
{
    double best_s = -1e9;
    for (size_t k = 0; k < truth->n_s1 + truth->n_s2; k++) {
        const double t =
            k < truth->n_s1 ? truth->s1_s[k] : truth->s2_s[k - truth->n_s1];
        best_s = fabs(t - time_s) < fabs(best_s - time_s) ? t : best_s;
    }
    return best_s;
}

static double share_marked(const taken *t,
                           size_t n,
                           const double *truth_s,
                           size_t n_truth)
{
    double marked = 0.0;
    double all = 0.0;
    for (size_t k = 0; k < n_truth; k++) {
        if (truth_s[k] < LEARNING_S || truth_s[k] > 29.5) {
            continue;
        }
        all += 1.0;
        for (size_t i = 0; i < n; i++) {
            if (fabs(t[i].mark.time_s - truth_s[k]) < 0.08) {
                marked += 1.0;
                break;
            }
        }
    }
    return marked / all;
}

static void a_clean_heart_is_marked_in_time(void **state)
{
    (void)state;
    const double rates_bpm[] = {50.0, 72.0, 100.0, 140.0};
    const double rates_hz[] = {4000.0, 4000.0, 8000.0, 44100.0};
    static taken t[MARKS];
    for (size_t k = 0; k < N_ELEMENTS(rates_bpm); k++) {
        composed c = compose_clean(rates_bpm[k], rates_hz[k], 60 + k);
        fm_provisional_marker *m = fm_provisional_marker_create(rates_hz[k]);
        assert_non_null(m);
        const size_t n = mark_all(m, &c, rates_hz[k], (size_t)(0.005 * rates_hz[k]), t);
        size_t astray = 0;
        for (size_t i = 0; i < n; i++) {
            const double sound_s = nearest_s(&c.truth, t[i].mark.time_s);
            assert_true(t[i].mark.time_s <= t[i].at_s);
            assert_true(t[i].at_s - t[i].mark.time_s < 0.3);
            if (fabs(t[i].mark.time_s - sound_s) < 0.08) {
                assert_true(t[i].at_s - sound_s < 0.3);
            } else if (t[i].at_s > LEARNING_S) {
                astray++;
            }
        }
        assert_true((double)astray <= 0.1 * (double)n);
        assert_true(share_marked(t, n, c.truth.s1_s, c.truth.n_s1) >= 0.9);
        fm_provisional_marker_destroy(m);
        composed_free(&c);
    }
}

/* Once the two gaps are learned S1 and S2 are told apart where they differ. */
static void short_gaps_end_in_s2(void **state)
{
    (void)state;
    static taken t[MARKS];
    composed c = compose_clean(60.0, 4000.0, 66);
    fm_provisional_marker *m = fm_provisional_marker_create(4000.0);
    assert_non_null(m);
    const size_t n = mark_all(m, &c, 4000.0, 20, t);
    size_t right = 0;
    size_t wrong = 0;
    for (size_t i = 0; i < n; i++) {
        const double sound_s = nearest_s(&c.truth, t[i].mark.time_s);
        bool is_s2 = false;
        for (size_t k = 0; k < c.truth.n_s2; k++) {
            is_s2 = is_s2 || fabs(c.truth.s2_s[k] - sound_s) < 1e-9;
        }
        if (t[i].mark.time_s > 8.0) {
            const bool right_one =
                t[i].mark.kind == (is_s2 ? FM_PROVISIONAL_S2 : FM_PROVISIONAL_S1);
            right += right_one;
            wrong += !right_one;
        }
    }
    assert_true(right > 30 && wrong * 10 < right);
    fm_provisional_marker_destroy(m);
    composed_free(&c);
}

/* Share of the first sounds, after eight seconds, that are marked as kind. */
static double share_of_s1(const taken *t,
                          size_t n,
                          const fm_truth *truth,
                          fm_provisional_kind kind)
{
    double named = 0.0;
    double all = 0.0;
    for (size_t k = 0; k < truth->n_s1; k++) {
        all += truth->s1_s[k] > 8.0;
        for (size_t i = 0; i < n && truth->s1_s[k] > 8.0; i++) {
            if (t[i].mark.kind == kind &&
                fabs(t[i].mark.time_s - truth->s1_s[k]) < 0.08) {
                named += 1.0;
                break;
            }
        }
    }
    return named / all;
}

/*
 * A first sound is not called a second one: clean at any rate to 118 a minute, and beside
 * breath sounds of 10 dB, where what is not clear is not named.
 *   Input:     composed, 30 s, rates and breath sounds as below.
 *   Tolerance: none of the clean ones and one in twenty of the others; by gaps held against
 *              fixed first guesses 69 and 51 of a hundred were. Named at all: most of them.
 */
static void a_first_sound_is_not_called_second(void **state)
{
    (void)state;
    static taken t[MARKS];
    double first[2] = {0.0, 0.0};
    double second[2] = {0.0, 0.0};
    for (size_t k = 0; k < 12; k++) {
        fm_recipe recipe = fm_recipe_default();
        recipe.seconds = 30.0;
        recipe.rate_hz = 4000.0;
        recipe.bpm = 52.0 + 6.0 * (double)k;
        recipe.seed = 900 + k;
        for (int breath = 0; breath < 2; breath++) {
            recipe.breath_snr_db = breath == 1 ? 10.0 : (double)NAN;
            recipe.breaths_per_min = 12.0 + (double)k;
            composed c = compose_or_fail(&recipe);
            fm_provisional_marker *m = fm_provisional_marker_create(4000.0);
            assert_non_null(m);
            const size_t n = mark_all(m, &c, 4000.0, 20, t);
            first[breath] += share_of_s1(t, n, &c.truth, FM_PROVISIONAL_S1) / 12.0;
            second[breath] += share_of_s1(t, n, &c.truth, FM_PROVISIONAL_S2) / 12.0;
            fm_provisional_marker_destroy(m);
            composed_free(&c);
        }
    }
    print_message(
        "first sounds named first and second, %%: clean %.1f %.1f, beside breath "
        "%.1f %.1f\n",
        100.0 * first[0], 100.0 * second[0], 100.0 * first[1], 100.0 * second[1]);
    assert_true(first[0] > 0.95 && second[0] <= 0.0);
    assert_true(first[1] > 0.5 && second[1] < 0.05);
}

static void blocks_of_any_size_give_the_same_marks(void **state)
{
    (void)state;
    static taken expected[MARKS];
    static taken t[MARKS];
    composed c = compose_clean(80.0, 4000.0, 67);
    fm_provisional_marker *m = fm_provisional_marker_create(4000.0);
    assert_non_null(m);
    const size_t n = mark_all(m, &c, 4000.0, 1, expected);
    assert_true(n > 40);
    const size_t blocks[] = {7, 400, 4096};
    for (size_t k = 0; k < N_ELEMENTS(blocks); k++) {
        fm_provisional_marker_reset(m); /* as good as new */
        assert_int_equal(mark_all(m, &c, 4000.0, blocks[k], t), n);
        for (size_t i = 0; i < n; i++) {
            assert_within(t[i].mark.time_s, expected[i].mark.time_s, 0.0);
            assert_int_equal(t[i].mark.kind, expected[i].mark.kind);
        }
    }
    fm_provisional_marker_destroy(m);
    composed_free(&c);
}

static void marks_ascend_and_keep_their_distance(void **state)
{
    (void)state;
    fm_provisional_marker *m = fm_provisional_marker_create(8000.0);
    assert_non_null(m);
    fm_random r = fm_random_init(2, 9);
    float x[800];
    double last_s = -1.0;
    size_t n = 0;
    for (int block = 0; block < 200; block++) { /* 20 s of rough noise */
        const float loud = (float)fm_random_uniform(&r);
        for (size_t i = 0; i < 800; i++) {
            x[i] = loud * (float)fm_random_normal(&r);
        }
        fm_provisional_marker_push(m, x, 800);
        fm_provisional marks[8];
        const size_t got = fm_provisional_marker_take(m, marks, 8);
        for (size_t i = 0; i < got; i++) {
            assert_true(marks[i].time_s >= 0.0);
            /* 120 ms apart would be 500 sounds a minute: nearer than 80 is one sound */
            assert_true(last_s < 0.0 || marks[i].time_s - last_s > 0.08);
            last_s = marks[i].time_s;
            n++;
        }
    }
    assert_true(n > 10);
    fm_provisional_marker_destroy(m);
}

static void silence_and_lost_audio_are_not_marked(void **state)
{
    (void)state;
    fm_provisional_marker *m = fm_provisional_marker_create(4000.0);
    assert_non_null(m);
    float x[4000];
    fm_random r = fm_random_init(3, 9);
    fm_provisional marks[8];
    for (int second = 0; second < 5; second++) { /* -100 dBFS, DC, and not numbers */
        for (size_t i = 0; i < 4000; i++) {
            x[i] = second == 4 ? NAN : 1e-5f * (float)fm_random_normal(&r);
        }
        fm_provisional_marker_push(m, x, 4000);
    }
    fm_provisional_marker_push(m, NULL, 8000);
    assert_int_equal(fm_provisional_marker_take(m, marks, 8), 0);
    fm_provisional_marker_destroy(m);
}

/* Lost audio moves the clock: what comes after it is marked where it is. */
static void time_goes_on_through_lost_audio(void **state)
{
    (void)state;
    static taken t[MARKS];
    composed c = compose_clean(72.0, 4000.0, 68);
    fm_provisional_marker *m = fm_provisional_marker_create(4000.0);
    assert_non_null(m);
    fm_provisional_marker_push(m, NULL, 40000); /* 10 s */
    const size_t n = mark_all(m, &c, 4000.0, 100, t);
    assert_true(n > 40);
    for (size_t i = 0; i < n; i++) {
        t[i].mark.time_s -= 10.0;
    }
    assert_true(share_marked(t, n, c.truth.s1_s, c.truth.n_s1) >= 0.9);
    fm_provisional_marker_destroy(m);
    composed_free(&c);
}

/* Nobody takes the marks: the oldest are kept, in order, and no more than there is room
 * for; the taker's room is kept to as well. */
static void marks_not_taken_stay_in_their_room(void **state)
{
    (void)state;
    composed c = compose_clean(120.0, 4000.0, 69);
    fm_provisional_marker *m = fm_provisional_marker_create(4000.0);
    assert_non_null(m);
    for (int times = 0; times < 3; times++) {
        fm_provisional_marker_push(m, c.x, c.n);
    }
    fm_provisional marks[200];
    marks[5].time_s = -7.0;
    assert_int_equal(fm_provisional_marker_take(m, marks, 5), 5);
    assert_within(marks[5].time_s, -7.0, 0.0);
    assert_int_equal(fm_provisional_marker_take(m, marks + 5, 195), 64 - 5);
    for (size_t i = 1; i < 64; i++) {
        assert_true(marks[i].time_s > marks[i - 1].time_s);
    }
    assert_int_equal(fm_provisional_marker_take(m, marks, 200), 0);
    fm_provisional_marker_push(m, c.x, c.n);
    fm_provisional_marker_reset(m); /* forgets what was not taken */
    assert_int_equal(fm_provisional_marker_take(m, marks, 200), 0);
    fm_provisional_marker_destroy(m);
    fm_provisional_marker_destroy(NULL);
    composed_free(&c);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_clean_heart_is_marked_in_time),
        cmocka_unit_test(short_gaps_end_in_s2),
        cmocka_unit_test(a_first_sound_is_not_called_second),
        cmocka_unit_test(blocks_of_any_size_give_the_same_marks),
        cmocka_unit_test(marks_ascend_and_keep_their_distance),
        cmocka_unit_test(silence_and_lost_audio_are_not_marked),
        cmocka_unit_test(time_goes_on_through_lost_audio),
        cmocka_unit_test(marks_not_taken_stay_in_their_room),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
