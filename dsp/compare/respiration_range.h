/**
 * @file respiration_range.h
 * What respirations are usual at an age, from which rate WHO calls a child's breathing
 * fast, and where each figure comes from. A range never explains a number: context
 * decides.
 *
 * Source: children: Fleming et al., Lancet 2011;377:1011, centiles of respiratory rate
 *         from 69 studies (3881 children for respirations). The medians at birth and at
 *         two years were read in its abstract; the rows stand from memory and say so
 *         until checked against the paper's Table 4.
 *         Adults: 12 to 20 per minute at rest, common practice, no source.
 *         Fast breathing: WHO, as tabulated in PMC5193399, table 1: 60 or more under 2
 *         months, 50 or more at 2 to 11 months, 40 or more at 12 to 59 months. Some pages
 *         print 'more than'; the limit itself is fast here.
 */
#ifndef FM_RESPIRATION_RANGE_H
#define FM_RESPIRATION_RANGE_H

#include "dsp/compare/reference_range.h"
#include "dsp/status.h"

#include <stdbool.h>
#include <stddef.h>

/** One row, as for the pulse; small_child says nothing here and is always false. */
typedef fm_reference_range fm_respiration_range;

/** Is breathing fast by WHO's limits? */
typedef enum fm_who_breathing {
    FM_WHO_NOT_KNOWN, /**< no limit at this age, or no rate */
    FM_WHO_NOT_FAST,
    FM_WHO_FAST /**< at the limit or above it */
} fm_who_breathing;

/** Who set the limits, for people; constant, never NULL. */
const char *fm_who_source(void);

/**
 * The row for an age.
 *
 * @param age_months  0..FM_AGE_MAX_MONTHS; 0 is the day of birth
 * @param[out] out    untouched on error
 * @return FM_OK; FM_ERR_ARG (out of range or NaN)
 */
fm_status fm_respiration_range_find(double age_months, fm_respiration_range *out);

/** The row that a rate may be judged by; as fm_reference_range_judge_in. NULL: none. */
const fm_respiration_range *fm_respiration_range_judge(const fm_respiration_range *row);

/** All rows, youngest first; never NULL. @param[out] n how many */
const fm_respiration_range *fm_respiration_range_table(size_t *n);

/** Where rate_per_min lies; the limits are within; NaN: FM_RANGE_UNKNOWN. */
fm_range_place fm_respiration_range_place(const fm_respiration_range *range,
                                          double rate_per_min);

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
