#include "dsp/signal/random.h"

#include <math.h>

uint64_t fm_random_splitmix(uint64_t *state)
{
    *state += UINT64_C(0x9e3779b97f4a7c15);
    uint64_t z = *state;
    z = (z ^ (z >> 30)) * UINT64_C(0xbf58476d1ce4e5b9);
    z = (z ^ (z >> 27)) * UINT64_C(0x94d049bb133111eb);
    return z ^ (z >> 31);
}

fm_random fm_random_init(uint64_t seed, uint64_t stream)
{
    uint64_t seed_state = seed;
    uint64_t mix = fm_random_splitmix(&seed_state) ^ stream;
    fm_random r;
    for (int i = 0; i < 4; i++) {
        r.s[i] = fm_random_splitmix(&mix);
    }
    return r;
}

static uint64_t rotate_left(uint64_t x, int k)
{
    return (x << k) | (x >> (64 - k));
}

uint64_t fm_random_next(fm_random *r)
{
    const uint64_t result = rotate_left(r->s[0] + r->s[3], 23) + r->s[0];
    const uint64_t t = r->s[1] << 17;
    r->s[2] ^= r->s[0];
    r->s[3] ^= r->s[1];
    r->s[1] ^= r->s[2];
    r->s[0] ^= r->s[3];
    r->s[2] ^= t;
    r->s[3] = rotate_left(r->s[3], 45);
    return result;
}

double fm_random_uniform(fm_random *r)
{
    return (double)(fm_random_next(r) >> 11) * 0x1.0p-53;
}

double fm_random_between(fm_random *r, double low, double high)
{
    return low + (high - low) * fm_random_uniform(r);
}

/* The polar method makes two; the second is thrown away so that the state is the whole
 * state and a copy of it repeats everything. */
double fm_random_normal(fm_random *r)
{
    double u = 0.0;
    double square = 0.0;
    do {
        u = 2.0 * fm_random_uniform(r) - 1.0;
        const double v = 2.0 * fm_random_uniform(r) - 1.0;
        square = u * u + v * v;
    } while (square >= 1.0 || square <= 0.0);
    return u * sqrt(-2.0 * log(square) / square);
}
