/**
 * @file accuracy.h
 * What the parts of the evaluation share: its options, and one entry for each job.
 */
#ifndef ACCURACY_H
#define ACCURACY_H

#include "score.h"

#include <stdint.h>

/** Options of every job. */
typedef struct settings {
    unsigned jobs;            /**< threads; 0: one for each processor */
    bool each;                /**< print a line for every window */
    const char *dump;         /**< folder for one TSV of beats a window; NULL: none */
    bool dump_all;            /**< dump every window, not only those that went wrong */
    bool refusals;            /**< the sounds without a heart */
    bool guard;               /**< the composed guard */
    bool breath;              /**< breaths; the words name what */
    const char *open_data;    /**< the open data's folder, to be guarded; NULL: none */
    const char *real;         /**< the project's real recordings, guarded; NULL: none */
    const char *quality;      /**< folder with quality.csv; NULL: none */
    const char *recordings;   /**< the demonstration recordings; NULL: none */
    const char *short_counts; /**< recordings whose short counts are told; NULL: none */
    const char *save;  /**< file that every window's result is written to, or NULL */
    const char *load;  /**< file of results that are scored instead, or NULL */
    int only;          /**< the one kind of noise to compose; -1: all */
    size_t n_composed; /**< recordings to compose */
    size_t n_rhythms;  /**< seeds of every rhythm to compose */
    size_t n_lost;     /**< seeds to compose with contact lost */
    uint64_t first_seed;
} settings;

/** Exit statuses; 77 is the usual one by which ctest knows a skipped test. */
enum {
    EXIT_DONE = 0,
    EXIT_FAILED = 1,
    EXIT_USAGE = 2,
    EXIT_SKIPPED = 77
};

/** The figures of one group of recordings that bars are about. */
typedef struct folder_figures {
    long n;
    long counted;
    long counted_wrong; /**< counted, wrong by more than 3 */
    long delivered3;    /**< within 3 and not refused */
    long
        documents_wrong; /**< whole minutes of truth documents that are not as they must
                               be: refused where the heart lies under the noise; where
                               contact was lost a gap named, the range holding the
                               truth, pattern and findings right; else counted, exact,
                               pattern and findings right */
    double f1_set;       /**< S1 F1 at 100 ms, decoded, one lag for the set */
    double f1_own;       /**< the same, each recording's own lag */
} folder_figures;

/**
 * Measures folders[0..n-1] of recordings with truth; prints tables to stdout.
 *
 * @param group         the group that figures is filled from ("all", "high"); may be NULL
 * @param[out] figures  may be NULL
 * @return EXIT_DONE; EXIT_FAILED; EXIT_SKIPPED when there is no truth in them
 */
int accuracy_folders(const settings *s,
                     char *const folders[],
                     size_t n,
                     const char *group,
                     folder_figures *figures);

/** Composes and measures s->n_composed recordings; prints tables to stdout. */
int accuracy_composed(const settings *s);

/** Recordings with a publisher's quality label, listed in folder/quality.csv. */
int accuracy_quality(const settings *s, const char *folder);

/** Sounds without a heart; prints a table, EXIT_FAILED when one is not refused. */
int accuracy_refusals(const settings *s);

#endif
