/**
 * @file reference_range.h
 * What pulse is usual at an age, where the apical pulse is felt for at that age, and
 * where each figure comes from. A range never explains a number: context decides.
 *
 * Source: children: Fleming et al., Lancet 2011;377:1011, centiles of heart rate from 69
 *         studies (143 346 children). Of the rows only four (0-3 to 9-12 months) were
 *         read, in a second-hand copy; the rest stands from memory and says so until
 *         checked against the paper's Table 4.
 *         Adults: 60 to 100 per minute at rest, common practice, no source.
 *         Site: fifth left intercostal space, fourth under about 7 years: common
 *         practice, no source.
 */
#ifndef FM_REFERENCE_RANGE_H
#define FM_REFERENCE_RANGE_H

#include "dsp/status.h"

#include <stdbool.h>
#include <stddef.h>

#define FM_AGE_MAX_MONTHS   1560.0 /**< 130 years */
#define FM_AGE_ADULT_MONTHS 216.0  /**< 18 years: from here the adult row */
#define FM_AGE_ADOLESCENT_MONTHS                                                       \
    144.0 /**< 12 years: from here the adult's range is taught (common practice, no source) */

/** One row: an age band and what is usual in it. Texts are constant. */
typedef struct fm_reference_range {
    const char *age_band;  /**< "2 to 3 years" */
    double from_months;    /**< ages from this one ... */
    double below_months;   /**< ... to just under this one */
    double low_per_min;    /**< lowest usual: 1st centile for children */
    double median_per_min; /**< NaN for adults */
    double high_per_min;   /**< highest usual: 99th centile for children */
    const char *meaning;   /**< what low and high are: "1st to 99th centile" */
    const char *source;    /**< who says so */
    bool from_memory;      /**< not yet checked against the source */
    bool small_child; /**< under about 7 years: fourth space, always a full minute */
    bool infant;      /**< under 1 year: asleep or calm, respirations first */
} fm_reference_range;

/** Where a rate lies in a range. */
typedef enum fm_range_place {
    FM_RANGE_UNKNOWN, /**< the rate is not known */
    FM_RANGE_BELOW,
    FM_RANGE_WITHIN, /**< the limits themselves are within */
    FM_RANGE_ABOVE,
    FM_RANGE_EDGE /**< the interval that holds the rate is partly in, partly out */
} fm_range_place;

/**
 * The row for an age.
 *
 * @param age_months  0..FM_AGE_MAX_MONTHS; 0 is the day of birth
 * @param[out] out    untouched on error
 * @return FM_OK; FM_ERR_ARG (out of range or NaN)
 */
fm_status fm_reference_range_find(double age_months, fm_reference_range *out);

/**
 * The row for an age in any table of such rows.
 *
 * @param table  table[0..n-1], n >= 1, youngest first, each beginning where the one
 *               before ends, from 0 months on; ages above the last have the last row
 * @return as fm_reference_range_find
 */
fm_status fm_reference_range_find_in(const fm_reference_range *table,
                                     size_t n,
                                     double age_months,
                                     fm_reference_range *out);

/**
 * The row that a learner's rate may be judged by: row itself where it was read in its
 * source or is common practice; from FM_AGE_ADOLESCENT_MONTHS on the last row of table, as
 * taught; else none: a row that nobody has read gives no verdict.
 *
 * @param table  table[0..n-1], n >= 1, as in fm_reference_range_find_in
 * @return row, a row of table, or NULL
 */
const fm_reference_range *fm_reference_range_judge_in(const fm_reference_range *table,
                                                      size_t n,
                                                      const fm_reference_range *row);

/** The same in this table. */
const fm_reference_range *fm_reference_range_judge(const fm_reference_range *row);

/** Are its limits centiles of children? To lie between them alone is not 'within'. */
bool fm_reference_range_is_centiles(const fm_reference_range *row);

/** All rows, youngest first; never NULL. @param[out] n how many */
const fm_reference_range *fm_reference_range_table(size_t *n);

/** Where rate_per_min lies; NaN: FM_RANGE_UNKNOWN. */
fm_range_place fm_reference_range_place(const fm_reference_range *range,
                                        double rate_per_min);

/**
 * Where a rate lies that is only known to be in [rate_low, rate_high]: never finer than
 * that interval.
 *
 * @param low, high            the range's limits, themselves within
 * @param rate_low, rate_high  per minute, low <= high; NaN: FM_RANGE_UNKNOWN
 */
fm_range_place fm_range_place_between(double low,
                                      double high,
                                      double rate_low,
                                      double rate_high);

#endif
