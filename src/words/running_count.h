/**
 * @file running_count.h
 * A count without taps, noted on its way: which part of the minute slipped.
 */
#ifndef WORDS_RUNNING_COUNT_H
#define WORDS_RUNNING_COUNT_H

#include <stdbool.h>
#include <stddef.h>

enum {
    RUNNING_NOTES = 3, /**< at 15, 30 and 45 s */
    RUNNING_QUARTER_S = 15,
    RUNNING_LEAST_BEATS =
        2 /**< one beat can be the moment of the note (ours, no source) */
};

/** From one note to the next. Plain value. */
typedef struct running_part {
    int from_s, until_s; /**< of the learner's minute */
    int yours, second;   /**< beats in it */
} running_part;

/**
 * The parts that are off by RUNNING_LEAST_BEATS and more. A note that is missing makes two
 * parts one; without any note there is none. A note lower than the one before, or higher
 * than the count, is left out: it is no running count.
 *
 * @param notes    notes[0..RUNNING_NOTES-1], beats since the start; -1: none
 * @param entered  the whole minute's count
 * @param beats_s  beats_s[0..n-1], ascending, s
 * @param start_s  of the minute
 * @param[out] out  out[0..RUNNING_NOTES]
 * @return how many
 */
size_t running_count_slips(const int notes[RUNNING_NOTES],
                           int entered,
                           const double *beats_s,
                           size_t n,
                           double start_s,
                           running_part out[RUNNING_NOTES + 1]);

#endif
