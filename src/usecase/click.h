/**
 * @file click.h
 * A click laid over a sound, to say where a beat is.
 */
#ifndef USECASE_CLICK_H
#define USECASE_CLICK_H

#include <stdint.h>

/**
 * Add a click that begins at a sample: 1.5 kHz for 15 ms with soft edges, far above the heart,
 * so that it hides nothing of it.
 *
 * @param[in,out] x  x[0..n-1], full scale +/-1; the sum is held within it
 * @param at         first sample of the click; what lies outside 0..n-1 is left out
 */
void click_add(float *x, int64_t n, double rate_hz, int64_t at);

#endif
