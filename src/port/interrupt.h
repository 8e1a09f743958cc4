/**
 * @file interrupt.h
 * Ctrl-C: the first press asks the work to stop at its next safe point, so that no
 * temporary file is left; a second one ends the program at once.
 */
#ifndef PORT_INTERRUPT_H
#define PORT_INTERRUPT_H

#include "src/base/error.h"

/**
 * Listen for SIGINT, SIGTERM and SIGHUP, and turn a file-size limit into a write error
 * instead of a kill. Call once, from main.
 */
void interrupt_install(void);

/** True once a stop was asked for. */
bool interrupt_asked(void);

/**
 * The check for a loop: true while work may go on.
 *
 * @return false with err APP_INTERRUPTED once a stop was asked for
 */
bool interrupt_check(app_err *err);

#endif
