/**
 * @file own_count.h
 * A learner's own count as it is given before anything else is known: a number, or that it
 * could not be counted, and what was found beside it. Every front door takes this, and it goes
 * into the sitting's document, the logbook's row and the comparison.
 */
#ifndef DOCUMENT_OWN_COUNT_H
#define DOCUMENT_OWN_COUNT_H

#include "src/base/error.h"
#include "src/document/taking_phase.h"

#include <jansson.h>
#include <stdbool.h>

struct entry; /* src/document/entry.h */

enum {
    OWN_RUNNING = 3,        /**< at 15, 30 and 45 s */
    OWN_RUNNING_MOST = 400, /**< as the fastest pulse that is taken, FM_MANUAL_MAX */
    OWN_NOT_NOTED = -1,
    OWN_WORD_BYTES = 32 /**< as ENTRY_WORD_BYTES */
};

/** What was found beside the number; "" and OWN_NOT_NOTED: not said. Plain value. */
typedef struct own_words {
    char rhythm[OWN_WORD_BYTES]; /**< a word of the entry's rhythm or breath_rhythm */
    char depth[OWN_WORD_BYTES];  /**< of respirations */
    char effort[OWN_WORD_BYTES]; /**< of respirations */
    int running[OWN_RUNNING];    /**< counts noted under way, 0 up, never falling */
} own_words;

/** One count. Plain value. */
typedef struct own_count {
    bool could_not; /**< it could not be counted, and that is the answer: never 0 */
    int entered;    /**< as counted, not multiplied; with could_not it means nothing */
    bool confirmed; /**< whoever entered it was asked about it, and means it */
    own_words words;
} own_count;

/** Nothing said. */
own_words own_words_none(void);

/** That number and no word. */
own_count own_count_of(int entered);

/** Was anything noted under way? */
bool own_words_ran(const own_words *w);

/** Are they words of this count, and do the running counts go up?
 *  @return false with err APP_USAGE */
bool own_words_check(const own_words *w, taking_entry of, app_err *err);

/**
 * Counts noted at 15, 30 and 45 s: "18,36,53", one that was not noted left blank.
 *
 * @return false with err APP_USAGE; to is then unchanged
 */
bool own_running_take(const char *text, int to[OWN_RUNNING], app_err *err);

/** The same as text that own_running_take takes; "" where nothing was noted. @return out */
const char *own_running_show(const int running[OWN_RUNNING], char out[OWN_WORD_BYTES]);

/** [18, null, 53], or null where nothing was noted; a new reference or NULL. */
json_t *own_running_json(const int running[OWN_RUNNING]);

/** From such a list. @return false: it is something else; to is then unchanged */
bool own_running_from_json(const json_t *list, int to[OWN_RUNNING]);

/** Put into a row what is known of a count; what is there already and not said here stays. */
void own_words_put(const own_words *w, bool breaths, struct entry *row);

/** And back, from a row. */
own_words own_words_of(const struct entry *row, bool breaths);

#endif
