/**
 * @file breath_search.h
 * Which length of breath, one hump or two: many assumptions are followed round their cycle
 * and described by numbers, half and double ones among them; whole-segment. All memory is
 * taken at create.
 */
#ifndef FM_BREATH_SEARCH_H
#define FM_BREATH_SEARCH_H

#include "dsp/breath_swing.h"
#include "dsp/breath_track.h"

enum {
    FM_READINGS_MAX = 128 /**< assumptions followed in one segment */
};

/** Which channels a reading was followed in. */
enum {
    FM_SOURCE_SOUND,
    FM_SOURCE_LOUDNESS,
    FM_SOURCE_INTERVALS,
    FM_SOURCE_HEART, /**< loudness and intervals together */
    FM_SOURCES
};

/** One assumption, followed. */
typedef struct fm_reading {
    int source;          /**< FM_SOURCE_SOUND.. */
    double hump_s;       /**< length of a hump assumed */
    size_t humps;        /**< 1 or 2 to a breath */
    double cycle_s;      /**< median length of a breath found */
    double rate_per_min; /**< mean rate of the breaths found in the window */
    double cv;           /**< spread of those lengths as a share of it, robust */
    size_t cycles;       /**< breaths found in the segment */
    size_t
        partner; /**< place of the other reading of the same path; own place if none */
    double
        explained[FM_BREATH_CHANNELS]; /**< log of variance over what is left of it */
    double moves;                      /**< cost of uneven going, natural log a frame */
} fm_reading;

/** All that were followed in a segment. */
typedef struct fm_readings {
    size_t n;
    double beat_s; /**< typical S1-S1 interval; 0: none known */
    double length_s;
    double swing; /**< SD of the middle sound channel, natural log of power */
    fm_swings swings;
    fm_reading reading[FM_READINGS_MAX];
} fm_readings;

/** Where the breaths of one reading are. */
typedef struct fm_breath_places {
    size_t n;
    /** From the segment's start: each breath's beginning, inspiration where the phase is
     * heard. */
    double start_s[FM_TRACK_CYCLES];
    size_t humps; /**< heard in a breath */
    double turns; /**< breaths gone through in the window, with parts at its ends */
} fm_breath_places;

/** Working memory; contents are its own. Opaque. */
typedef struct fm_breath_search fm_breath_search;

/** New working memory; NULL when memory is short. Free with fm_breath_search_destroy. */
fm_breath_search *fm_breath_search_create(void);

/** Frees s; NULL is allowed. */
void fm_breath_search_destroy(fm_breath_search *s);

/**
 * Follow all assumptions in all sources.
 *
 * @param from_s, to_s  the window, from the segment's start
 * @param beat_s        typical S1-S1 interval; 0: none known
 */
void fm_breath_search_run(fm_breath_search *s,
                          const fm_breath_series *series,
                          double from_s,
                          double to_s,
                          double beat_s,
                          fm_readings *out);

/** Follow one reading again, of the run before, and place its breaths. */
void fm_breath_search_place(fm_breath_search *s,
                            const fm_breath_series *series,
                            const fm_reading *reading,
                            fm_breath_places *out);

#endif
