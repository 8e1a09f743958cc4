/**
 * @file poll.h
 * The same segment decoded by other ears: each network alone, and the mean of all a little
 * keener, a little stricter, and expecting less order. Where they find another rate, or
 * other beats, the count hangs on a detail. No allocation.
 *
 * Source: a committee's disagreement as a sign of error, as in Seung, Opper and Sompolinsky,
 *         "Query by committee", COLT 1992 (from memory); here over whole decodings.
 */
#ifndef FM_POLL_H
#define FM_POLL_H

#include "dsp/decoder.h"
#include "dsp/emission.h"

enum {
    /* Behind the networks come voters that hear what all hear, with another mind. */
    FM_POLL_KEENER = 0,
    FM_POLL_STRICTER = 1,
    FM_POLL_LOOSER = 2, /**< expects less order */
    FM_POLL_SHIFTS = 3,
    FM_POLL_VOTERS = FM_EMISSION_MEMBERS + FM_POLL_SHIFTS
};

/** What one voter makes of it, beside the path that was chosen. */
typedef struct fm_vote {
    double off_bpm; /**< its rate less the chosen one's, by the first and last S1 */
    double differ;  /**< S1 in one path and not, within 60 ms, in the other, per beat */
} fm_vote;

/** Working memory; contents are its own. */
typedef struct fm_poll {
    fm_opinion
        opinions[FM_EMISSION_MEMBERS]; /**< by fm_emission_score, before the poll */
    fm_candidate heard[FM_POLL_VOTERS][FM_CANDIDATES_MAX];
    float local_cycle_s[FM_POLL_VOTERS][FM_CANDIDATES_MAX];
    fm_assumption mind[FM_POLL_VOTERS];
    double score[FM_POLL_VOTERS]; /* of the assumption it finds most likely so far */
    fm_path path[FM_POLL_VOTERS];
    fm_vote votes[FM_POLL_VOTERS]; /**< the result */
} fm_poll;

/** What is asked about. */
typedef struct fm_poll_question {
    const fm_candidate *candidates; /**< candidates[0..n-1] with the networks' mean */
    size_t n;
    double segment_s;
    double noise_per_s;
    const fm_assumption *assumptions; /**< assumptions[0..n_assumptions-1]: each voter
                                           takes the one it finds most likely */
    const double *priors;             /**< log, priors[0..n_assumptions-1] */
    size_t n_assumptions;             /**< 1 or more */
    const fm_path *chosen;            /**< 2 S1 or more */
} fm_poll_question;

/**
 * Ask all voters; p->votes is set.
 *
 * @param m  the decoder's memory
 */
void fm_poll_take(const fm_poll_question *q, fm_decoder_memory *m, fm_poll *p);

#endif
