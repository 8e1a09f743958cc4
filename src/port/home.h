/**
 * @file home.h
 * Where this person's files lie, and the program's own.
 *
 * Source: XDG Base Directory Specification: the variables, their defaults, and that one
 *         with a relative path is ignored.
 */
#ifndef PORT_HOME_H
#define PORT_HOME_H

#include "src/base/error.h"

typedef enum home_kind {
    HOME_DATA,  /**< $XDG_DATA_HOME, default ~/.local/share */
    HOME_CONFIG /**< $XDG_CONFIG_HOME, default ~/.config */
} home_kind;

/**
 * The path of a file or folder of ours in there: "NAME" gives ".../fullminute/NAME".
 * Nothing is looked at or made.
 *
 * @param none  what err says where there is no home folder, or one whose name leaves no
 *              room for a file's, and advice what to do then; NULL: that is no error
 * @return to be freed; NULL with err APP_FAILED: no home folder, no memory
 */
char *home_path(
    home_kind kind, const char *name, const char *none, hint_kind advice, app_err *err);

/** The folder that the running program lies in, to be freed; NULL where the system does
 *  not say, or without memory. */
char *home_of_program(void);

#endif
