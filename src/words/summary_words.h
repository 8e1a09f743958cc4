/**
 * @file summary_words.h
 * What a summary says, section by section as pairs of a label and a value; text and page
 * lay out the same pairs.
 */
#ifndef WORDS_SUMMARY_WORDS_H
#define WORDS_SUMMARY_WORDS_H

#include "src/document/summary.h"

typedef enum summary_section {
    SUMMARY_COVERAGE,
    SUMMARY_REFUSED,
    SUMMARY_DOUBTED,
    SUMMARY_PULSE,
    SUMMARY_PATTERN,
    SUMMARY_BREATH,
    SUMMARY_QUALITY,
    SUMMARY_RATE_AGREEMENT,
    SUMMARY_BREATH_AGREEMENT,
    SUMMARY_WORST,
    SUMMARY_ERRORS,
    SUMMARY_SECTIONS
} summary_section;

/** Takes what is said. */
typedef struct summary_listener {
    void *to;
    void (*heading)(void *to, const char *text);
    /** label may be "" */
    void (*pair)(void *to, const char *label, const char *value);
} summary_listener;

/** Is there anything to say in this section? */
bool summary_has(const summary *s, summary_section section);

/** Says one section: its heading, then its pairs. */
void summary_say(const summary *s, summary_section section, const summary_listener *l);

#endif
