/**
 * @file contact.h
 * How loud a segment is from moment to moment, and the stretches in which the chest piece
 * had lost contact, by the level alone: what is heard between beats (the body's own quiet)
 * falls away too, which no pause of the heart can bring about. Mono, whole segment. No
 * allocation.
 *
 * Source: seen by looking in open heart recordings; the rule is ours. Of 1134 open recordings
 *         (heart-states, heart-children, without the dozen that hold digital silence or a
 *         contact really lost) none is so quiet for 0.6 s; of those to which a loss of 2 s
 *         was added every one is.
 */
#ifndef FM_CONTACT_H
#define FM_CONTACT_H

#include "dsp/segment.h"

enum {
    FM_CONTACT_FRAME = 50, /**< working samples a level is of: 25 ms */
    FM_CONTACT_FRAMES_MAX = FM_SEGMENT_SAMPLES / FM_CONTACT_FRAME + 1,
    FM_CONTACT_WINDOW =
        60, /**< frames, 1.5 s: holds a diastole from 40 beats a minute on */
    FM_CONTACT_WINDOWS_MAX = 2 * FM_CONTACT_FRAMES_MAX / FM_CONTACT_WINDOW + 2,
    FM_CONTACT_COLOURS =
        2 /**< all of the spectrum; the same lifted by 6 dB an octave */
};

/** Levels of one segment. Plain value, about 35 KB. */
typedef struct fm_contact {
    size_t n;       /**< frames */
    double start_s; /**< time of the first in the recording */
    /** power of frame k, dB full scale, and its mean over 150 ms; NaN where audio is lost */
    float level_db[FM_CONTACT_COLOURS][FM_CONTACT_FRAMES_MAX];
    float smooth_db[FM_CONTACT_COLOURS][FM_CONTACT_FRAMES_MAX];
    /** quietest smooth level of each window, half a window from one to the next; NaN: lost */
    float least_db[FM_CONTACT_COLOURS][FM_CONTACT_WINDOWS_MAX];
    size_t n_windows;
    float quiet_db[FM_CONTACT_COLOURS]; /**< this segment's usual quiet between beats */
    bool known;                         /**< false: too short to know what is usual */
    size_t n_faint;
    fm_span
        faint[FM_SPANS_MAX]; /**< stretches 0.25 s and longer, ascending, that lie under
                                      the usual quiet, and further than it strays: between
                                      loud breaths it is quiet in every breath */
} fm_contact;

/** Level of a stretch, relative to the usual quiet. */
typedef struct fm_contact_level {
    double
        off_db; /**< middle level less the usual quiet, of the colour further off; NaN */
    double under_share; /**< share of the frames a little under the usual quiet: 1 dB,
                             or more where it strays */
    double
        changed_db; /**< how far the middle level of either colour lies outside the quiet that
                             nine tenths of the windows have, dB; 0: inside; NaN */
    double
        wavers_db; /**< from the lower to the upper tenth of all colours' frames; NaN */
} fm_contact_level;

/**
 * Measure.
 *
 * @param s         the segment, conditioned: no rumble, no hum
 * @param[out] out  filled; known is false under 3 s of sound
 */
void fm_contact_measure(const fm_segment *s, fm_contact *out);

/**
 * Add to the window's gaps, reason FM_REASON_CONTACT_LOST: stretches under the usual quiet of
 * a second and longer in which nothing stands out, at the ends too; and shorter ones, far under
 * it, that end in a thump. Those within 0.1 s of sound that is known to be lost are left out.
 * From the level alone: no beat is looked for.
 *
 * @param[in,out] q  gaps[] and n_gaps, ascending, not overlapping; they stay so
 * @return how many were found, added or not for want of room
 */
size_t fm_contact_find(const fm_contact *c, const fm_segment *s, fm_quality *q);

/** Level of [from_s, to_s); off_db is NaN where nothing is known. */
fm_contact_level fm_contact_level_of(const fm_contact *c, double from_s, double to_s);

/** Quietest moment of [from_s, to_s), dB over the quiet of the louder windows (nine tenths); NaN
 * where nothing is known. */
double fm_contact_least_db(const fm_contact *c, double from_s, double to_s);

/** Loudest frame within 0.1 s of time_s, dB full scale; NaN where nothing is known. */
double fm_contact_peak_db(const fm_contact *c, double time_s);

/** Seconds of [from_s, to_s) that lie in stretches under the usual quiet. */
double fm_contact_faint_s(const fm_contact *c, double from_s, double to_s);

/**
 * Insert a gap in order of time; one that touches or overlaps others is joined with them and
 * keeps the reason of the longest. Without room the last one grows over it.
 */
void fm_contact_add_gap(fm_quality *q, double from_s, double to_s, fm_reason reason);

#endif
