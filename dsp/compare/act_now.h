/**
 * @file act_now.h
 * Rates at which somebody is told at once, from published sources only, each with its
 * ages and exclusions. Inside a line nothing is said: it is never called safe, and no
 * score is made.
 *
 * Source: 16 years and over, not in pregnancy: national early-warning score of 2017
 *         (Royal College of Physicians), the bands that alone ask for an urgent look:
 *         respirations <= 8 or >= 25, pulse <= 40 or >= 131 per minute; read in a copy of
 *         its chart (EVIDENCE 5.4), ages and exclusion from memory.
 *         Under 5 years: respirations at or above WHO's limit of fast breathing
 *         (reference_range.h). No published line is used for their pulse, nor for
 *         either at 5 to 15 years: by the signs and the local chart.
 *         None at all, 0, is told at every age: the signs come before any number.
 */
#ifndef FM_ACT_NOW_H
#define FM_ACT_NOW_H

#include <stdbool.h>

#define FM_ACT_ADULT_MONTHS 192.0 /**< 16 years */
#define FM_ACT_CHILD_MONTHS 60.0  /**< WHO's limits end at 5 years */

/** What is counted. */
typedef enum fm_act_sign {
    FM_ACT_PULSE,
    FM_ACT_RESPIRATIONS
} fm_act_sign;

/** The line at an age, per minute. */
typedef struct fm_act_line {
    double low;         /**< at this or below; NaN: no line */
    double high;        /**< at this or above; NaN: no line */
    const char *source; /**< who says so and of whom; "" without a line */
} fm_act_line;

/** Where a rate lies. */
typedef enum fm_act {
    FM_ACT_UNKNOWN, /**< no rate, or no published line at this age */
    FM_ACT_INSIDE,  /**< says nothing of the person */
    FM_ACT_LOW,     /**< at the lower line or below it, or none at all */
    FM_ACT_HIGH     /**< at the upper line or above it */
} fm_act;

/** The line at an age in months; NaN: no age is given, the line of 16 years and over. */
fm_act_line fm_act_line_find(fm_act_sign sign, double age_months);

/** Where per_min lies; NaN: FM_ACT_UNKNOWN. */
fm_act fm_act_judge(fm_act_sign sign, double age_months, double per_min);

/** Is it FM_ACT_LOW or FM_ACT_HIGH? */
bool fm_act_is_reached(fm_act act);

#endif
