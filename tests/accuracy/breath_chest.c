/* Real chests: recordings of hearts, whose ECG's intervals tell of the breathing. */
#include "breath_case.h"
#include "ecg_breath.h"

#include <math.h>
#include <stdio.h>

bool breath_case_chest(const recording *r, breath_case *c)
{
    *c = (breath_case){.kind = BREATH_CHEST, .snr_db = (double)NAN, .speed = 1.0};
    (void)snprintf(c->name, sizeof c->name, "%.79s", r->name);
    if (!sound_read(&c->sound, r->path)) {
        return false;
    }
    c->window_s = fmin(60.0, (double)c->sound.n / c->sound.rate_hz);
    c->true_per_min = ecg_breath_rate(r->beats_s, r->n_beats);
    return true;
}
