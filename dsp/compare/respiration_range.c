#include "dsp/compare/respiration_range.h"

#include <math.h>

#define FLEMING  "Fleming et al. 2011 (Lancet 377:1011)"
#define CENTILES "1st to 99th centile"
#define YEARS(n) ((n)*12.0)

#define CHILD(band, from, below, low, median, high)                                    \
    {                                                                                  \
        .age_band = (band), .from_months = (from), .below_months = (below),            \
        .low_per_min = (low), .median_per_min = (median), .high_per_min = (high),      \
        .meaning = CENTILES, .source = FLEMING, .from_memory = true,                   \
        .infant = (from) < 12.0,                                                       \
    }

/* Centiles 1, 50 and 99 of respiratory rate, from memory; see the header. */
static const fm_respiration_range TABLE[] = {
    CHILD("at birth", 0.0, 1.0 / 30.0, 25.0, 44.0, 66.0),
    CHILD("under 3 months", 1.0 / 30.0, 3.0, 25.0, 43.0, 66.0),
    CHILD("3 to 6 months", 3.0, 6.0, 24.0, 41.0, 64.0),
    CHILD("6 to 9 months", 6.0, 9.0, 23.0, 39.0, 61.0),
    CHILD("9 to 12 months", 9.0, 12.0, 22.0, 37.0, 58.0),
    CHILD("12 to 18 months", 12.0, 18.0, 21.0, 35.0, 53.0),
    CHILD("18 to 24 months", 18.0, 24.0, 19.0, 31.0, 46.0),
    CHILD("2 to 3 years", YEARS(2.0), YEARS(3.0), 18.0, 28.0, 38.0),
    CHILD("3 to 4 years", YEARS(3.0), YEARS(4.0), 17.0, 25.0, 33.0),
    CHILD("4 to 6 years", YEARS(4.0), YEARS(6.0), 17.0, 23.0, 29.0),
    CHILD("6 to 8 years", YEARS(6.0), YEARS(8.0), 16.0, 21.0, 27.0),
    CHILD("8 to 12 years", YEARS(8.0), YEARS(12.0), 14.0, 19.0, 25.0),
    CHILD("12 to 15 years", YEARS(12.0), YEARS(15.0), 12.0, 18.0, 23.0),
    CHILD("15 to 18 years", YEARS(15.0), FM_AGE_ADULT_MONTHS, 11.0, 16.0, 22.0),
    {
        .age_band = "adult",
        .from_months = FM_AGE_ADULT_MONTHS,
        .below_months = FM_AGE_MAX_MONTHS + 1.0,
        .low_per_min = 12.0,
        .median_per_min = (double)NAN,
        .high_per_min = 20.0,
        .meaning = "usual at rest",
        .source = "common practice, no source",
    },
};

enum {
    N_ROWS = sizeof TABLE / sizeof TABLE[0]
};

const char *fm_who_source(void)
{
    return "WHO, as in PMC5193399, table 1";
}

fm_status fm_respiration_range_find(double age_months, fm_respiration_range *out)
{
    return fm_reference_range_find_in(TABLE, N_ROWS, age_months, out);
}

const fm_respiration_range *fm_respiration_range_judge(const fm_respiration_range *row)
{
    return fm_reference_range_judge_in(TABLE, N_ROWS, row);
}

const fm_respiration_range *fm_respiration_range_table(size_t *n)
{
    *n = N_ROWS;
    return TABLE;
}

fm_range_place fm_respiration_range_place(const fm_respiration_range *range,
                                          double rate_per_min)
{
    return fm_reference_range_place(range, rate_per_min);
}

double fm_who_fast_per_min(double age_months)
{
    if (!(age_months >= 0.0) || age_months >= 60.0) {
        return (double)NAN;
    }
    if (age_months < 2.0) {
        return 60.0;
    }
    return age_months < 12.0 ? 50.0 : 40.0;
}

fm_who_breathing fm_who_breathing_judge(double age_months, double rate_per_min)
{
    const double limit = fm_who_fast_per_min(age_months);
    if (isnan(limit) || !isfinite(rate_per_min)) {
        return FM_WHO_NOT_KNOWN;
    }
    return rate_per_min >= limit ? FM_WHO_FAST : FM_WHO_NOT_FAST;
}
