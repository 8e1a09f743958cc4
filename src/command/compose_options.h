/**
 * @file compose_options.h
 * The options of `compose`, and the recipe they make. One table serves the command line,
 * its help and every line of a recipe file.
 */
#ifndef COMMAND_COMPOSE_OPTIONS_H
#define COMMAND_COMPOSE_OPTIONS_H

#include "dsp/fullminute_compose.h"
#include "src/base/error.h"
#include "src/base/options.h"
#include "src/document/recipe_file.h"
#include "src/document/times_file.h"

#include <stddef.h>

/** What the options say. Texts are borrowed; NULL: not given. */
typedef struct compose_plan {
    fm_recipe recipe;
    double age_years;                               /**< NaN: not given */
    const char *intervals, *beats, *breath_lengths; /**< files */
    /** What does not change the sound. Last. */
    struct compose_batch {
        const char *recipe; /**< a recipe file */
        bool force, json;
    } batch;
} compose_plan;

/** Its rows fill a compose_plan. */
extern const option_spec compose_option_table[];

/** False: the option says only what to do with the sound. */
bool compose_options_changes_sound(const option_spec *spec);

/** What a recipe's files hold; the recipe borrows it. Free with compose_files_free. */
typedef struct compose_files {
    times intervals;      /**< from --intervals */
    times breath_lengths; /**< from --breath-lengths */
} compose_files;

/** The options that name such files, NULL at the end. */
extern const char *const compose_file_options[];

/** Free what is inside; both are then TIMES_NONE. */
void compose_files_free(compose_files *files);

/**
 * The recipe that options ask for.
 *
 * @param[out] recipe  filled; borrows from files
 * @param[out] files   what the options' files hold, to be freed with compose_files_free;
 *                     nothing to free on failure
 * @return false with err: APP_USAGE (a value out of range, or options that do not go
 *         together), APP_UNREADABLE (the files)
 */
bool compose_options_recipe(const options *o,
                            fm_recipe *recipe,
                            compose_files *files,
                            app_err *err);

/**
 * The options given that change the sound, as they would be typed; a file by its name
 * alone.
 *
 * @param[out] out  out[0..bytes-1]; "" when they do not fit
 */
void compose_options_format(const options *o, char *out, size_t bytes);

/**
 * Has every option given its partner? Options that change nothing without another one are
 * refused alone: whoever typed them would take the recording for what it is not.
 *
 * @param o  parsed with compose_option_table
 * @return false with err APP_USAGE: the option and what it goes with
 */
bool compose_partners_check(const options *o, app_err *err);

/**
 * Parse one line of a recipe file as the options of `compose`.
 *
 * @param i         0..n-1
 * @param[out] out  borrows from the file until the next call
 * @return false with err APP_UNREADABLE: the file, the line, and what is wrong
 */
bool recipe_file_options(recipe_file *file, size_t i, options *out, app_err *err);

#endif
