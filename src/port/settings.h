/**
 * @file settings.h
 * What the program remembers of this person's computer: the chosen input, the delay of a
 * key, what has been said once. One JSON object, "fullminute.settings/1", in
 * $XDG_CONFIG_HOME/fullminute/settings.json (default ~/.config). Nothing about a count is
 * in it.
 *
 * Members that this version does not know are kept as they are. A file that cannot be
 * understood is set aside under another name, never overwritten, and that is said.
 */
#ifndef PORT_SETTINGS_H
#define PORT_SETTINGS_H

#include "src/base/error.h"

#include <stdbool.h>

/** Opaque; see settings_free. */
typedef struct settings settings;

/* The members that there are. */
#define SETTINGS_INPUT                                                                 \
    "input" /**< text: key of the chosen input, as devices.h has it */
#define SETTINGS_TAP_DELAY_S                                                           \
    "tap_delay_s" /**< number for each input: a tap comes so much after its sound, s */
#define SETTINGS_LEARNER                                                               \
    "learner" /**< text: whose checked counts go into the logbook by themselves */

/**
 * Read the settings. No file, or no home folder, is no error: they are then empty.
 *
 * @return the settings, freed with settings_free; NULL with err APP_FAILED: out of
 *         memory, or a file that is there and cannot be read
 */
settings *settings_load(app_err *err);

/** Frees s; NULL is allowed. Nothing is saved. */
void settings_free(settings *s);

/** A sentence when a file that could not be understood was set aside, for stderr; NULL:
 *  nothing to say. Borrowed. */
const char *settings_note(const settings *s);

/** Where they are kept; NULL without a home folder. Borrowed. */
const char *settings_path(const settings *s);

/** A text, borrowed until the next set; NULL: not there, or no text. */
const char *settings_text(const settings *s, const char *member);

/** A number kept for `of` (an input's key) in a member; NaN: not there. */
double settings_number_of(const settings *s, const char *member, const char *of);

/** Set, in memory. False without memory, or for a text that is no UTF-8. */
bool settings_set_text(settings *s, const char *member, const char *text);
bool settings_set_number_of(settings *s,
                            const char *member,
                            const char *of,
                            double value);

/**
 * Write them, whole or not at all, readable by this person only. Makes the folder.
 *
 * @return false with err APP_FAILED: no home folder, disk full, or the file there could
 *         neither be understood nor set aside
 */
bool settings_save(const settings *s, app_err *err);

#endif
