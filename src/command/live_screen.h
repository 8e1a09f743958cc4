/**
 * @file live_screen.h
 * One moment of a live sitting as a screen of text: at most 20 lines of 58 columns, so
 * that it fits 60 by 24. No colour, and in a sealed sitting nothing that follows a beat.
 */
#ifndef COMMAND_LIVE_SCREEN_H
#define COMMAND_LIVE_SCREEN_H

#include "src/document/live_view.h"

#include <stddef.h>

enum {
    LIVE_SCREEN_BYTES = 4096,
    LIVE_SCREEN_COLUMNS = 58
};

/** What the screen knows beside the sitting. Texts are borrowed. */
typedef struct live_screen_state {
    bool checked;
    bool marks;
    bool until_stopped;
    bool breath_next;   /**< respirations follow the pulse */
    bool watches_first; /**< an infant's come before it */
    bool named;         /**< the recording's name was given: there is no second one */
    const char *typed;  /**< typed so far, "" none */
    const char *ask; /**< what is asked beside the number, in lines; NULL: the number */
    const char *note;   /**< about what was typed, "" none */
    const char *person; /**< what a number already entered asks for, "" nothing */
} live_screen_state;

/** The screen: lines ended by '\n'. */
void live_screen_format(const live_view *view,
                        const live_screen_state *state,
                        char out[LIVE_SCREEN_BYTES]);

/** A text as lines of the screen's width, an empty line after them; what does not fit is
 * cut. @param[out] out  out[0..bytes-1] */
void live_screen_wrap(const char *text, char *out, size_t bytes);

/** The same moment in one line for a log, without the clock. */
void live_screen_line(const live_view *view,
                      const live_screen_state *state,
                      char out[LIVE_SCREEN_BYTES]);

#endif
