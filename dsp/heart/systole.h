/**
 * @file systole.h
 * How long systole is expected to sound (S1 to S2) at a given cycle length.
 *
 * Source: QS2 = 541 - 2.2 HR (men), 540 - 2.0 HR (women) ms, 200 healthy adults at rest,
 *         Chest 80 (1981) 613; the mean of both is used. The audible interval is QS2 less
 *         Q to S1, 60-90 ms (from memory), here 75 ms. Above 120 per minute the fits do
 *         not hold: 0.45-0.5 of the cycle (from memory), here 0.475.
 */
#ifndef FM_SYSTOLE_H
#define FM_SYSTOLE_H

/**
 * Expected audible systole.
 *
 * @param cycle_s  S1-S1 interval, s, > 0
 * @return s, > 0; continuous in cycle_s
 */
double fm_systole_expected_s(double cycle_s);

#endif
