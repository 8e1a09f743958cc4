/**
 * @file sound_stretch.h
 * One channel of a part of a recording, in memory.
 */
#ifndef USECASE_SOUND_STRETCH_H
#define USECASE_SOUND_STRETCH_H

#include "src/port/sound_file.h"

/** Samples that follow one another; x is the caller's to free. Start it as {0}. */
typedef struct sound_stretch {
    float *x; /**< x[0..n-1], full scale +/-1; 0 in the place of what is no number */
    size_t n;
    double rate_hz;
} sound_stretch;

/**
 * Read from a frame on.
 *
 * @param first    >= 0
 * @param most     frames wanted; n is fewer only where the recording ends
 * @param channel  1..the file's
 * @return false with err: APP_UNREADABLE (it ends before `first`), APP_FAILED,
 *         APP_INTERRUPTED
 */
bool sound_stretch_read(sound_file *file,
                        int64_t first,
                        size_t most,
                        int channel,
                        sound_stretch *out,
                        app_err *err);

#endif
