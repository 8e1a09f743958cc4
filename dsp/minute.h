/**
 * @file minute.h
 * The whole analysis of one gathered window: condition, features, beats, onsets, quality,
 * count and rhythm. A pure function of the segment. All memory is taken at create.
 */
#ifndef FM_MINUTE_H
#define FM_MINUTE_H

#include "dsp/breath/breath.h"
#include "dsp/heart/confidence.h"
#include "dsp/result.h"
#include "dsp/segment.h"

/** Opaque; see fm_minute_destroy. */
typedef struct fm_minute fm_minute;

/** New analysis with all its memory; NULL when memory is short. */
fm_minute *fm_minute_create(void);

/** Frees m; NULL is allowed. */
void fm_minute_destroy(fm_minute *m);

/**
 * Analyse.
 *
 * @param[in,out] segment  its samples are conditioned in place
 * @param[out] out         filled whatever the segment holds, with what was decoded even
 *                         where it is refused
 */
void fm_minute_analyse(fm_minute *m, fm_segment *segment, fm_count *out);

/** Takes every onset and number out of what is refused. */
void fm_minute_empty_refused(fm_count *out);

/** The evidence of the last analysis, for training and tests; owned by m. */
const fm_evidence *fm_minute_evidence(const fm_minute *m);

/** What the breaths of the last analysis went by; owned by m. */
const fm_breath_basis *fm_minute_breath(const fm_minute *m);

#endif
