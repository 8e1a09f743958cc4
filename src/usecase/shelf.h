/**
 * @file shelf.h
 * The recordings that a page may name, each by its number and never by a path: those of
 * one folder, and what was dropped, composed or recorded since. What was dropped or
 * composed lies in a private folder that goes with the shelf; one that a killed program left
 * goes when the next shelf is opened. Any thread may use it.
 */
#ifndef USECASE_SHELF_H
#define USECASE_SHELF_H

#include "src/base/error.h"

#include <stdbool.h>
#include <stddef.h>

enum {
    SHELF_MOST = 400,
    SHELF_NAME_BYTES = 96,
    SHELF_PATH_BYTES = 1024
};

/** Where a recording comes from. */
typedef enum shelf_kind {
    SHELF_FOUND,    /**< in the folder */
    SHELF_DROPPED,  /**< the person brought it */
    SHELF_COMPOSED, /**< written by intervals */
    SHELF_TAKEN     /**< a live sitting's, once it may be shown */
} shelf_kind;

/** One. Plain value. */
typedef struct shelf_item {
    int number; /**< from 1 */
    shelf_kind kind;
    char name[SHELF_NAME_BYTES]; /**< for people, UTF-8 */
    char path[SHELF_PATH_BYTES];
    bool known; /**< its truth lies beside it */
} shelf_item;

/** Opaque; see shelf_close. */
typedef struct shelf shelf;

/**
 * Look what there is.
 *
 * @param folder  NULL: the composed recordings that come with the program; none is no error
 * @return NULL with err: APP_UNREADABLE (no such folder), APP_FAILED
 */
shelf *shelf_open(const char *folder, app_err *err);

/** Remove the private folder; NULL is allowed. */
void shelf_close(shelf *s);

/** The folder that was looked at; "" none. */
const char *shelf_folder(const shelf *s);

/** One by its number; false: there is none. */
bool shelf_get(shelf *s, int number, shelf_item *out);

/** Call back for each, in order. */
typedef void shelf_reader(void *context, const shelf_item *item);
void shelf_each(shelf *s, shelf_reader *reader, void *context);

/** The n-th found recording in an order of this shelf's own, which tells nothing of its
 *  name; from 1. False: there are fewer. */
bool shelf_get_unnamed(shelf *s, int n, shelf_item *out);
int shelf_n_unnamed(shelf *s);

/** A new path in the private folder, "<number>.wav". False with err: full, no folder. */
bool shelf_new_path(shelf *s, char out[SHELF_PATH_BYTES], app_err *err);

/** Put one on it. @return its number; 0: full */
int shelf_add(shelf *s, shelf_kind kind, const char *name, const char *path);

#endif
