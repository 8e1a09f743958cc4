/**
 * @file collection.h
 * The recordings that a page may name, each by its number and never by a path: those of
 * one folder, and what was dropped, composed or recorded since. What was dropped or
 * composed lies in a private folder that goes with the collection; one that a killed program left
 * goes when the next collection is opened. Any thread may use it.
 */
#ifndef USECASE_COLLECTION_H
#define USECASE_COLLECTION_H

#include "src/base/error.h"

#include <stdbool.h>

enum {
    COLLECTION_MOST = 400,
    COLLECTION_NAME_BYTES = 96,
    COLLECTION_PATH_BYTES = 1024
};

/** Where a recording comes from. */
typedef enum collection_kind {
    COLLECTION_FOUND,    /**< in the folder */
    COLLECTION_DROPPED,  /**< the person brought it */
    COLLECTION_COMPOSED, /**< written by intervals */
    COLLECTION_TAKEN     /**< a live sitting's, once it may be shown */
} collection_kind;

/** One. Plain value. */
typedef struct collection_item {
    int number; /**< from 1 */
    collection_kind kind;
    char name[COLLECTION_NAME_BYTES]; /**< for people, UTF-8 */
    char path[COLLECTION_PATH_BYTES];
    bool known; /**< its truth lies beside it */
} collection_item;

/** Opaque; see collection_close. */
typedef struct collection collection;

/**
 * Look what there is.
 *
 * @param folder  NULL: the composed recordings that come with the program; none is no error
 * @return NULL with err: APP_UNREADABLE (no such folder), APP_FAILED
 */
collection *collection_open(const char *folder, app_err *err);

/** Remove the private folder; NULL is allowed. */
void collection_close(collection *s);

/** The folder that was looked at; "" none. */
const char *collection_folder(const collection *s);

/** One by its number; false: there is none. */
bool collection_get(collection *s, int number, collection_item *out);

/** Call back for each, in order. */
typedef void collection_reader(void *context, const collection_item *item);
void collection_each(collection *s, collection_reader *reader, void *context);

/** The n-th found recording in an order of this collection's own, which tells nothing of its
 *  name; from 1. False: there are fewer. */
bool collection_get_unnamed(collection *s, int n, collection_item *out);
int collection_n_unnamed(collection *s);

/** A new path in the private folder, "<number>.wav". False with err: full, no folder. */
bool collection_new_path(collection *s, char out[COLLECTION_PATH_BYTES], app_err *err);

/** Put one on it. @return its number; 0: full */
int collection_add(collection *s,
                   collection_kind kind,
                   const char *name,
                   const char *path);

#endif
