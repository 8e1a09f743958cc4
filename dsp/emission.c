#include "dsp/emission.h"

static float clamp(float x, float low, float high)
{
    return x < low ? low : (x > high ? high : x);
}

void fm_emission_score(const fm_features *f, fm_candidate *c, size_t n)
{
    (void)f;
    for (size_t i = 0; i < n; i++) {
        const float s = clamp(6.0f * (c[i].height - 0.42f), -4.0f, 4.0f);
        c[i].score_s1 = s;
        c[i].score_s2 = s;
    }
}
