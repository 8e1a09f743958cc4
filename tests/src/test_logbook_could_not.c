/*
 * Rows of the logbook that could not be counted, and the table that takes them.
 *   Source: the rules in src/port/logbook.h; SQLite's sqlite_sequence (sqlite.org/autoinc.html):
 *           no number of a row that is gone is given again.
 *   Input:  logbooks made here, one by the steps of version 3; an invented learner.
 */
#include "src/logbook/logbook_private.h"

#include "tests/support.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static char path[] = "/tmp/fullminute-could-not-XXXXXX";

static int make_name(void **state)
{
    (void)state;
    memcpy(path + sizeof path - 7, "XXXXXX", 6);
    const int fd = mkstemp(path);
    return fd < 0 || close(fd) != 0 || unlink(path) != 0;
}

static int remove_files(void **state)
{
    static const char *const ENDS[] = {"", "-wal", "-shm"};
    char name[64];
    (void)state;
    for (size_t i = 0; i < sizeof ENDS / sizeof ENDS[0]; i++) {
        (void)snprintf(name, sizeof name, "%s%s", path, ENDS[i]);
        (void)unlink(name);
    }
    return 0;
}

/* Nothing is entered in it yet. */
static entry a_row(void)
{
    entry e = entry_none();
    entry_put(e.learner, sizeof e.learner, "AB");
    e.seconds = 60;
    return e;
}

/* What could not be counted is a row without a number, and of no row with one. */
static void a_count_that_could_not_be_made_is_a_row(void **state)
{
    (void)state;
    app_err err = APP_ERR_NONE;
    logbook *const l = logbook_open(path, true, &err);
    assert_non_null(l);
    entry e = a_row();
    entry back;
    assert_false(logbook_enter(l, &e, &err)); /* nothing at all */
    e.could_not = 1;
    entry_put(e.running, sizeof e.running, "18,,53");
    assert_true(logbook_enter(l, &e, &err));
    assert_true(logbook_get(l, e.number, &back, &err));
    assert_int_equal(back.beats, ENTRY_NO_WHOLE);
    assert_int_equal(back.could_not, 1);
    assert_string_equal(back.running, "18,,53");
    assert_false(logbook_run(l, "UPDATE session SET could_not = NULL", &err));
    e = a_row();
    e.beats = 72;
    e.could_not = 1;
    assert_false(logbook_enter(l, &e, &err));
    assert_false(logbook_run(l,
                             "INSERT INTO session (learner, entered_utc, beats, "
                             "could_not) VALUES ('AB', '2026-01-02T03:04:05Z', 71, 1)",
                             &err));
    logbook_close(l);
}

/* As version 3 had it: a table that asks for a number, and a row gone whose number stays
 * taken. */
static void rows_move_into_the_table_of_today(void **state)
{
    (void)state;
    app_err err = APP_ERR_NONE;
    struct logbook old = {.path = path};
    assert_int_equal(sqlite3_open(path, &old.db), SQLITE_OK);
    for (int version = 0; version < 3; version++) {
        assert_true(logbook_migrate_step(&old, version, &err));
    }
    assert_true(logbook_run(
        &old,
        "PRAGMA application_id = 0x464d6c62;"
        "INSERT INTO learner VALUES ('AB');"
        "INSERT INTO session (number, learner, entered_utc, beats, temperature) VALUES "
        "(7, 'AB', '2026-01-02T03:04:05Z', 71, 37.5), (9, 'AB', "
        "'2026-01-02T03:04:05Z', 72, NULL);"
        "DELETE FROM session WHERE number = 9;",
        &err));
    (void)sqlite3_close(old.db);
    logbook *const l = logbook_open(path, true, &err);
    assert_non_null(l);
    entry e;
    assert_true(logbook_get(l, 7, &e, &err));
    assert_int_equal(e.beats, 71);
    assert_within(e.temperature, 37.5, 1e-9);
    e = a_row();
    e.breath_could_not = 1;
    assert_true(logbook_enter(l, &e, &err));
    assert_int_equal(e.number, 10);
    assert_false(logbook_run(l, "UPDATE session SET beats = 1", &err)); /* sealed */
    assert_int_equal(
        logbook_number(l, "SELECT count(*) FROM sqlite_master WHERE type = 'index' AND "
                          "name LIKE 'session_of_%'"),
        2);
    logbook_close(l);
}

int main(void)
{
#define WITH_A_FILE(test) cmocka_unit_test_setup_teardown(test, make_name, remove_files)
    const struct CMUnitTest tests[] = {
        WITH_A_FILE(a_count_that_could_not_be_made_is_a_row),
        WITH_A_FILE(rows_move_into_the_table_of_today),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
