/*
 * Every allocation of SQLite that can fail, in turn: what is then said to be stored is stored
 * whole, and no file of a batch is left out in silence.
 *   Source: sqlite3_config (sqlite.org/c3ref/c_config_malloc.html): SQLITE_CONFIG_MALLOC puts
 *           another allocator in; without lookaside every allocation of SQLite comes to it.
 *   Input:  a ledger of two files, a logbook of one row, made here.
 */
#include "src/batch/ledger.h"
#include "src/logbook/logbook_private.h"

#include "tests/support.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

enum {
    NEVER = -1
};

static sqlite3_mem_methods plain;
static int fails_at = NEVER, calls;

static bool fails(void)
{
    return calls++ == fails_at;
}

static void *take(int n)
{
    return fails() ? NULL : plain.xMalloc(n);
}

static void *take_more(void *p, int n)
{
    return fails() ? NULL : plain.xRealloc(p, n);
}

static int put_allocator(void **state)
{
    (void)state;
    (void)sqlite3_shutdown();
    if (sqlite3_config(SQLITE_CONFIG_LOOKASIDE, 0, 0) != SQLITE_OK ||
        sqlite3_config(SQLITE_CONFIG_GETMALLOC, &plain) != SQLITE_OK) {
        return -1;
    }
    sqlite3_mem_methods mine = plain;
    mine.xMalloc = take;
    mine.xRealloc = take_more;
    return sqlite3_config(SQLITE_CONFIG_MALLOC, &mine);
}

static void begin_failing(int at, app_err *err)
{
    *err = (app_err)APP_ERR_NONE;
    calls = 0;
    fails_at = at;
}

/* True: it was no longer reached, so that every one before it has been tried. */
static bool end_failing(void)
{
    const bool last = calls <= fails_at;
    fails_at = NEVER;
    return last;
}

/* Whether every step says it is done; `seen` gets the paths that were given out. */
static bool plan_two(char seen[64], app_err *err)
{
    const ledger_setting setting = {.engine = "1", .build = "b", .options = "{}"};
    ledger_list list;
    ledger_plan plan;
    ledger_job job;
    seen[0] = '\0';
    ledger *const l = ledger_open("", &setting, err);
    bool ok = l != NULL && ledger_list_add(l, "/r/a.wav", 3, err) &&
              ledger_list_add(l, "/r/b.wav", 3, err) &&
              ledger_list_seal(l, 1, 1, &list, err) && ledger_make_plan(l, &plan, err);
    int more = ok ? 1 : -1;
    while (ok && (more = ledger_next(l, &job, err)) == 1) {
        (void)strncat(seen, job.path, 62 - strlen(seen));
        (void)strncat(seen, " ", 63 - strlen(seen));
        free(job.path);
    }
    ledger_close(l);
    return ok && more == 0;
}

static void no_file_is_left_out_of_a_batch(void **state)
{
    (void)state;
    app_err err;
    int done = 0;
    int refused = 0;
    for (int at = 0, last = 0; !last; at++) {
        char seen[64];
        begin_failing(at, &err);
        const bool ok = plan_two(seen, &err);
        last = end_failing();
        if (ok ? strcmp(seen, "/r/a.wav /r/b.wav ") != 0 : err.text[0] == '\0') {
            fail_msg("allocation %d: %s, '%s', '%s'", at, ok ? "done" : "an error",
                     seen, err.text);
        }
        done += ok;
        refused += !ok;
    }
    assert_true(done >= 1 && refused > 100);
}

static void what_is_entered_is_whole(void **state)
{
    (void)state;
    app_err err = APP_ERR_NONE;
    char folder[] = "/tmp/fullminute-memory-XXXXXX";
    char path[128];
    (void)snprintf(path, sizeof path, "%s/l.sqlite", mkdtemp(folder));
    logbook *const l = logbook_open(path, true, &err);
    assert_non_null(l);
    int refused = 0;
    for (int at = 0, last = 0; !last; at++) {
        entry e = entry_none();
        entry_put(e.learner, sizeof e.learner, "AB");
        entry_put(e.recording, sizeof e.recording, "/r/one.wav");
        entry_put(e.context, sizeof e.context, "at rest");
        e.beats = 72;
        e.seconds = 60;
        begin_failing(at, &err);
        const bool ok = logbook_enter(l, &e, &err);
        last = end_failing();
        refused += !ok;
        assert_true(ok == (err.text[0] == '\0'));
        entry back = entry_none();
        if (ok) {
            assert_true(logbook_get(l, e.number, &back, &err));
            assert_string_equal(back.recording, "/r/one.wav");
            assert_string_equal(back.context, "at rest");
            assert_int_equal(back.beats, 72);
        }
    }
    assert_true(refused > 10);
    logbook_close(l);
    (void)unlink(path);
    assert_int_equal(rmdir(folder), 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(no_file_is_left_out_of_a_batch),
        cmocka_unit_test(what_is_entered_is_whole),
    };
    return cmocka_run_group_tests(tests, put_allocator, NULL);
}
