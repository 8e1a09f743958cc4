/* A private folder is ours alone, goes with what is in it, and one that was left goes too. */
#include "src/port/private_folder.h"

#include "tests/support.h"

#include <fcntl.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

static char home[64];

static int make_home(void **state)
{
    (void)state;
    (void)snprintf(home, sizeof home, "/tmp/fullminute-test-XXXXXX");
    return mkdtemp(home) != NULL && setenv("TMPDIR", home, 1) == 0 ? 0 : -1;
}

static int remove_home(void **state)
{
    (void)state;
    return rmdir(home); /* fails where a test left something */
}

static void put_file(const char *folder, const char *name)
{
    char path[PRIVATE_FOLDER_BYTES + 64];
    (void)snprintf(path, sizeof path, "%s/%s", folder, name);
    const int fd = open(path, O_CREAT | O_WRONLY, 0600);
    assert_true(fd >= 0);
    assert_int_equal(write(fd, "x", 1), 1);
    assert_int_equal(close(fd), 0);
}

static bool is_there(const char *path)
{
    return access(path, F_OK) == 0;
}

static void only_its_person_may_look_into_it(void **state)
{
    (void)state;
    struct stat there;
    app_err err = APP_ERR_NONE;
    private_folder f;
    assert_true(private_folder_make(&f, "test", &err));
    assert_int_equal(stat(f.path, &there), 0);
    assert_int_equal(there.st_mode & 0777, 0700);
    private_folder_remove(&f);
}

static void folders_in_it_go_too_and_links_are_not_followed(void **state)
{
    (void)state;
    char inner[PRIVATE_FOLDER_BYTES + 64];
    char kept[128];
    app_err err = APP_ERR_NONE;
    private_folder f;
    (void)snprintf(kept, sizeof kept, "%s/kept", home);
    assert_int_equal(mkdir(kept, 0700), 0);
    put_file(kept, "thesis");
    assert_true(private_folder_make(&f, "test", &err));
    put_file(f.path, "a");
    (void)snprintf(inner, sizeof inner, "%s/inner", f.path);
    assert_int_equal(mkdir(inner, 0700), 0);
    put_file(inner, "b");
    (void)snprintf(inner, sizeof inner, "%s/link", f.path);
    assert_int_equal(symlink(kept, inner), 0);
    char *const path = strdup(f.path);
    private_folder_remove(&f);
    assert_false(is_there(path));
    free(path);
    (void)snprintf(inner, sizeof inner, "%s/thesis", kept);
    assert_true(is_there(inner));
    assert_int_equal(unlink(inner), 0);
    assert_int_equal(rmdir(kept), 0);
    private_folder_remove(&f); /* none: nothing happens */
}

/* Another process makes one, and is killed: what it held is let go of. */
static void left_by_a_kill(char out[PRIVATE_FOLDER_BYTES])
{
    int pair[2];
    assert_int_equal(pipe(pair), 0);
    const pid_t child = fork();
    assert_true(child >= 0);
    if (child == 0) {
        private_folder f;
        app_err err = APP_ERR_NONE;
        (void)!private_folder_make(&f, "test", &err);
        put_file(f.path, "1.wav");
        (void)!write(pair[1], f.path, sizeof f.path);
        (void)pause();
        _exit(0);
    }
    assert_int_equal(read(pair[0], out, PRIVATE_FOLDER_BYTES), PRIVATE_FOLDER_BYTES);
    assert_true(is_there(out));
    private_folder_sweep("test");
    assert_true(is_there(out)); /* its maker lives */
    assert_int_equal(kill(child, SIGKILL), 0);
    assert_int_equal(waitpid(child, NULL, 0), child);
    (void)close(pair[0]);
    (void)close(pair[1]);
}

static void a_sweep_takes_what_was_left_and_nothing_else(void **state)
{
    (void)state;
    static const char *const OTHERS[] = {"fullminute-other-abcdef", "fullminute-test-",
                                         "fullminute-test-abcdefg", "test-abcdef"};
    char left[PRIVATE_FOLDER_BYTES];
    char path[128];
    app_err err = APP_ERR_NONE;
    private_folder used;
    assert_true(private_folder_make(&used, "test", &err));
    put_file(used.path, "a");
    for (size_t i = 0; i < sizeof OTHERS / sizeof OTHERS[0]; i++) {
        (void)snprintf(path, sizeof path, "%s/%s", home, OTHERS[i]);
        assert_int_equal(mkdir(path, 0700), 0);
    }
    left_by_a_kill(left);
    private_folder_sweep("test");
    assert_false(is_there(left));
    assert_true(is_there(used.path));
    for (size_t i = 0; i < sizeof OTHERS / sizeof OTHERS[0]; i++) {
        (void)snprintf(path, sizeof path, "%s/%s", home, OTHERS[i]);
        assert_int_equal(rmdir(path), 0); /* there, and empty */
    }
    private_folder_remove(&used);
}

static void no_room_is_said(void **state)
{
    (void)state;
    app_err err = APP_ERR_NONE;
    private_folder f;
    assert_int_equal(setenv("TMPDIR", "/proc", 1), 0);
    assert_false(private_folder_make(&f, "test", &err));
    assert_int_equal(err.code, APP_FAILED);
    assert_non_null(strstr(err.text, "TMPDIR"));
    assert_string_equal(f.path, "");
    assert_int_equal(setenv("TMPDIR", home, 1), 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(only_its_person_may_look_into_it),
        cmocka_unit_test(folders_in_it_go_too_and_links_are_not_followed),
        cmocka_unit_test(a_sweep_takes_what_was_left_and_nothing_else),
        cmocka_unit_test(no_room_is_said),
    };
    return cmocka_run_group_tests(tests, make_home, remove_home);
}
