/* From the measures to the one finding. All limits are ours, in dB; see placement.h. */
#include "dsp/heart/placement.h"

#include <math.h>

static const double STILL_MAX = 0.08;
/* A frame this loud stands well over a quiet input's last bits. */
static const double LOUD_DBFS = -45.0;
static const double HEARD_DBFS = -85.0;
static const double NEARLY_GONE_DBFS = -80.0;

static const double CLIPPED_MAX = 0.0005; /* 5 ms of ten seconds */

static const double FLOOR_FALLS_DB = 12.0; /* in a hush: what is steady is taken away */
static const double FLOOR_RISES_DB = 10.0; /* in a hush: the gain is turned up */

static const double HEART_OVER_HUSH_DB = 10.0;
static const double HEART_MODULATION_DB = 9.0; /* noise alone varies by 3 to 4 */
static const double HEART_DENSITY_DB = -95.0;  /* peaks near -60 dBFS */

static const double LOST_DEEP_LOW_DB = -5.0;
static const double LOST_DEEP_SPEECH_DB = -8.0;
static const double SOUND_DENSITY_DB = -125.0; /* over rounding of 16 bits at 8 kHz */
static const double EDGE_DB = 20.0;

static const double RUB_UNDER_HEART_DB = 18.0; /* the loudest rubbing */
static const double RUB_BURST_DB = 20.0; /* over its own median: it comes and goes */
static const double NOISE_UNDER_HEART_DB = 8.0;

static const double ROOM_DENSITY_DB = -110.0;
static const double UNMOVED_DB = 4.0;

/* A gate shuts between sounds: nothing at all, then loud. An input that is merely quiet
   stands still too, but then nothing is loud. */
static bool gated(const fm_placement_measures *hush, const fm_placement_measures *chest)
{
    return (chest->still > STILL_MAX && chest->level_dbfs.p90 > LOUD_DBFS) ||
           (hush->still > STILL_MAX && hush->level_dbfs.p90 > HEARD_DBFS);
}

/* Nothing happens in a hush, so its floor stands still unless something moves it. A fall
   from something loud is a person who was not quiet at once. */
static bool pumped(const fm_placement_measures *hush)
{
    const double *const f = hush->floor_db;
    const bool falls = f[0] - f[2] > FLOOR_FALLS_DB && f[1] <= f[0] &&
                       f[0] > HEARD_DBFS && f[0] < LOUD_DBFS && f[2] < NEARLY_GONE_DBFS;
    const bool rises = f[2] - f[0] > FLOOR_RISES_DB && f[1] >= f[0] && f[2] >= f[1];
    return falls || (rises && f[2] > HEARD_DBFS && f[2] < LOUD_DBFS);
}

static bool heart_heard(const fm_placement_measures *hush,
                        const fm_placement_measures *chest)
{
    const fm_placement_spread *const low = &chest->density_db[FM_PLACEMENT_LOW];
    return low->p90 > HEART_DENSITY_DB && low->p90 - low->p10 > HEART_MODULATION_DB &&
           low->p90 > hush->density_db[FM_PLACEMENT_LOW].p50 + HEART_OVER_HUSH_DB;
}

static bool lows_lost(const fm_placement_measures *chest)
{
    const double deep = chest->density_db[FM_PLACEMENT_DEEP].p90;
    const double low = chest->density_db[FM_PLACEMENT_LOW].p90;
    const double speech = chest->density_db[FM_PLACEMENT_SPEECH].p90;
    return fmax(low, speech) > SOUND_DENSITY_DB &&
           (deep - low < LOST_DEEP_LOW_DB || deep - speech < LOST_DEEP_SPEECH_DB);
}

/* Nothing above what a call carries. */
static bool ends_like_a_call(const fm_placement_measures *chest)
{
    const double speech = chest->density_db[FM_PLACEMENT_SPEECH].p10;
    const double top = chest->density_db[FM_PLACEMENT_TOP].p10;
    const double high = chest->density_db[FM_PLACEMENT_HIGH].p10;
    return isnan(top) ? high < speech - EDGE_DB : top < speech - EDGE_DB;
}

static bool rubbed(const fm_placement_measures *chest)
{
    const double heart = chest->density_db[FM_PLACEMENT_LOW].p90;
    const fm_placement_spread *const rub = &chest->density_db[FM_PLACEMENT_RUB];
    return (heart - rub->p98 < RUB_UNDER_HEART_DB &&
            rub->p98 - rub->p50 > RUB_BURST_DB) ||
           heart - rub->p90 < NOISE_UNDER_HEART_DB;
}

/* The chest changes nothing: it hears the room. */
static bool hears_the_room(const fm_placement_measures *hush,
                           const fm_placement_measures *chest)
{
    return hush->density_db[FM_PLACEMENT_SPEECH].p50 > ROOM_DENSITY_DB &&
           fabs(chest->level_dbfs.p50 - hush->level_dbfs.p50) < UNMOVED_DB &&
           fabs(chest->density_db[FM_PLACEMENT_LOW].p90 -
                hush->density_db[FM_PLACEMENT_LOW].p90) < UNMOVED_DB;
}

fm_placement_finding fm_placement_decide(const fm_placement_measures *hush,
                                         const fm_placement_measures *chest,
                                         fm_placement_hints hints)
{
    const bool heard = heart_heard(hush, chest);
    const bool lost = lows_lost(chest);
    if (chest->clipped > CLIPPED_MAX) {
        return FM_PLACEMENT_CLIPPING;
    }
    if (gated(hush, chest) || pumped(hush)) {
        return FM_PLACEMENT_VOICE_PROCESSING;
    }
    if (lost && (hints.named_wireless || ends_like_a_call(chest))) {
        return FM_PLACEMENT_WIRELESS_CALL;
    }
    if (!heard && (hints.named_built_in || hears_the_room(hush, chest))) {
        return FM_PLACEMENT_BUILT_IN;
    }
    if (lost) {
        return FM_PLACEMENT_BUILT_IN;
    }
    if (rubbed(chest) && chest->density_db[FM_PLACEMENT_LOW].p90 > HEART_DENSITY_DB) {
        return FM_PLACEMENT_FRICTION;
    }
    return heard ? FM_PLACEMENT_READY : FM_PLACEMENT_TOO_QUIET;
}
