/*
 * What a learner does to a recording: the chest piece lifts, or fades out and in; a recorder drops
 * samples. Nothing of it draws from another stream, so that a recipe without it gives the bytes
 * it always gave.
 */
#include "dsp/compose/compose_private.h"

#include <math.h>

/* Softer than this by lost contact a beat cannot be heard; ours: under most backgrounds. */
static const double INAUDIBLE_DB = -20.0;
/* What stays when contact is lost, against the heart: the air and the electronics (ours). */
static const double AIR_DB = -30.0;

static bool in_dropout(const fm_recipe *r, double time_s)
{
    if (!(r->dropouts_per_min > 0.0)) {
        return false;
    }
    const double slot_s = 60.0 / r->dropouts_per_min;
    const double slot = floor(time_s / slot_s);
    fm_random random = fm_random_init(r->seed + (uint64_t)slot, FM_STREAM_DROPOUTS);
    const double from_s =
        slot * slot_s + fm_random_uniform(&random) * fmax(0.0, slot_s - r->dropout_s);
    return time_s >= from_s && time_s < from_s + r->dropout_s;
}

bool fm_compose_is_lost(const fm_recipe *r, double time_s)
{
    return (time_s >= r->lost_start_s && time_s < r->lost_start_s + r->lost_length_s) ||
           in_dropout(r, time_s);
}

/* How much softer all is at time_s because contact is lost, <= 0. */
static double contact_db(const fm_recipe *r, double time_s)
{
    const double in_s = time_s - r->contact_lost_start_s;
    const double left_s = r->contact_lost_length_s - in_s;
    if (!(r->contact_lost_length_s > 0.0) || in_s < 0.0 || left_s < 0.0) {
        return 0.0;
    }
    const double depth = r->contact_fade_s > 0.0
                             ? fmin(1.0, fmin(in_s, left_s) / r->contact_fade_s)
                             : 1.0;
    return -r->contact_depth_db * depth;
}

bool fm_compose_cannot_hear(const fm_recipe *r, double time_s)
{
    return fm_compose_is_lost(r, time_s) || contact_db(r, time_s) < INAUDIBLE_DB;
}

/* White and on all the while, so that nothing but what is lost tells when. */
void fm_compose_add_contact(const fm_recipe *r, double gain, float *x, size_t n)
{
    if (!(r->contact_lost_length_s > 0.0)) {
        return;
    }
    fm_random random = fm_random_init(r->seed, FM_STREAM_AIR);
    const double air = gain * fm_db_gain(AIR_DB);
    for (size_t i = 0; i < n; i++) {
        const double db = contact_db(r, (double)i / r->rate_hz);
        x[i] = (float)(fm_db_gain(db) * (double)x[i] + air * fm_random_normal(&random));
    }
}
