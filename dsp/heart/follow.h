/**
 * @file follow.h
 * What a decoded path says of this person's heart: the local cycle, how steady it is, the
 * systole. A hypothesis is fitted to it and the segment decoded again. No allocation.
 */
#ifndef FM_FOLLOW_H
#define FM_FOLLOW_H

#include "dsp/heart/decoder.h"

/** Share of intervals out of step, and of early beats, before anything is known; early beats are
 * never taken for less. Of 921 marked recordings 1.1 % of the intervals are out of step
 * (tests/accuracy/train/intervals.py); more is allowed for, because a minute with early beats must
 * not be made even. Ours. */
#define FM_SURPRISE 0.06
#define FM_EARLY    0.03

/**
 * The local cycle at every candidate, and how steady the rhythm is around it.
 *
 * @param c                   c[0..n_candidates-1], in order of time
 * @param path                what was decoded among them
 * @param[out] local_cycle_s  local_cycle_s[0..n_candidates-1]
 * @param[in,out] h  cycle_s, looseness, surprise and early are set, and local_cycle_s to
 *                   the buffer; with fewer than three intervals only that, to NULL
 */
void fm_follow_rate(const fm_candidate *c,
                    size_t n_candidates,
                    const fm_path *path,
                    float *local_cycle_s,
                    fm_hypothesis *h);

/**
 * Systole, its spread, and how often S2 is detected.
 *
 * @param c          the candidates of the path
 * @param[in,out] h  systole_s, systole_sd_s and s2_detected are set; with fewer than four
 *                   pairs of S1 and S2 it stays as it is
 */
void fm_follow_systole(const fm_candidate *c, const fm_path *path, fm_hypothesis *h);

#endif
