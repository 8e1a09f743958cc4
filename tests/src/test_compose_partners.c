/* Options of compose that need another: alone they are refused, together they are not. */
#include "tests/support.h"

#include "src/command/compose_options.h"

#include <stdio.h>
#include <string.h>

enum {
    WORDS_MAX = 8
};

/* The options of one line, parted by blanks; false: refused, with err. */
static bool accepts(const char *line, app_err *err)
{
    char text[128];
    char *argv[WORDS_MAX];
    int argc = 0;
    (void)snprintf(text, sizeof text, "%s", line);
    for (char *word = strtok(text, " "); word != NULL; word = strtok(NULL, " ")) {
        assert_true(argc < WORDS_MAX);
        argv[argc++] = word;
    }
    options o;
    *err = (app_err)APP_ERR_NONE;
    assert_true(options_parse(compose_option_table, argc, argv, &o, err));
    fm_recipe recipe;
    compose_files files;
    const bool ok = compose_options_recipe(&o, &recipe, &files, err);
    if (ok) {
        compose_files_free(&files);
    }
    return ok;
}

static void an_option_without_its_partner_is_refused(void **state)
{
    (void)state;
    static const char *const rows[][2] = {
        {"--snr 10", "without --noise;"},
        {"--hum 60", "without --noise hum;"},
        {"--hum 60 --noise pink,tone", "without --noise hum;"},
        {"--tone 300 --noise hum", "without --noise tone;"},
        {"--events 4", "without --rhythm premature or pauses;"},
        {"--events 4 --rhythm bigeminy", "without --rhythm premature or pauses;"},
        {"--coupling 0.6", "premature, bigeminy, trigeminy or quadrigeminy;"},
        {"--compensation 1.8", "premature, bigeminy, trigeminy or quadrigeminy;"},
        {"--group 4 --rhythm steady", "without --rhythm dropped;"},
        {"--creep 0.1", "without --rhythm dropped;"},
        {"--spread 0.2", "without --rhythm fibrillation;"},
        {"--pause 2 --rhythm premature", "without --rhythm pauses;"},
        {"--drift 6", "without --rhythm drift;"},
        {"--change-at 20", "without --rhythm rate-change or fast-run;"},
        {"--change-bpm 90", "without --rhythm rate-change or fast-run;"},
        {"--run-beats 8 --rhythm rate-change", "without --rhythm fast-run;"},
        {"--breath-spread 0.2", "without --breathing irregular;"},
        {"--breath-pause 9 --breathing irregular",
         "without --breathing pause or waxing;"},
        {"--breath-pause-at 20 --breathing waxing", "without --breathing pause;"},
        {"--swell 30", "without --breathing waxing;"},
        {"--murmur-level -9", "without --murmur early-systolic, holosystolic,"},
        {"--murmur-level -9 --murmur none", "without --murmur early-systolic,"},
        {"--lost-at 20", "without --lost-seconds;"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        app_err err;
        assert_false(accepts(rows[i][0], &err));
        assert_int_equal(err.code, APP_USAGE);
        assert_non_null(strstr(err.text, rows[i][1]));
        assert_non_null(strstr(err.text, "changes nothing"));
    }
}

static void with_its_partner_every_option_is_taken(void **state)
{
    (void)state;
    static const char *const rows[] = {
        "--snr 10 --noise pink",
        "--hum 60 --noise pink,hum",
        "--tone 300 --noise tone,hum",
        "--events 4 --rhythm premature",
        "--events 3 --rhythm pauses --pause 2",
        "--coupling 0.6 --rhythm quadrigeminy",
        "--compensation 1.8 --rhythm bigeminy",
        "--group 4 --creep 0.1 --rhythm dropped",
        "--spread 0.2 --rhythm fibrillation",
        "--drift 6 --rhythm drift",
        "--change-at 20 --change-bpm 90 --rhythm rate-change",
        "--run-beats 8 --rhythm fast-run",
        "--breath-spread 0.2 --breathing irregular",
        "--breath-pause 9 --breath-pause-at 20 --breathing pause",
        "--breath-pause 9 --swell 40 --breathing waxing",
        "--murmur-level -9 --murmur mid-diastolic",
        "--lost-at 20 --lost-seconds 3",
        "--lost-seconds 3", /* from the start */
        "",
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        app_err err;
        const bool ok = accepts(rows[i], &err);
        if (!ok) {
            print_error("%s: %s\n", rows[i], err.text);
        }
        assert_true(ok);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(an_option_without_its_partner_is_refused),
        cmocka_unit_test(with_its_partner_every_option_is_taken),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
