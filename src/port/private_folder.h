/**
 * @file private_folder.h
 * A folder under TMPDIR (or /tmp) that only this person can read, and that goes with the
 * program: removed with all that is in it, or, where a kill kept the program from doing so,
 * by a later one. Its maker holds a lock on it, so that a folder in use is told from one
 * that was left.
 */
#ifndef PORT_PRIVATE_FOLDER_H
#define PORT_PRIVATE_FOLDER_H

#include "src/base/error.h"

enum {
    PRIVATE_FOLDER_BYTES = 1000
};

/** One folder. Plain value; private_folder_remove lets go of what it holds. */
typedef struct private_folder {
    char path[PRIVATE_FOLDER_BYTES]; /**< "": none */
    int lock;                        /**< descriptor of the locked folder, or -1 */
} private_folder;

#define PRIVATE_FOLDER_NONE                                                            \
    {                                                                                  \
        .path = "", .lock = -1                                                         \
    }

/**
 * Make one, mode 0700, named fullminute-KIND-XXXXXX.
 *
 * @param kind  letters, without '/'
 * @return false with err APP_FAILED: no room, no rights; f is then none
 */
bool private_folder_make(private_folder *f, const char *kind, app_err *err);

/** Remove it and all that is in it; none is allowed. Afterwards it is none. */
void private_folder_remove(private_folder *f);

/**
 * Remove those of that kind that programs of this person have left: nobody holds their
 * lock. What cannot be removed stays; that is no error.
 */
void private_folder_sweep(const char *kind);

#endif
