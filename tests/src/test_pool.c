/*
 * Worker processes: a file that breaks its worker, hangs, lies or changes costs its own
 * row alone.
 */
#include "tests/support.h"

#include "src/batch/pool.h"

#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

enum {
    FILES = 40,
    ROWS_MAX = 4
};

static char folder[64];

/* What the calling side has heard of each file. */
struct heard {
    int next;
    bytes rows[FILES];
    int done[FILES];
    bool error[FILES];
    bool same[FILES];
    bool settled[FILES];
    const char *names[FILES];
    int n;
    digest expected; /* for files called same* */
};

static int make_folder(void **state)
{
    (void)state;
    (void)snprintf(folder, sizeof folder, "/tmp/fullminute-pool-XXXXXX");
    return mkdtemp(folder) != NULL ? 0 : -1;
}

static int remove_folder(void **state)
{
    (void)state;
    char command[128];
    (void)snprintf(command, sizeof command, "rm -rf '%s'", folder);
    return system(command); /* NOLINT(cert-env33-c,concurrency-mt-unsafe) */
}

static void path_of(const char *name, char out[128])
{
    (void)snprintf(out, 128, "%s/%s", folder, name);
}

static void append(const char *path, const char *text)
{
    FILE *const file = fopen(path, "a");
    if (file != NULL) {
        (void)fputs(text, file);
        (void)fclose(file);
    }
}

/* ---- The work: what happens follows from the file's name ---- */

static bool starts(const char *path, const char *with)
{
    return strncmp(strrchr(path, '/') + 1, with, strlen(with)) == 0;
}

static pool_verdict work(void *context,
                         const char *path,
                         const pool_emit *emit,
                         app_err *err)
{
    (void)context;
    row r = {{NULL}};
    r.field[ROW_STATUS] = "counted";
    r.field[ROW_BEATS] = "72";
    (void)emit->row(emit->context, &r);
    if (starts(path, "crash")) {
        (void)signal(SIGSEGV, SIG_DFL); /* cmocka's own catch is in the way */
        (void)raise(SIGSEGV);
    } else if (starts(path, "kill")) {
        (void)raise(SIGKILL);
    } else if (starts(path, "leave")) {
        _exit(0);
    } else if (starts(path, "hang")) {
        (void)pause();
    } else if (starts(path, "many")) {
        (void)emit->row(emit->context, &r);
    } else if (starts(path, "grow")) {
        append(path, "x");
    } else if (starts(path, "vanish")) {
        (void)unlink(path);
    } else if (starts(path, "bad")) {
        (void)app_err_set(err, APP_UNREADABLE, "it is no sound");
        return POOL_ERROR;
    } else if (starts(path, "stop")) {
        (void)app_err_set(err, APP_FAILED, "the disk is full");
        return POOL_STOP;
    }
    return POOL_FINE;
}

/* ---- The hooks ---- */

static int next_job(void *context, ledger_job *out, app_err *err)
{
    struct heard *const h = context;
    (void)err;
    if (h->next == h->n) {
        return 0;
    }
    char path[128];
    path_of(h->names[h->next], path);
    *out = (ledger_job){.number = h->next, .path = strdup(path)};
    if (starts(path, "same")) {
        out->expected = true;
        out->digest = h->expected;
    }
    h->next++;
    return 1;
}

static bool rows(
    void *context, const ledger_job *job, const char *text, size_t n, app_err *err)
{
    struct heard *const h = context;
    (void)err;
    bytes_add(&h->rows[job->number], text, n);
    return true;
}

static bool restart(void *context, const ledger_job *job, app_err *err)
{
    struct heard *const h = context;
    (void)err;
    bytes_clear(&h->rows[job->number]);
    return true;
}

static bool done(void *context,
                 const ledger_job *job,
                 const wire_outcome *o,
                 app_err *err)
{
    struct heard *const h = context;
    (void)err;
    h->done[job->number]++;
    h->error[job->number] = o->error;
    h->same[job->number] = o->same;
    h->settled[job->number] = o->settled;
    return true;
}

static bool tick(void *context, app_err *err)
{
    (void)context;
    (void)err;
    return true;
}

static bool go(struct heard *h, int workers, app_err *err)
{
    const pool_config config = {
        .workers = workers, .time_limit_s = 0.5, .beside = true, .work = work};
    const pool_hooks hooks = {.context = h,
                              .next = next_job,
                              .rows = rows,
                              .restart = restart,
                              .done = done,
                              .tick = tick};
    return pool_run(&config, &hooks, err);
}

static void add_file(struct heard *h, const char *name)
{
    char path[128];
    path_of(name, path);
    append(path, "abc");
    h->names[h->n++] = name;
}

static void release(struct heard *h)
{
    for (int i = 0; i < FILES; i++) {
        bytes_free(&h->rows[i]);
    }
}

static bool says(const struct heard *h, int i, const char *words)
{
    return h->rows[i].n > 0 && strstr(h->rows[i].data, words) != NULL;
}

static int count_lines(const bytes *b)
{
    int n = 0;
    for (size_t i = 0; i < b->n; i++) {
        n += b->data[i] == '\n';
    }
    return n;
}

/* ---- Tests ---- */

static void each_trouble_costs_its_own_row(void **state)
{
    (void)state;
    static const struct {
        const char *name;
        const char *code; /* NULL: counted */
        bool settled;
    } CASES[] = {
        {"fine1", NULL, true},
        {"crash", ",error,crash,", false},
        {"fine2", NULL, true},
        {"hang", ",error,time_limit,", false},
        {"kill", ",error,crash,", false},
        {"leave", ",error,crash,", false},
        {"many", NULL, true},
        {"grow", ",error,changed,", false},
        {"vanish", ",error,unreadable,", false},
        {"bad", ",error,unreadable,", true},
        {"fine3", NULL, true},
    };
    enum {
        N = sizeof CASES / sizeof *CASES
    };
    for (int workers = 1; workers <= 3; workers += 2) {
        struct heard h = {0};
        app_err err = APP_ERR_NONE;
        for (int i = 0; i < N; i++) {
            add_file(&h, CASES[i].name);
        }
        assert_true(go(&h, workers, &err));
        assert_string_equal(err.text, "");
        for (int i = 0; i < N; i++) {
            assert_int_equal(h.done[i], 1);
            assert_int_equal(h.error[i], CASES[i].code != NULL);
            assert_int_equal(h.settled[i], CASES[i].settled);
            assert_true(
                says(&h, i, CASES[i].code != NULL ? CASES[i].code : ",counted,"));
            assert_int_equal(count_lines(&h.rows[i]),
                             strcmp(CASES[i].name, "many") == 0 ? 2 : 1);
        }
        release(&h);
    }
}

static void what_is_no_file_is_not_opened(void **state)
{
    (void)state;
    struct heard h = {0};
    app_err err = APP_ERR_NONE;
    char path[128];
    char other[128];
    path_of("pipe", path);
    assert_int_equal(mkfifo(path, 0600), 0);
    path_of("loop", path);
    assert_int_equal(symlink(path, path), 0);
    path_of("folder", other);
    assert_int_equal(mkdir(other, 0700), 0);
    path_of("link", path);
    assert_int_equal(symlink(other, path), 0);
    h.names[h.n++] = "pipe";
    h.names[h.n++] = "loop";
    h.names[h.n++] = "link";
    h.names[h.n++] = "gone";
    assert_true(go(&h, 2, &err));
    assert_true(says(&h, 0, ",error,not_a_file,") && says(&h, 0, "a named pipe"));
    assert_true(says(&h, 1, ",error,unreadable,"));
    assert_true(says(&h, 2, ",error,not_a_file,") && says(&h, 2, "a link to a folder"));
    assert_true(says(&h, 3, ",error,unreadable,"));
    release(&h);
}

/* BLAKE2b-256 of "abc", as Python's hashlib.blake2b(b"abc", digest_size=32) gives it. */
static void the_digest_is_blake2b(void **state)
{
    (void)state;
    char path[128];
    char text[DIGEST_TEXT_BYTES];
    path_of("digest", path);
    append(path, "abc");
    digest d;
    assert_int_equal(digest_of_path(path, NULL, NULL, &d), 0);
    assert_string_equal(
        digest_format(&d, text),
        "bddd813c634239723171ef3fee98579b94964e3bb1cb3e427262c8c068d52319");
}

static void a_file_of_the_expected_bytes_is_not_done_again(void **state)
{
    (void)state;
    struct heard h = {0};
    app_err err = APP_ERR_NONE;
    digest_stream *const stream = digest_start();
    digest_push(stream, "abc", 3);
    h.expected = digest_finish(stream);
    add_file(&h, "same1");
    add_file(&h, "same2");
    char path[128];
    path_of("same2", path);
    append(path, "d");
    assert_true(go(&h, 2, &err));
    assert_true(h.same[0] && h.rows[0].n == 0);
    assert_true(!h.same[1] && says(&h, 1, ",counted,"));
    release(&h);
}

static void a_stop_ends_the_run_and_says_why(void **state)
{
    (void)state;
    struct heard h = {0};
    app_err err = APP_ERR_NONE;
    add_file(&h, "fine1");
    add_file(&h, "stop");
    add_file(&h, "fine2");
    assert_false(go(&h, 2, &err));
    assert_int_equal(err.code, APP_FAILED);
    assert_string_equal(err.text, "the disk is full");
    release(&h);
    /* No worker is left. */
    assert_int_equal(waitpid(-1, NULL, WNOHANG), -1);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(each_trouble_costs_its_own_row),
        cmocka_unit_test(what_is_no_file_is_not_opened),
        cmocka_unit_test(the_digest_is_blake2b),
        cmocka_unit_test(a_file_of_the_expected_bytes_is_not_done_again),
        cmocka_unit_test(a_stop_ends_the_run_and_says_why),
    };
    return cmocka_run_group_tests(tests, make_folder, remove_folder);
}
