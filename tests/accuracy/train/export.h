/**
 * @file export.h
 * What the training scripts are given: patches of candidates with the true onsets, and
 * the evidence of whole windows with the true and the decoded beats.
 */
#ifndef ACCURACY_TRAIN_EXPORT_H
#define ACCURACY_TRAIN_EXPORT_H

#include "../analyse.h"

#include <stdio.h>

/** What is known about the sound that is exported. */
typedef struct export_truth {
    const char *name;
    const char *group;  /**< "composed", "none" (no heart), "high", "medium" ... */
    const double *s1_s; /**< s1_s[0..n_s1-1]; R peaks where group is from an ECG */
    size_t n_s1;
    const double *s2_s;
    size_t n_s2;
    double span_start_s; /**< truth is known between these */
    double span_end_s;
} export_truth;

/** Working objects of one export. */
typedef struct exporter exporter;

/** New exporter writing to out; NULL when memory is short. */
exporter *exporter_create(FILE *out);

/** Frees e; NULL is allowed. The file is the caller's. */
void exporter_destroy(exporter *e);

/** Writes the first line of a file of evidence, or of patches: the names of their numbers. */
void export_names(const exporter *e, bool evidence);

/**
 * Writes the patches of a sound's first 64 s: one text line
 * `sound NAME GROUP SPAN_START SPAN_END n_candidates n_s1 n_s2`, one line of S1 and one of
 * S2 times, then for each candidate its time (double) and patch (floats), binary, native.
 */
bool export_patches(exporter *e, const sound *s, const export_truth *truth);

/**
 * Writes one line for a window [start_s, start_s + length_s):
 * `NAME;GROUP;START;LENGTH;evidence ...;decoded S1 ...;true S1 ...;gaps ...`.
 */
bool export_evidence(exporter *e,
                     const sound *s,
                     const export_truth *truth,
                     double start_s,
                     double length_s);

#endif
