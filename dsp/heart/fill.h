/**
 * @file fill.h
 * Quiet in the place of lost audio: zeros have no level that a logarithm can be taken of, and their
 * edges look like sounds. What is filled stays a gap: nothing is counted in it. Mono, whole
 * segment. No allocation.
 */
#ifndef FM_FILL_H
#define FM_FILL_H

#include "dsp/segment.h"

/**
 * Fill every gap of a segment with the quietest 100 ms of its neighbourhood (1.5 s either side),
 * to and fro. A gap with no sound beside it is left as it is. Ours.
 *
 * @param[in,out] s  its samples, not conditioned yet
 */
void fm_fill_gaps(fm_segment *s);

#endif
