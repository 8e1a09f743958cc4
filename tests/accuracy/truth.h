/**
 * @file truth.h
 * What is known about recordings: a folder with a truth.csv and R peaks from the ECG,
 * or a folder of sound files each with its truth document.
 */
#ifndef ACCURACY_TRUTH_H
#define ACCURACY_TRUTH_H

#include "describe.h"

#include <stdbool.h>
#include <stddef.h>

/** One recording and its true beats. */
typedef struct recording {
    char name[128];  /**< as in the table: "a/a0002.wav" */
    char path[1024]; /**< where the sound is */
    char group[32];  /**< the row it is counted under: "high", "medium", "composed" */
    bool from_ecg;   /**< beats are R peaks: a lag must be allowed */
    bool whole;      /**< truth covers every window; else only span_start..span_end */
    double span_start_s; /**< first true beat that counts */
    double span_end_s;   /**< last true beat that counts */
    double *beats_s;     /**< beats_s[0..n_beats-1], ascending */
    size_t n_beats;
    bool *inaudible;     /**< inaudible[0..n_beats-1]; NULL when all can be heard */
    bool contact_lost;   /**< a truth document says that the chest piece lifted */
    double snr_db;       /**< of a truth document; NaN when not known */
    rhythm_truth rhythm; /**< not known beside an ECG */
} recording;

/** A growing list; start from {0}, free with recordings_free. */
typedef struct recordings {
    recording *items;
    size_t n;
} recordings;

/**
 * Adds what a folder holds: truth.csv with rpeaks/ if present, else every
 * NAME.truth.json beside a sound file; with neither, the folders inside it are tried.
 * A truth.csv without beats is left out, with a line on stderr.
 *
 * @return how many were added; -1 and a line on stderr when something is unreadable
 */
long recordings_add_folder(recordings *list, const char *folder);

/** Frees all that the list holds and empties it. */
void recordings_free(recordings *list);

#endif
