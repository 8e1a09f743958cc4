/**
 * @file demonstrate_screen.h
 * One moment of a demonstration as a screen of text: at most 23 lines of 58 columns. No
 * colour. The strip stands still for six seconds, a hairline moves across it, and a mark
 * appears on it when its sound is heard; a minute's 60 seconds stand round the dial.
 */
#ifndef COMMAND_DEMONSTRATE_SCREEN_H
#define COMMAND_DEMONSTRATE_SCREEN_H

#include "src/usecase/demonstrate_play.h"

#include <stdbool.h>

enum {
    DEMONSTRATE_SCREEN_BYTES = 4096,
    DEMONSTRATE_SCREEN_COLUMNS = 58
};

/** What the screen knows beside the playing. Texts are borrowed. */
typedef struct demonstrate_screen_state {
    const char *name;  /**< of the recording */
    bool marks;        /**< false: nothing that follows a beat is shown */
    bool short_counts; /**< the second pane is revealed */
    bool small_speaker;
    double loop_from_s; /**< a loop's start that waits for its end; NaN: none */
    const char *note;   /**< about the last key, "" none */
} demonstrate_screen_state;

/** The screen: lines ended by '\n'. */
void demonstrate_screen_format(const demonstrate_play *play,
                               const demonstrate_screen_state *state,
                               char out[DEMONSTRATE_SCREEN_BYTES]);

/** Who says where the marks are, one sentence. */
const char *demonstrate_screen_origin(const demonstration *d);

/** What short counts of this stretch say beside the whole, lines ended by '\n'. */
void demonstrate_screen_short_counts(const demonstration *d,
                                     char out[DEMONSTRATE_SCREEN_BYTES]);

#endif
