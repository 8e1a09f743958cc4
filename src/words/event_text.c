#include "src/words/event_text.h"

#include "src/document/whole_range.h"

#include <math.h>

/* Highest confidence put in words: above it, more digits would promise too much. */
static const double CONFIDENCE_SHOWN = 0.99;

void event_text_label(const char *label, FILE *to)
{
    (void)fprintf(to, "  %-14s", label);
}

void event_text_length(double length_s, FILE *to)
{
    const bool whole = fabs(length_s - round(length_s)) < 0.05;
    (void)fprintf(to, "%.*f s", whole ? 0 : 1, length_s);
}

void event_text_rate(double rate, double low, double high, bool full_minute, FILE *to)
{
    if (isnan(rate)) {
        (void)fputs(", too few for a rate per minute", to);
        return;
    }
    (void)fprintf(
        to, full_minute ? " = %.0f per minute" : "; by their spacing %.1f per minute",
        rate);
    if (isfinite(low) && isfinite(high)) {
        (void)fprintf(to, " (%.0f to %.0f)", whole_range_low(low),
                      whole_range_high(high));
    }
}

void event_text_end(const fm_event_count *count,
                    const char *counted,
                    const char *reason,
                    FILE *to)
{
    const bool doubtful = count->status == FM_CAUTION;
    (void)fputs(doubtful ? ". With caution" : counted, to);
    /* A doubt beside a figure this high is a rule's: the two would contradict each other. */
    if (count->confidence > CONFIDENCE_SHOWN) {
        if (!doubtful) {
            (void)fprintf(to, ", confidence above %.2f", CONFIDENCE_SHOWN);
        }
    } else if (isfinite(count->confidence)) {
        (void)fprintf(to, ", confidence %.2f", count->confidence);
    }
    (void)fputs(".", to);
    if (doubtful && reason[0] != '\0') {
        (void)fprintf(to, " Doubt: %s.", reason);
    }
}

void event_text_range(const fm_event_count *count, double *low, double *high)
{
    const bool known =
        isfinite(count->rate_low_per_min) && isfinite(count->rate_high_per_min);
    *low =
        known ? whole_range_low(count->rate_low_per_min) : round(count->rate_per_min);
    *high =
        known ? whole_range_high(count->rate_high_per_min) : round(count->rate_per_min);
}

const fm_reference_range *event_text_judge(fm_event_kind kind, double age_months)
{
    const double months = isfinite(age_months) ? age_months : FM_AGE_ADULT_MONTHS;
    size_t n = 0;
    const fm_reference_range *const table = fm_reference_range_table(kind, &n);
    size_t i = 0;
    while (i + 1 < n && months >= table[i].below_months) {
        i++;
    }
    return fm_reference_range_judge(&table[i]);
}
