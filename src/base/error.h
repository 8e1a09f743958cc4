/**
 * @file error.h
 * What went wrong, in words a person can act on, and the exit status it leads to. Every
 * function of the program that can fail takes an app_err as its last argument, fills it
 * and returns false or NULL. Only main.c prints it.
 */
#ifndef BASE_ERROR_H
#define BASE_ERROR_H

#include "src/base/hint.h"

#include <stdbool.h>

/** Exit statuses of the program; the contract of every command. */
typedef enum app_code {
    APP_DONE = 0,       /**< done */
    APP_FAILED = 1,     /**< failed: disk full, out of memory, an output not writable */
    APP_USAGE = 2,      /**< wrong usage, or an existing file would be overwritten */
    APP_UNREADABLE = 3, /**< an input could not be read */
    APP_REFUSED = 4,    /**< the heart was refused: the signal cannot be counted */
    APP_INTERRUPTED = 130 /**< stopped with Ctrl-C */
} app_code;

enum {
    APP_ERR_TEXT_BYTES = 1024
};

/** One error. Plain value; start it as APP_ERR_NONE. */
typedef struct app_err {
    int code;                      /**< an app_code */
    hint_kind about, advice;       /**< whose words the text begins and ends with */
    char text[APP_ERR_TEXT_BYTES]; /**< "" for none; no full stop, no line end */
} app_err;

#define APP_ERR_NONE                                                                   \
    {                                                                                  \
        APP_DONE, HINT_NONE, HINT_NONE, ""                                             \
    }

#if defined(__GNUC__)
#define APP_PRINTF_LIKE(format_at, args_at)                                            \
    __attribute__((format(printf, format_at, args_at)))
#else
#define APP_PRINTF_LIKE(format_at, args_at)
#endif

/**
 * Fill an error: what, where, what to do ("cannot open a.wav: no such file; check the
 * name"). Text that is too long is cut at a whole character.
 *
 * @param[out] err  may be NULL, then only the return value counts
 * @return always false, so that a caller can `return app_err_set(...)`
 */
bool app_err_set(app_err *err, app_code code, const char *format, ...)
    APP_PRINTF_LIKE(3, 4);

/**
 * Name what the error is about and what to do about it: the hints' words are put before and
 * behind its text.
 *
 * @return always false
 */
bool app_err_hint(app_err *err, hint_kind about, hint_kind advice);

/** Say an error's hints in a front end's words; NULL: as they stand. */
void app_err_word(app_err *err, const char *const words[HINT_COUNT]);

/** Memory ran out: APP_FAILED, and what to do about it. @return always false */
bool app_err_memory(app_err *err);

enum {
    APP_CAUSE_BYTES = 96
};

/**
 * The system's words for an errno, first letter small ("no such file or directory").
 *
 * @param[out] out  out[0..APP_CAUSE_BYTES-1]
 * @return out
 */
const char *app_err_cause(int error_number, char out[APP_CAUSE_BYTES]);

/** The same, in room of its own that lasts as long as the block it stands in. */
#define APP_CAUSE(error_number)                                                        \
    app_err_cause((error_number), (char[APP_CAUSE_BYTES]){0})

#endif
