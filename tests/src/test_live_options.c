/*
 * From words on the command line to the plan of a live sitting: `check --live` and
 * `count --live`. The sitting itself is not run: live_run is this file's own.
 *   Source:    the commands' own help: every default in it, and what goes with what.
 *   Input:     command lines.
 *   Tolerance: none.
 */
#include "src/command/command.h"
#include "src/command/live_run.h"

#include "../support.h"

#include <math.h>
#include <string.h>

enum {
    WORDS_MOST = 16,
    LINE_BYTES = 256
};

static live_plan got;
static int n_runs;

live_outcome __wrap_live_run(const live_plan *plan,
                             char **path,
                             bool *hung,
                             app_err *err);
live_outcome __wrap_live_run(const live_plan *plan,
                             char **path,
                             bool *hung,
                             app_err *err)
{
    got = *plan;
    n_runs++;
    *path = NULL;
    *hung = false;
    (void)app_err_set(err, APP_FAILED, "not run here");
    return LIVE_OUTCOME_FAILED;
}

/* Whether a sitting is begun by that line; else its error is in err. */
static bool begins(const char *line, app_err *err)
{
    static char words[LINE_BYTES]; /* the plan borrows them */
    char *argv[WORDS_MOST + 1];
    int argc = 0;
    (void)strcpy(words, line);
    for (char *w = strtok(words, " "); w != NULL; w = strtok(NULL, " ")) {
        argv[argc++] = w;
    }
    argv[argc] = NULL;
    *err = (app_err)APP_ERR_NONE;
    n_runs = 0;
    (void)command_run(command_find(argv[0]), argc - 1, argv + 1, err);
    return n_runs == 1;
}

static void check_has_its_defaults(void **state)
{
    (void)state;
    app_err err;
    assert_true(begins("check --live --no-logbook", &err));
    assert_true(got.checked && got.pulse && got.breath && got.ticks);
    assert_true(!got.marks && !got.until_stopped && !got.second_examiner &&
                !got.monitor);
    assert_int_equal(got.seconds, 60);
    assert_int_equal(got.channel, 1);
    assert_null(got.input);
    assert_null(got.recording);
    assert_int_equal(got.site, FM_SITE_APICAL);
    assert_int_equal(got.method, FM_BREATH_NOT_SAID);
    assert_true(isnan(got.age_months) && isnan(got.tolerance_per_min));
    assert_within(got.gain_db, 0.0, 0.0);
}

static void check_takes_every_option(void **state)
{
    (void)state;
    app_err err;
    assert_true(
        begins("check --live --no-logbook --input file:a.wav --input-channel 2 --gain "
               "-6.5 --recording r.wav --listen headphones --no-ticks",
               &err));
    assert_string_equal(got.input, "file:a.wav");
    assert_string_equal(got.recording, "r.wav");
    assert_int_equal(got.channel, 2);
    assert_within(got.gain_db, -6.5, 0.0);
    assert_true(got.monitor && !got.ticks);
    assert_true(begins(
        "check --live --no-logbook --listen stethoscope --seconds 15 --site radial "
        "--only pulse --tolerance 4 --age 3m",
        &err));
    assert_true(!got.monitor && got.pulse && !got.breath);
    assert_int_equal(got.seconds, 15);
    assert_int_equal(got.site, FM_SITE_RADIAL);
    assert_within(got.tolerance_per_min, 4.0, 0.0);
    assert_within(got.age_months, 3.0, 0.0);
    assert_true(begins(
        "check --live --no-logbook --only breath --breaths listened --age 30", &err));
    assert_true(!got.pulse && got.breath);
    assert_int_equal(got.method, FM_BREATH_LISTENED);
    assert_within(got.age_months, 360.0, 0.0);
    assert_true(
        begins("check --live --no-logbook --breaths watched --second-examiner", &err));
    assert_int_equal(got.method, FM_BREATH_WATCHED);
    assert_true(got.second_examiner);
}

static void count_has_no_entries(void **state)
{
    (void)state;
    app_err err;
    assert_true(begins("count --live", &err));
    assert_true(!got.checked && got.pulse && !got.breath && !got.marks);
    assert_int_equal(got.seconds, 60);
    assert_true(begins("count --live --open --until-stopped --seconds 30", &err));
    assert_true(got.marks && got.until_stopped);
    assert_int_equal(got.seconds, 30);
}

static void what_does_not_fit_begins_nothing(void **state)
{
    (void)state;
    static const struct {
        const char *line, *says;
    } CASES[] = {
        {"check --live a.wav", "reads no file"},
        {"check --live --manual 70", "--manual is for a file"},
        {"check --live --taps t", "--taps is for a file"},
        {"check --live --start 3", "--start is for a file"},
        {"check --live --second-examiner --seconds 15", "the same full minute"},
        {"check --live --second-examiner --site radial", "the same full minute"},
        {"check --live --second-examiner --only breath", "the same full minute"},
        {"check --live --recording r.flac", "ends in .wav"},
        {"check --live --age x", "age"},
        {"check a.wav --only pulse", "--only goes with --live"},
        {"check a.wav --resume b.wav", "--resume goes with --live"},
        {"check a.wav --input x", "--input goes with --live"},
        {"count a.wav --no-ticks", "--no-ticks goes with --live"},
        {"count --live --seconds 20", "15, 30 or 60"},
        {"count --live --seconds 15.5", "15, 30 or 60"},
        {"count --live --seconds whole", "--until-stopped"},
        {"count --live --start 3", "--start is for a file"},
        {"count --live --input-channel 0", "--input-channel"},
        {"count --live --gain 41", "--gain"},
        {"count --live --listen ears", "--listen"},
    };
    for (size_t i = 0; i < sizeof CASES / sizeof CASES[0]; i++) {
        app_err err;
        assert_false(begins(CASES[i].line, &err));
        assert_int_equal(err.code, APP_USAGE);
        if (strstr(err.text, CASES[i].says) == NULL) {
            fail_msg("%s: %s", CASES[i].line, err.text);
        }
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(check_has_its_defaults),
        cmocka_unit_test(check_takes_every_option),
        cmocka_unit_test(count_has_no_entries),
        cmocka_unit_test(what_does_not_fit_begins_nothing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
