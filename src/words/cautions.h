/**
 * @file cautions.h
 * What belongs beside an uneven rhythm or a rate outside its range: the person first.
 */
#ifndef WORDS_CAUTIONS_H
#define WORDS_CAUTIONS_H

#include "src/words/lines.h"

#include <stdbool.h>

/** What was found. Plain value. */
typedef struct cautions {
    bool uneven;          /**< the pattern is anything but even */
    bool with_breathing;  /**< and comes and goes with the breath: that is no alarm */
    bool unsure;          /**< and the count itself is in doubt */
    bool pulse_outside;   /**< its rate is outside the range */
    bool breaths_outside; /**< that of the respirations is */
    bool range_said;      /**< a sentence before this one has said so */
    bool signs_said;      /**< the signs of the person stand above: not once more */
    bool composed;        /**< nobody's heart: "If this were a person" */
} cautions;

/** Paragraph n of what is to be said, from 0 on; "" beyond the last. @return out */
const char *cautions_say(const cautions *c, int n, char out[LINES_PARAGRAPH_BYTES]);

/** All paragraphs, each after an empty line; nothing where nothing was found. */
void cautions_add(const cautions *c, lines *to);

#endif
