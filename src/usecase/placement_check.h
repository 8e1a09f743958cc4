/**
 * @file placement_check.h
 * What to say about the placement of the chest piece: the sentence for each finding of
 * dsp/heart/placement.h, and what an input's name gives away.
 */
#ifndef USECASE_PLACEMENT_CHECK_H
#define USECASE_PLACEMENT_CHECK_H

#include "dsp/heart/placement.h"

#include <stdbool.h>
#include <stddef.h>

#define PLACING_HUSH_S  10.0
#define PLACING_CHEST_S 10.0

/** Two sentences or more. Constant texts, no line ends. */
typedef struct placement_advice {
    const char *found;      /**< "Ready: the heart is heard." */
    const char *what_to_do; /**< what the person can do now */
} placement_advice;

placement_advice placement_advise(fm_placement_finding finding);

/** What an input's name as the system gives it says: wireless, built in. */
fm_placement_hints placement_hints(const char *name);

/** Does a name hold one of words[0..], ended by NULL, in small or capital letters? */
bool placement_name_has(const char *name, const char *const *words);

enum {
    PLACING_BAR_CELLS = 14
};

/**
 * The level of a live meter: "-32 dBFS [#########     ] peak  -20", under 40
 * characters. It follows the level now: not for a checked count.
 *
 * @param last      the frame now
 * @param[out] out  out[0..bytes-1]
 */
void placement_meter_line(const fm_placement_frame *last, char *out, size_t bytes);

/** A hint of at most 22 characters for the last seconds, without a hush to compare with:
 *  "too loud: turn it down", "very quiet", "rubbing, voices, room", "comes and goes: good". */
const char *placement_hint(const fm_placement_measures *m);

#endif
