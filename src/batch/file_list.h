/**
 * @file file_list.h
 * Which files a batch is to go through: the paths named, the folders walked, a list.
 *
 * In a walked folder everything counts but folders themselves, what a filter leaves out,
 * hidden names, and this program's own companions of a recording. Links to files count as
 * the file; links to folders and special files (pipes, sockets, devices) are found, and
 * never opened or followed. What was left out is counted.
 */
#ifndef BATCH_FILE_LIST_H
#define BATCH_FILE_LIST_H

#include "src/base/error.h"

#include <stdint.h>
#include <stdio.h>

enum {
    LIST_KEPT_OUT_MAX = 8
};

/** What walking left out. */
typedef struct file_list_left {
    int64_t hidden;
    int64_t companions;
    int64_t not_matching;
} file_list_left;

/** How to list, and who takes what is found. */
typedef struct file_list_config {
    const char
        *match; /**< pattern for the last part of a walked file's name, as a shell
                            has it; NULL: every file */
    const char *kept_out[LIST_KEPT_OUT_MAX]; /**< files and folders of our own that may
                                                  lie in a walked folder; NULL ends */
    /**
     * Takes one file.
     *
     * @param size_bytes  0 where it is not known
     * @return false with err to stop
     */
    bool (*found)(void *context, const char *path, int64_t size_bytes, app_err *err);
    void *context;
    file_list_left *left; /**< added to */
} file_list_config;

/**
 * List one path: a folder is walked, anything else is found as it is, there or not.
 * Slashes at its end are taken off. In no order.
 *
 * @return false with err: what found said, APP_FAILED (memory), APP_INTERRUPTED
 */
bool file_list_path(const file_list_config *config, const char *path, app_err *err);

/**
 * List what a text names, one path a line, or with '\0' behind each path.
 *
 * @param file  read to its end
 * @param name  for errors
 * @return as file_list_path; APP_UNREADABLE: it cannot be read, or a path is over 64 KiB
 */
bool file_list_text(const file_list_config *config,
                    FILE *file,
                    const char *name,
                    bool ends_with_zero,
                    app_err *err);

#endif
