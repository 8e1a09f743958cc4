/*
 * The ledger: what stands, what is done again, and in which order rows come out.
 */
#include "tests/support.h"

#include "src/batch/ledger.h"

#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

static char folder[64];
static char file[128];

static int make_folder(void **state)
{
    (void)state;
    (void)snprintf(folder, sizeof folder, "/tmp/fullminute-ledger-XXXXXX");
    if (mkdtemp(folder) == NULL) {
        return -1;
    }
    (void)snprintf(file, sizeof file, "%s/l", folder);
    return 0;
}

static int remove_folder(void **state)
{
    (void)state;
    char command[128];
    (void)snprintf(command, sizeof command, "rm -rf '%s'", folder);
    return system(command); /* NOLINT(cert-env33-c,concurrency-mt-unsafe) */
}

static ledger *open_as(const char *engine, const char *options)
{
    app_err err = APP_ERR_NONE;
    const ledger_setting setting = {
        .engine = engine, .build = "b", .options = options, .beside = true};
    ledger *const l = ledger_open(file, &setting, &err);
    assert_string_equal(err.text, "");
    return l;
}

/* A file of such bytes, last written at a time. */
static void put(const char *path, const char *text, time_t when)
{
    FILE *const f = fopen(path, "w");
    assert_non_null(f);
    (void)fputs(text, f);
    (void)fclose(f);
    const struct timespec times[2] = {{when, 0}, {when, 0}};
    assert_int_equal(utimensat(AT_FDCWD, path, times, 0), 0);
}

static ledger_plan plan(ledger *l, const char *const *paths, int n)
{
    app_err err = APP_ERR_NONE;
    ledger_list list;
    ledger_plan out;
    for (int i = 0; i < n; i++) {
        assert_true(ledger_list_add(l, paths[i], 3, &err));
    }
    assert_true(ledger_list_seal(l, 1, 1, &list, &err));
    assert_true(ledger_make_plan(l, &out, &err));
    return out;
}

static void do_next(ledger *l, const char *text)
{
    app_err err = APP_ERR_NONE;
    ledger_job job;
    assert_int_equal(ledger_next(l, &job, &err), 1);
    identity i = identity_look(job.path, true);
    i.digested = true;
    assert_true(ledger_add_rows(l, &job, text, strlen(text), &err));
    assert_true(ledger_finish(l, &job, &i, false, true, &err));
    free(job.path);
}

static bool gather(void *context, char *text, size_t n, app_err *err)
{
    (void)err;
    bytes_add(context, text, n);
    return true;
}

static void assert_rows(ledger *l, const char *expected)
{
    app_err err = APP_ERR_NONE;
    bytes b = BYTES_NONE;
    assert_true(ledger_each(l, gather, &b, &err));
    assert_string_equal(b.data, expected);
    bytes_free(&b);
}

static void what_was_committed_stands_when_opened_again(void **state)
{
    (void)state;
    char a[128];
    char b[128];
    (void)snprintf(a, sizeof a, "%s/a", folder);
    (void)snprintf(b, sizeof b, "%s/b", folder);
    const char *const both[] = {b, a, b};
    put(a, "one", 1000000);
    put(b, "two", 1000000);
    app_err err = APP_ERR_NONE;

    ledger *l = open_as("1", "{}");
    assert_int_equal(plan(l, both, 3).files, 2); /* named twice, done once */
    do_next(l, "row of a\n");
    assert_true(ledger_commit(l, &err));
    do_next(l, "row of b\n"); /* not committed: lost with the run */
    ledger_close(l);

    l = open_as("1", "{}");
    ledger_plan p = plan(l, both, 2);
    assert_int_equal(p.kept, 1);
    assert_int_equal(p.files, 1);
    bytes none = BYTES_NONE;
    assert_false(ledger_each(l, gather, &none, &err)); /* b has no rows */
    bytes_free(&none);
    do_next(l, "row of b\n");
    assert_rows(l, "row of a\nrow of b\n");
    assert_true(ledger_commit(l, &err));
    ledger_close(l);

    /* Another engine, other options: everything is done again. */
    l = open_as("2", "{}");
    assert_int_equal(plan(l, both, 2).files, 2);
    ledger_close(l);
    l = open_as("1", "{\"every\": true}");
    assert_int_equal(plan(l, both, 2).files, 2);
    ledger_close(l);

    /* Another size: again. Another time: a look at the bytes. A sitting beside: again. */
    put(b, "three", 1000000);
    l = open_as("1", "{}");
    p = plan(l, both, 2);
    assert_int_equal(p.kept, 1);
    ledger_close(l);
    put(b, "two", 2000000);
    l = open_as("1", "{}");
    ledger_job job;
    p = plan(l, both, 2);
    assert_int_equal(p.files, 1);
    assert_int_equal(ledger_next(l, &job, &err), 1);
    assert_true(job.expected);
    free(job.path);
    ledger_close(l);
    char beside[160];
    (void)snprintf(beside, sizeof beside, "%s.sitting.json", a);
    put(beside, "{}", 1000000);
    l = open_as("1", "{}");
    assert_int_equal(plan(l, both, 2).kept, 0);
    ledger_close(l);
}

/* A file written within the same moment as it was looked at may have changed since
 * without a new time: its bytes are looked at. */
static void a_file_not_at_rest_is_looked_at_again(void **state)
{
    (void)state;
    char c[128];
    (void)snprintf(c, sizeof c, "%s/c", folder);
    const char *const one[] = {c};
    app_err err = APP_ERR_NONE;
    put(c, "now", time(NULL));
    ledger *l = open_as("rest", "{}");
    (void)plan(l, one, 1);
    do_next(l, "row\n");
    assert_true(ledger_commit(l, &err));
    ledger_close(l);
    l = open_as("rest", "{}");
    ledger_job job;
    assert_int_equal(plan(l, one, 1).kept, 0);
    assert_int_equal(ledger_next(l, &job, &err), 1);
    assert_true(job.expected);
    free(job.path);
    ledger_close(l);
}

static void one_run_at_a_time_holds_it(void **state)
{
    (void)state;
    ledger *const l = open_as("1", "{}");
    app_err err = APP_ERR_NONE;
    const ledger_setting setting = {.engine = "1", .build = "b", .options = "{}"};
    /* Locks are between processes. */
    int pipes[2];
    assert_int_equal(pipe(pipes), 0);
    const pid_t child = fork();
    if (child == 0) {
        ledger *const second = ledger_open(file, &setting, &err);
        (void)!write(pipes[1], &err, sizeof err);
        _exit(second != NULL);
    }
    assert_int_equal(read(pipes[0], &err, sizeof err), (ssize_t)sizeof err);
    assert_int_equal(err.code, APP_USAGE);
    assert_non_null(strstr(err.text, "in use"));
    (void)close(pipes[0]);
    (void)close(pipes[1]);
    ledger_close(l);
}

static void what_is_no_ledger_is_left_alone(void **state)
{
    (void)state;
    char other[128];
    (void)snprintf(other, sizeof other, "%s/other", folder);
    put(other,
        "this is a letter, and a long one too, longer than a hundred bytes, so "
        "that it could pass for a database by its length alone",
        1000000);
    app_err err = APP_ERR_NONE;
    const ledger_setting setting = {.engine = "1", .build = "b", .options = "{}"};
    assert_null(ledger_open(other, &setting, &err));
    assert_int_equal(err.code, APP_UNREADABLE);
    struct stat info;
    assert_int_equal(stat(other, &info), 0);
    assert_int_equal(info.st_mtime, 1000000);
}

/* Every file is in exactly one shard, whatever else is on the list, and shards are even:
 * of 4000 files each of 8 has 500, give or take 5 standard deviations of a fair die. */
static void shards_part_the_list(void **state)
{
    (void)state;
    enum {
        FILES = 4000,
        OF = 8
    };
    int64_t sum = 0;
    digest first = {{0}};
    for (int index = 1; index <= OF; index++) {
        app_err err = APP_ERR_NONE;
        const ledger_setting setting = {.engine = "1", .build = "b", .options = "{}"};
        ledger *const l = ledger_open("", &setting, &err);
        assert_non_null(l);
        for (int i = 0; i < FILES; i++) {
            char path[32];
            (void)snprintf(path, sizeof path, "d/%05d.wav", i * 7919 % FILES);
            assert_true(ledger_list_add(l, path, 0, &err));
        }
        ledger_list list;
        assert_true(ledger_list_seal(l, index, OF, &list, &err));
        assert_int_equal(list.files, FILES);
        assert_within((double)list.mine, 500.0, 5.0 * 20.9);
        first = index == 1 ? list.digest : first;
        assert_memory_equal(&first, &list.digest, sizeof first);
        sum += list.mine;
        ledger_close(l);
    }
    assert_int_equal(sum, FILES);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(what_was_committed_stands_when_opened_again),
        cmocka_unit_test(a_file_not_at_rest_is_looked_at_again),
        cmocka_unit_test(one_run_at_a_time_holds_it),
        cmocka_unit_test(what_is_no_ledger_is_left_alone),
        cmocka_unit_test(shards_part_the_list),
    };
    return cmocka_run_group_tests(tests, make_folder, remove_folder);
}
