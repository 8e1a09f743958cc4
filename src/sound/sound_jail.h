/**
 * @file sound_jail.h
 * For a child process that reads somebody else's bytes: from here on it can compute, read
 * and write what is already open, and take a limited amount of memory and time. Every
 * other call to the system is refused.
 */
#ifndef SOUND_SOUND_JAIL_H
#define SOUND_SOUND_JAIL_H

#include <stdbool.h>

/** Close everything but the standard streams and go in; false: not possible here. */
bool sound_jail_enter(void);

#endif
