/**
 * @file progress.h
 * How far a long piece of work has come, in one line on a terminal that is rewritten in
 * place. Nothing is shown where stderr is not a terminal, or where the results run over
 * the same terminal and show the progress themselves.
 */
#ifndef HOST_PROGRESS_H
#define HOST_PROGRESS_H

#include <stdbool.h>

/** State. Plain value. */
typedef struct progress {
    bool on;          /**< shown at all */
    int shown;        /**< per cent on the screen; -1 none */
    const char *what; /**< what is being done, constant text */
} progress;

/** Look at the streams and get ready; nothing is shown yet. */
progress progress_start(const char *what);

/** Show done of total, when the per cent changes. total 0 or less: not known. */
void progress_show(progress *p, double done, double total);

/** Take the line away. */
void progress_end(progress *p);

#endif
