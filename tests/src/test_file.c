/* Files are whole or not there at all; nothing is overwritten unless told. */
#include "tests/support.h"

#include "src/port/file.h"
#include "src/port/folder.h"

#include <errno.h>
#include <fcntl.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <unistd.h>

static char folder[64];
static char path[128];

static int make_folder(void **state)
{
    (void)state;
    (void)snprintf(folder, sizeof folder, "/tmp/fullminute-test-XXXXXX");
    if (mkdtemp(folder) == NULL) {
        return -1;
    }
    (void)snprintf(path, sizeof path, "%s/a.txt", folder);
    return 0;
}

static bool take_name(void *context, const char *name)
{
    char at[512];
    (void)snprintf(at, sizeof at, "%s/%s", folder, name);
    if (context != NULL) {
        ++*(int *)context;
    } else {
        assert_true(file_remove(at));
    }
    return true;
}

/* Names in the folder; the folder is emptied where told. */
static int list_folder(bool empty_it)
{
    int n = 0;
    assert_true(folder_each(folder, take_name, &n, NULL));
    assert_true(!empty_it || folder_each(folder, take_name, NULL, NULL));
    return n;
}

static int remove_folder(void **state)
{
    (void)state;
    (void)list_folder(true);
    return rmdir(folder);
}

static void assert_holds(const char *name, const char *wanted)
{
    char text[64] = "";
    FILE *const file = fopen(name, "r");
    assert_non_null(file);
    (void)fgets(text, sizeof text, file);
    (void)fclose(file);
    assert_string_equal(text, wanted);
}

static void a_new_file_appears_whole(void **state)
{
    (void)state;
    app_err err = APP_ERR_NONE;
    assert_true(file_write(path, "hello", 5, false, &err));
    assert_holds(path, "hello");
    assert_int_equal(list_folder(false), 1);
}

static void an_existing_file_stays_without_force(void **state)
{
    (void)state;
    app_err err = APP_ERR_NONE;
    assert_true(file_write(path, "old", 3, false, &err));
    assert_false(file_write(path, "new", 3, false, &err));
    assert_int_equal(err.code, APP_USAGE);
    assert_non_null(strstr(err.text, "--force"));
    assert_non_null(strstr(err.text, path));
    assert_holds(path, "old");
    assert_true(file_write(path, "new", 3, true, &err));
    assert_holds(path, "new");
    assert_int_equal(list_folder(false), 1);
}

static void a_name_taken_meanwhile_is_not_overwritten(void **state)
{
    (void)state;
    app_err err = APP_ERR_NONE;
    file_draft draft;
    assert_true(file_draft_open(&draft, path, false, &err));
    assert_true(file_draft_write(&draft, "mine", 4, &err));
    FILE *const other = fopen(path, "w");
    assert_non_null(other);
    (void)fputs("theirs", other);
    (void)fclose(other);
    assert_false(file_draft_commit(&draft, &err));
    assert_int_equal(err.code, APP_USAGE);
    assert_holds(path, "theirs");
    assert_int_equal(list_folder(false), 1);
}

static void a_dropped_draft_leaves_nothing(void **state)
{
    (void)state;
    app_err err = APP_ERR_NONE;
    file_draft draft;
    assert_true(file_draft_open(&draft, path, false, &err));
    assert_true(file_draft_write(&draft, "half", 4, &err));
    assert_int_equal(list_folder(false), 1);
    file_draft_drop(&draft);
    assert_int_equal(list_folder(false), 0);
    file_draft_drop(&draft);
}

static void a_link_keeps_its_place(void **state)
{
    (void)state;
    app_err err = APP_ERR_NONE;
    char link_path[160];
    struct stat info;
    (void)snprintf(link_path, sizeof link_path, "%s/link", folder);
    assert_true(file_write(path, "old", 3, false, &err));
    assert_int_equal(symlink(path, link_path), 0);
    assert_true(file_write(link_path, "new", 3, true, &err));
    assert_int_equal(lstat(link_path, &info), 0);
    assert_true(S_ISLNK(info.st_mode));
    assert_holds(path, "new");
}

static void folders_and_missing_folders_are_named(void **state)
{
    (void)state;
    app_err err = APP_ERR_NONE;
    assert_false(file_write(folder, "x", 1, true, &err));
    assert_int_equal(err.code, APP_USAGE);
    assert_non_null(strstr(err.text, "is a folder"));
    char deep[160];
    (void)snprintf(deep, sizeof deep, "%s/none/a.txt", folder);
    assert_false(file_write(deep, "x", 1, false, &err));
    assert_int_equal(err.code, APP_FAILED);
    assert_non_null(strstr(err.text, "make the folder first"));
}

static void a_full_device_is_a_clear_failure(void **state)
{
    (void)state;
    app_err err = APP_ERR_NONE;
    assert_false(file_write("/dev/full", "x", 1, false, &err));
    assert_int_equal(err.code, APP_FAILED);
    assert_non_null(strstr(err.text, "no space left on device"));
    assert_non_null(strstr(err.text, "make room"));
}

/* A limit on file size stands in for the full disk of a real folder. */
static void a_write_that_fails_half_way_leaves_nothing(void **state)
{
    (void)state;
    static char big[1 << 16];
    app_err err = APP_ERR_NONE;
    struct rlimit before;
    assert_int_equal(getrlimit(RLIMIT_FSIZE, &before), 0);
    const struct rlimit small = {4096, before.rlim_max};
    (void)signal(SIGXFSZ, SIG_IGN);
    assert_int_equal(setrlimit(RLIMIT_FSIZE, &small), 0);
    const bool ok = file_write(path, big, sizeof big, false, &err);
    assert_int_equal(setrlimit(RLIMIT_FSIZE, &before), 0);
    assert_false(ok);
    assert_int_equal(err.code, APP_FAILED);
    assert_int_equal(list_folder(false), 0);
}

/* A truth beside another sound would be a wrong answer given confidently. */
static void two_files_appear_together_or_not_at_all(void **state)
{
    (void)state;
    char other[160];
    (void)snprintf(other, sizeof other, "%s/b.txt", folder);
    app_err err = APP_ERR_NONE;
    for (int taken = 0; taken < 2; taken++) { /* whose name is taken meanwhile */
        file_draft a;
        file_draft b;
        assert_true(file_draft_open(&a, path, false, &err));
        assert_true(file_draft_open(&b, other, false, &err));
        assert_true(file_draft_write(&a, "sound", 5, &err));
        assert_true(file_draft_write(&b, "truth", 5, &err));
        const char *const theirs = taken == 0 ? path : other;
        assert_true(file_write(theirs, "theirs", 6, false, &err));
        assert_false(file_draft_commit_both(&a, &b, &err));
        assert_int_equal(err.code, APP_USAGE);
        assert_non_null(strstr(err.text, theirs));
        assert_holds(theirs, "theirs");
        assert_int_equal(list_folder(true), 1);
    }
    file_draft a;
    file_draft b;
    assert_true(file_draft_open(&a, path, false, &err));
    assert_true(file_draft_open(&b, other, false, &err));
    assert_true(file_draft_write(&a, "sound", 5, &err));
    assert_true(file_draft_write(&b, "truth", 5, &err));
    assert_true(file_draft_commit_both(&a, &b, &err));
    assert_holds(path, "sound");
    assert_holds(other, "truth");
    assert_int_equal(list_folder(false), 2);
}

static void one_file_is_known_by_any_name(void **state)
{
    (void)state;
    char other[160];
    char hard[160];
    char soft[160];
    (void)snprintf(other, sizeof other, "%s/b.txt", folder);
    (void)snprintf(hard, sizeof hard, "%s/h.txt", folder);
    (void)snprintf(soft, sizeof soft, "%s/s.txt", folder);
    app_err err = APP_ERR_NONE;
    assert_true(file_write(path, "same", 4, false, &err));
    assert_true(file_write(other, "same", 4, false, &err));
    assert_int_equal(link(path, hard), 0);
    assert_int_equal(symlink(path, soft), 0);
    assert_true(file_is_same(path, path));
    assert_true(file_is_same(path, hard));
    assert_true(file_is_same(soft, path));
    assert_false(file_is_same(path, other));
    assert_false(file_is_same(path, "no-such-file"));
    assert_false(file_is_same("no-such-file", "no-such-file"));
}

static bool no_memory;
char *__real_realpath(const char *name, char *out);
char *__wrap_realpath(const char *name, char *out);

char *__wrap_realpath(const char *name, char *out)
{
    if (no_memory) {
        errno = ENOMEM;
        return NULL;
    }
    return __real_realpath(name, out);
}

/* Two names of one recording would be two, where one of them is not followed. */
static bool stop_at_first(void *context, const char *name)
{
    (void)name;
    ++*(int *)context;
    return false;
}

static void what_has_a_name_is_told_apart(void **state)
{
    (void)state;
    app_err err = APP_ERR_NONE;
    char other[160];
    struct stat info;
    int n = 0;
    assert_false(file_is_there(path));
    assert_true(file_remove(path)); /* it is not there */
    assert_true(file_write_private(path, "mine", 4, false, &err));
    assert_int_equal(stat(path, &info), 0);
    assert_int_equal(info.st_mode & 0777, 0600);
    assert_false(file_write_private(path, "again", 5, false, &err));
    assert_int_equal(err.code, APP_USAGE);
    (void)snprintf(other, sizeof other, "%s/link", folder);
    assert_int_equal(symlink(path, other), 0);
    assert_true(file_is_there(other));
    assert_true(file_is_plain(path) && !file_is_plain(other) && !file_is_plain(folder));
    assert_true(file_is_folder(folder) && !file_is_folder(path));
    assert_true(folder_each(folder, stop_at_first, &n, &err));
    assert_int_equal(n, 1); /* of two */
    assert_false(file_remove(folder));
    assert_false(folder_each(path, stop_at_first, &n, &err));
    assert_int_equal(err.code, APP_UNREADABLE);
}

static void a_real_path_is_another_only_where_there_is_no_file(void **state)
{
    (void)state;
    char link[128];
    (void)snprintf(link, sizeof link, "%s/link", folder);
    assert_int_equal(symlink(path, link), 0);
    char *real = file_real_path(link);
    assert_string_equal(real, link); /* it leads nowhere */
    free(real);
    assert_int_equal(close(open(path, O_WRONLY | O_CREAT | O_CLOEXEC, 0600)), 0);
    real = file_real_path(link);
    assert_string_equal(real, path);
    free(real);
    no_memory = true;
    real = file_real_path(link);
    no_memory = false;
    assert_null(real);
}

int main(void)
{
#define EACH(test) cmocka_unit_test_setup_teardown(test, make_folder, remove_folder)
    const struct CMUnitTest tests[] = {
        EACH(a_new_file_appears_whole),
        EACH(an_existing_file_stays_without_force),
        EACH(a_name_taken_meanwhile_is_not_overwritten),
        EACH(two_files_appear_together_or_not_at_all),
        EACH(one_file_is_known_by_any_name),
        EACH(a_dropped_draft_leaves_nothing),
        EACH(a_link_keeps_its_place),
        EACH(folders_and_missing_folders_are_named),
        EACH(a_full_device_is_a_clear_failure),
        EACH(a_write_that_fails_half_way_leaves_nothing),
        EACH(what_has_a_name_is_told_apart),
        EACH(a_real_path_is_another_only_where_there_is_no_file),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
