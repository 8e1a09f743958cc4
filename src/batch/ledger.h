/**
 * @file ledger.h
 * What a batch has done so far, in one SQLite file, so that a run that was killed goes on
 * where it stopped. Rollback journal, not WAL: it may lie on a shared disk. One run at a
 * time holds it.
 *
 * A file's rows count as done for one engine, build and set of options, and as long as
 * the file is the same (identity.h). The list of this run's files, and which of them are
 * still to be done, are kept in SQLite's temporary tables, so that memory does not grow
 * with their number.
 */
#ifndef BATCH_LEDGER_H
#define BATCH_LEDGER_H

#include "src/base/bytes.h"
#include "src/batch/identity.h"

/** Opaque; see ledger_close. */
typedef struct ledger ledger;

/** What the rows in it depend on, beside the files. Texts are borrowed for the call. */
typedef struct ledger_setting {
    const char *engine;  /**< version */
    const char *build;   /**< digest of the program, so that a new build counts again */
    const char *options; /**< as one text */
    bool beside;         /**< the sitting beside a file counts */
} ledger_setting;

/**
 * Open or make a ledger and hold it.
 *
 * @param path  "" keeps it in a temporary file that is gone after ledger_close
 * @return the ledger; NULL with err: APP_USAGE (a file that is no ledger; held by another
 *         run), APP_UNREADABLE (damaged), APP_FAILED
 */
ledger *ledger_open(const char *path, const ledger_setting *setting, app_err *err);

/** Close; what was not committed is dropped. NULL is allowed. */
void ledger_close(ledger *l);

/** Force what was done to disk; false with err APP_FAILED. */
bool ledger_commit(ledger *l, app_err *err);

/* ---- The list of this run ---- */

/** Add a file to the list; one that is on it already is passed over. */
bool ledger_list_add(ledger *l, const char *path, int64_t size_bytes, app_err *err);

/** What the list came to. */
typedef struct ledger_list {
    int64_t files; /**< on the whole list */
    digest digest; /**< of the whole list: every name with its end mark, in order */
    int64_t mine;  /**< that belong to this shard */
} ledger_list;

/**
 * The list is whole: keep what belongs to shard index of `of` (1 of 1: everything). Which
 * shard a file belongs to follows from its name alone.
 */
bool ledger_list_seal(ledger *l, int index, int of, ledger_list *out, app_err *err);

/** What is to be done. */
typedef struct ledger_plan {
    int64_t files; /**< still to be done, or to be looked at */
    int64_t bytes;
    int64_t kept; /**< files whose rows stand */
} ledger_plan;

/** Find out what is to be done: looks at every file of the list. */
bool ledger_make_plan(ledger *l, ledger_plan *out, app_err *err);

/** One file to be done. */
typedef struct ledger_job {
    int64_t number; /**< in the plan, from 1 */
    int64_t done;   /**< its record in the ledger, which holds no rows yet */
    char *path;     /**< owned; free it */
    int64_t size_bytes;
    bool expected; /**< there are rows for a file of this digest: if it is this one, */
    digest digest; /**< they stand */
} ledger_job;

/** The next file; 1, 0 when there is none, -1 with err. */
int ledger_next(ledger *l, ledger_job *out, app_err *err);

/* ---- Rows ---- */

/** Add rows of a file being done: text[0..n-1], whole CSV records. */
bool ledger_add_rows(
    ledger *l, const ledger_job *job, const char *text, size_t n, app_err *err);

/** Forget the rows that were added for a file being done. */
bool ledger_drop_rows(ledger *l, const ledger_job *job, app_err *err);

/**
 * A file is done.
 *
 * @param same     the rows that were there stand (job->expected)
 * @param settled  false: an error that another run may not meet; it is tried again
 */
bool ledger_finish(ledger *l,
                   const ledger_job *job,
                   const identity *i,
                   bool same,
                   bool settled,
                   app_err *err);

/**
 * Every row of this run's list, in order of the files' names: the bytes of the names.
 *
 * @param take  gets whole CSV records, text[0..n-1], writable, a '\0' behind them; false
 *              with err to stop
 * @return false with err; APP_FAILED too when a file has no rows
 */
bool ledger_each(ledger *l,
                 bool (*take)(void *context, char *text, size_t n, app_err *err),
                 void *context,
                 app_err *err);

#endif
