/**
 * @file respiration_pattern.h
 * How a window breathes: heard quiet of 10 s and more, and whether breaths are even, uneven,
 * with pauses or waxing and waning; whole-segment. No allocation.
 *
 * Three cases are told apart. Heard quiet: the level stays at the rest between this
 * recording's own breaths. Not heard: it falls clearly below that rest, or audio is missing;
 * no pause. Cannot be told: breath hardly stands out of the rest; nothing is named.
 *
 * Every limit here is ours, tuned on paced minutes with 14 s of their own quietest sound put
 * in (tests/accuracy/RESULTS.md), but for the 10 s: dsp/breath/respiration_pause.h.
 */
#ifndef FM_RESPIRATION_PATTERN_H
#define FM_RESPIRATION_PATTERN_H

#include "dsp/breath/breath_cues.h"

/**
 * Fill pattern, pauses and n_pauses of a result whose breaths are placed.
 *
 * @param series     levels of the segment
 * @param start_s    time of the series' first level in the recording
 * @param q          gaps of the window
 * @param[in,out] r  window, status, starts_s are read
 */
void fm_respiration_pattern_find(const fm_breath_series *series,
                                 double start_s,
                                 const fm_quality *q,
                                 fm_breath *r);

#endif
