#include "dsp/compare/act_now.h"

#include "dsp/compare/reference_range.h"

#include <math.h>

#define SCORE                                                                          \
    "national early-warning score of 2017; 16 years and over, not in pregnancy"
#define WHO_FAST                                                                       \
    "WHO, fast breathing under 5 years, with cough or difficult breathing, calm"

static const fm_act_line NONE = {(double)NAN, (double)NAN, ""};
static const fm_act_line ADULT_PULSE = {40.0, 131.0, SCORE};
static const fm_act_line ADULT_RESPIRATIONS = {8.0, 25.0, SCORE};

fm_act_line fm_act_line_find(fm_act_sign sign, double age_months)
{
    if (isnan(age_months) || age_months >= FM_ACT_ADULT_MONTHS) {
        return sign == FM_ACT_PULSE ? ADULT_PULSE : ADULT_RESPIRATIONS;
    }
    if (sign == FM_ACT_RESPIRATIONS && age_months < FM_ACT_CHILD_MONTHS) {
        return (fm_act_line){(double)NAN, fm_who_fast_per_min(age_months), WHO_FAST};
    }
    return NONE;
}

fm_act fm_act_judge(fm_act_sign sign, double age_months, double per_min)
{
    const fm_act_line line = fm_act_line_find(sign, age_months);
    if (!isfinite(per_min)) {
        return FM_ACT_UNKNOWN;
    }
    if (per_min <= 0.0 || islessequal(per_min, line.low)) {
        return FM_ACT_LOW;
    }
    if (isgreaterequal(per_min, line.high)) {
        return FM_ACT_HIGH;
    }
    return isnan(line.low) && isnan(line.high) ? FM_ACT_UNKNOWN : FM_ACT_INSIDE;
}

bool fm_act_is_reached(fm_act act)
{
    return act == FM_ACT_LOW || act == FM_ACT_HIGH;
}
