/*
 * The logbook's file: sealed rows, migrations, damage, forgetting.
 *   Source: the rules in src/port/logbook.h; SQLite's file format (sqlite.org), whose
 *           first 16 bytes name it.
 *   Input:  files written here, in a temporary folder; invented learners.
 */
#include "src/logbook/logbook_private.h"

#include "tests/support.h"

#include <dirent.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/wait.h>
#include <unistd.h>

static char folder[] = "/tmp/fullminute-logbook-XXXXXX";
static char path[128];

static int make_folder(void **state)
{
    (void)state;
    memcpy(folder + sizeof folder - 7, "XXXXXX", 6);
    (void)snprintf(path, sizeof path, "%s/l.sqlite", mkdtemp(folder));
    return 0;
}

static int empty_folder(void **state)
{
    char name[512];
    DIR *const d = opendir(folder);
    (void)state;
    for (struct dirent *e = readdir(d); e != NULL; e = readdir(d)) {
        (void)snprintf(name, sizeof name, "%s/%s", folder, e->d_name);
        (void)unlink(name);
    }
    (void)closedir(d);
    return rmdir(folder);
}

static logbook *open_it(void)
{
    app_err err = APP_ERR_NONE;
    logbook *const l = logbook_open(path, true, &err);
    assert_string_equal(err.text, "");
    assert_non_null(l);
    return l;
}

static entry count_of(const char *learner, int beats)
{
    entry e = entry_none();
    entry_put(e.learner, sizeof e.learner, learner);
    entry_put(e.recording, sizeof e.recording, "/r/one.wav");
    e.beats = beats;
    e.seconds = 60;
    return e;
}

static int64_t store(logbook *l, const char *learner, int beats)
{
    app_err err = APP_ERR_NONE;
    entry e = count_of(learner, beats);
    assert_true(logbook_enter(l, &e, &err));
    return e.number;
}

static void a_row_comes_back_as_it_went_in(void **state)
{
    (void)state;
    app_err err = APP_ERR_NONE;
    logbook *const l = open_it();
    entry e = count_of("AB", 72);
    entry_put(e.posture, sizeof e.posture, "sitting");
    e.age_months = 250.5;
    assert_true(logbook_enter(l, &e, &err));
    assert_true(entry_is_utc(e.entered_utc));
    e.reference_per_min = 71.25;
    e.difference_per_min = 0.75;
    entry_put(e.verdict, sizeof e.verdict, "agrees");
    assert_true(logbook_count(l, &e, &err));
    entry got;
    assert_true(logbook_get(l, e.number, &got, &err));
    char a[ENTRY_SHOWN_BYTES];
    char b[ENTRY_SHOWN_BYTES];
    for (size_t i = 0; i < entry_n_fields(); i++) {
        assert_string_equal(entry_show(&e, &ENTRY_FIELD[i], a),
                            entry_show(&got, &ENTRY_FIELD[i], b));
    }
    assert_int_equal(got.attempt, 1);
    assert_true(isnan(got.deficit_per_min));
    assert_int_equal(got.breaths, ENTRY_NO_WHOLE);
    logbook_close(l);
}

/* Not even by hand: the triggers refuse it, whoever writes. */
static void what_was_entered_cannot_change(void **state)
{
    (void)state;
    app_err err = APP_ERR_NONE;
    logbook *const l = open_it();
    entry e = count_of("AB", 68);
    assert_true(logbook_enter(l, &e, &err));
    assert_false(logbook_run(l, "UPDATE session SET beats = 72", &err));
    assert_non_null(strstr(err.text, "sealed"));
    assert_false(logbook_run(l, "UPDATE session SET rhythm = 'regular'", &err));
    assert_true(logbook_count(l, &e, &err));
    assert_false(logbook_run(l, "UPDATE session SET beats = 72", &err));
    entry got;
    assert_true(logbook_get(l, e.number, &got, &err));
    assert_int_equal(got.beats, 68);
    logbook_close(l);
}

static void the_second_count_is_added_once(void **state)
{
    (void)state;
    app_err err = APP_ERR_NONE;
    logbook *const l = open_it();
    entry e = count_of("AB", 68);
    assert_true(logbook_enter(l, &e, &err));
    e.reference_per_min = 70.0;
    assert_true(logbook_count(l, &e, &err));
    e.reference_per_min = 68.0;
    e.counted_utc[0] = '\0';
    assert_false(logbook_count(l, &e, &err));
    assert_int_equal(err.code, APP_USAGE);
    entry got;
    assert_true(logbook_get(l, e.number, &got, &err));
    assert_within(got.reference_per_min, 70.0, 1e-12);
    assert_true(strcmp(got.entered_utc, got.counted_utc) <= 0);
    logbook_close(l);
}

static void a_second_attempt_is_a_new_row(void **state)
{
    (void)state;
    app_err err = APP_ERR_NONE;
    logbook *const l = open_it();
    entry e;
    const int64_t never_counted = store(l, "AB", 66); /* its sound was not analysed */
    const int64_t first = store(l, "AB", 60);
    assert_true(logbook_get(l, first, &e, &err) && logbook_count(l, &e, &err));
    const int64_t second = store(l, "AB", 72);
    const int64_t other = store(l, "CD", 72);
    assert_true(first != second);
    assert_true(logbook_get(l, never_counted, &e, &err));
    assert_int_equal(e.attempt, 1);
    assert_true(logbook_get(l, first, &e, &err));
    assert_int_equal(e.attempt, 1);
    assert_true(logbook_get(l, second, &e, &err));
    assert_int_equal(e.attempt, 2);
    assert_true(logbook_get(l, other, &e, &err));
    assert_int_equal(e.attempt, 1);
    logbook_close(l);
}

static int refuse_commit(void *context)
{
    return *(const int *)context;
}

/* A commit that fails, as on a full disk: SQLite's commit hook turns it into a rollback.
 * The row has no number then, nor an attempt, and the cause is said. */
static void a_row_has_its_number_once_it_is_committed(void **state)
{
    (void)state;
    app_err err = APP_ERR_NONE;
    logbook *const l = open_it();
    int refused = 1;
    (void)sqlite3_commit_hook(l->db, refuse_commit, &refused);
    entry e = count_of("AB", 70);
    assert_false(logbook_enter(l, &e, &err));
    assert_int_equal(e.number, 0);
    assert_int_equal(e.attempt, ENTRY_NO_WHOLE);
    assert_non_null(strstr(err.text, "not stored"));
    refused = 0;
    err = (app_err)APP_ERR_NONE;
    assert_true(logbook_enter(l, &e, &err));
    assert_int_equal(e.number, 1);
    assert_int_equal(e.attempt, 1);
    logbook_close(l);
}

static void nothing_entered_is_no_row(void **state)
{
    (void)state;
    app_err err = APP_ERR_NONE;
    logbook *const l = open_it();
    entry e = count_of("AB", ENTRY_NO_WHOLE);
    assert_false(logbook_enter(l, &e, &err));
    e = count_of("", 70);
    assert_false(logbook_enter(l, &e, &err));
    assert_int_equal(err.code, APP_USAGE);
    assert_false(logbook_get(l, 1, &e, &err));
    logbook_close(l);
}

/* A logbook of version 1, made by its own step, becomes one of this version. */
static void an_older_logbook_is_brought_up(void **state)
{
    (void)state;
    app_err err = APP_ERR_NONE;
    struct logbook old = {.path = path};
    assert_int_equal(sqlite3_open(path, &old.db), SQLITE_OK);
    assert_true(logbook_migrate_step(&old, 0, &err));
    /* what later versions added to it */
    assert_true(
        logbook_run(&old,
                    "DROP TRIGGER counted_once;" /* as it was then */
                    "ALTER TABLE session DROP COLUMN sound_blake2b;"
                    "ALTER TABLE session DROP COLUMN device_breath_pattern;"
                    "ALTER TABLE session DROP COLUMN device_breath_pauses;"
                    "PRAGMA application_id = 0x464d6c62;"
                    "INSERT INTO learner VALUES ('AB');"
                    "INSERT INTO session (learner, entered_utc, beats, seconds) "
                    "VALUES ('AB', '2026-01-02T03:04:05Z', 71, 60)",
                    &err));
    (void)sqlite3_close(old.db);
    logbook *const l = open_it();
    entry e;
    assert_true(logbook_get(l, 1, &e, &err));
    assert_int_equal(e.beats, 71);
    entry_put(e.device_breath_pattern, sizeof e.device_breath_pattern, "with pauses");
    entry_put(e.device_breath_pauses, sizeof e.device_breath_pauses, "27.5-41.5");
    entry_put(e.sound_blake2b, sizeof e.sound_blake2b, "00ff");
    assert_true(logbook_count(l, &e, &err)); /* and sealed from then on */
    e = entry_none();
    assert_true(logbook_get(l, 1, &e, &err));
    assert_string_equal(e.sound_blake2b, "00ff");
    assert_string_equal(e.device_breath_pattern, "with pauses");
    assert_string_equal(e.device_breath_pauses, "27.5-41.5");
    assert_false(logbook_count(l, &e, &err)); /* sealed: counted once */
    e.temperature = 37.0;
    assert_true(logbook_add(l, &e, &err));
    assert_false(logbook_run(l, "UPDATE session SET sound_blake2b = 'x'", &err));
    logbook_goal g = {.in_a_row = 3, .within_per_min = 4.0};
    entry_put(g.learner, sizeof g.learner, "AB");
    assert_true(logbook_set_goal(l, &g, &err));
    assert_null(logbook_note(l));
    logbook_close(l);
}

static void a_newer_or_foreign_file_is_left_alone(void **state)
{
    (void)state;
    app_err err = APP_ERR_NONE;
    logbook_close(open_it());
    sqlite3 *db = NULL;
    assert_int_equal(sqlite3_open(path, &db), SQLITE_OK);
    assert_int_equal(sqlite3_exec(db, "PRAGMA user_version = 99", NULL, NULL, NULL),
                     SQLITE_OK);
    (void)sqlite3_close(db);
    assert_null(logbook_open(path, true, &err));
    assert_int_equal(err.code, APP_UNREADABLE);
    assert_non_null(strstr(err.text, "newer"));
    (void)unlink(path);
    assert_int_equal(sqlite3_open(path, &db), SQLITE_OK);
    assert_int_equal(sqlite3_exec(db, "CREATE TABLE t (x)", NULL, NULL, NULL),
                     SQLITE_OK);
    (void)sqlite3_close(db);
    assert_null(logbook_open(path, true, &err));
    assert_non_null(strstr(err.text, "another program"));
    assert_null(logbook_open("/tmp/fullminute-no/such/l.sqlite", false, &err));
    assert_int_equal(err.code, APP_UNREADABLE);
}

static long size_of(const char *name)
{
    FILE *const f = fopen(name, "rb");
    if (f == NULL) {
        return -1;
    }
    (void)fseek(f, 0, SEEK_END);
    const long n = ftell(f);
    (void)fclose(f);
    return n;
}

/* Every page but the first overwritten: the bytes are kept, a new logbook is begun. */
static void a_damaged_file_is_set_aside(void **state)
{
    (void)state;
    app_err err = APP_ERR_NONE;
    logbook *l = open_it();
    for (int i = 0; i < 50; i++) {
        (void)store(l, "AB", 60 + i);
    }
    logbook_close(l);
    const long before = size_of(path);
    FILE *const f = fopen(path, "r+b");
    assert_non_null(f);
    assert_int_equal(fseek(f, 4096, SEEK_SET), 0);
    for (long i = 4096; i < before; i++) {
        assert_int_equal(fputc(0x5a, f), 0x5a);
    }
    assert_int_equal(fclose(f), 0);
    l = open_it();
    assert_non_null(logbook_note(l));
    const char *const aside = strstr(logbook_note(l), "kept as ");
    assert_non_null(aside);
    char name[256];
    assert_int_equal(sscanf(aside, "kept as %255[^,]", name), 1);
    assert_int_equal(size_of(name), before);
    entry e;
    assert_false(logbook_get(l, 1, &e, &err));
    (void)store(l, "AB", 70);
    logbook_close(l);
    /* What is no database at all may be anything: it is left as it is. */
    FILE *const junk = fopen(path, "wb");
    assert_non_null(junk);
    assert_true(
        fputs("not a database, but longer than a header is, by far. ..............."
              "..................................................................",
              junk) >= 0);
    assert_int_equal(fclose(junk), 0);
    const long junk_bytes = size_of(path);
    assert_null(logbook_open(path, true, &err));
    assert_int_equal(err.code, APP_UNREADABLE);
    assert_non_null(strstr(err.text, "no logbook"));
    assert_int_equal(size_of(path), junk_bytes);
}

static void damage(long from)
{
    const long before = size_of(path);
    FILE *const f = fopen(path, "r+b");
    assert_non_null(f);
    assert_int_equal(fseek(f, from, SEEK_SET), 0);
    for (long i = from; i < before; i++) {
        assert_int_equal(fputc(0x5a, f), 0x5a);
    }
    assert_int_equal(fclose(f), 0);
}

/* Open, store one row, close; as a program of its own. */
static void run_beside(int number)
{
    logbook *const l = open_it();
    entry e = count_of("AB", 60 + number);
    app_err err = APP_ERR_NONE;
    const bool ok = logbook_enter(l, &e, &err);
    logbook_close(l);
    _exit(ok ? 0 : 1);
}

/* Several find it damaged at once: every row that was confirmed is in the new one. */
static void of_many_at_a_damaged_file_none_loses_a_row(void **state)
{
    (void)state;
    enum {
        ROUNDS = 20,
        PROGRAMS = 6
    };
    app_err err = APP_ERR_NONE;
    for (int round = 0; round < ROUNDS; round++) {
        logbook *l = open_it();
        for (int i = 0; i < 50; i++) {
            (void)store(l, "AB", 60 + i);
        }
        logbook_close(l);
        damage(4096);
        pid_t child[PROGRAMS];
        for (int i = 0; i < PROGRAMS; i++) {
            child[i] = fork();
            if (child[i] == 0) {
                run_beside(i);
            }
        }
        for (int i = 0; i < PROGRAMS; i++) {
            int status = 0;
            assert_int_equal(waitpid(child[i], &status, 0), child[i]);
            assert_int_equal(status, 0);
        }
        l = open_it();
        entry e;
        assert_true(logbook_get(l, PROGRAMS, &e, &err));
        logbook_close(l);
        (void)unlink(path);
    }
}

/* Somebody who has it open keeps it: it is not renamed under their hands. */
static void an_open_logbook_is_not_set_aside(void **state)
{
    (void)state;
    app_err err = APP_ERR_NONE;
    logbook *l = open_it();
    for (int i = 0; i < 50; i++) {
        (void)store(l, "AB", 60 + i);
    }
    logbook_close(l);
    l = open_it();
    damage(4096);
    assert_null(logbook_open(path, true, &err));
    assert_int_equal(err.code, APP_UNREADABLE);
    assert_non_null(strstr(err.text, "another program has it open"));
    logbook_close(l);
    l = open_it();
    assert_non_null(logbook_note(l));
    logbook_close(l);
}

static bool folder_holds(const char *wanted)
{
    char name[512];
    bool found = false;
    const size_t n = strlen(wanted);
    DIR *const d = opendir(folder);
    assert_non_null(d);
    for (struct dirent *e = readdir(d); e != NULL; e = readdir(d)) {
        (void)snprintf(name, sizeof name, "%s/%s", folder, e->d_name);
        const long size = e->d_name[0] != '.' ? size_of(name) : -1; /* files alone */
        FILE *const f = size > 0 ? fopen(name, "rb") : NULL;
        char *const bytes = f != NULL ? malloc((size_t)size) : NULL;
        if (bytes != NULL && fread(bytes, 1, (size_t)size, f) == (size_t)size) {
            for (size_t i = 0; i + n <= (size_t)size && !found; i++) {
                found = memcmp(bytes + i, wanted, n) == 0;
            }
        }
        free(bytes);
        if (f != NULL) {
            (void)fclose(f);
        }
    }
    (void)closedir(d);
    return found;
}

static void note_path(void *context, const char *recording)
{
    const size_t n = strlen(context);
    (void)snprintf((char *)context + n, 256 - n, "%s", recording);
}

/* Searched in the raw files: of one learner nothing is left, of the other everything. */
static void forgetting_leaves_nothing_behind(void **state)
{
    (void)state;
    app_err err = APP_ERR_NONE;
    logbook *const l = open_it();
    const char *const sound = "/r/mine.wav";
    for (int i = 0; i < 200; i++) {
        entry e = count_of(i % 2 == 0 ? "Zebrafinch" : "Kingfisher", 60 + i % 40);
        entry_put(e.context, sizeof e.context,
                  i % 2 == 0 ? "zebra context words" : "king context words");
        assert_true(logbook_enter(l, &e, &err));
    }
    entry own = count_of("Zebrafinch", 70);
    entry_put(own.recording, sizeof own.recording, sound);
    own.own_recording = 1;
    assert_true(logbook_enter(l, &own, &err));
    assert_true(folder_holds("Zebrafinch") && folder_holds("zebra context"));
    entry shared = count_of("Zebrafinch", 70);
    entry_put(shared.recording, sizeof shared.recording, "/r/shared.wav");
    shared.own_recording = 1;
    assert_true(logbook_enter(l, &shared, &err));
    entry_put(shared.learner, sizeof shared.learner, "Kingfisher");
    assert_true(logbook_enter(l, &shared, &err));
    char named[256] = "";
    assert_true(logbook_each_recording(l, "Zebrafinch", note_path, named, &err));
    assert_string_equal(named, sound); /* the other's is not hers to remove */
    int rows = 0;
    assert_true(logbook_forget(l, "Zebrafinch", &rows, &err));
    assert_int_equal(rows, 102);
    assert_false(folder_holds("Zebrafinch"));
    assert_false(folder_holds("zebra context"));
    assert_true(folder_holds("Kingfisher"));
    assert_false(logbook_forget(l, "Zebrafinch", &rows, &err));
    logbook_close(l);
    assert_false(folder_holds("Zebrafinch"));
}

static void two_programs_write_at_once(void **state)
{
    (void)state;
    app_err err = APP_ERR_NONE;
    logbook *const a = open_it();
    logbook *const b = open_it();
    const int64_t one = store(a, "AB", 61);
    const int64_t two = store(b, "CD", 62);
    const int64_t three = store(a, "AB", 63);
    entry e;
    assert_true(logbook_get(b, one, &e, &err) && e.beats == 61);
    assert_true(logbook_get(a, two, &e, &err) && e.beats == 62);
    assert_true(logbook_get(b, three, &e, &err) && e.beats == 63);
    logbook_close(a);
    logbook_close(b);
}

static bool take_two(void *context, const entry *e)
{
    (void)e;
    return ++*(int *)context < 3;
}

/* A row that could not be taken, for want of memory, is no end of the rows. */
static void a_row_that_is_not_taken_is_an_error(void **state)
{
    (void)state;
    app_err err = APP_ERR_NONE;
    logbook *const l = open_it();
    const logbook_query all = {NULL, 0};
    int n = 0;
    for (int i = 0; i < 2; i++) {
        (void)store(l, "AB", 60 + i);
    }
    assert_true(logbook_each(l, &all, take_two, &n, &err));
    (void)store(l, "AB", 62);
    n = 0;
    assert_false(logbook_each(l, &all, take_two, &n, &err));
    assert_int_equal(err.code, APP_FAILED);
    assert_non_null(strstr(err.text, "not all rows"));
    logbook_close(l);
}

static void many_rows_are_all_or_none(void **state)
{
    (void)state;
    app_err err = APP_ERR_NONE;
    logbook *const l = open_it();
    assert_true(logbook_begin(l, &err));
    const int64_t one = store(l, "AB", 61);
    logbook_undo(l);
    entry e;
    assert_false(logbook_get(l, one, &e, &err));
    assert_true(logbook_begin(l, &err));
    const int64_t two = store(l, "AB", 62);
    assert_true(logbook_commit(l, &err));
    assert_true(logbook_get(l, two, &e, &err));
    logbook_close(l);
}

#define IN_FOLDER(test) cmocka_unit_test_setup_teardown(test, make_folder, empty_folder)

int main(void)
{
    const struct CMUnitTest tests[] = {
        IN_FOLDER(a_row_comes_back_as_it_went_in),
        IN_FOLDER(what_was_entered_cannot_change),
        IN_FOLDER(the_second_count_is_added_once),
        IN_FOLDER(a_second_attempt_is_a_new_row),
        IN_FOLDER(a_row_has_its_number_once_it_is_committed),
        IN_FOLDER(nothing_entered_is_no_row),
        IN_FOLDER(an_older_logbook_is_brought_up),
        IN_FOLDER(a_newer_or_foreign_file_is_left_alone),
        IN_FOLDER(a_damaged_file_is_set_aside),
        IN_FOLDER(of_many_at_a_damaged_file_none_loses_a_row),
        IN_FOLDER(an_open_logbook_is_not_set_aside),
        IN_FOLDER(forgetting_leaves_nothing_behind),
        IN_FOLDER(two_programs_write_at_once),
        IN_FOLDER(a_row_that_is_not_taken_is_an_error),
        IN_FOLDER(many_rows_are_all_or_none),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
