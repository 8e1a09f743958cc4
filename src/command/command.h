/**
 * @file command.h
 * What a command is, and the table of them. To add one: write
 * src/command/command_<name>.c with an option table, a run function and
 * `const struct command command_<name>`, and add one line to table.c.
 */
#ifndef COMMAND_COMMAND_H
#define COMMAND_COMMAND_H

#include "src/base/error.h"
#include "src/base/options.h"

/** One command of the program. All texts are constant. */
struct command {
    const char *name;    /**< "count" */
    const char *summary; /**< one line for the list of commands, no full stop */
    const char *usage;   /**< what follows the name: "FILE [options]" */
    const char *details; /**< paragraphs printed under the usage, wrapped by hand to 80
                              columns, ending with a line end; NULL for none */
    const option_spec *options; /**< table that ends with a row of NULL name */
    int min_operands;
    int max_operands;  /**< -1: any number */
    const char *exits; /**< extra lines for the list of exit statuses; NULL for none */

    /**
     * Do it. Results go to stdout, everything else to stderr.
     *
     * @param o         parsed options; --help and the number of operands are dealt with
     * @param[out] err  filled when it fails; main prints it and returns err->code
     * @return the exit status; ignored when err->text is not empty
     */
    int (*run)(const options *o, app_err *err);
};

/** The terminal's words for every hint. */
extern const char *const TERMINAL_HINTS[HINT_COUNT];

/** Every command, in the order help lists them; ends with NULL. */
extern const struct command *const command_table[];

/** The command of that name, or NULL. */
const struct command *command_find(const char *name);

/** Print a command's help: usage, details, options, exit statuses. */
void command_print_help(const struct command *command, FILE *to);

/** Print the program's help: what it is, the commands, how to go on. */
void command_print_overview(FILE *to);

/**
 * Parse a command's words and run it.
 *
 * @param[in,out] argv  argv[0..argc-1] after the command's name; operands move forward
 * @return the exit status; err is filled when there is something to say
 */
int command_run(const struct command *command, int argc, char **argv, app_err *err);

#endif
