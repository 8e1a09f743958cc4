/**
 * @file logbook.h
 * The learner's logbook: a SQLite file of this person's counted sittings. Rows come in two
 * steps, so that nobody can correct a count after seeing the other: what the learner
 * entered is committed first and never changes; what the second count said is added to it
 * once. A second attempt is a new row.
 *
 * Write-ahead log, foreign keys, one schema version with forward migrations; looked
 * through at every opening. A logbook that is damaged is set aside under another name and
 * that is said; it is never overwritten, and any other file is left as it is. Learners are initials or a nickname; of patients
 * nothing is kept. Several programs may write at once.
 */
#ifndef PORT_LOGBOOK_H
#define PORT_LOGBOOK_H

#include "src/base/error.h"
#include "src/document/entry.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

struct bytes; /* src/base/bytes.h */

/** Opaque; see logbook_close. */
typedef struct logbook logbook;

/**
 * Where it is without --logbook: $XDG_DATA_HOME/fullminute/logbook.sqlite (default
 * ~/.local/share).
 *
 * @return to be freed; NULL with err APP_FAILED: no home folder, no memory
 */
char *logbook_default_path(app_err *err);

/**
 * Open, look through, and bring an older one up to this version.
 *
 * @param make  false: it must be there
 * @return NULL with err: APP_UNREADABLE (not there, another program's, a newer version's,
 *         cannot be read), APP_FAILED (no memory, no room, folder not writable)
 */
logbook *logbook_open(const char *path, bool make, app_err *err);

/** Close; NULL is allowed. What was committed stays. */
void logbook_close(logbook *l);

/** A sentence when a damaged file was set aside, for stderr; NULL: nothing to say. */
const char *logbook_note(const logbook *l);

const char *logbook_path(const logbook *l);

/**
 * Store what the learner entered, and commit. entered_utc is kept where given, else it is
 * now; attempt is found: one more than this learner's counted rows of the same recording.
 *
 * @param[in,out] e  entered_utc and offset_min are set; number and attempt only once the
 *                   row is committed (between logbook_begin and logbook_commit: once it
 *                   is in)
 * @return false with err APP_USAGE (no learner, nothing entered) or APP_FAILED
 */
bool logbook_enter(logbook *l, entry *e, app_err *err);

/** Add what the second count said, once; counted_utc as entered_utc above. A row that has
 * it already: APP_USAGE. */
bool logbook_count(logbook *l, entry *e, app_err *err);

/** Replace a row's ADDED fields. */
bool logbook_add(logbook *l, const entry *e, app_err *err);

/** Many rows at once, all or none: between these two, the calls above do not commit. */
bool logbook_begin(logbook *l, app_err *err);
bool logbook_commit(logbook *l, app_err *err);
void logbook_undo(logbook *l);

/**
 * For rows that come from a file: between logbook_begin and logbook_commit, begin once,
 * then ask for each row before it is entered. Found is one that was here at the beginning
 * with the same entered fields, each once. A row without its time is never found.
 */
bool logbook_same_begin(logbook *l, app_err *err);
bool logbook_same_find(logbook *l, const entry *e, bool *found, app_err *err);

/** One row; false with err APP_USAGE: there is none of that number. */
bool logbook_get(logbook *l, int64_t number, entry *out, app_err *err);

/** Which rows, in the order they were entered. */
typedef struct logbook_query {
    const char *learner; /**< NULL: everybody's */
    size_t last;         /**< at most the newest so many; 0: all */
} logbook_query;

/** Called for each row; false: it could not be taken, for want of memory. */
typedef bool logbook_reader(void *context, const entry *e);
/**
 * @return false with err: a row could not be read or not be taken. Whoever shows the rows
 *         then shows none, or says that they are not all
 */
bool logbook_each(logbook *l,
                  const logbook_query *q,
                  logbook_reader *reader,
                  void *context,
                  app_err *err);

/** What an instructor asks for: so many in a row within so much, some of them irregular. */
typedef struct logbook_goal {
    char learner[ENTRY_LEARNER_BYTES];
    int in_a_row;          /**< 1 and more; 0: no goal is set */
    double within_per_min; /**< > 0 */
    int irregular;         /**< at least so many of them with an uneven rhythm and its
                                word right */
    int breath_in_a_row;   /**< respirations, a goal of their own; 0: none is set */
    double breath_within_per_min; /**< > 0 where it is */
    char set_utc[ENTRY_UTC_BYTES];
} logbook_goal;

/** Set (in place of an older one) and read; in_a_row 0 where there is none. */
bool logbook_set_goal(logbook *l, const logbook_goal *g, app_err *err);
bool logbook_get_goal(logbook *l, const char *learner, logbook_goal *out, app_err *err);

/** An instructor's signature under a learner's rows so far. */
typedef struct logbook_signature {
    char learner[ENTRY_LEARNER_BYTES];
    char by[ENTRY_LEARNER_BYTES];
    char signed_utc[ENTRY_UTC_BYTES];
    int64_t last_number; /**< the newest row then */
    bool goal_met;       /**< as the program saw it; the instructor decides */
    char
        watched[ENTRY_TEXT_BYTES]; /**< what the instructor watched; "" in older ones */
} logbook_signature;

/**
 * An instructor's own pass phrase, as src/port/sealed.h seals it: a signature takes it.
 * It guards against signing by somebody else at this logbook, not against one who makes
 * another logbook.
 */
bool logbook_set_instructor(
    logbook *l, const char *name, const void *sealed, size_t n, app_err *err);

/** Adds it to out; nothing where that instructor has none. @return false with err */
bool logbook_get_instructor(logbook *l,
                            const char *name,
                            struct bytes *out,
                            app_err *err);

bool logbook_sign(logbook *l, logbook_signature *s, app_err *err);
/** The newest; by "" where there is none. */
bool logbook_get_signature(logbook *l,
                           const char *learner,
                           logbook_signature *out,
                           app_err *err);

/**
 * Called for each path that a row of this learner calls a live sitting's, and no row of
 * anybody else: what somebody else counted too stays with that person.
 */
typedef void logbook_recording_reader(void *context, const char *path);
bool logbook_each_recording(logbook *l,
                            const char *learner,
                            logbook_recording_reader *reader,
                            void *context,
                            app_err *err);

/**
 * Remove a learner: rows, goal, signatures; then rewrite the file, so that nothing of it is
 * left in there. Recordings are the caller's (src/usecase/forget_learner).
 *
 * @param[out] rows  removed
 * @return false with err APP_USAGE (no such learner) or APP_FAILED
 */
bool logbook_forget(logbook *l, const char *learner, int *rows, app_err *err);

/**
 * Copies of this logbook that were set aside as damaged and hold the learner's name, or
 * what looks like it. Nothing can take one learner out of a damaged file: either the copy
 * goes, with whatever rows of others it may still hold, or it stays.
 *
 * @param      remove  remove them
 * @param[out] names   their paths, parted by ", "; for bytes_free
 * @param[out] n       how many
 * @return false with err APP_FAILED
 */
bool logbook_copies(const logbook *l,
                    const char *learner,
                    bool remove,
                    struct bytes *names,
                    int *n,
                    app_err *err);

#endif
