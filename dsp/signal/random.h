/**
 * @file random.h
 * Random numbers that are the same on every machine: for composing recordings.
 *
 * Source: Blackman, Vigna, "Scrambled linear pseudorandom number generators", ACM Trans.
 *         Math. Softw. 47:36, 2021: xoshiro256++; its 256 bits of state filled with
 *         splitmix64 as its authors advise (Steele, Lea, Flood, OOPSLA 2014). Both written
 *         here from the published definition.
 */
#ifndef FM_RANDOM_H
#define FM_RANDOM_H

#include <stdint.h>

/** State. Plain value: copy freely, nothing to free. */
typedef struct fm_random {
    uint64_t s[4];
} fm_random;

/** One step of splitmix64: advances *state and returns 64 bits. */
uint64_t fm_random_splitmix(uint64_t *state);

/**
 * Start a generator.
 *
 * @param seed    any
 * @param stream  any; streams of one seed are as good as independent, so that a part of
 *                a recording can draw more or fewer numbers without moving the others
 */
fm_random fm_random_init(uint64_t seed, uint64_t stream);

/** Next 64 bits (xoshiro256++). */
uint64_t fm_random_next(fm_random *r);

/** Uniform in [0, 1), 53 bits. */
double fm_random_uniform(fm_random *r);

/** Uniform in [low, high). */
double fm_random_between(fm_random *r, double low, double high);

/** Normal, mean 0, SD 1 (polar method; Marsaglia, Bray, SIAM Review 6:260, 1964). */
double fm_random_normal(fm_random *r);

#endif
