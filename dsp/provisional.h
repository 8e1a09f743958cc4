/**
 * @file provisional.h
 * A causal marker of heart sounds for a live screen: quick, may be wrong, never enters a
 * document; mono, streaming. All memory is taken at create.
 *
 * Envelope of the 30-150 Hz band against its own slowly falling peak; a sound after a
 * short gap is taken for S2, after a longer one for S1.
 */
#ifndef FM_PROVISIONAL_H
#define FM_PROVISIONAL_H

#include <stdbool.h>
#include <stddef.h>

/** A mark; may be wrong. */
typedef struct fm_provisional {
    double time_s; /**< about when the sound was */
    bool is_s2;
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
