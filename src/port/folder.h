/**
 * @file folder.h
 * What lies in a folder.
 */
#ifndef PORT_FOLDER_H
#define PORT_FOLDER_H

#include "src/base/error.h"

/** Called for each name but "." and ".."; false: no more of them are wanted. */
typedef bool folder_reader(void *context, const char *name);

/**
 * Names of files and folders, in no order.
 *
 * @return false with err APP_UNREADABLE: no such folder, or not readable
 */
bool folder_each(const char *path, folder_reader *reader, void *context, app_err *err);

#endif
