/**
 * @file slip.h
 * What a count that is off looks like: the one order in which the explanations are tried,
 * for a learner's entry beside a reference and for an answer of a worksheet.
 *
 * Source: the kinds and their order: common practice, no source.
 */
#ifndef FM_SLIP_H
#define FM_SLIP_H

#include "dsp/compare/compare.h"

/** Rates are compared as printed, to 0.1: rounding noise must not move a verdict. */
#define FM_COMPARE_EPSILON 1e-6

/** An entry that is off, and what it is held against. */
typedef struct fm_slip_case {
    int entered;
    int seconds;             /**< how long the learner counted */
    double reference;        /**< what was to be counted, per minute */
    int counted;             /**< the same in those seconds */
    fm_slip doubled, halved; /**< what near twice and near half of it are called;
                                  FM_SLIP_NONE: not named */
    bool lost_thread;        /**< the taps say so */
    bool
        other_seconds; /**< an entry for other seconds than it was counted in is named */
    bool
        of_minute; /**< the reference is the whole minute's, however long the entry is */
    size_t n_short;
    const fm_short_count *short_counts; /**< of the reference's minute */
} fm_slip_case;

/** The first that fits; FM_SLIP_NONE when nothing does. */
fm_slip fm_slip_of(const fm_slip_case *c);

#endif
