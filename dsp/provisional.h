/**
 * @file provisional.h
 * A causal marker of heart sounds for a live screen: quick, may be wrong, never enters a
 * document; mono, streaming. All memory is taken at create.
 *
 * Envelope of the 30-150 Hz band against its own slowly falling peak. Of the last gaps
 * between sounds the shorter ones end in S2 and the longer ones in S1; where the two are too
 * much alike, as at a fast rate, or a gap is neither, as beside breath sounds, the sound is
 * not named.
 */
#ifndef FM_PROVISIONAL_H
#define FM_PROVISIONAL_H

#include <stddef.h>

/** Which sound it is taken for. */
typedef enum fm_provisional_kind {
    FM_PROVISIONAL_S1,
    FM_PROVISIONAL_S2,
    FM_PROVISIONAL_UNSURE /**< one of the two, or neither */
} fm_provisional_kind;

/** A mark; may be wrong. */
typedef struct fm_provisional {
    double time_s; /**< about when the sound was */
    fm_provisional_kind kind;
} fm_provisional;

/** Opaque; see fm_provisional_marker_destroy. */
typedef struct fm_provisional_marker fm_provisional_marker;

/** New marker for an input rate; NULL when memory is short, or the rate under 400 Hz. */
fm_provisional_marker *fm_provisional_marker_create(double rate_hz);

/** Frees m; NULL is allowed. */
void fm_provisional_marker_destroy(fm_provisional_marker *m);

/** Back to time 0, nothing heard. */
void fm_provisional_marker_reset(fm_provisional_marker *m);

/** Feed n samples; in NULL: lost audio. Real-time safe. */
void fm_provisional_marker_push(fm_provisional_marker *m, const float *in, size_t n);

/** Take up to max marks, oldest first; returns how many. Marks beyond 64 are dropped. */
size_t fm_provisional_marker_take(fm_provisional_marker *m,
                                  fm_provisional *out,
                                  size_t max);

#endif
