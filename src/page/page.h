/**
 * @file page.h
 * The local page: one server on this computer's own address, for the whole program in a
 * browser. Two front ends, the terminal and this one, show the same sittings.
 */
#ifndef PAGE_PAGE_H
#define PAGE_PAGE_H

#include "src/base/error.h"

#include <stdbool.h>

/** What the person asked for. Texts are borrowed; NULL: not given. */
typedef struct page_options {
    int port;               /**< 0: any that is free */
    bool open;              /**< open the browser */
    const char *recordings; /**< folder of recordings to listen to */
    const char *logbook;    /**< NULL: the person's own */
    bool share;             /**< a shared minute may be opened on the network */
    const char *address;    /**< of this computer there; NULL: found */
} page_options;

/**
 * Serve until Ctrl-C.
 *
 * @return the exit status; err is filled when it cannot be served
 */
int page_serve(const page_options *o, app_err *err);

#endif
