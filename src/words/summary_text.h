/**
 * @file summary_text.h
 * A summary as lines to read, and as one page of HTML that needs nothing else.
 */
#ifndef WORDS_SUMMARY_TEXT_H
#define WORDS_SUMMARY_TEXT_H

#include "src/document/summary.h"

/** Lines to read, 80 columns. To be freed by the caller; NULL without memory. */
char *summary_text_format(const summary *s);

/**
 * One page of HTML with its plots inside: no script, nothing loaded.
 *
 * @param title     UTF-8, what was summarised
 * @param[out] n    bytes without the end mark
 */
char *summary_page_format(const summary *s, const char *title, size_t *n);

#endif
