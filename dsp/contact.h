/**
 * @file contact.h
 * Stretches in which the chest piece had lost contact: the sound falls far below this
 * recording's own quiet between beats, and contact comes back with a thump. Mono, whole
 * segment. No allocation.
 *
 * Source: seen by looking in one of 168 open heart recordings, where two beats fell into
 *         such stretches, and in none of 362 others; the limits are in contact.c.
 */
#ifndef FM_CONTACT_H
#define FM_CONTACT_H

#include "dsp/segment.h"

/**
 * Add the stretches inside the window to its gaps, reason FM_REASON_GAP. Those that touch an end
 * of the segment, or lie within 0.1 s of sound that is known to be lost, are left out.
 *
 * @param s          the segment, its samples not conditioned yet
 * @param[in,out] q  gaps[] and n_gaps, ascending, not overlapping; they stay so
 * @return how many were found, added or not for want of room
 */
size_t fm_contact_find(const fm_segment *s, fm_quality *q);

#endif
