/**
 * @file age.h
 * The person's age as the command line has it, for the commands that pick a range by it.
 */
#ifndef COMMAND_AGE_H
#define COMMAND_AGE_H

#include "src/base/options.h"

/** The row of an option table; the member is in months, NaN where it is not known. */
#define AGE_OPTION(plan, months)                                                       \
    {                                                                                  \
        "age", "YEARS", OPTION_OWN(plan, months, age_read),                            \
            "the person's age in years, or in months as '6m': picks the reference "    \
            "range and the method"                                                     \
    }

/** "34" years, "6m" months, "2y" years, into a double: 0..FM_AGE_MAX_MONTHS. */
option_reader age_read;

#endif
