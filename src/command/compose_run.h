/**
 * @file compose_run.h
 * From a recipe to its two files, the sound and its truth: one, or a recipe file's worth.
 */
#ifndef COMMAND_COMPOSE_RUN_H
#define COMMAND_COMPOSE_RUN_H

#include "src/base/error.h"
#include "src/base/options.h"

/** What is said on stdout of each recording made. */
typedef enum compose_say {
    COMPOSE_SAY_TEXT,
    COMPOSE_SAY_JSON, /**< its truth document */
    COMPOSE_SAY_NOTHING
} compose_say;

/**
 * One recording.
 *
 * @param o      parsed by compose_option_table
 * @param path   the sound's; the truth goes beside it
 * @param force  replace what is there
 * @return false with err; then neither file is there
 */
bool compose_run_one(
    const options *o, const char *path, bool force, compose_say how, app_err *err);

/**
 * All of a recipe file into a folder; nothing is written unless every line is right.
 *
 * @return false with err: APP_UNREADABLE names the line
 */
bool compose_run_recipes(const char *recipe_path,
                         const char *folder,
                         bool force,
                         compose_say how,
                         app_err *err);

#endif
