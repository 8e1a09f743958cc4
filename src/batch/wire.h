/**
 * @file wire.h
 * What a batch and its worker processes say to each other over a socket: a head of fixed
 * size, then bytes. Both ends are one program on one machine; still the batch believes no
 * length, because a worker may have been broken by the file it read.
 */
#ifndef BATCH_WIRE_H
#define BATCH_WIRE_H

#include "src/base/bytes.h"
#include "src/batch/identity.h"

enum {
    WIRE_MOST_BYTES = 1 << 20 /**< a longer message is none of ours */
};

typedef enum wire_type {
    WIRE_JOB = 1, /**< to the worker: wire_order, then the path with its end mark */
    WIRE_ROWS,    /**< whole CSV records */
    WIRE_RESTART, /**< forget the rows of this file so far */
    WIRE_ALIVE,   /**< still at work */
    WIRE_DONE,    /**< wire_outcome: the file is done */
    WIRE_STOP     /**< app_err: no file can be done; end the run */
} wire_type;

typedef struct wire_head {
    uint32_t type;
    uint32_t n_bytes;
} wire_head;

typedef struct wire_order {
    bool expected; /**< answer `same` where the digest is this one */
    digest digest;
} wire_order;

typedef struct wire_outcome {
    identity identity;
    bool same;
    bool settled;
    bool error; /**< its row is one of status error */
} wire_outcome;

/** Send one message, whole; false when the other end is gone. Sends no SIGPIPE. */
bool wire_send(int fd, wire_type type, const void *in, size_t n);

/** The same for a message of two parts. */
bool wire_send_two(
    int fd, wire_type type, const void *a, size_t n_a, const void *b, size_t n_b);

/**
 * Read one message, waiting for it.
 *
 * @param[out] body  cleared first
 * @return false when the other end is gone or the message makes no sense
 */
bool wire_receive(int fd, wire_type *type, bytes *body);

/**
 * Take one whole message off the front of what has come so far.
 *
 * @param[in,out] from  its bytes are left in place; *at moves over the message
 * @param[out] body     points into from->data
 * @return 1 a message; 0 not whole yet; -1 it makes no sense
 */
int wire_take(const bytes *from, size_t *at, wire_head *head, const char **body);

#endif
