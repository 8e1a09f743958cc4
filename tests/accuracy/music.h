/**
 * @file music.h
 * Small pieces of made-up music, so that the analyser can be shown to refuse them: a
 * melody, a bass and drums in a steady beat, which is what a pulse might be mistaken for.
 */
#ifndef ACCURACY_MUSIC_H
#define ACCURACY_MUSIC_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/** What the melody is played with. */
typedef enum timbre {
    TIMBRE_FLUTE,   /**< nearly one partial, soft start */
    TIMBRE_REED,    /**< odd partials, held */
    TIMBRE_PLUCKED, /**< many partials, dying away */
    TIMBRE_COUNT
} timbre;

/** One piece. */
typedef struct piece {
    double quarter_per_min; /**< tempo, 40..200 */
    timbre melody;
    bool bass;     /**< a low note on every quarter */
    bool drums;    /**< low drum on 1 and 3, rattle on 2 and 4, hiss on eighths */
    uint64_t seed; /**< chooses the notes */
} piece;

/**
 * Plays a piece.
 *
 * @param[out] out  out[0..n-1], peak about 0.5
 * @param rate_hz   sample rate, 4000..192000
 */
void music_play(const piece *p, double rate_hz, float *out, size_t n);

#endif
