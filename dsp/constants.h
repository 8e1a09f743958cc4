/**
 * @file constants.h
 * Numbers that several subjects use, each once.
 */
#ifndef FM_CONSTANTS_H
#define FM_CONSTANTS_H

#define FM_PI 3.14159265358979323846

/** The median distance from the median, times this, is the deviation of a normal distribution: one
 * over its upper quartile, 0.6745 (Hampel, J. Amer. Statist. Assoc. 69 (1974) 383, from memory). */
#define FM_MAD_TO_SD 1.4826

/** What goes into a learned table is held within so many deviations of its mean, in training
 * (tests/accuracy/train) and here. Ours. */
#define FM_TABLE_LIMIT 4.0

/** Sureness from which a beat is vouched for (on fm_sureness's scale): false beats of composed
 * recordings lie under it. */
#define FM_SURE_FROM 0.3f

/** An interval of so many typical ones and more is a pause, or misses a beat: a dropped beat leaves 1.85
 * to 2 basic intervals (1920 after 1040 ms in the trace of a 4:3 group, MSD Manual), and this is
 * halfway on a ratio scale. */
#define FM_PAUSE_INTERVALS 1.40

/** Beyond any sound: whole numbers of 32 bits, never brought to full scale, stay under 1e10.
 * Larger values are a damaged file, and their squares would not fit a float. Ours. */
#define FM_SAMPLE_MAX 1e12f

#endif
