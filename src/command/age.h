/**
 * @file age.h
 * The person's age as the command line has it, for the commands that pick a range by it.
 */
#ifndef COMMAND_AGE_H
#define COMMAND_AGE_H

#include "src/base/error.h"

#define AGE_OPTION                                                                     \
    {                                                                                  \
        "age", OPTION_TEXT, "YEARS",                                                   \
            "the person's age in years, or in months as '6m': picks the reference "    \
            "range and the method",                                                    \
            0, 0, NULL                                                                 \
    }

/**
 * "34" years, "6m" months, "2y" years.
 *
 * @param[out] months  0..FM_AGE_MAX_MONTHS
 * @return false with err APP_USAGE
 */
bool age_parse(const char *text, double *months, app_err *err);

#endif
