#include "dsp/compose/compose_filter.h"

#include "dsp/constants.h"

#include <assert.h>
#include <math.h>

/* Butterworth of fourth order as two sections: Q = 1 / (2 cos(pi/8)), 1 / (2 cos(3 pi/8)). */
static const double BUTTERWORTH_4TH_Q[2] = {0.54119610014619698, 1.3065629648763766};

/* Above this share of the rate the bilinear transform has little left to say. */
static const double USABLE_SHARE = 0.45;

static void add_section(fm_cascade *c, double a0, const fm_section *raw)
{
    assert(c->n < FM_CASCADE_MAX);
    c->section[c->n++] = (fm_section){
        .b0 = raw->b0 / a0,
        .b1 = raw->b1 / a0,
        .b2 = raw->b2 / a0,
        .a1 = raw->a1 / a0,
        .a2 = raw->a2 / a0,
    };
}

static int usable(double rate_hz, double frequency_hz)
{
    return frequency_hz > 0.0 && frequency_hz < USABLE_SHARE * rate_hz;
}

/* Two zeros at half the rate (sign 1: low-pass) or at 0 Hz (sign -1: high-pass). */
static void add_pass(
    fm_cascade *c, double rate_hz, double cutoff_hz, double q, double sign)
{
    if (!usable(rate_hz, cutoff_hz)) {
        return;
    }
    const double w = 2.0 * FM_PI * cutoff_hz / rate_hz;
    const double alpha = sin(w) / (2.0 * q);
    const double b = 1.0 - sign * cos(w);
    const fm_section raw = {.b0 = b / 2.0,
                            .b1 = sign * b,
                            .b2 = b / 2.0,
                            .a1 = -2.0 * cos(w),
                            .a2 = 1.0 - alpha};
    add_section(c, 1.0 + alpha, &raw);
}

void fm_cascade_lowpass(fm_cascade *c, double rate_hz, double cutoff_hz, double q)
{
    add_pass(c, rate_hz, cutoff_hz, q, 1.0);
}

void fm_cascade_highpass(fm_cascade *c, double rate_hz, double cutoff_hz, double q)
{
    add_pass(c, rate_hz, cutoff_hz, q, -1.0);
}

void fm_cascade_bandpass(fm_cascade *c, double rate_hz, double centre_hz, double q)
{
    if (!usable(rate_hz, centre_hz)) {
        return;
    }
    const double w = 2.0 * FM_PI * centre_hz / rate_hz;
    const double alpha = sin(w) / (2.0 * q);
    const fm_section raw = {
        .b0 = alpha, .b1 = 0.0, .b2 = -alpha, .a1 = -2.0 * cos(w), .a2 = 1.0 - alpha};
    add_section(c, 1.0 + alpha, &raw);
}

void fm_cascade_peak(
    fm_cascade *c, double rate_hz, double centre_hz, double q, double gain_db)
{
    if (!usable(rate_hz, centre_hz)) {
        return;
    }
    const double a = pow(10.0, gain_db / 40.0);
    const double w = 2.0 * FM_PI * centre_hz / rate_hz;
    const double alpha = sin(w) / (2.0 * q);
    const fm_section raw = {.b0 = 1.0 + alpha * a,
                            .b1 = -2.0 * cos(w),
                            .b2 = 1.0 - alpha * a,
                            .a1 = -2.0 * cos(w),
                            .a2 = 1.0 - alpha / a};
    add_section(c, 1.0 + alpha / a, &raw);
}

/* Bilinear transform of (1 + s/zero) / (1 + s/pole), each corner warped on its own. */
void fm_cascade_shelf(fm_cascade *c, double rate_hz, double pole_hz, double zero_hz)
{
    if (!usable(rate_hz, pole_hz) || !usable(rate_hz, zero_hz)) {
        return;
    }
    const double p = 1.0 / tan(FM_PI * pole_hz / rate_hz);
    const double z = 1.0 / tan(FM_PI * zero_hz / rate_hz);
    const fm_section raw = {.b0 = 1.0 + z, .b1 = 1.0 - z, .a1 = 1.0 - p};
    add_section(c, 1.0 + p, &raw);
}

void fm_cascade_highpass_4th(fm_cascade *c, double rate_hz, double cutoff_hz)
{
    fm_cascade_highpass(c, rate_hz, cutoff_hz, BUTTERWORTH_4TH_Q[0]);
    fm_cascade_highpass(c, rate_hz, cutoff_hz, BUTTERWORTH_4TH_Q[1]);
}

double fm_cascade_step(fm_cascade *c, double x)
{
    for (int i = 0; i < c->n; i++) {
        fm_section *s = &c->section[i];
        const double y = s->b0 * x + s->z1;
        s->z1 = s->b1 * x - s->a1 * y + s->z2;
        s->z2 = s->b2 * x - s->a2 * y;
        x = y;
    }
    return x;
}

void fm_cascade_process(fm_cascade *c, float *x, size_t n)
{
    for (size_t i = 0; i < n; i++) {
        x[i] = (float)fm_cascade_step(c, (double)x[i]);
    }
}
