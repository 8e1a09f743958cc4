/**
 * @file rhythm_private.h
 * What the parts of the rhythm description share: the series of intervals, and the
 * questions asked of it one after the other. Private to dsp/rhythm/rhythm*.c.
 */
#ifndef FM_RHYTHM_PRIVATE_H
#define FM_RHYTHM_PRIVATE_H

#include "dsp/result.h"

enum {
    FM_GROUP_MAX = 7 /**< most intervals of a repeating group that is looked for: 8:7 */
};

/** One listed interval, as the tests of rhythm see it. */
typedef struct fm_rhythm_beat {
    double start_s;
    double length_s;
    double base_s; /**< what was to be expected here, from the neighbours */
    size_t level;  /**< stretch between sudden changes of rate it is in: 0, 1, ... */
    bool follows;  /**< starts at the beat that ended the interval before it here */
    bool doubtful; /**< one of its ends is a beat of low sureness */
    fm_interval_kind kind;
} fm_rhythm_beat;

typedef struct fm_rhythm_series {
    size_t n;
    fm_rhythm_beat beat[FM_BEATS_MAX];
} fm_rhythm_series;

/** A repeating group: shape[0..n-1] in seconds, starting anywhere in the group. */
typedef struct fm_rhythm_group {
    bool found;
    size_t n;        /**< intervals, so beats, in the group */
    int n_basic;     /**< basic intervals the group spans */
    bool early;      /**< holds an early beat (else it ends in a dropped one) */
    double basic_s;  /**< the basic interval */
    double coverage; /**< share of intervals that lie where the group puts them */
    double mean_s;   /**< mean interval of the series */
    double wider;    /**< what counts as near a place, times the usual */
    double shape_s[FM_GROUP_MAX];
} fm_rhythm_group;

/** A smooth periodic modulation of the intervals. */
typedef struct fm_rhythm_modulation {
    double
        share; /**< share of the variance that sinusoids explain beyond chance, 0..1 */
    double same;     /**< share of stretches with about the usual period, 0..1 */
    double range_s;  /**< longest less shortest interval of the fitted modulation, s */
    double period_s; /**< its usual period, s; NaN when nothing could be fitted */
    double fit_s[FM_BEATS_MAX]; /**< the fitted interval, one for each listed one */
} fm_rhythm_modulation;

/** A sudden change of rate, or a run of fast beats. */
typedef struct fm_rhythm_change {
    bool found;
    size_t n_changes;
    double changes_s[FM_FINDING_TIMES]; /**< S1 each starts from */
    size_t n_runs;
    double runs_s[FM_FINDING_TIMES];
} fm_rhythm_change;

/** The sum of the listed intervals. */
double fm_rhythm_listed_s(const fm_rhythm_series *s);

/** Middle value of x[0..n-1], which is reordered; NaN when n is 0. */
double fm_rhythm_median(double *x, size_t n);

/** Look for a repeating group. `series` needs length_s, follows, doubtful. */
void fm_rhythm_find_group(const fm_rhythm_series *series, fm_rhythm_group *out);

/** Name the kinds of the intervals of a repeating group. */
void fm_rhythm_name_group(fm_rhythm_series *series, const fm_rhythm_group *group);

/** Look for a periodic modulation, as breathing makes it. Needs base_s and kind. */
void fm_rhythm_find_modulation(const fm_rhythm_series *series,
                               fm_rhythm_modulation *out);

/** Look for sudden changes of rate and fast runs; sets level (all 0 when none found). */
void fm_rhythm_find_change(fm_rhythm_series *series, fm_rhythm_change *out);

/** Set base_s from the neighbours in the same level: a running median. */
void fm_rhythm_set_base(fm_rhythm_series *series);

/** Robust standard deviation of length_s / base_s; 0 for none. */
double fm_rhythm_spread(const fm_rhythm_series *series);

/** Name the kinds of intervals beside base_s. */
void fm_rhythm_name_kinds(fm_rhythm_series *series);

#endif
