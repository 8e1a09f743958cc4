/**
 * @file progress_text.h
 * A learner's progress as lines for a terminal.
 */
#ifndef WORDS_PROGRESS_TEXT_H
#define WORDS_PROGRESS_TEXT_H

#include "src/document/progress.h"

/** To be freed; NULL without memory. */
char *progress_text(const progress *p);

#endif
