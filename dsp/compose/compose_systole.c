/*
 * How long systole is at a rate.
 *
 * Up to 110 per minute: the audible S1-S2 interval is electromechanical systole less the
 * time from Q to S1. QS2 = 541 - 2.2 HR (men), 540 - 2.0 HR (women) ms: "Electromechanical
 * systole in 200 healthy adults", Chest 80:613, 1981 (abstract read); the mean of both is
 * used. Q to S1 is 60-90 ms (from memory); the middle, 75 ms, is used.
 * From 120 per minute the lines run into nonsense: 0.45-0.5 of the interval (from memory).
 * Between 110 and 120 a straight line joins the two.
 */
#include "dsp/compose/compose_private.h"

static const double QS2_AT_REST_MS = 540.5;
static const double QS2_PER_BPM_MS = 2.1;
static const double Q_TO_S1_MS = 75.0;
static const double LINE_ENDS_BPM = 110.0;
static const double SHARE_STARTS_BPM = 120.0;
static const double SHARE_FULL_BPM = 220.0;
static const double SHARE_LOW = 0.45;
static const double SHARE_HIGH = 0.5;

static double by_line_s(double rate_bpm)
{
    return (QS2_AT_REST_MS - QS2_PER_BPM_MS * rate_bpm - Q_TO_S1_MS) / 1000.0;
}

static double by_share_s(double rate_bpm)
{
    double along = (rate_bpm - SHARE_STARTS_BPM) / (SHARE_FULL_BPM - SHARE_STARTS_BPM);
    along = along > 1.0 ? 1.0 : along;
    return (SHARE_LOW + along * (SHARE_HIGH - SHARE_LOW)) * 60.0 / rate_bpm;
}

double fm_systole_usual_s(double rate_bpm)
{
    if (rate_bpm <= LINE_ENDS_BPM) {
        return by_line_s(rate_bpm);
    }
    if (rate_bpm >= SHARE_STARTS_BPM) {
        return by_share_s(rate_bpm);
    }
    const double along =
        (rate_bpm - LINE_ENDS_BPM) / (SHARE_STARTS_BPM - LINE_ENDS_BPM);
    return by_line_s(LINE_ENDS_BPM) +
           along * (by_share_s(SHARE_STARTS_BPM) - by_line_s(LINE_ENDS_BPM));
}
