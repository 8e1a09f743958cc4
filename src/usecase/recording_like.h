/**
 * @file recording_like.h
 * Is a recording one for an exercise? By its known beats, NAME.truth.json beside it.
 */
#ifndef USECASE_RECORDING_LIKE_H
#define USECASE_RECORDING_LIKE_H

#include <stdbool.h>

/**
 * @param path  of the recording
 * @param like  "slow" (fewer than 60 beats in the first minute, under the usual range of an
 *              adult at rest), "irregular" (the known rhythm is one of the irregular ones)
 * @return false too for another word, and where no truth can be read
 */
bool recording_like(const char *path, const char *like);

#endif
