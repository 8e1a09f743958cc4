/**
 * @file status.h
 * The status codes of the library, each with the text shown to people.
 */
#ifndef FM_STATUS_H
#define FM_STATUS_H

/** Every status a dsp/ function can return, with the text shown to people. */
#define FM_STATUS_MAP(X)                                                               \
    X(FM_OK, "ok")                                                                     \
    X(FM_ERR_ARG, "argument out of its documented range")                              \
    X(FM_ERR_RATE, "sample rate not supported")                                        \
    X(FM_ERR_SHORT, "too few samples for the requested analysis")                      \
    X(FM_ERR_LONG, "longer than the library takes at once")                            \
    X(FM_ERR_LATE, "too late: what is asked for lies too far in the past")             \
    X(FM_ERR_NOT_FINITE, "samples that are no numbers, or beyond any sound")           \
    X(FM_ERR_BUSY, "too many windows are open at once")                                \
    X(FM_ERR_NOMEM, "out of memory")

typedef enum fm_status {
#define X(name, text) name,
    FM_STATUS_MAP(X)
#undef X
    FM_STATUS_COUNT
} fm_status;

/** Constant text for a status; never NULL, not to be freed. */
const char *fm_status_text(fm_status status);

#endif
