/* The list of a run and its plan, in temporary tables. */
#include "src/batch/ledger_private.h"

#include "src/base/text.h"
#include "src/port/interrupt.h"

#include <stdlib.h>
#include <string.h>

/* Columns of PLAN_READ. */
enum {
    PLAN_NAME,
    PLAN_PATH,
    PLAN_SIZE,
    PLAN_DONE_SIZE,
    PLAN_MTIME,
    PLAN_LOOKED,
    PLAN_BESIDE,
    PLAN_DIGEST,
    PLAN_SETTLED
};

/* Paths are kept with their end mark, so that they come out as texts of any bytes. The path
 * has to stay until the statement is run: a copy could fail, and the file be left out. */
static void bind_path(sqlite3_stmt *s, int at, const char *path)
{
    (void)sqlite3_bind_blob64(s, at, path, strlen(path) + 1, SQLITE_STATIC);
}

static const char *column_path(sqlite3_stmt *s, int at)
{
    const char *const path = sqlite3_column_blob(s, at);
    return path != NULL ? path : "";
}

static bool column_digest(sqlite3_stmt *s, int at, digest *out)
{
    const void *const blob = sqlite3_column_blob(s, at);
    if (blob == NULL || sqlite3_column_bytes(s, at) != DIGEST_BYTES) {
        return false;
    }
    memcpy(out->byte, blob, DIGEST_BYTES);
    return true;
}

bool ledger_list_add(ledger *l, const char *path, int64_t size_bytes, app_err *err)
{
    char *const name = text_escape_name(path);
    if (name == NULL) {
        return app_err_memory(err);
    }
    bool ok = ledger_begin(l, err);
    if (ok) {
        sqlite3_stmt *const s = ledger_use(l, LEDGER_LIST_ADD);
        bind_path(s, 1, name);
        bind_path(s, 2, path);
        (void)sqlite3_bind_int64(s, 3, size_bytes);
        ok = ledger_run(l, s, err);
    }
    free(name);
    return ok;
}

/* ---- The whole list ---- */

static bool digest_list(ledger *l, ledger_list *out, app_err *err)
{
    sqlite3_stmt *const s = ledger_use(l, LEDGER_LIST_NAMES);
    digest_stream *const stream = digest_start();
    int rc = 0;
    while ((rc = sqlite3_step(s)) == SQLITE_ROW) {
        digest_push(stream, sqlite3_column_blob(s, 0),
                    (size_t)sqlite3_column_bytes(s, 0));
        out->files++;
    }
    const bool ok = rc == SQLITE_DONE || ledger_fail(l, err);
    (void)sqlite3_reset(s);
    const bool had_memory = stream != NULL;
    out->digest = digest_finish(stream);
    return ok && (had_memory || app_err_memory(err));
}

bool ledger_list_seal(ledger *l, int index, int of, ledger_list *out, app_err *err)
{
    *out = (ledger_list){0};
    if (!ledger_begin(l, err) || !digest_list(l, out, err)) {
        return false;
    }
    out->mine = out->files;
    if (of > 1) {
        sqlite3_stmt *const drop = ledger_use(l, LEDGER_LIST_DROP);
        (void)sqlite3_bind_int(drop, 1, index);
        (void)sqlite3_bind_int(drop, 2, of);
        if (!ledger_run(l, drop, err)) {
            return false;
        }
        sqlite3_stmt *const count = ledger_use(l, LEDGER_LIST_COUNT);
        if (!ledger_number(l, count, &out->mine, err)) {
            return false;
        }
    }
    return ledger_commit(l, err);
}

/* ---- The plan ---- */

enum stand {
    STAND_KEPT,  /* the rows stand */
    STAND_DOUBT, /* they stand if the bytes are the same */
    STAND_ANEW
};

static enum stand judge(const ledger *l, sqlite3_stmt *s, digest *expected)
{
    if (sqlite3_column_int(s, PLAN_SETTLED) == 0 ||
        !column_digest(s, PLAN_DIGEST, expected)) {
        return STAND_ANEW;
    }
    identity then = {.regular = true,
                     .size_bytes = sqlite3_column_int64(s, PLAN_DONE_SIZE),
                     .mtime_ns = sqlite3_column_int64(s, PLAN_MTIME),
                     .looked_ns = sqlite3_column_int64(s, PLAN_LOOKED)};
    const unsigned char *const beside = sqlite3_column_text(s, PLAN_BESIDE);
    if (beside != NULL && strlen((const char *)beside) < sizeof then.beside) {
        memcpy(then.beside, beside, strlen((const char *)beside) + 1);
    }
    const identity now = identity_look(column_path(s, PLAN_PATH), l->beside);
    if (identity_is_alike(&now, &then) && identity_was_at_rest(&then)) {
        return STAND_KEPT;
    }
    const bool sound_may_be_same = now.regular && now.size_bytes == then.size_bytes &&
                                   strcmp(now.beside, then.beside) == 0;
    return sound_may_be_same ? STAND_DOUBT : STAND_ANEW;
}

static bool plan_add(ledger *l,
                     sqlite3_stmt *from,
                     const digest *expected,
                     app_err *err)
{
    sqlite3_stmt *const s = ledger_use(l, LEDGER_PLAN_ADD);
    bind_path(s, 1, column_path(from, PLAN_PATH));
    (void)sqlite3_bind_int64(s, 2, sqlite3_column_int64(from, PLAN_SIZE));
    if (expected != NULL) {
        (void)sqlite3_bind_blob(s, 3, expected->byte, DIGEST_BYTES, SQLITE_STATIC);
    }
    return ledger_run(l, s, err);
}

static bool plan_some(ledger *l, bool large, ledger_plan *out, app_err *err)
{
    sqlite3_stmt *const s = ledger_use(l, LEDGER_PLAN_READ);
    (void)sqlite3_bind_int64(s, 1, l->setting);
    (void)sqlite3_bind_int(s, 2, large);
    bool ok = true;
    int rc = 0;
    while (ok && (rc = sqlite3_step(s)) == SQLITE_ROW) {
        digest expected;
        const enum stand stand = judge(l, s, &expected);
        if (stand == STAND_KEPT) {
            out->kept++;
        } else {
            out->files++;
            out->bytes += sqlite3_column_int64(s, PLAN_SIZE);
            ok = plan_add(l, s, stand == STAND_DOUBT ? &expected : NULL, err);
        }
        ok = ok && interrupt_check(err);
    }
    if (ok && rc != SQLITE_DONE) {
        ok = ledger_fail(l, err);
    }
    (void)sqlite3_reset(s);
    return ok;
}

/* Large files come first, so that none of them is left alone at the end. */
bool ledger_make_plan(ledger *l, ledger_plan *out, app_err *err)
{
    *out = (ledger_plan){0};
    l->last = 0;
    return ledger_begin(l, err) && plan_some(l, true, out, err) &&
           plan_some(l, false, out, err) && ledger_commit(l, err);
}

/* The file's record, made where there is none. */
static bool make_record(ledger *l, ledger_job *job, app_err *err)
{
    sqlite3_stmt *const s = ledger_use(l, LEDGER_DONE_MAKE);
    (void)sqlite3_bind_int64(s, 1, l->setting);
    bind_path(s, 2, job->path);
    return ledger_number(l, s, &job->done, err);
}

int ledger_next(ledger *l, ledger_job *out, app_err *err)
{
    *out = (ledger_job){0};
    if (!ledger_begin(l, err)) {
        return -1;
    }
    sqlite3_stmt *const s = ledger_use(l, LEDGER_NEXT);
    (void)sqlite3_bind_int64(s, 1, l->last);
    const int rc = sqlite3_step(s);
    if (rc == SQLITE_ROW) {
        out->number = sqlite3_column_int64(s, 0);
        out->path = strdup(column_path(s, 1));
        out->size_bytes = sqlite3_column_int64(s, 2);
        out->expected = column_digest(s, 3, &out->digest);
    }
    (void)sqlite3_reset(s);
    if (rc == SQLITE_DONE) {
        return 0;
    }
    if (rc != SQLITE_ROW) {
        (void)ledger_fail(l, err);
        return -1;
    }
    l->last = out->number;
    if (out->path == NULL) {
        (void)app_err_memory(err);
        return -1;
    }
    if (!make_record(l, out, err) ||
        (!out->expected && !ledger_drop_rows(l, out, err))) {
        free(out->path);
        out->path = NULL;
        return -1;
    }
    return 1;
}
