#include "dsp/signal/filter.h"

#include "dsp/constants.h"

#include <math.h>

typedef struct pole {
    double re;
    double im;
} pole;

static pole pole_div(pole a, pole b)
{
    const double d = b.re * b.re + b.im * b.im;
    return (pole){(a.re * b.re + a.im * b.im) / d, (a.im * b.re - a.re * b.im) / d};
}

static pole pole_sqrt(pole a)
{
    const double r = hypot(a.re, a.im);
    const double re = sqrt((r + a.re) / 2.0);
    const double im = sqrt((r - a.re) / 2.0);
    return (pole){re, a.im < 0.0 ? -im : im};
}

/* Bilinear transform with the unit 2*rate taken as 1: s -> (1+s)/(1-s). */
static pole bilinear(pole s)
{
    return pole_div((pole){1.0 + s.re, s.im}, (pole){1.0 - s.re, -s.im});
}

/* k-th upper-half pole of the analogue Butterworth prototype. */
static pole prototype_pole(int order, int k)
{
    const double angle = FM_PI * (2.0 * k + 1.0) / (2.0 * order) + FM_PI / 2.0;
    return (pole){cos(angle), sin(angle)};
}

static fm_section section_from_pole(pole z)
{
    return (fm_section){.a1 = -2.0 * z.re, .a2 = z.re * z.re + z.im * z.im};
}

static void set_zeros(fm_section *s, double b0, double b1, double b2)
{
    s->b0 = b0;
    s->b1 = b1;
    s->b2 = b2;
}

double fm_filter_gain(const fm_filter *f, double rate_hz, double freq_hz)
{
    const double w = 2.0 * FM_PI * freq_hz / rate_hz;
    double gain = 1.0;
    for (size_t i = 0; i < f->n_sections; i++) {
        const fm_section *s = &f->sections[i];
        const double nr = s->b0 + s->b1 * cos(w) + s->b2 * cos(2.0 * w);
        const double ni = -s->b1 * sin(w) - s->b2 * sin(2.0 * w);
        const double dr = 1.0 + s->a1 * cos(w) + s->a2 * cos(2.0 * w);
        const double di = -s->a1 * sin(w) - s->a2 * sin(2.0 * w);
        gain *= hypot(nr, ni) / hypot(dr, di);
    }
    return gain;
}

/* Spread the overall gain so that the response at freq_hz is 1. */
static void normalise_at(fm_filter *f, double rate_hz, double freq_hz)
{
    for (size_t i = 0; i < f->n_sections; i++) {
        fm_filter one = {.n_sections = 1, .sections = {f->sections[i]}};
        const double g = fm_filter_gain(&one, rate_hz, freq_hz);
        f->sections[i].b0 /= g;
        f->sections[i].b1 /= g;
        f->sections[i].b2 /= g;
    }
}

/* Low-pass (sign +1) or high-pass (sign -1): zeros at z = -sign. */
static fm_status init_one_sided(
    fm_filter *f, int order, double rate_hz, double cutoff_hz, int sign)
{
    if (order < 1 || order > 2 * FM_FILTER_SECTIONS_MAX || !(rate_hz > 0.0) ||
        !(cutoff_hz > 0.0) || !(cutoff_hz < rate_hz / 2.0)) {
        return FM_ERR_ARG;
    }
    fm_filter made = {0};
    const double warped = tan(FM_PI * cutoff_hz / rate_hz);
    for (int k = 0; k < order / 2; k++) {
        const pole p = prototype_pole(order, k);
        const pole scaled = sign > 0 ? (pole){p.re * warped, p.im * warped}
                                     : pole_div((pole){warped, 0.0}, p);
        fm_section s = section_from_pole(bilinear(scaled));
        set_zeros(&s, 1.0, 2.0 * sign, 1.0);
        made.sections[made.n_sections++] = s;
    }
    if (order % 2 == 1) {
        const pole z = bilinear((pole){-warped, 0.0});
        fm_section s = {.a1 = -z.re};
        set_zeros(&s, 1.0, sign, 0.0);
        made.sections[made.n_sections++] = s;
    }
    normalise_at(&made, rate_hz, sign > 0 ? 0.0 : rate_hz / 2.0);
    *f = made;
    return FM_OK;
}

fm_status fm_filter_init_lowpass(fm_filter *f,
                                 int order,
                                 double rate_hz,
                                 double cutoff_hz)
{
    return init_one_sided(f, order, rate_hz, cutoff_hz, 1);
}

fm_status fm_filter_init_highpass(fm_filter *f,
                                  int order,
                                  double rate_hz,
                                  double cutoff_hz)
{
    return init_one_sided(f, order, rate_hz, cutoff_hz, -1);
}

fm_status fm_filter_init_bandpass(
    fm_filter *f, int order, double rate_hz, double low_hz, double high_hz)
{
    if (order < 1 || order > FM_FILTER_SECTIONS_MAX || !(rate_hz > 0.0) ||
        !(low_hz > 0.0) || !(high_hz > low_hz) || !(high_hz < rate_hz / 2.0)) {
        return FM_ERR_ARG;
    }
    fm_filter made = {0};
    const double w1 = tan(FM_PI * low_hz / rate_hz);
    const double w2 = tan(FM_PI * high_hz / rate_hz);
    const double half_width = (w2 - w1) / 2.0;
    const double centre_sq = w1 * w2;
    /* Each prototype pole p becomes two: p*bw/2 +- sqrt((p*bw/2)^2 - w0^2). A conjugate
     * pair of prototype poles gives two sections, a real one gives one. */
    for (int k = 0; k < (order + 1) / 2; k++) {
        const pole p = prototype_pole(order, k);
        const pole h = {p.re * half_width, p.im * half_width};
        const pole root =
            pole_sqrt((pole){h.re * h.re - h.im * h.im - centre_sq, 2.0 * h.re * h.im});
        const pole up = {h.re + root.re, h.im + root.im};
        const pole down = {h.re - root.re, h.im - root.im};
        if (order % 2 == 1 && k == order / 2) {
            const pole z1 = bilinear(up);
            const pole z2 = bilinear(down);
            fm_section s = {.a1 = -(z1.re + z2.re),
                            .a2 = z1.re * z2.re - z1.im * z2.im};
            set_zeros(&s, 1.0, 0.0, -1.0);
            made.sections[made.n_sections++] = s;
            continue;
        }
        fm_section a = section_from_pole(bilinear(up));
        fm_section b = section_from_pole(bilinear(down));
        set_zeros(&a, 1.0, 0.0, -1.0);
        set_zeros(&b, 1.0, 0.0, -1.0);
        made.sections[made.n_sections++] = a;
        made.sections[made.n_sections++] = b;
    }
    normalise_at(&made, rate_hz, atan(sqrt(centre_sq)) * rate_hz / FM_PI);
    *f = made;
    return FM_OK;
}

fm_status fm_filter_init_heart_band(fm_filter *f, double rate_hz)
{
    return fm_filter_init_bandpass(f, 2, rate_hz, 25.0, fmin(400.0, 0.45 * rate_hz));
}

fm_status fm_filter_init_notch(fm_filter *f,
                               double rate_hz,
                               double centre_hz,
                               double width_hz)
{
    if (!(rate_hz > 0.0) || !(centre_hz > 0.0) || !(centre_hz < rate_hz / 2.0) ||
        !(width_hz > 0.0) || !(width_hz < rate_hz / 2.0)) {
        return FM_ERR_ARG;
    }
    const double w0 = 2.0 * FM_PI * centre_hz / rate_hz;
    const double beta = tan(FM_PI * width_hz / rate_hz);
    const double g = 1.0 / (1.0 + beta);
    fm_section s = {.a1 = -2.0 * g * cos(w0), .a2 = 2.0 * g - 1.0};
    set_zeros(&s, g, -2.0 * g * cos(w0), g);
    *f = (fm_filter){.n_sections = 1, .sections = {s}};
    return FM_OK;
}

void fm_filter_reset(fm_filter *f)
{
    for (size_t i = 0; i < f->n_sections; i++) {
        f->sections[i].z1 = 0.0;
        f->sections[i].z2 = 0.0;
    }
}

static inline double section_step(fm_section *s, double x)
{
    const double y = s->b0 * x + s->z1;
    s->z1 = (s->b1 * x + s->z2) - s->a1 * y; /* what depends on y comes last */
    s->z2 = s->b2 * x - s->a2 * y;
    return y;
}

static double step(fm_filter *f, double x)
{
    for (size_t i = 0; i < f->n_sections; i++) {
        x = section_step(&f->sections[i], x);
    }
    return x;
}

/* One section's step as the passes below take it: w is what the inputs before and the
 * output before the last leave for the next output, from which a1 times the last output
 * is still to go. So only one product and one difference wait for the last output. */
typedef struct passing {
    double w;
    double z2;
    double y;
} passing;

static inline double pass_step(const fm_section *s, passing *p, double x)
{
    const double y = (s->b0 * x + p->w) - s->a1 * p->y;
    p->w = s->b1 * x + p->z2;
    p->z2 = s->b2 * x - s->a2 * y;
    p->y = y;
    return y;
}

static inline passing pass_begin(const fm_section *s)
{
    return (passing){.w = s->z1, .z2 = s->z2};
}

static inline void pass_end(fm_section *s, const passing *p)
{
    s->z1 = p->w - s->a1 * p->y;
    s->z2 = p->z2;
}

/* Through n samples in steps of +1 or -1, two at a time: with u for what the inputs give,
 *   y[i]     = u[i] - a1 y[i-1] - a2 y[i-2]
 *   y[i + 1] = u[i+1] - a1 u[i] + (a1^2 - a2) y[i-1] + a1 a2 y[i-2]
 * neither of which waits for the other. */
static void pass_one(
    fm_section *section, const float *in, float *out, size_t n, ptrdiff_t stride)
{
    const fm_section s = *section;
    const double once = s.a1 * s.a1 - s.a2;
    const double twice = s.a1 * s.a2;
    passing p = pass_begin(&s);
    size_t i = 0;
    if (n % 2 == 1) {
        *out = (float)pass_step(&s, &p, (double)*in);
        in += stride;
        out += stride;
        i = 1;
    }
    /* z2 without its output from here on, and w from the first turn on: those are y and
     * before. */
    double w = p.w;
    double z2 = p.z2 + s.a2 * p.y;
    double y = p.y;
    double before = 0.0;
    for (; i < n; i += 2) {
        const double x0 = (double)in[0];
        const double x1 = (double)in[stride];
        const double u0 = s.b0 * x0 + w;
        const double u1 = s.b0 * x1 + (s.b1 * x0 + z2);
        const double y0 = u0 - (s.a1 * y + s.a2 * before);
        const double y1 = (u1 - s.a1 * u0) + (once * y + twice * before);
        w = s.b1 * x1 + s.b2 * x0;
        z2 = s.b2 * x1;
        before = y0;
        y = y1;
        out[0] = (float)y0;
        out[stride] = (float)y1;
        in += 2 * stride;
        out += 2 * stride;
    }
    p = (passing){.w = w - s.a2 * before, .z2 = z2 - s.a2 * y, .y = y};
    pass_end(section, &p);
}

/* Two sections in one pass: one works while the other waits for its own last result. */
static void pass_two(
    fm_section *two, const float *in, float *out, size_t n, ptrdiff_t stride)
{
    const fm_section a = two[0];
    const fm_section b = two[1];
    passing at_a = pass_begin(&a);
    passing at_b = pass_begin(&b);
    for (size_t i = 0; i < n; i++) {
        const double between = pass_step(&a, &at_a, (double)*in);
        *out = (float)pass_step(&b, &at_b, between);
        in += stride;
        out += stride;
    }
    pass_end(&two[0], &at_a);
    pass_end(&two[1], &at_b);
}

static void apply(fm_filter *f, const float *in, float *out, size_t n, ptrdiff_t stride)
{
    if (f->n_sections == 1) {
        pass_one(f->sections, in, out, n, stride);
        return;
    }
    if (f->n_sections == 2) {
        pass_two(f->sections, in, out, n, stride);
        return;
    }
    for (size_t i = 0; i < n; i++) {
        *out = (float)step(f, (double)*in);
        in += stride;
        out += stride;
    }
}

void fm_filter_process(fm_filter *f, const float *in, float *out, size_t n)
{
    apply(f, in, out, n, 1);
}

/* The delay lines as they would be after a constant input of x for ever. */
static void settle(fm_filter *f, double x)
{
    for (size_t i = 0; i < f->n_sections; i++) {
        fm_section *s = &f->sections[i];
        const double y = x * (s->b0 + s->b1 + s->b2) / (1.0 + s->a1 + s->a2);
        s->z2 = s->b2 * x - s->a2 * y;
        s->z1 = s->b1 * x - s->a1 * y + s->z2;
        x = y;
    }
}

/* SciPy's default: three times the number of taps of the equivalent single filter. */
static size_t pad_length(const fm_filter *f, size_t n)
{
    size_t b2_zero = 0;
    size_t a2_zero = 0;
    for (size_t i = 0; i < f->n_sections; i++) {
        b2_zero += fabs(f->sections[i].b2) <= 0.0;
        a2_zero += fabs(f->sections[i].a2) <= 0.0;
    }
    const size_t saved = b2_zero < a2_zero ? b2_zero : a2_zero;
    const size_t pad = 3 * (2 * f->n_sections + 1 - saved);
    return pad < n ? pad : n - 1;
}

void fm_filter_zero_phase(fm_filter *f, float *x, size_t n)
{
    if (n < 2) {
        return;
    }
    float tail[3 * (2 * FM_FILTER_SECTIONS_MAX + 1)];
    const size_t pad = pad_length(f, n);
    /* Forwards: reflected start, the signal, reflected end kept in tail. */
    const double first = 2.0 * (double)x[0];
    const double last = 2.0 * (double)x[n - 1];
    for (size_t i = 0; i < pad; i++) {
        tail[i] = (float)(last - (double)x[n - 2 - i]);
    }
    settle(f, first - (double)x[pad]);
    for (size_t i = pad; i > 0; i--) {
        (void)step(f, first - (double)x[i]);
    }
    fm_filter_process(f, x, x, n);
    fm_filter_process(f, tail, tail, pad);
    /* Backwards over the same samples; what comes out before x[0] is not wanted. */
    settle(f, pad > 0 ? (double)tail[pad - 1] : (double)x[n - 1]);
    for (size_t i = pad; i > 0; i--) {
        (void)step(f, (double)tail[i - 1]);
    }
    apply(f, x + (n - 1), x + (n - 1), n, -1);
    fm_filter_reset(f);
}
