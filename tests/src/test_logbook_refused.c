/*
 * Whatever SQLite refuses, of every call of the logbook: an error that says so, and never a
 * success; what is refused within a row leaves the rows as they were.
 *   Source: sqlite3_set_authorizer (sqlite.org/c3ref/set_authorizer.html): called for every
 *           action of every statement that is compiled; SQLITE_DENY fails the statement.
 *   Input:  a logbook of two rows, made here; the Nth action is denied, for every N.
 */
#include "src/logbook/logbook_private.h"

#include "tests/support.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

enum {
    NEVER = -1
};

static char folder[] = "/tmp/fullminute-refused-XXXXXX";
static char path[128];
static int denied_at, asked;

static int authorize(void *context,
                     int action,
                     const char *a,
                     const char *b,
                     const char *database,
                     const char *inner)
{
    (void)context;
    (void)action;
    (void)a;
    (void)b;
    (void)database;
    (void)inner;
    return asked++ == denied_at ? SQLITE_DENY : SQLITE_OK;
}

static entry one_count(int beats)
{
    entry e = entry_none();
    entry_put(e.learner, sizeof e.learner, "AB");
    entry_put(e.recording, sizeof e.recording, "/r/one.wav");
    e.beats = beats;
    e.seconds = 60;
    return e;
}

static int rows_of(logbook *l)
{
    return logbook_number(l, "SELECT count(*) FROM session");
}

/* ---- The calls ---- */

static bool enter(logbook *l, app_err *err)
{
    entry e = one_count(72);
    return logbook_enter(l, &e, err);
}

static bool count(logbook *l, app_err *err)
{
    entry e = entry_none();
    e.number = 2;
    entry_put(e.device_status, sizeof e.device_status, "counted");
    return logbook_count(l, &e, err);
}

static bool add(logbook *l, app_err *err)
{
    entry e = entry_none();
    return logbook_get(l, 1, &e, err) && logbook_add(l, &e, err);
}

static bool get(logbook *l, app_err *err)
{
    entry e = entry_none();
    return logbook_get(l, 1, &e, err);
}

static bool set_goal(logbook *l, app_err *err)
{
    logbook_goal g = {.in_a_row = 3, .within_per_min = 4.0};
    entry_put(g.learner, sizeof g.learner, "AB");
    return logbook_set_goal(l, &g, err);
}

static bool get_goal(logbook *l, app_err *err)
{
    logbook_goal g;
    return logbook_get_goal(l, "AB", &g, err);
}

static bool forget(logbook *l, app_err *err)
{
    int rows = 0;
    return logbook_forget(l, "AB", &rows, err);
}

static const struct {
    const char *name;
    bool (*call)(logbook *l, app_err *err);
    int more; /* rows that it adds */
} CALLS[] = {{"get", get, 0},           {"enter", enter, 1},       {"add", add, 0},
             {"set_goal", set_goal, 0}, {"get_goal", get_goal, 0}, {"count", count, 0},
             {"forget", forget, 0}};

static logbook *with_two_rows(void)
{
    app_err err = APP_ERR_NONE;
    logbook *const l = logbook_open(path, true, &err);
    assert_non_null(l);
    for (int i = 0; i < 2; i++) {
        entry e = one_count(70 + i);
        assert_true(logbook_enter(l, &e, &err));
    }
    return l;
}

static void what_is_refused_is_an_error(void **state)
{
    (void)state;
    logbook *const l = with_two_rows();
    for (size_t c = 0; c < sizeof CALLS / sizeof CALLS[0]; c++) {
        const int before = rows_of(l);
        bool done = false;
        for (denied_at = 0; !done; denied_at++) {
            app_err err = APP_ERR_NONE;
            /* One whose disk was not cleared is forgotten all the same. */
            assert_true(CALLS[c].call != forget || enter(l, &err));
            asked = 0;
            (void)sqlite3_set_authorizer(l->db, authorize, NULL);
            const bool ok = CALLS[c].call(l, &err);
            (void)sqlite3_set_authorizer(l->db, NULL, NULL);
            done = asked <= denied_at;
            if (ok != done || ok != (err.text[0] == '\0')) {
                fail_msg("%s, action %d: %d '%s'", CALLS[c].name, denied_at, ok,
                         err.text);
            }
            if (CALLS[c].call != forget) {
                assert_int_equal(rows_of(l), before + (ok ? CALLS[c].more : 0));
            }
        }
        assert_true(denied_at > 2);
    }
    assert_int_equal(rows_of(l), 0); /* forgotten at last */
    logbook_close(l);
}

/* Every database that is opened from now on has the authorizer from its first statement. */
static int watch(sqlite3 *db, char **problem, const void *routines)
{
    (void)problem;
    (void)routines;
    return sqlite3_set_authorizer(db, authorize, NULL);
}

static logbook *open_denied(int at, app_err *err)
{
    *err = (app_err)APP_ERR_NONE;
    asked = 0;
    denied_at = at;
    (void)sqlite3_auto_extension((void (*)(void))watch);
    logbook *const l = logbook_open(path, false, err);
    sqlite3_reset_auto_extension();
    denied_at = NEVER;
    return l;
}

/* Neither 'of another program' nor set aside: what could not be read is not judged. */
static void what_cannot_be_read_is_not_taken_for_another_file(void **state)
{
    (void)state;
    app_err err = APP_ERR_NONE;
    logbook_close(with_two_rows());
    bool done = false;
    for (int at = 0; !done; at++) {
        logbook *l = open_denied(at, &err);
        done = asked <= at;
        if (strstr(err.text, "another program") != NULL ||
            (l == NULL) == (err.text[0] == '\0')) {
            fail_msg("action %d: '%s'", at, err.text);
        }
        assert_true(l != NULL || !done);
        assert_true(l == NULL || logbook_note(l) == NULL);
        logbook_close(l);
    }
    logbook *const l = logbook_open(path, false, &err);
    assert_int_equal(rows_of(l), 2);
    logbook_close(l);
}

/* And nothing is written into a file of which it is not known whose it is. */
static void a_file_of_another_stays_another_s(void **state)
{
    (void)state;
    app_err err = APP_ERR_NONE;
    sqlite3 *db = NULL;
    assert_int_equal(sqlite3_open(path, &db), SQLITE_OK);
    assert_int_equal(sqlite3_exec(db, "CREATE TABLE t (x)", NULL, NULL, NULL),
                     SQLITE_OK);
    (void)sqlite3_close(db);
    bool done = false;
    for (int at = 0; !done; at++) {
        assert_null(open_denied(at, &err));
        done = asked <= at;
    }
    assert_non_null(strstr(err.text, "another program"));
    assert_int_equal(sqlite3_open(path, &db), SQLITE_OK);
    logbook l = {.db = db};
    assert_int_equal(logbook_number(&l, "SELECT count(*) FROM sqlite_master"), 1);
    (void)sqlite3_close(db);
}

static int make_folder(void **state)
{
    (void)state;
    memcpy(folder + sizeof folder - 7, "XXXXXX", 6);
    return snprintf(path, sizeof path, "%s/l.sqlite", mkdtemp(folder)) > 0 ? 0 : -1;
}

static int remove_folder(void **state)
{
    (void)state;
    (void)unlink(path);
    return rmdir(folder);
}

int main(void)
{
#define IN_FOLDER(test)                                                                \
    cmocka_unit_test_setup_teardown(test, make_folder, remove_folder)
    const struct CMUnitTest tests[] = {
        IN_FOLDER(what_is_refused_is_an_error),
        IN_FOLDER(what_cannot_be_read_is_not_taken_for_another_file),
        IN_FOLDER(a_file_of_another_stays_another_s),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
