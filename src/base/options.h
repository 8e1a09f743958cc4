/**
 * @file options.h
 * One table says which options a command takes and which member of the command's plan
 * each of them fills; the same table parses the command line, fills the plan and prints
 * the help. Words on the command line are `--name VALUE`, `--name=VALUE`, `--flag` and
 * operands, in any order; `--` ends the options; `-` is an operand.
 *
 * A value may start with one dash (`--manual -5` reaches the range check) but not with
 * two. An option given twice is an error: a result must not depend on which one won.
 */
#ifndef BASE_OPTIONS_H
#define BASE_OPTIONS_H

#include "src/base/error.h"
#include "src/base/field.h"

#include <stddef.h>
#include <stdio.h>

/**
 * Reads a text of a form of its own into a member of the plan.
 *
 * @return false with err (APP_USAGE), which names the option
 */
typedef bool option_reader(const char *text, void *member, app_err *err);

/** One option. A table of them ends with OPTIONS_END. */
typedef struct option_spec {
    const char *name; /**< without dashes: "seconds" */
    const char
        *value; /**< what help shows for the value: "S", "FILE"; NULL for a flag */
    field to;   /**< what it takes and where it goes in the command's plan */
    option_reader *read; /**< of a FIELD_OWN; else NULL */
    const char *help;    /**< one sentence, unit included, no full stop */
} option_spec;

/*
 * The middle of a row: which member of the plan it fills, and with what.
 * A flag turns its member round, so that "no-ticks" fills `ticks`, true by default.
 */
#define OPTION_FLAG(plan, member) FIELD(plan, member), NULL
/** Any text that is not empty. */
#define OPTION_TEXT(plan, member) FIELD(plan, member), NULL
/** A number, min..max; whole where the member is. */
#define OPTION_NUMBER(plan, member, min, max) FIELD_IN(plan, member, min, max), NULL
/** A whole number in a member of any kind. */
#define OPTION_WHOLE(plan, member, min, max)                                           \
    FIELD_OF(plan, member, true, min, max, NULL), NULL
/** A number, or one of words in its place. */
#define OPTION_OR_WORD(plan, member, min, max, words)                                  \
    FIELD_OF(plan, member, false, min, max, words), NULL
/** One of words. */
#define OPTION_CHOICE(plan, member, words) FIELD_ONE_OF(plan, member, words), NULL
/** A text of its own form, which reader takes. */
#define OPTION_OWN(plan, member, reader)                                               \
    {FIELD_OWN, offsetof(plan, member), sizeof((plan *)NULL)->member, false, 0, 0,     \
     NULL},                                                                            \
        reader
#define OPTIONS_END                                                                    \
    {                                                                                  \
        NULL, NULL, {FIELD_FLAG, 0, 0, false, 0, 0, NULL}, NULL, NULL                  \
    }

enum {
    OPTIONS_MAX = 80
};

/** A parsed command line. Texts are borrowed from argv and the table. */
typedef struct options {
    const option_spec *specs;
    const char *texts[OPTIONS_MAX]; /**< one for each row; NULL: not given; "" flag */
    bool help;                      /**< --help was given: nothing else was checked */
    int n_operands;
    const char *const *operands; /**< operands[0..n_operands-1], points into argv */
} options;

/**
 * Parse argv[0..argc-1] (the words after the command's name).
 *
 * @param specs         table, at most OPTIONS_MAX rows
 * @param[in,out] argv  operands are moved to the front; must outlive out
 * @param[out] out      filled, also partly when false is returned
 * @return false with err (APP_USAGE) for an unknown option, a missing, wrong or
 *         out-of-range value, or an option given twice
 */
bool options_parse(
    const option_spec *specs, int argc, char **argv, options *out, app_err *err);

/**
 * Fill the plan with what was given; the rest of it stays.
 *
 * @param[in,out] plan  the struct that the table's rows name; its texts are borrowed
 * @return false with err (APP_USAGE) where a text of its own form is wrong
 */
bool options_fill(const options *o, void *plan, app_err *err);

/**
 * For what options are to one another: the first of names, a NULL-ended list, that was
 * given; NULL: none. All must be in the table.
 */
const char *options_first_of(const options *o, const char *const *names);

/** An option's text as typed; NULL when not given. The name must be in the table. */
const char *options_typed(const options *o, const char *name);

/** Print the table's help, one option a line or two, wrapped to 80 columns. */
void options_print_help(const option_spec *specs, FILE *to);

#endif
