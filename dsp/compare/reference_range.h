/**
 * @file reference_range.h
 * What pulse and what respirations are usual at an age, where the apical pulse is felt
 * for at that age, from which rate WHO calls a child's breathing fast, and where each
 * figure comes from. A range never explains a number: context decides.
 *
 * Source: children: Fleming et al., Lancet 2011;377:1011, centiles from 69 studies (heart
 *         rate of 143 346 children, respiratory rate of 3881). Of the pulse's rows only
 *         four (0-3 to 9-12 months) were read, in a second-hand copy, of those of
 *         respirations the medians at birth and at two years, in the abstract; the rest
 *         stands from memory and says so until checked against the paper's Table 4.
 *         Adults: 60 to 100 beats and 12 to 20 respirations per minute at rest, common
 *         practice, no source.
 *         Fast breathing: WHO, as tabulated in PMC5193399, table 1: 60 or more under 2
 *         months, 50 or more at 2 to 11 months, 40 or more at 12 to 59 months. Some pages
 *         print 'more than'; the limit itself is fast here.
 *         Site: fifth left intercostal space, fourth under about 7 years: common
 *         practice, no source.
 */
#ifndef FM_REFERENCE_RANGE_H
#define FM_REFERENCE_RANGE_H

#include "dsp/result.h"
#include "dsp/status.h"

#include <stdbool.h>
#include <stddef.h>

#define FM_AGE_MAX_MONTHS   1560.0 /**< 130 years */
#define FM_AGE_ADULT_MONTHS 216.0  /**< 18 years: from here the adult row */
#define FM_AGE_ADOLESCENT_MONTHS                                                       \
    144.0 /**< 12 years: from here the adult's range is taught (common practice, no source) */

/** One row: an age band and what is usual in it. Texts are constant. */
typedef struct fm_reference_range {
    fm_event_kind kind;
    const char *age_band;  /**< "2 to 3 years" */
    double from_months;    /**< ages from this one ... */
    double below_months;   /**< ... to just under this one */
    double low_per_min;    /**< lowest usual: 1st centile for children */
    double median_per_min; /**< NaN for adults */
    double high_per_min;   /**< highest usual: 99th centile for children */
    const char *meaning;   /**< what low and high are: "1st to 99th centile" */
    const char *source;    /**< who says so */
    bool from_memory;      /**< not yet checked against the source */
    bool small_child; /**< under about 7 years: fourth space, always a full minute; of
                          respirations always false */
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

/** Is breathing fast by WHO's limits? */
typedef enum fm_who_breathing {
    FM_WHO_NOT_KNOWN, /**< no limit at this age, or no rate */
    FM_WHO_NOT_FAST,
    FM_WHO_FAST /**< at the limit or above it */
} fm_who_breathing;

/**
 * The row for an age.
 *
 * @param age_months  0..FM_AGE_MAX_MONTHS; 0 is the day of birth
 * @param[out] out    untouched on error
 * @return FM_OK; FM_ERR_ARG (out of range or NaN)
 */
fm_status fm_reference_range_find(fm_event_kind kind,
                                  double age_months,
                                  fm_reference_range *out);

/**
 * The row that a learner's rate may be judged by: row itself where it was read in its
 * source or is common practice; from FM_AGE_ADOLESCENT_MONTHS on the adult's, as taught;
 * else none: a row that nobody has read gives no verdict.
 *
 * @return row, the adult's row, or NULL
 */
const fm_reference_range *fm_reference_range_judge(const fm_reference_range *row);

/** Are its limits centiles of children? To lie between them alone is not 'within'. */
bool fm_reference_range_is_centiles(const fm_reference_range *row);

/** All rows, youngest first; never NULL. @param[out] n how many */
const fm_reference_range *fm_reference_range_table(fm_event_kind kind, size_t *n);

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

/** Who set the limits, for people; constant, never NULL. */
const char *fm_who_source(void);

/**
 * The rate from which on WHO calls breathing fast at an age, per minute.
 *
 * @param age_months  whole months are meant: 2 months begin with the day they are full
 * @return NaN from 60 months on, under 0 and for NaN
 */
double fm_who_fast_per_min(double age_months);

/** Compares a rate, per minute, with that limit. */
fm_who_breathing fm_who_breathing_judge(double age_months, double rate_per_min);

#endif
