#include "dsp/breath.h"

#include <math.h>
#include <string.h>

void fm_breath_begin(const fm_window *window, fm_breath *out)
{
    const double nan = (double)NAN;
    memset(out, 0, sizeof(*out));
    out->status = FM_REFUSED;
    out->reason = FM_REASON_NO_BREATH_CUE;
    out->window = *window;
    out->rate_per_min = nan;
    out->rate_low_per_min = nan;
    out->rate_high_per_min = nan;
    for (int c = 0; c < FM_CUE_COUNT; c++) {
        out->cue_rate_per_min[c] = nan;
    }
}
