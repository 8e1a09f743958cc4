/**
 * @file silence.h
 * What a long silence between two beats is: a pause that was heard, a moment in which nothing
 * was heard, or one of the two and it cannot be told which. No allocation.
 *
 *   heard       the body's own quiet goes on at its usual level, the beats before and after are
 *               as loud as ever, and they come back off the old clock or after one dropped beat
 *   not heard   the quiet between beats falls away too, or another, steady sound is in its place
 *   cannot be   the quiet falls a little, the beats at its edges are soft, or
 *   told        they come back on the old clock after two dropped beats and more
 *
 * Source: the rule is ours; its limits, and what they were tuned on, are in silence.c.
 */
#ifndef FM_SILENCE_H
#define FM_SILENCE_H

#include "dsp/heart/contact.h"

/** What was found. */
typedef struct fm_silences {
    size_t
        n_lost; /**< gaps because contact was lost, those by the level alone included */
    size_t n_unsure; /**< gaps that may be pauses */
    double
        unsure_s; /**< sum of the intervals with a gap that may be a pause, beat to beat */
    fm_span worst_unsure; /**< the longest of those gaps; length 0 for none */
} fm_silences;

/**
 * Judge every interval in which a beat or more may be missing, and the surroundings of each gap
 * for which contact was lost: those beats beside it that are softer than usual lie in it too.
 *
 * @param c        levels of the segment
 * @param s        the segment
 * @param s1_s     s1_s[0..n-1], S1 of the whole segment, ascending, times in the recording
 * @param sureness sureness[0..n-1], 0..1: a gap full of sure beats is taken away
 * @param cycle_s  typical S1-S1 interval
 * @param[in,out] q  gaps are added, reason FM_REASON_CONTACT_LOST or FM_REASON_CONTACT_OR_PAUSE
 * @param[in,out] out  n_lost: as fm_contact_find found; the rest is set
 */
void fm_silence_classify(const fm_contact *c,
                         const fm_segment *s,
                         const double *s1_s,
                         const float *sureness,
                         size_t n,
                         double cycle_s,
                         fm_quality *q,
                         fm_silences *out);

/**
 * Take sureness away from beats in noise: where the quietest moment between them is far louder
 * than this segment's usual quiet, or where a sound lies over an interval with beats missing, a beat
 * may be missed or found in vain, and an interval that breaks the pattern there is no finding.
 *
 * @param cycle_s  typical S1-S1 interval
 * @param[in,out] sureness  sureness[0..n-1], 0..1
 */
void fm_silence_doubt(
    const fm_contact *c, const double *s1_s, size_t n, double cycle_s, float *sureness);

#endif
