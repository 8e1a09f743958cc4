/**
 * @file breath_choice.h
 * Which of the readings followed is the breathing, and how probable that is: each is
 * described by numbers (how much of every cue it explains, how evenly it goes, whether
 * its half and its double explain more, whether other readings and other cues agree), a
 * small network scores it, and all compete with each other and with 'none of them'.
 *
 * No allocation. The table is learned: dsp/breath_weights.h.
 */
#ifndef FM_BREATH_CHOICE_H
#define FM_BREATH_CHOICE_H

#include "dsp/breath_search.h"

enum {
    FM_BREATH_EVIDENCE = 48 /**< numbers about one reading */
};

/** Probabilities of readings. */
typedef struct fm_breath_choice {
    double
        probability[FM_READINGS_MAX]; /**< of each reading; with none they sum to 1 */
    double none;                      /**< that none of them is right */
    size_t best; /**< the reading whose rate gathers the most; n when there is none */
    double rate_per_min; /**< its rate; NaN when there is none */
    double gathered;     /**< probability of all readings within 1.5 a minute of it */
} fm_breath_choice;

/** The numbers about all readings: value[i] is about reading i, each about -3..3. */
typedef struct fm_breath_evidence {
    float value[FM_READINGS_MAX][FM_BREATH_EVIDENCE];
} fm_breath_evidence;

/** Gather the numbers. */
void fm_breath_evidence_gather(const fm_readings *all, fm_breath_evidence *out);

/**
 * Choose.
 *
 * @param cue  FM_CUE_COUNT: all readings by all numbers; else only the readings of that
 *             cue by what that cue says
 */
void fm_breath_choose(const fm_readings *all,
                      const fm_breath_evidence *evidence,
                      int cue,
                      fm_breath_choice *out);

#endif
