/**
 * @file speech.h
 * A minute of real synthetic speech, spoken by espeak-ng where it is installed.
 */
#ifndef ACCURACY_SPEECH_H
#define ACCURACY_SPEECH_H

#include "analyse.h"

/** How many voices there are to try. */
size_t speech_voices(void);

/**
 * Speaks about a minute in one of the voices.
 *
 * @param voice  0..speech_voices()-1
 * @param[out] s  the sound, to be freed with sound_free
 * @param[out] name  what it is called in the table, size bytes
 * @return false when espeak-ng is not installed or failed
 */
bool speech_speak(size_t voice, sound *s, char *name, size_t size);

#endif
