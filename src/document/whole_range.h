/**
 * @file whole_range.h
 * An interval of rates as it is printed and held against a range: whole numbers, outward
 * from the tenth, since documents print no finer (a lower end of 71.96 is 72.0 there, and 72
 * here). One rule for every text and picture.
 */
#ifndef DOCUMENT_WHOLE_RANGE_H
#define DOCUMENT_WHOLE_RANGE_H

#include <math.h>

#define WHOLE_RANGE_TENTH 0.05 /**< half a tenth */

static inline double whole_range_low(double per_min)
{
    return floor(per_min + WHOLE_RANGE_TENTH);
}

static inline double whole_range_high(double per_min)
{
    return ceil(per_min - WHOLE_RANGE_TENTH);
}

#endif
