/**
 * @file sampler.h
 * The composed set: what recording a seed stands for. It is drawn from a stream of its
 * own, so that a change inside the composer does not change which recordings are asked.
 */
#ifndef ACCURACY_SAMPLER_H
#define ACCURACY_SAMPLER_H

#include "dsp/fullminute_compose.h"

/** Noises of the set: the table's rows. */
enum {
    SAMPLE_CLEAN,
    SAMPLE_WHITE,
    SAMPLE_PINK,
    SAMPLE_SPEECH,
    SAMPLE_ROOM,
    SAMPLE_FRICTION,
    SAMPLE_HUM,
    SAMPLE_SMALL_MICROPHONE,
    SAMPLE_KINDS,
    SAMPLE_LEVELS = 5, /**< 20, 15, 10, 5 and 0 dB */
    SAMPLE_CELLS = 1 + (SAMPLE_KINDS - 1) * SAMPLE_LEVELS
};

/** What one seed stands for. */
typedef struct sample {
    uint64_t seed;
    int kind;      /**< SAMPLE_CLEAN.. */
    double snr_db; /**< INFINITY for clean */
    fm_recipe recipe;
} sample;

/**
 * The recording of a seed. The noise and its level go by seed modulo SAMPLE_CELLS, so
 * that any run of seeds fills the table evenly; everything else is drawn.
 *
 * @param only  SAMPLE_CLEAN..: this kind whatever the seed, its level by seed modulo
 *              SAMPLE_LEVELS; -1: as above
 */
sample sample_of_seed(uint64_t seed, int only);

/** "clean", "white", ..., "small microphone". */
const char *sample_kind_word(int kind);

/** The kind of a word; -1 when there is none. */
int sample_kind_of(const char *word);

/** 20, 15, 10, 5, 0 for 0..SAMPLE_LEVELS-1. */
double sample_level_db(int level);

#endif
