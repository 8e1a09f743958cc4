/*
 * Any bytes as a recipe file: no crash; every recipe that comes out of it is in range.
 * Intervals named in it are not read.
 */
#include "src/command/compose_options.h"

#include <stdint.h>
#include <stdlib.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static void check_line(recipe_file *file, size_t i)
{
    options o;
    app_err err = APP_ERR_NONE;
    if (!recipe_file_options(file, i, &o, &err)) {
        if (err.text[0] == '\0') {
            abort();
        }
        return;
    }
    if (options_first_of(&o, compose_file_options) != NULL) {
        return;
    }
    fm_recipe recipe;
    compose_files files;
    if (compose_options_recipe(&o, &recipe, &files, &err) &&
        fm_recipe_fault(&recipe) != NULL) {
        abort();
    }
    compose_files_free(&files);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    recipe_file file;
    app_err err = APP_ERR_NONE;
    if (!recipe_file_parse("input", (const char *)data, size, &file, &err)) {
        if (err.text[0] == '\0') {
            abort();
        }
        return 0;
    }
    for (size_t i = 0; i < file.n; i++) {
        check_line(&file, i);
    }
    recipe_file_free(&file);
    return 0;
}
