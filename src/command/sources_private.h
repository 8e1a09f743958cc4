/**
 * @file sources_private.h
 * The parts of the command `sources`: listing, the live meter, finding the chest piece's
 * input, placing it, and the delay of a tap. Each returns the exit status, with err filled
 * when there is something to say.
 */
#ifndef COMMAND_SOURCES_PRIVATE_H
#define COMMAND_SOURCES_PRIVATE_H

#include "src/base/error.h"
#include "src/command/live_keys.h"
#include "src/port/devices.h"
#include "src/port/settings.h"
#include "src/usecase/input_meter.h"

/** What the listening parts share. */
typedef struct sources_run {
    const devices *d;
    settings *s;
    const char *input; /**< as given; NULL: the remembered one, else the default */
    int channel;       /**< from 1; 0: the first */
    double seconds;    /**< of the meter; NaN: until stopped */
    live_keys *keys;
    bool screen; /**< standard output is a terminal: lines are drawn in place */
} sources_run;

/** Print what there is, as text or, with --json, as a document "fullminute.sources/1". */
int sources_list(const devices *d, const settings *s, bool json, app_err *err);

/** The sentence for a computer without an input, with the way to use a file. */
void sources_say_none(void);

/**
 * Open the input that was asked for, or is remembered, or is the default.
 *
 * @param[out] key  its name for settings; a file's is its path with "file:"
 */
input_meter *sources_open(const sources_run *r, const char **key, app_err *err);

/** The key under which an input is remembered: the one asked for, else the remembered one,
 *  else the default. NULL with err. */
const char *sources_key(const sources_run *r, app_err *err);

/** Wait for keys for a moment; false: q, Ctrl-C or a signal asked to stop. `enter`, if not
 *  NULL, is set when Enter or the space bar was pressed. */
bool sources_wait(const sources_run *r, double seconds, bool *enter);

/** A line that is drawn in place on a terminal, and left out elsewhere. */
void sources_draw(const sources_run *r, const char *line);

/** Print a paragraph, wrapped. */
void sources_say(const char *text);

/** The device could not be closed in time: nothing more can be done with sound in this
 *  program. Says so and ends it, terminal given back. */
void sources_hang(const sources_run *r);

/** Close it, or sources_hang. */
void sources_close(const sources_run *r, input_meter *m);

/** What was set in the settings stays. @param set  false: key is no text that can */
bool sources_remember(const sources_run *r, bool set, const char *key, app_err *err);

/** False with err when the input is gone or delivers nothing. */
bool sources_check(const input_meter *m, app_err *err);

int sources_meter(const sources_run *r, app_err *err);
int sources_place(const sources_run *r, app_err *err);
int sources_find(sources_run *r, app_err *err);
int sources_tap_test(const sources_run *r, app_err *err);

#endif
