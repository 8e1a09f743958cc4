/**
 * @file identity.h
 * Is a file still the one that was counted? Told by its size and time first, and by the
 * digest of its bytes where the time leaves a doubt.
 */
#ifndef BATCH_IDENTITY_H
#define BATCH_IDENTITY_H

#include "src/port/digest.h"

#include <stdint.h>

enum {
    IDENTITY_BESIDE_BYTES = 48
};

/** What a file was when it was looked at. Plain value. */
typedef struct identity {
    bool regular; /**< there, and a regular file; else the rest means nothing */
    int64_t size_bytes;
    int64_t mtime_ns;                   /**< since 1970 */
    int64_t looked_ns;                  /**< when it was looked at, since 1970 */
    uint64_t inode;                     /**< of this look only: not kept */
    char beside[IDENTITY_BESIDE_BYTES]; /**< size and time of the document of a live
                                             sitting beside it, "" for none */
    bool digested;                      /**< digest means something */
    digest digest;
} identity;

/**
 * Look at a file, its bytes left alone: one or two system calls.
 *
 * @param beside  whether the document of a live sitting beside it counts
 */
identity identity_look(const char *path, bool beside);

/** Same size, time and sitting. */
bool identity_is_alike(const identity *a, const identity *b);

/**
 * Had the file come to rest when it was looked at? One written in the last seconds before
 * may have been written again within the same tick of its clock.
 */
bool identity_was_at_rest(const identity *i);

#endif
