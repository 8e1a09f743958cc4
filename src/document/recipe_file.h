/**
 * @file recipe_file.h
 * Recipe files, "fullminute.recipe/1": a set of recordings to compose. UTF-8 text; the
 * first line is `# fullminute.recipe/1`; `#` at the start of a line or after a blank
 * starts a comment; every other line is a file name (no folder) and the options of
 * `compose`, parted by blanks. File names of options are taken from the recipe's folder.
 */
#ifndef DOCUMENT_RECIPE_FILE_H
#define DOCUMENT_RECIPE_FILE_H

#include "src/base/error.h"

#include <stddef.h>

enum {
    RECIPE_WORDS_MAX = 100, /**< words in one line */
    RECIPE_LINES_MAX = 2000,
    RECIPE_NAMED = 3, /**< files that the options of a line can name */
    RECIPE_BYTES_MAX = 1048576
};

/** One line: word[0] is the sound's name. */
typedef struct recipe_line {
    int number; /**< of the line in the file, from 1 */
    int n_words;
    char **word;
} recipe_line;

/** A recipe file in memory. Free with recipe_file_free. */
typedef struct recipe_file {
    char *path;
    char *text; /**< the words point into it */
    char **words;
    /** Paths of the files that the options of the line parsed last name, in the order of
     * compose_file_options. */
    char *named[RECIPE_NAMED];
    recipe_line *line;
    size_t n;
} recipe_file;

/**
 * Cut a file into lines and words.
 *
 * @param name      what errors call it; options' file names are taken from its folder
 * @param bytes     bytes[0..n-1], any bytes, at most RECIPE_BYTES_MAX
 * @param[out] out  empty on failure
 * @return false with err APP_UNREADABLE: the file, the line and what is wrong there
 */
bool recipe_file_parse(
    const char *name, const char *bytes, size_t n, recipe_file *out, app_err *err);

/** Free what is inside. */
void recipe_file_free(recipe_file *file);

#endif
