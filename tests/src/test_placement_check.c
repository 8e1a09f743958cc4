/*
 * What is said about the placement, and the bundled recordings through it.
 *   Source:    none; the names of inputs are written from memory of what systems say.
 *   Input:     recordings/ (composed), ten seconds from 3 s on, over a hush of white noise
 *              at -85 dBFS of our own, and 20 dB softer.
 *   Tolerance: every recording is 'ready', but the four that teach a fault of the sound:
 *              those must be anything but ready, or, noisy-room, may be ready: there the
 *              heart is heard.
 */
#include "src/usecase/placement_check.h"

#include "dsp/signal/random.h"
#include "src/port/sound_file.h"
#include "tests/support.h"

#include <dirent.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum {
    RATE = 4000,
    N = 10 * RATE
};

static float x[13 * RATE];

static fm_placement_measures measure(const float *samples)
{
    fm_placement *const p = fm_placement_create(RATE);
    fm_placement_measures m;
    assert_non_null(p);
    fm_placement_push(p, samples, N);
    assert_int_equal(fm_placement_measure(p, &m), FM_OK);
    fm_placement_destroy(p);
    return m;
}

static fm_placement_measures hush(void)
{
    fm_random random = fm_random_init(1, 0);
    for (size_t i = 0; i < N; i++) {
        x[i] = 5.6e-5F * (float)fm_random_normal(&random);
    }
    return measure(x);
}

static fm_placement_finding find(const char *name, float gain)
{
    char path[512];
    app_err err = APP_ERR_NONE;
    (void)snprintf(path, sizeof path, "%s/%s", RECORDINGS_DIR, name);
    const fm_placement_measures before = hush();
    sound_file *const file = sound_file_open(path, &err);
    if (file == NULL) {
        fail_msg("%s", err.text);
    }
    assert_within(sound_file_info(file).rate_hz, RATE, 0.0);
    assert_int_equal(sound_file_read(file, x, 13 * RATE), 13 * RATE);
    sound_file_close(file);
    for (size_t i = 0; i < 13 * RATE; i++) {
        x[i] *= gain;
    }
    const fm_placement_measures chest = measure(x + 3 * RATE);
    return fm_placement_decide(&before, &chest, (fm_placement_hints){false, false});
}

static bool is(const char *name, const char *wanted)
{
    return strcmp(name, wanted) == 0;
}

static void every_bundled_recording_is_ready_but_those_that_teach_a_fault(void **state)
{
    (void)state;
    DIR *const folder = opendir(RECORDINGS_DIR);
    assert_non_null(folder);
    int seen = 0;
    for (const struct dirent *e = readdir(folder); e != NULL; e = readdir(folder)) {
        const char *const end = strrchr(e->d_name, '.');
        if (end == NULL || !is(end, ".flac")) {
            continue;
        }
        seen++;
        for (int softer = 0; softer < 2; softer++) {
            const fm_placement_finding found = find(e->d_name, softer ? 0.1F : 1.0F);
            const bool ready = found == FM_PLACEMENT_READY;
            const bool fault = is(e->d_name, "friction.flac") ||
                               is(e->d_name, "unusable.flac") ||
                               is(e->d_name, "small-microphone.flac");
            if (ready == fault && !is(e->d_name, "noisy-room.flac")) {
                fail_msg("%s%s: %s", e->d_name, softer ? ", softer" : "",
                         placement_advise(found).found);
            }
        }
    }
    (void)closedir(folder);
    assert_true(seen >= 29);
    assert_int_equal(find("friction.flac", 1.0F), FM_PLACEMENT_FRICTION);
    assert_int_equal(find("unusable.flac", 1.0F), FM_PLACEMENT_FRICTION);
    assert_int_equal(find("small-microphone.flac", 1.0F), FM_PLACEMENT_BUILT_IN);
    assert_int_equal(find("steady-072.flac", 0.0001F), FM_PLACEMENT_TOO_QUIET);
}

static void names_give_away_what_an_input_is(void **state)
{
    (void)state;
    assert_true(placement_hints("bluez_input.00_11.headset-head-unit").named_wireless);
    assert_true(placement_hints("Earbuds (Hands-Free AG Audio)").named_wireless);
    assert_true(placement_hints("Built-in Microphone").named_built_in);
    assert_true(
        placement_hints("Integrated WebCam: USB Audio (hw:1,0)").named_built_in);
    const fm_placement_hints plain =
        placement_hints("USB PnP Sound Device: Audio (hw:2,0)");
    assert_false(plain.named_wireless || plain.named_built_in);
    assert_false(placement_hints("").named_built_in);
}

static void every_finding_has_plain_advice(void **state)
{
    (void)state;
    for (int k = 0; k < (int)FM_PLACEMENT_FINDINGS; k++) {
        const placement_advice a = placement_advise((fm_placement_finding)k);
        assert_true(a.found[strlen(a.found) - 1] == '.');
        assert_true(a.what_to_do[strlen(a.what_to_do) - 1] == '.');
    }
    assert_non_null(strstr(placement_advise(FM_PLACEMENT_TOO_QUIET).what_to_do,
                           "a finger's width"));
    assert_non_null(
        strstr(placement_advise(FM_PLACEMENT_WIRELESS_CALL).what_to_do, "cable"));
}

static void the_meter_line_stays_under_40_characters(void **state)
{
    (void)state;
    char line[128];
    const double levels_dbfs[] = {-160.0, -90.0, -45.0, 0.0, 3.0};
    for (size_t k = 0; k < 5; k++) {
        const fm_placement_frame f = {.level_dbfs = levels_dbfs[k],
                                      .peak_dbfs = levels_dbfs[k]};
        placement_meter_line(&f, line, sizeof line);
        assert_true(strlen(line) < 40);
    }
    const fm_placement_frame half = {.level_dbfs = -45.0, .peak_dbfs = -33.0};
    placement_meter_line(&half, line, sizeof line);
    assert_string_equal(line, " -45 dBFS [#######       ] peak  -33");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_bundled_recording_is_ready_but_those_that_teach_a_fault),
        cmocka_unit_test(names_give_away_what_an_input_is),
        cmocka_unit_test(every_finding_has_plain_advice),
        cmocka_unit_test(the_meter_line_stays_under_40_characters),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
