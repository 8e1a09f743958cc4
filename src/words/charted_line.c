#include "src/words/charted_line.h"

#include "dsp/compare/compare.h"
#include "src/base/text.h"

#include <math.h>
#include <stdbool.h>
#include <string.h>

#define ADD(out, ...) text_add((out), CHARTED_LINE_BYTES, __VA_ARGS__)

/* ", word", nothing for "". */
static void add_part(char *out, const char *word)
{
    if (word[0] != '\0') {
        ADD(out, ", %s", word);
    }
}

/* The person's own clock, not Greenwich's. */
static void add_time(char *out, const entry *e)
{
    const char *const t = e->entered_utc;
    if (entry_is_utc(t)) {
        const int hour = (t[11] - '0') * 10 + t[12] - '0';
        const int minute = (t[14] - '0') * 10 + t[15] - '0';
        const int offset = e->offset_min == ENTRY_NO_WHOLE ? 0 : e->offset_min;
        const int day = 24 * 60;
        const int at = ((hour * 60 + minute + offset) % day + day) % day;
        ADD(out, "%02d:%02d ", at / 60, at % 60);
    }
}

static void add_site(char *out, const entry *e)
{
    if (strcmp(e->site, "radial") == 0) {
        ADD(out, "Radial");
    } else if (strcmp(e->site, "other") == 0) {
        ADD(out, "Pulse");
    } else {
        ADD(out, "Apical");
    }
}

/* An uneven rhythm is reported; to whom and when is part of the line. */
static void add_rhythm(char *out, const entry *e)
{
    const bool even = e->rhythm[0] == '\0' || strcmp(e->rhythm, "regular") == 0;
    add_part(out, e->rhythm);
    if (!even) {
        ADD(out, ", reported to %s at %s",
            e->reported_to[0] != '\0' ? e->reported_to : "____",
            e->reported_at[0] != '\0' ? e->reported_at : "____");
    }
}

static void add_pulse(char *out, const entry *e)
{
    add_site(out, e);
    ADD(out, " %.0f/min", entry_per_min(e));
    if (e->wrist[0] != '\0') {
        ADD(out, ", %s wrist", e->wrist);
    }
    add_part(out, e->strength);
    add_rhythm(out, e);
    ADD(out, ", counted %d s", e->seconds);
    add_part(out, e->context);
    add_part(out, e->posture);
    ADD(out, ". ");
    if (e->wrist_beats != ENTRY_NO_WHOLE && e->seconds == 60) {
        ADD(out, "Radial, second examiner, same minute %d/min", e->wrist_beats);
        const int fewer = e->beats - e->wrist_beats;
        if (fewer == 0 || fewer >= FM_DEFICIT_NAMED_FROM) {
            ADD(out, ", deficit %d", fewer);
        }
        ADD(out, ". ");
    }
}

static void add_breaths(char *out, const entry *e)
{
    ADD(out, "Resp %.0f/min", entry_breath_per_min(e));
    add_part(out, e->breath_rhythm);
    add_part(out, e->breath_depth);
    add_part(out, e->breath_effort);
    ADD(out, ", counted %d s. ", e->breath_seconds);
}

static void add_signs(char *out, const entry *e)
{
    if (isfinite(e->temperature)) {
        ADD(out, "T %.1f %s", e->temperature, e->temperature_unit);
        add_part(out, e->temperature_site);
        ADD(out, ". ");
    }
    if (e->systolic_mmhg != ENTRY_NO_WHOLE && e->diastolic_mmhg != ENTRY_NO_WHOLE) {
        ADD(out, "BP %d/%d mmHg", e->systolic_mmhg, e->diastolic_mmhg);
        if (e->palpated_mmhg != ENTRY_NO_WHOLE) {
            ADD(out, ", palpated %d", e->palpated_mmhg);
        }
        add_part(out, e->cuff);
        add_part(out, e->pressure_posture);
        ADD(out, ". ");
    }
    if (e->saturation_percent != ENTRY_NO_WHOLE) {
        ADD(out, "SpO2 %d %%. ", e->saturation_percent);
    }
    if (e->pain_of_10 != ENTRY_NO_WHOLE) {
        ADD(out, "Pain %d/10. ", e->pain_of_10);
    }
}

const char *charted_line(const entry *e, char out[CHARTED_LINE_BYTES])
{
    out[0] = '\0';
    add_time(out, e);
    if (isfinite(entry_per_min(e))) {
        add_pulse(out, e);
    } else if (e->could_not != ENTRY_NO_WHOLE) {
        add_site(out, e);
        ADD(out, " pulse could not be counted. ");
    }
    if (isfinite(entry_breath_per_min(e))) {
        add_breaths(out, e);
    } else if (e->breath_could_not != ENTRY_NO_WHOLE) {
        ADD(out, "Resp could not be counted. ");
    }
    add_signs(out, e);
    ADD(out, "[practice]");
    return out;
}
