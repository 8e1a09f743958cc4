/* From a file to counts: the window asked for, the right channel, nothing else. */
#include "tests/support.h"

#include "src/usecase/analyse_file.h"

#include <sndfile.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

enum {
    RATE_HZ = 2000,
    BPM = 75,
    CHANNELS_MANY = 64,
    CHANNEL_BEATING = 41
};

static const double INTERVAL_S = 60.0 / BPM;
static const double FIRST_S1_S = 0.3;
static const double SYSTOLE_S = 0.32;
static const double PI = 3.14159265358979323846;

static char folder[64];
static char path[128];
static uint32_t seed;

static int make_folder(void **state)
{
    (void)state;
    (void)snprintf(folder, sizeof folder, "/tmp/fullminute-test-XXXXXX");
    if (mkdtemp(folder) == NULL) {
        return -1;
    }
    (void)snprintf(path, sizeof path, "%s/a", folder);
    seed = 11;
    return 0;
}

static int remove_folder(void **state)
{
    (void)state;
    (void)unlink(path);
    return rmdir(folder);
}

static double noise(void)
{
    seed = seed * 1664525U + 1013904223U;
    return (double)(seed >> 8U) / 8388608.0 - 1.0;
}

/* A decaying thud that starts at t = 0. */
static double thud(double t_s, double tone_hz, double decay_s)
{
    return t_s < 0.0 ? 0.0 : exp(-t_s / decay_s) * sin(2.0 * PI * tone_hz * t_s);
}

/* S1 and S2 at 75 per minute, over a little noise. */
static float heart(int64_t i)
{
    const double since = (double)i / RATE_HZ - FIRST_S1_S;
    const double t_s = since - INTERVAL_S * floor(since / INTERVAL_S);
    const double s1 = since < 0.0 ? 0.0 : thud(t_s, 50.0, 0.025);
    const double s2 = since < 0.0 ? 0.0 : 0.6 * thud(t_s - SYSTOLE_S, 70.0, 0.018);
    return (float)(0.4 * (s1 + s2) + 0.002 * noise());
}

/* A file of seconds from that second of the heart on; beating: its channel, from 1. */
static void write_heart(
    int format, int channels, int beating, double from_s, double seconds)
{
    SF_INFO info = {.samplerate = RATE_HZ, .channels = channels, .format = format};
    SNDFILE *const file = sf_open(path, SFM_WRITE, &info);
    assert_non_null(file);
    float *const frame = calloc((size_t)channels, sizeof *frame);
    assert_non_null(frame);
    for (int64_t i = 0; i < (int64_t)(seconds * RATE_HZ); i++) {
        for (int c = 0; c < channels; c++) {
            frame[c] = c == beating - 1 ? heart(i + (int64_t)(from_s * RATE_HZ))
                                        : (float)(0.01 * noise());
        }
        assert_int_equal(sf_writef_float(file, frame, 1), 1);
    }
    free(frame);
    assert_int_equal(sf_close(file), 0);
}

static analysed *count_it(analyse_request request)
{
    app_err err = APP_ERR_NONE;
    analysed *const result = analyse_file_window(&request, &err);
    if (result == NULL) {
        fail_msg("%s", err.text);
    }
    return result;
}

static const int WAV = SF_FORMAT_WAV | SF_FORMAT_PCM_16;
static const int FLAC = SF_FORMAT_FLAC | SF_FORMAT_PCM_16;

static void a_steady_minute_is_counted(void **state)
{
    (void)state;
    write_heart(WAV, 1, 1, 0.0, 70.0);
    analysed *const r = count_it(analyse_request_default(path));
    assert_int_equal(r->count.heart.count.n, BPM);
    assert_within(r->count.heart.count.onsets_s[0], FIRST_S1_S, 0.03);
    assert_within(r->count.heart.count.window.start_s, 0.0, 0.0);
    assert_within(r->count.heart.count.window.end_s, 60.0, 0.0);
    assert_within(r->source.duration_s, 70.0, 1e-9);
    assert_string_equal(r->source.name, "a");
    free(r);
}

static void a_short_recording_ends_its_window(void **state)
{
    (void)state;
    write_heart(WAV, 1, 1, 0.0, 20.5);
    analysed *const r = count_it(analyse_request_default(path));
    assert_within(r->count.heart.count.window.end_s, 20.5, 1e-9);
    assert_false(r->count.heart.count.window.full_minute);
    assert_within(r->source.duration_s, 20.5, 1e-9);
    free(r);
}

/* Where the format seeks and where it is read through must not matter. */
static void the_container_changes_nothing(void **state)
{
    (void)state;
    analyse_request request = analyse_request_default(path);
    request.start_s = 31.7;
    request.seconds = 30.0;
    write_heart(WAV, 1, 1, 0.0, 80.0);
    analysed *const wav = count_it(request);
    seed = 11;
    write_heart(FLAC, 1, 1, 0.0, 80.0);
    analysed *const flac = count_it(request);
    assert_memory_equal(&wav->count, &flac->count, sizeof wav->count);
    free(wav);
    free(flac);
}

/* The same seconds from the middle of a long file and from a file cut round them. */
static void what_lies_far_outside_the_window_changes_nothing(void **state)
{
    (void)state;
    write_heart(WAV, 1, 1, 0.0, 200.0);
    analyse_request request = analyse_request_default(path);
    request.start_s = 125.0;
    request.seconds = 30.0;
    analysed *const whole = count_it(request);
    SF_INFO info = {0};
    SNDFILE *file = sf_open(path, SFM_READ, &info);
    assert_non_null(file);
    const sf_count_t from = (sf_count_t)120 * RATE_HZ;
    const sf_count_t n = (sf_count_t)40 * RATE_HZ;
    short *const samples = malloc((size_t)n * sizeof *samples);
    assert_non_null(samples);
    assert_int_equal(sf_seek(file, from, SEEK_SET), from);
    assert_int_equal(sf_read_short(file, samples, n), n);
    (void)sf_close(file);
    file = sf_open(path, SFM_WRITE, &info);
    assert_int_equal(sf_write_short(file, samples, n), n);
    (void)sf_close(file);
    free(samples);
    request.start_s = 5.0;
    analysed *const cut = count_it(request);
    assert_int_equal(whole->count.heart.count.n, cut->count.heart.count.n);
    assert_true(whole->count.heart.count.n > 30);
    for (size_t i = 0; i < cut->count.heart.count.n; i++) {
        assert_within(whole->count.heart.count.onsets_s[i] - 120.0,
                      cut->count.heart.count.onsets_s[i], 1e-6);
    }
    assert_within(whole->count.heart.count.rate_per_min,
                  cut->count.heart.count.rate_per_min, 1e-9);
    free(whole);
    free(cut);
}

static void the_beating_channel_of_many_is_found(void **state)
{
    (void)state;
    write_heart(WAV, CHANNELS_MANY, CHANNEL_BEATING, 0.0, 30.0);
    analyse_request request = analyse_request_default(path);
    analysed *const best = count_it(request);
    assert_int_equal(best->source.channel, CHANNEL_BEATING);
    assert_true(best->source.channel_chosen);
    request.channel = CHANNEL_BEATING;
    analysed *const named = count_it(request);
    assert_false(named->source.channel_chosen);
    assert_memory_equal(&best->count, &named->count, sizeof best->count);
    free(best);
    free(named);
    request.channel = CHANNELS_MANY + 1;
    app_err err = APP_ERR_NONE;
    assert_null(analyse_file_window(&request, &err));
    assert_int_equal(err.code, APP_USAGE);
}

static void the_window_can_start_on_a_beat(void **state)
{
    (void)state;
    write_heart(WAV, 1, 1, 0.0, 70.0);
    analyse_request request = analyse_request_default(path);
    request.convention = FM_CONVENTION_ONE;
    request.start_s = 0.5;
    analysed *const r = count_it(request);
    const double lead_s =
        r->count.heart.count.onsets_s[0] - r->count.heart.count.window.start_s;
    assert_true(lead_s >= 0.0 && lead_s < 0.021);
    assert_within(r->count.heart.count.onsets_s[0], FIRST_S1_S + INTERVAL_S, 0.03);
    assert_int_equal(r->source.convention, FM_CONVENTION_ONE);
    assert_int_equal(count_source_beats(&r->source, &r->count), BPM);
    request.convention = FM_CONVENTION_ZERO;
    analysed *const zero = count_it(request);
    assert_int_equal(count_source_beats(&zero->source, &zero->count), BPM - 1);
    assert_memory_equal(&zero->count, &r->count, sizeof r->count);
    free(r);
    free(zero);
}

struct row {
    int n;
    double ends_s[8];
    int beats;
};

static bool take_row(void *context, const analysed *result, app_err *err)
{
    (void)err;
    struct row *const row = context;
    const double expected = row->n == 0 ? 10.0 : row->ends_s[row->n - 1];
    assert_within(result->count.heart.count.window.start_s, expected, 1e-9);
    row->ends_s[row->n++] = result->count.heart.count.window.end_s;
    row->beats += (int)result->count.heart.count.n;
    return true;
}

static void a_row_of_minutes_leaves_no_hole(void **state)
{
    (void)state;
    write_heart(WAV, 1, 1, 0.0, 190.0);
    analyse_request request = analyse_request_default(path);
    request.whole = true;
    request.start_s = 10.0;
    struct row row = {0};
    app_err err = APP_ERR_NONE;
    assert_true(analyse_file(&request, take_row, &row, &err));
    assert_int_equal(row.n, 3);
    assert_within(row.ends_s[2], 190.0, 1e-9);
    assert_int_equal(row.beats, 180 * BPM / 60);
}

static void a_start_behind_the_end_is_wrong_usage(void **state)
{
    (void)state;
    write_heart(WAV, 1, 1, 0.0, 20.0);
    analyse_request request = analyse_request_default(path);
    request.start_s = 20.0;
    app_err err = APP_ERR_NONE;
    assert_null(analyse_file_window(&request, &err));
    assert_int_equal(err.code, APP_USAGE);
    assert_non_null(strstr(err.text, "20.0 s long"));
    request.whole = true;
    assert_false(analyse_file(&request, take_row, NULL, &err));
    assert_int_equal(err.code, APP_USAGE);
}

static bool stop_at_once(void *context, const analysed *result, app_err *err)
{
    (void)context;
    (void)result;
    return app_err_set(err, APP_FAILED, "enough");
}

static void the_sink_can_stop_the_row(void **state)
{
    (void)state;
    write_heart(WAV, 1, 1, 0.0, 130.0);
    analyse_request request = analyse_request_default(path);
    request.whole = true;
    app_err err = APP_ERR_NONE;
    assert_false(analyse_file(&request, stop_at_once, NULL, &err));
    assert_string_equal(err.text, "enough");
}

static void samples_that_are_not_numbers_are_told(void **state)
{
    (void)state;
    SF_INFO info = {.samplerate = RATE_HZ,
                    .channels = 1,
                    .format = SF_FORMAT_WAV | SF_FORMAT_FLOAT};
    SNDFILE *const file = sf_open(path, SFM_WRITE, &info);
    assert_non_null(file);
    for (int64_t i = 0; i < (int64_t)30 * RATE_HZ; i++) {
        const float x = i >= 20000 && i < 20700 ? (float)NAN : heart(i);
        assert_int_equal(sf_write_float(file, &x, 1), 1);
    }
    assert_int_equal(sf_close(file), 0);
    analysed *const r = count_it(analyse_request_default(path));
    assert_int_equal(r->source.not_numbers, 700);
    free(r);
}

int main(void)
{
#define EACH(test) cmocka_unit_test_setup_teardown(test, make_folder, remove_folder)
    const struct CMUnitTest tests[] = {
        EACH(a_steady_minute_is_counted),
        EACH(a_short_recording_ends_its_window),
        EACH(the_container_changes_nothing),
        EACH(what_lies_far_outside_the_window_changes_nothing),
        EACH(the_beating_channel_of_many_is_found),
        EACH(the_window_can_start_on_a_beat),
        EACH(a_row_of_minutes_leaves_no_hole),
        EACH(a_start_behind_the_end_is_wrong_usage),
        EACH(the_sink_can_stop_the_row),
        EACH(samples_that_are_not_numbers_are_told),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
