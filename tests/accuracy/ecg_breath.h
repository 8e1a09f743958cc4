/**
 * @file ecg_breath.h
 * The rate of breathing that an ECG's beat intervals tell: they shorten and lengthen once a
 * breath (respiratory sinus arrhythmia).
 *
 * The frequency whose sine explains most of the intervals' variance about a straight line, by
 * least squares at the intervals' own times (Lomb, "Least-squares frequency analysis of
 * unequally spaced data", Astrophys. Space Sci. 39 (1976) 447; Scargle, Astrophys. J. 263 (1982)
 * 835), if chance would hardly explain as much, nothing else explains nearly as much, and it
 * lies where breathing moves the intervals: 0.15 to 0.4 Hz (Task Force of the ESC and the NASPE,
 * "Heart rate variability", Circulation 93 (1996) 1043). Slower modulation is not all breathing.
 */
#ifndef ACCURACY_ECG_BREATH_H
#define ACCURACY_ECG_BREATH_H

#include <stddef.h>

/**
 * Breaths a minute.
 *
 * @param r_s  times of R peaks, r_s[0..n-1], ascending, in seconds
 * @return 9 to 24 per minute; NaN where the intervals do not tell
 */
double ecg_breath_rate(const double *r_s, size_t n);

#endif
