#include "src/command/compose_options.h"
#include "src/port/file.h"

#include <stdlib.h>
#include <string.h>

static bool wrong(const recipe_file *file,
                  const recipe_line *line,
                  const char *what,
                  app_err *err)
{
    return app_err_set(err, APP_UNREADABLE, "%s, line %d: %s", file->path, line->number,
                       what);
}

/* A file named in a recipe lies beside the recipe, wherever the program was started. */
static bool place_named(recipe_file *file, size_t which, options *o, app_err *err)
{
    size_t at = 0;
    while (strcmp(o->specs[at].name, compose_file_options[which]) != 0) {
        at++;
    }
    const char *const named = o->texts[at];
    if (named == NULL || named[0] == '/') {
        return true;
    }
    const size_t folder = (size_t)(file_base_name(file->path) - file->path);
    char *const path = malloc(folder + strlen(named) + 1);
    if (path == NULL) {
        return app_err_memory(err);
    }
    memcpy(path, file->path, folder);
    memcpy(path + folder, named, strlen(named) + 1);
    free(file->named[which]);
    file->named[which] = path;
    o->texts[at] = path;
    return true;
}

bool recipe_file_options(recipe_file *file, size_t i, options *out, app_err *err)
{
    const recipe_line *const line = &file->line[i];
    app_err why = APP_ERR_NONE;
    if (!options_parse(compose_option_table, line->n_words - 1, line->word + 1, out,
                       &why)) {
        return wrong(file, line, why.text, err);
    }
    if (out->help || out->n_operands > 0) {
        return wrong(file, line, "expected one file name and then options only", err);
    }
    static const char *const ELSEWHERE[] = {"recipe", "force", "json", NULL};
    if (options_first_of(out, ELSEWHERE) != NULL) {
        return wrong(file, line,
                     "--recipe, --force and --json belong on the command line", err);
    }
    bool ok = true;
    for (size_t k = 0; ok && compose_file_options[k] != NULL; k++) {
        ok = place_named(file, k, out, err);
    }
    return ok;
}
