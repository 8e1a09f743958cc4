/**
 * @file file.h
 * Writing files that are whole or not there at all: the bytes go to a temporary name in
 * the same folder, are forced to disk, and take the wanted name in one step. An existing
 * file is never overwritten unless told to.
 *
 * A target that exists and is not a regular file (a device, a pipe) is written directly.
 */
#ifndef PORT_FILE_H
#define PORT_FILE_H

#include "src/base/error.h"

#include <stddef.h>
#include <stdio.h>

/** A file in the making. Start it as FILE_DRAFT_NONE. */
typedef struct file_draft {
    int fd;          /**< write here, or hand it to a library; -1 when not open */
    bool force;      /**< may replace what has the name */
    char *path;      /**< the wanted name, owned */
    char *temporary; /**< the name for now, owned; NULL for a device or pipe */
} file_draft;

#define FILE_DRAFT_NONE                                                                \
    {                                                                                  \
        -1, false, NULL, NULL                                                          \
    }

/**
 * Open a draft for path.
 *
 * @param force  true: an existing file will be replaced at commit
 * @return false with err: APP_USAGE when path exists and force is false, or is a folder;
 *         APP_FAILED when its folder cannot be written. The draft is then empty.
 */
bool file_draft_open(file_draft *draft, const char *path, bool force, app_err *err);

/**
 * The same for a file that one program alone writes at a time, whatever has its name: the
 * temporary name follows from path, so that what a killed run left behind is written over
 * by the next one. Replaces an existing file at commit.
 */
bool file_draft_open_sole(file_draft *draft, const char *path, app_err *err);

/**
 * Could a draft be opened for path now? So that a person hears of a name that cannot be
 * written before anything is made for it. Leaves nothing behind; a device or a pipe is not
 * looked at.
 *
 * @return as file_draft_open
 */
bool file_check_target(const char *path, bool force, app_err *err);

/** Write all bytes[0..n-1] to a draft; false with err APP_FAILED (disk full, ...). */
bool file_draft_write(file_draft *draft, const void *bytes, size_t n, app_err *err);

/**
 * Force to disk and give the wanted name. Empties the draft, whatever the outcome; on
 * failure nothing is left behind.
 *
 * @return false with err APP_FAILED, or APP_USAGE when a file of that name has appeared
 *         meanwhile and force is false
 */
bool file_draft_commit(file_draft *draft, app_err *err);

/**
 * The same for two files that belong together: both are forced to disk before either
 * gets its name. Empties both drafts; on failure nothing new is left behind under either
 * name (what force has replaced by then is gone).
 *
 * @return as file_draft_commit, for the first that failed
 */
bool file_draft_commit_both(file_draft *a, file_draft *b, app_err *err);

/** Throw the draft away, if it is open; nothing is left behind. */
void file_draft_drop(file_draft *draft);

/** Write bytes[0..n-1] as the file path, by the rules above. */
bool file_write(
    const char *path, const void *bytes, size_t n, bool force, app_err *err);

/** The same, readable by this person only. */
bool file_write_private(
    const char *path, const void *bytes, size_t n, bool force, app_err *err);

/**
 * Open a file for reading from its start; "-" is standard input.
 *
 * @return to be closed with fclose; NULL with err APP_UNREADABLE
 */
FILE *file_open(const char *path, app_err *err);

/** Is anything of that name there, whatever it is? Links are followed, here and next. */
bool file_is_there(const char *path);

/** Is it a folder? */
bool file_is_folder(const char *path);

/** Is it a file itself: no link to one, no folder, no device? */
bool file_is_plain(const char *path);

/** Remove a file. @return false: it is still there */
bool file_remove(const char *path);

/**
 * Do two paths lead to one file, over links too? "-" is standard input.
 *
 * @return false also where one of them is not there
 */
bool file_is_same(const char *a, const char *b);

/** The part of a path after the last '/'; points into path. */
const char *file_base_name(const char *path);

/**
 * The name of a companion: NAME.wav and ".sitting.json" give NAME.sitting.json.
 *
 * @return a path, to be freed by the caller; NULL without memory
 */
char *file_beside(const char *path, const char *suffix);

/** The path from the root, links followed, to be freed; the path itself where there is no
 *  such file; NULL without memory. */
char *file_real_path(const char *path);

/**
 * Make the folders that lead to path, as far as they are missing; err APP_FAILED.
 *
 * @param own  those made are for this person only
 */
bool file_make_folders(const char *path, bool own, app_err *err);

/** The name of a new file itself must outlive a power cut, not only its bytes: best
 *  effort, some folders cannot be synced. */
void file_sync_folder(const char *path);

#endif
