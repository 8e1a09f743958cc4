/**
 * @file live_keys.h
 * Keys of the terminal, one by one, each with the moment it was read: on a thread of its
 * own, so that nothing the program does delays the stamp. On a terminal the keys come raw
 * and unseen; however the program ends, the terminal is given back as it was. From a pipe
 * or file the bytes come as they are.
 */
#ifndef COMMAND_LIVE_KEYS_H
#define COMMAND_LIVE_KEYS_H

#include "src/base/error.h"

#include <stdbool.h>
#include <stddef.h>

enum {
    LIVE_KEY_END = -1,    /**< standard input has ended */
    LIVE_KEY_OTHER = 256, /**< a key that sends several bytes */
    LIVE_KEY_LEFT,        /**< the arrow; it too sends several, as the next */
    LIVE_KEY_RIGHT
};

typedef struct live_key {
    int byte;           /**< 0..255, or one of the above */
    double monotonic_s; /**< CLOCK_MONOTONIC right after the read */
} live_key;

/** Opaque; see live_keys_close. One at a time in the program. */
typedef struct live_keys live_keys;

/**
 * Start reading standard input.
 *
 * @param screen  a descriptor, STDERR_FILENO or where that pointed before: if it and standard
 *                input are a terminal, keys come raw. Stays the caller's and open as long
 * @return NULL with err APP_FAILED
 */
live_keys *live_keys_open(int screen, app_err *err);

/** Whether keys come raw from a terminal. */
bool live_keys_raw(const live_keys *k);

/**
 * Wait for keys, at most timeout_s.
 *
 * @param[out] out  out[0..max-1], in the order they came
 * @return how many; 0 when none came
 */
size_t live_keys_take(live_keys *k, live_key *out, size_t max, double timeout_s);

/** Stop reading and give the terminal back. NULL is allowed. */
void live_keys_close(live_keys *k);

#endif
