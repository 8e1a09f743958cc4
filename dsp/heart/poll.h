/**
 * @file poll.h
 * The same segment decoded by other ears: each network alone, and the mean of all a little
 * keener, a little stricter, and expecting less order. Where they find another rate, or
 * other beats, the count depends on a detail. No allocation.
 *
 * Source: a committee's disagreement as a sign of error, as in Seung, Opper and Sompolinsky,
 *         "Query by committee", COLT 1992 (from memory); here over whole decodings.
 */
#ifndef FM_POLL_H
#define FM_POLL_H

#include "dsp/heart/decoder.h"
#include "dsp/heart/emission.h"

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
    size_t round;                        /* of asking, the next */
    fm_hypothesis asked[FM_POLL_VOTERS]; /* in this round */
    fm_hypothesis mind[FM_POLL_VOTERS];
    double score[FM_POLL_VOTERS]; /* of the hypothesis it finds most likely so far */
    fm_path path[FM_POLL_VOTERS];
    fm_vote votes[FM_POLL_VOTERS]; /**< the result */
} fm_poll;

/** What is asked about. */
typedef struct fm_poll_question {
    const fm_candidate *candidates; /**< candidates[0..n-1] with the networks' mean */
    size_t n;
    double segment_s;
    double noise_per_s;
    const fm_hypothesis *hypotheses; /**< hypotheses[0..n_hypotheses-1]: each voter
                                           takes the one it finds most likely */
    const double *priors;            /**< log, priors[0..n_hypotheses-1] */
    size_t n_hypotheses;             /**< 1 or more */
    const fm_path *chosen;           /**< 2 S1 or more */
} fm_poll_question;

/** Before a poll: all voters listen. */
void fm_poll_open(const fm_poll_question *q, fm_poll *p);

/**
 * The next round of questions, to be decoded in lanes 0 to FM_POLL_VOTERS - 1, with others
 * behind them or not, and heard by fm_poll_hear before the next is asked. There is one for
 * each hypothesis, and one for the likeliest fitted to what was found.
 *
 * @param[out] heard  heard[0..FM_POLL_VOTERS-1]
 * @return FM_POLL_VOTERS, or 0 when all has been asked: then nothing is written
 */
size_t fm_poll_ask(const fm_poll_question *q, fm_poll *p, fm_decoding *heard);

/** What the decoder made of the last round. */
void fm_poll_hear(const fm_poll_question *q, const fm_decoder_memory *m, fm_poll *p);

/** After the last round: sets p->votes. */
void fm_poll_vote(const fm_poll_question *q, fm_poll *p);

/**
 * A whole poll by itself; p->votes is set.
 *
 * @param m  the decoder's memory
 */
void fm_poll_take(const fm_poll_question *q, fm_decoder_memory *m, fm_poll *p);

#endif
