/*
 * Settings: kept, not lost, private to the person's folder.
 *   Source: the schema in src/port/settings.h; the XDG Base Directory Specification says
 *           that a relative XDG_CONFIG_HOME is ignored.
 *   Input:  files written here, in a temporary folder.
 */
#include "src/port/settings.h"

#include "tests/support.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

static char folder[] = "/tmp/fullminute-settings-XXXXXX";
static char file[128];

static void say(const char *text)
{
    FILE *const to = fopen(file, "w");
    assert_non_null(to);
    assert_true(fputs(text, to) >= 0);
    assert_int_equal(fclose(to), 0);
}

static bool file_holds(const char *path, const char *wanted)
{
    char text[4096] = "";
    FILE *const from = fopen(path, "r");
    if (from == NULL) {
        return false;
    }
    text[fread(text, 1, sizeof text - 1, from)] = '\0';
    (void)fclose(from);
    return strstr(text, wanted) != NULL;
}

static settings *load(void)
{
    app_err err = APP_ERR_NONE;
    settings *const s = settings_load(&err);
    if (s == NULL) {
        fail_msg("%s", err.text);
    }
    return s;
}

static void nothing_there_is_empty_and_saving_makes_the_folder(void **state)
{
    (void)state;
    app_err err = APP_ERR_NONE;
    settings *s = load();
    assert_null(settings_note(s));
    assert_string_equal(settings_path(s), file);
    assert_null(settings_text(s, SETTINGS_INPUT));
    assert_true(isnan(settings_number_of(s, SETTINGS_TAP_DELAY_S, "alsa:pulse")));
    assert_true(settings_set_text(s, SETTINGS_INPUT, "alsa:pulse"));
    assert_true(settings_set_number_of(s, SETTINGS_TAP_DELAY_S, "alsa:pulse", 0.042));
    assert_true(settings_set_number_of(s, SETTINGS_TAP_DELAY_S, "other", 0.1));
    assert_true(settings_save(s, &err));
    settings_free(s);
    struct stat about;
    assert_int_equal(stat(file, &about), 0);
    assert_int_equal(about.st_mode & 0777, 0600); /* this person's only */
    s = load();
    assert_string_equal(settings_text(s, SETTINGS_INPUT), "alsa:pulse");
    assert_within(settings_number_of(s, SETTINGS_TAP_DELAY_S, "alsa:pulse"), 0.042,
                  1e-9);
    assert_within(settings_number_of(s, SETTINGS_TAP_DELAY_S, "other"), 0.1, 1e-9);
    settings_free(s);
}

static void members_of_a_later_version_are_kept(void **state)
{
    (void)state;
    app_err err = APP_ERR_NONE;
    say("{\"schema\": \"fullminute.settings/1\", \"later\": {\"a\": [1, 2]}, "
        "\"input\": 7}");
    settings *const s = load();
    assert_null(settings_note(s));
    assert_null(settings_text(s, SETTINGS_INPUT)); /* a number is no key */
    assert_true(settings_set_text(s, SETTINGS_INPUT, "x"));
    assert_true(settings_save(s, &err));
    settings_free(s);
    assert_true(file_holds(file, "\"later\""));
    assert_true(file_holds(file, "\"input\": \"x\""));
}

static void what_is_not_understood_is_set_aside_and_said(void **state)
{
    (void)state;
    const char *const bad[] = {
        "",
        "{\"schema\": \"fullminute.settings/1\", ",
        "[1, 2]",
        "{\"schema\": \"fullminute.settings/9\", \"mine\": 1}",
        "{\"input\": \"no schema\"}",
        "\xff\xfe",
    };
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        app_err err = APP_ERR_NONE;
        char aside[192];
        say(bad[i]);
        settings *const s = load();
        assert_non_null(settings_note(s));
        (void)snprintf(aside, sizeof aside, "%s.unreadable-%d", file, (int)i + 1);
        assert_non_null(strstr(settings_note(s), aside));
        assert_int_equal(access(aside, F_OK), 0);
        assert_true(file_holds(aside, bad[i]));
        assert_int_not_equal(access(file, F_OK), 0);
        assert_null(settings_text(s, SETTINGS_INPUT));
        assert_true(settings_save(s, &err));
        settings_free(s);
    }
}

static void a_text_that_is_no_utf8_is_not_taken(void **state)
{
    (void)state;
    settings *const s = load();
    assert_false(settings_set_text(s, SETTINGS_INPUT, "\xff"));
    settings_free(s);
}

static void without_a_home_nothing_is_kept_and_saving_says_so(void **state)
{
    (void)state;
    app_err err = APP_ERR_NONE;
    assert_int_equal(setenv("XDG_CONFIG_HOME", "relative", 1), 0);
    assert_int_equal(unsetenv("HOME"), 0);
    settings *const s = load();
    assert_null(settings_path(s));
    assert_false(settings_save(s, &err));
    assert_int_equal(err.code, APP_FAILED);
    assert_non_null(strstr(err.text, "HOME"));
    settings_free(s);
    assert_int_equal(setenv("XDG_CONFIG_HOME", folder, 1), 0);
}

static int make_home(void **state)
{
    (void)state;
    if (mkdtemp(folder) == NULL) {
        return -1;
    }
    (void)snprintf(file, sizeof file, "%s/fullminute/settings.json", folder);
    return setenv("XDG_CONFIG_HOME", folder, 1);
}

static int remove_home(void **state)
{
    (void)state;
    char name[192];
    for (int i = 1; i < 10; i++) {
        (void)snprintf(name, sizeof name, "%s.unreadable-%d", file, i);
        (void)unlink(name);
    }
    (void)unlink(file);
    (void)snprintf(name, sizeof name, "%s/fullminute", folder);
    (void)rmdir(name);
    return rmdir(folder);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(nothing_there_is_empty_and_saving_makes_the_folder),
        cmocka_unit_test(members_of_a_later_version_are_kept),
        cmocka_unit_test(what_is_not_understood_is_set_aside_and_said),
        cmocka_unit_test(a_text_that_is_no_utf8_is_not_taken),
        cmocka_unit_test(without_a_home_nothing_is_kept_and_saving_says_so),
    };
    return cmocka_run_group_tests(tests, make_home, remove_home);
}
