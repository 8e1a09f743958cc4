/**
 * @file percent_line.h
 * How far a long piece of work has come, in one line on a terminal that is rewritten in
 * place. Nothing is shown where stderr is not a terminal, or where the results run over
 * the same terminal and say how far they are themselves.
 */
#ifndef HOST_PERCENT_LINE_H
#define HOST_PERCENT_LINE_H

#include <stdbool.h>

/** State. Plain value. */
typedef struct percent_line {
    bool on;          /**< shown at all */
    int shown;        /**< per cent on the screen; -1 none */
    const char *what; /**< what is being done, constant text */
} percent_line;

/** Look at the streams and get ready; nothing is shown yet. */
percent_line percent_line_start(const char *what);

/** Show done of total, when the per cent changes. total 0 or less: not known. */
void percent_line_show(percent_line *p, double done, double total);

/** Take the line away. */
void percent_line_end(percent_line *p);

#endif
