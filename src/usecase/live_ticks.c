/* The lead-in of a live window: three ticks through the default output, if there is one.
 * Without one the sitting goes on; the screen counts down. */
#include "src/usecase/live_private.h"

#include <stdlib.h>

void live_ticks_open(live_sitting *s)
{
    app_err ignored = APP_ERR_NONE;
    if (!s->plan.ticks || !s->has_devices) {
        s->plan.ticks = false;
        return;
    }
    s->player = player_open(-1, s->rate_hz, &ignored);
    if (s->player != NULL) {
        const double rate_hz = player_rate_hz(s->player);
        s->n_tick_samples = player_lead_in_samples(rate_hz);
        s->tick_samples = calloc((size_t)s->n_tick_samples, sizeof *s->tick_samples);
    }
    if (s->tick_samples == NULL) {
        s->plan.ticks = false;
        return;
    }
    player_lead_in(player_rate_hz(s->player), s->tick_samples);
}

double live_ticks_play(live_sitting *s)
{
    if (s->tick_samples == NULL || !player_alive(s->player)) {
        s->plan.ticks = false;
        return 0.0;
    }
    player_start(s->player, s->tick_samples, s->n_tick_samples, 0);
    return player_latency_s(s->player) +
           (double)s->n_tick_samples / player_rate_hz(s->player);
}

bool live_ticks_close(live_sitting *s)
{
    const bool closed = player_close(s->player);
    s->player = NULL;
    if (closed) {
        free(s->tick_samples); /* an output that hangs may still read them */
    }
    return closed;
}
