#include "src/command/compose_run.h"
#include "src/command/compose_options.h"

#include "src/base/text.h"
#include "src/port/interrupt.h"
#include "src/usecase/compose_make.h"
#include "src/usecase/document_files.h"

#include <stdio.h>
#include <stdlib.h>

/* Composed by the program, no person's data: they go with the program's own licence. */
static const char LICENCE[] = "MIT";

static bool no_memory(app_err *err)
{
    return app_err_set(err, APP_FAILED, "out of memory; compose fewer seconds at once");
}

static size_t in_minute(const double *times_s, size_t n)
{
    size_t inside = 0;
    while (inside < n && times_s[inside] < 60.0) {
        inside++;
    }
    return inside;
}

static void say(const compose_make *w, compose_say how)
{
    if (how == COMPOSE_SAY_NOTHING) {
        return;
    }
    if (how == COMPOSE_SAY_JSON) {
        (void)fputs(w->text, stdout);
        return;
    }
    const fm_truth *const t = &w->document.truth;
    text_print_clean(w->path, stdout);
    (void)printf(": %.1f s, %zu beats and %zu respirations, %zu and %zu of them in the "
                 "first minute; truth in ",
                 t->duration_s, t->n_s1, t->n_breaths, in_minute(t->s1_s, t->n_s1),
                 in_minute(t->breath_starts_s, t->n_breaths));
    text_print_clean(w->truth_path, stdout);
    (void)putchar('\n');
}

bool compose_run_one(
    const options *o, const char *path, bool force, compose_say how, app_err *err)
{
    fm_recipe recipe;
    compose_files files;
    if (!compose_options_recipe(o, &recipe, &files, err)) {
        return false;
    }
    compose_make w;
    bool ok = compose_make_open(&w, path, force, err);
    if (ok) {
        (void)snprintf(w.document.licence, sizeof w.document.licence, "%s", LICENCE);
        compose_options_format(o, w.document.recipe, sizeof w.document.recipe);
        ok = compose_make_write(&w, &recipe, err);
    }
    if (ok) {
        say(&w, how);
    }
    compose_make_close(&w);
    compose_files_free(&files);
    return ok;
}

/* The sound's path in the folder, to be freed; NULL with err. */
static char *path_in_folder(const char *folder, const char *name, app_err *err)
{
    char *const path = text_join(folder, "/", name);
    (void)(path != NULL || no_memory(err));
    return path;
}

/* Can these two files be made? Nothing is left behind. */
static bool try_names(const char *path, bool force, app_err *err)
{
    compose_make w;
    const bool ok = compose_make_open(&w, path, force, err);
    compose_make_close(&w);
    return ok;
}

/* Everything of a line that can be wrong, but for the disk. */
static bool check_line(
    recipe_file *file, size_t i, const char *folder, bool force, app_err *err)
{
    options line;
    fm_recipe recipe;
    compose_files files;
    if (!recipe_file_options(file, i, &line, err)) {
        return false;
    }
    app_err why = APP_ERR_NONE;
    if (!compose_options_recipe(&line, &recipe, &files, &why)) {
        const bool wrong_line = why.code == APP_USAGE || why.code == APP_UNREADABLE;
        return app_err_set(err, wrong_line ? APP_UNREADABLE : (app_code)why.code,
                           "%s, line %d: %s", file->path, file->line[i].number,
                           why.text);
    }
    compose_files_free(&files);
    char *const path = path_in_folder(folder, file->line[i].word[0], err);
    const bool ok = path != NULL && try_names(path, force, err);
    free(path);
    return ok;
}

static bool run_line(recipe_file *file,
                     size_t i,
                     const char *folder,
                     bool force,
                     compose_say how,
                     app_err *err)
{
    options line;
    char *const path = path_in_folder(folder, file->line[i].word[0], err);
    const bool ok = path != NULL && recipe_file_options(file, i, &line, err) &&
                    compose_run_one(&line, path, force, how, err);
    free(path);
    return ok;
}

bool compose_run_recipes(const char *recipe_path,
                         const char *folder,
                         bool force,
                         compose_say how,
                         app_err *err)
{
    recipe_file file;
    if (!recipe_file_read(recipe_path, &file, err)) {
        return false;
    }
    bool ok = true;
    for (size_t i = 0; ok && i < file.n; i++) { /* all of it, before anything is made */
        ok = check_line(&file, i, folder, force, err) && interrupt_check(err);
    }
    for (size_t i = 0; ok && i < file.n; i++) {
        ok = run_line(&file, i, folder, force, how, err) && interrupt_check(err);
    }
    recipe_file_free(&file);
    return ok;
}
