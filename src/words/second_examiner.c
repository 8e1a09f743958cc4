#include "src/words/second_examiner.h"

#include "dsp/compare/compare.h"

#include <math.h>
#include <stdio.h>

/* What follows from both counts. */
static const char *outcome(const sitting_document *d)
{
    const int fewer = d->pulse.entered - d->second.entered;
    if (fewer < 0) {
        return "More beats at the wrist than at the apex cannot be: a counting error; "
               "count again. No deficit is stored.";
    }
    if (d->pulse.seconds == 60 && fewer > 0 && fewer < FM_DEFICIT_NAMED_FROM) {
        return "One or two fewer at the wrist can be a counting error: both counts are "
               "charted, and no deficit is named. Repeat it, the same full minute for "
               "both; the same again: report it.";
    }
    return "Not a full minute: no deficit is stored.";
}

const char *second_examiner_text(const sitting_document *d,
                                 char out[LINES_PARAGRAPH_BYTES])
{
    char deficit[80] = "";
    out[0] = '\0';
    if (!d->second.given || !d->pulse.given) {
        return out;
    }
    if (d->second.could_not || d->pulse.could_not) {
        (void)snprintf(out, LINES_PARAGRAPH_BYTES,
                       "Two examiners, and one of them could not count: no deficit is "
                       "stored. Repeat it, the same full minute for both.");
        return out;
    }
    if (isfinite(d->deficit_per_min)) {
        (void)snprintf(deficit, sizeof deficit,
                       "Pulse deficit: %.0f per minute. Report it, with both counts.",
                       d->deficit_per_min);
    }
    (void)snprintf(out, LINES_PARAGRAPH_BYTES,
                   "Two examiners, the same %d s: apex %d, wrist %d. %s",
                   d->pulse.seconds, d->pulse.entered, d->second.entered,
                   deficit[0] != '\0' ? deficit : outcome(d));
    return out;
}
