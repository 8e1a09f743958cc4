/* What belongs to a learner besides rows, and forgetting all of it. */
#include "src/base/bytes.h"
#include "src/logbook/logbook_private.h"
#include "src/port/utc.h"

#include <string.h>

/* The first row about a learner, handed to `read`; none leaves out as it is. */
static bool read_one(logbook *l,
                     const char *sql,
                     const char *learner,
                     void (*read)(sqlite3_stmt *, void *),
                     void *out,
                     app_err *err)
{
    sqlite3_stmt *const s = logbook_prepare(l, sql, err);
    if (s == NULL) {
        return false;
    }
    logbook_bind_text(s, 1, learner);
    const int rc = sqlite3_step(s);
    if (rc == SQLITE_ROW) {
        read(s, out);
    }
    const bool ok = rc == SQLITE_ROW || rc == SQLITE_DONE || logbook_fail(l, err);
    (void)sqlite3_finalize(s);
    return ok;
}

static void read_goal(sqlite3_stmt *s, void *out)
{
    logbook_goal *const g = out;
    logbook_column_text(s, 0, g->learner, sizeof g->learner);
    g->in_a_row = sqlite3_column_int(s, 1);
    g->within_per_min = sqlite3_column_double(s, 2);
    g->irregular = sqlite3_column_int(s, 3);
    logbook_column_text(s, 4, g->set_utc, sizeof g->set_utc);
    g->breath_in_a_row = sqlite3_column_int(s, 5);
    g->breath_within_per_min = sqlite3_column_double(s, 6);
}

static void read_signature(sqlite3_stmt *s, void *out)
{
    logbook_signature *const g = out;
    logbook_column_text(s, 0, g->learner, sizeof g->learner);
    logbook_column_text(s, 1, g->by, sizeof g->by);
    logbook_column_text(s, 2, g->signed_utc, sizeof g->signed_utc);
    g->last_number = sqlite3_column_int64(s, 3);
    g->goal_met = sqlite3_column_int(s, 4) != 0;
    logbook_column_text(s, 5, g->watched, sizeof g->watched);
}

bool logbook_set_goal(logbook *l, const logbook_goal *g, app_err *err)
{
    char now[ENTRY_UTC_BYTES];
    utc_now(now, NULL);
    if (!logbook_run(l, "BEGIN IMMEDIATE", err)) {
        return false;
    }
    bool ok = logbook_add_learner(l, g->learner, err);
    sqlite3_stmt *const s =
        ok ? logbook_prepare(l,
                             "INSERT OR REPLACE INTO goal (learner, in_a_row, "
                             "within_per_min, irregular, set_utc, breath_in_a_row, "
                             "breath_within_per_min) VALUES (?, ?, ?, ?, ?, ?, ?)",
                             err)
           : NULL;
    logbook_bind_text(s, 1, g->learner);
    (void)sqlite3_bind_int(s, 2, g->in_a_row);
    (void)sqlite3_bind_double(s, 3, g->within_per_min);
    (void)sqlite3_bind_int(s, 4, g->irregular);
    logbook_bind_text(s, 5, g->set_utc[0] != '\0' ? g->set_utc : now);
    (void)sqlite3_bind_int(s, 6, g->breath_in_a_row);
    (void)sqlite3_bind_double(s, 7, g->breath_within_per_min);
    ok = logbook_finish(l, s, err) && logbook_run(l, "COMMIT", err);
    if (!ok) {
        logbook_undo(l);
    }
    return ok;
}

bool logbook_get_goal(logbook *l, const char *learner, logbook_goal *out, app_err *err)
{
    memset(out, 0, sizeof *out);
    return read_one(
        l,
        "SELECT learner, in_a_row, within_per_min, irregular, set_utc, "
        "breath_in_a_row, breath_within_per_min FROM goal WHERE learner = ?",
        learner, read_goal, out, err);
}

bool logbook_sign(logbook *l, logbook_signature *g, app_err *err)
{
    if (g->signed_utc[0] == '\0') {
        utc_now(g->signed_utc, NULL);
    }
    sqlite3_stmt *const s = logbook_prepare(
        l,
        "INSERT INTO signature (learner, signer, signed_utc, last_number, goal_met, "
        "watched) VALUES (?1, ?2, ?3, (SELECT max(number) FROM session WHERE learner = "
        "?1), ?4, ?5)",
        err);
    logbook_bind_text(s, 1, g->learner);
    logbook_bind_text(s, 2, g->by);
    logbook_bind_text(s, 3, g->signed_utc);
    (void)sqlite3_bind_int(s, 4, g->goal_met ? 1 : 0);
    logbook_bind_text(s, 5, g->watched);
    return logbook_finish(l, s, err);
}

bool logbook_get_signature(logbook *l,
                           const char *learner,
                           logbook_signature *out,
                           app_err *err)
{
    memset(out, 0, sizeof *out);
    return read_one(l,
                    "SELECT learner, signer, signed_utc, last_number, goal_met, "
                    "watched FROM signature WHERE learner = ? ORDER BY id DESC LIMIT 1",
                    learner, read_signature, out, err);
}

bool logbook_set_instructor(
    logbook *l, const char *name, const void *sealed, size_t n, app_err *err)
{
    sqlite3_stmt *const s =
        logbook_prepare(l, "INSERT INTO instructor (name, sealed) VALUES (?, ?)", err);
    logbook_bind_text(s, 1, name);
    (void)sqlite3_bind_blob64(s, 2, sealed, n, SQLITE_STATIC);
    return logbook_finish(l, s, err);
}

/* No blob: no memory for it. */
static void read_sealed(sqlite3_stmt *s, void *out)
{
    bytes *const sealed = out;
    const void *const blob = sqlite3_column_blob(s, 0);
    bytes_add(sealed, blob, (size_t)sqlite3_column_bytes(s, 0));
    sealed->failed = sealed->failed || blob == NULL;
}

bool logbook_get_instructor(logbook *l, const char *name, bytes *out, app_err *err)
{
    return read_one(l, "SELECT sealed FROM instructor WHERE name = ?", name,
                    read_sealed, out, err) &&
           (!out->failed || app_err_memory(err));
}

/* ---- Forgetting ---- */

bool logbook_each_recording(logbook *l,
                            const char *learner,
                            logbook_recording_reader *reader,
                            void *context,
                            app_err *err)
{
    sqlite3_stmt *const s = logbook_prepare(
        l,
        "SELECT DISTINCT recording FROM session AS mine WHERE learner = ?1 AND "
        "own_recording = 1 AND recording IS NOT NULL AND NOT EXISTS (SELECT 1 FROM "
        "session AS other WHERE other.recording = mine.recording AND other.learner <> "
        "?1)",
        err);
    if (s == NULL) {
        return false;
    }
    logbook_bind_text(s, 1, learner);
    int rc = sqlite3_step(s);
    for (; rc == SQLITE_ROW; rc = sqlite3_step(s)) {
        const char *const path = (const char *)sqlite3_column_text(s, 0);
        if (path != NULL) {
            reader(context, path);
        }
    }
    const bool ok = rc == SQLITE_DONE || logbook_fail(l, err);
    (void)sqlite3_finalize(s);
    return ok;
}

static void read_counts(sqlite3_stmt *s, void *out)
{
    int *const counts = out;
    counts[0] = sqlite3_column_int(s, 0);
    counts[1] = sqlite3_column_int(s, 1);
}

static bool count_rows(logbook *l, const char *learner, int *rows, app_err *err)
{
    int counts[2] = {0, 0}; /* rows, learners of that name */
    if (!read_one(l,
                  "SELECT (SELECT count(*) FROM session WHERE learner = ?1), (SELECT "
                  "count(*) FROM learner WHERE name = ?1)",
                  learner, read_counts, counts, err)) {
        return false;
    }
    *rows = counts[0];
    return counts[1] > 0 ||
           app_err_set(err, APP_USAGE, "the logbook knows no learner %s", learner);
}

bool logbook_forget(logbook *l, const char *learner, int *rows, app_err *err)
{
    *rows = 0;
    if (!count_rows(l, learner, rows, err)) {
        return false;
    }
    return logbook_run_with(l, "DELETE FROM learner WHERE name = ?", learner, err) &&
           logbook_run(l, "PRAGMA wal_checkpoint(TRUNCATE)", err) &&
           logbook_run(l, "VACUUM", err) &&
           logbook_run(l, "PRAGMA wal_checkpoint(TRUNCATE)", err);
}
