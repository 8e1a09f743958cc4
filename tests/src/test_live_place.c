/*
 * Where a recording is put where none was named, and which file is one of ours.
 *   Source: src/usecase/live_place.h; the XDG Base Directory Specification for where data lie.
 *   Input:  homes made here, none, and one too long for a path.
 */
#include "tests/support.h"

#include "src/usecase/live_place.h"

#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

static char folder[] = "/tmp/fullminute-place-XXXXXX";

/* NOLINTBEGIN(concurrency-mt-unsafe): nothing else runs */
static void set(const char *data, const char *home)
{
    assert_int_equal(
        data != NULL ? setenv("XDG_DATA_HOME", data, 1) : unsetenv("XDG_DATA_HOME"), 0);
    assert_int_equal(home != NULL ? setenv("HOME", home, 1) : unsetenv("HOME"), 0);
}
/* NOLINTEND(concurrency-mt-unsafe) */

static void without_a_home_nothing_is_made_up(void **state)
{
    (void)state;
    char longest[4090];
    memset(longest, 'a', sizeof longest);
    longest[0] = '/';
    longest[sizeof longest - 1] = '\0';
    const char *const homes[] = {NULL, "", "relative/home", longest};
    for (size_t i = 0; i < sizeof homes / sizeof homes[0]; i++) {
        app_err err = APP_ERR_NONE;
        set(i % 2 == 0 ? NULL : "relative", homes[i]);
        assert_null(live_place_new(NULL, &err));
        assert_int_equal(err.code, APP_FAILED);
        assert_non_null(strstr(err.text, "no home folder to keep recordings in"));
        assert_false(live_place_holds("/tmp/a.wav"));
    }
}

static void a_new_one_has_a_name_of_its_own_in_a_folder_of_its_own(void **state)
{
    (void)state;
    app_err err = APP_ERR_NONE;
    char at[256];
    struct stat is;
    set(folder, "/nowhere");
    (void)snprintf(at, sizeof at, "%s/fullminute/recordings", folder);
    char *const first = live_place_new(NULL, &err);
    assert_non_null(first);
    assert_int_equal(strncmp(first, at, strlen(at)), 0);
    assert_int_equal(stat(at, &is), 0);
    assert_int_equal(is.st_mode & 0777, 0700);
    assert_int_equal(close(open(first, O_CREAT | O_EXCL | O_WRONLY | O_CLOEXEC, 0600)),
                     0);
    char *const second = live_place_new(NULL, &err);
    assert_string_not_equal(first, second);
    assert_false(live_place_holds(first)); /* without a sitting document beside it */
    free(first);
    free(second);
    char *const wanted = live_place_new("mine.wav", &err);
    assert_string_equal(wanted, "mine.wav");
    free(wanted);
}

static int make_folder(void **state)
{
    (void)state;
    return mkdtemp(folder) != NULL ? 0 : -1;
}

static int remove_folder(void **state)
{
    (void)state;
    char command[64];
    (void)snprintf(command, sizeof command, "rm -rf '%s'", folder);
    return system(command); /* NOLINT(cert-env33-c,concurrency-mt-unsafe) */
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(without_a_home_nothing_is_made_up),
        cmocka_unit_test(a_new_one_has_a_name_of_its_own_in_a_folder_of_its_own),
    };
    return cmocka_run_group_tests(tests, make_folder, remove_folder);
}
