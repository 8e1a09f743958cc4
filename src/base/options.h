/**
 * @file options.h
 * One table says which options a command takes; the same table parses the command line
 * and prints the help. Words on the command line are `--name VALUE`, `--name=VALUE`,
 * `--flag` and operands, in any order; `--` ends the options; `-` is an operand.
 *
 * A value may start with one dash (`--manual -5` reaches the range check) but not with
 * two. An option given twice is an error: a result must not depend on which one won.
 */
#ifndef BASE_OPTIONS_H
#define BASE_OPTIONS_H

#include "src/base/error.h"

#include <stddef.h>
#include <stdio.h>

typedef enum option_kind {
    OPTION_FLAG,   /**< no value */
    OPTION_TEXT,   /**< any text that is not empty */
    OPTION_NUMBER, /**< a decimal number, min..max */
    OPTION_WHOLE,  /**< a whole number, min..max */
    OPTION_CHOICE  /**< one of words */
} option_kind;

/** One option. A table of them ends with a row whose name is NULL. */
typedef struct option_spec {
    const char *name; /**< without dashes: "seconds" */
    option_kind kind;
    const char
        *value; /**< what help shows for the value: "S", "FILE"; NULL for a flag */
    const char *help; /**< one sentence, unit included, no full stop */
    double min;       /**< numbers: inclusive; min and max both 0 means no limits */
    double max;
    const char *const
        *words; /**< NULL-ended: a choice's words, or words allowed in place
                                   of a number; else NULL */
} option_spec;

enum {
    OPTIONS_MAX = 80
};

/** A parsed command line. Texts are borrowed from argv and the table. */
typedef struct options {
    const option_spec *specs;
    const char *texts[OPTIONS_MAX]; /**< one for each row; NULL: not given; "" flag */
    double numbers[OPTIONS_MAX];    /**< NaN where the text is a word or not given */
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

/** True when the option was given. The name must be in the table. */
bool options_given(const options *o, const char *name);

/** The option's text as typed, or fallback (may be NULL) when not given. */
const char *options_text(const options *o, const char *name, const char *fallback);

/** The option's number, or fallback when not given or when a word stands in its place. */
double options_number(const options *o, const char *name, double fallback);

/** The same, for a whole number. */
long options_whole(const options *o, const char *name, long fallback);

/** True when the option was given and its text is exactly this word. */
bool options_is(const options *o, const char *name, const char *word);

/** Print the table's help, one option a line or two, wrapped to 80 columns. */
void options_print_help(const option_spec *specs, FILE *to);

#endif
