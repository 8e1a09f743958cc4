/* fullminute compose: recordings with known truth, one or a recipe file's worth. */
#include "src/command/command.h"
#include "src/command/compose_options.h"
#include "src/command/compose_recipe_file.h"

#include "src/base/file.h"
#include "src/base/interrupt.h"
#include "src/base/text.h"
#include "src/report/truth_document.h"
#include "src/sound/sound_writer.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* Composed by the program, no person's data: they go with the program's own licence. */
static const char LICENCE[] = "MIT";

/* One recording on its way to two files. */
struct work {
    const char *path;
    char *truth_path;
    float *samples;
    size_t n;
    int rate_hz;
    truth_document document;
    char *text;
    file_draft sound;
    file_draft truth;
};

static bool no_memory(app_err *err)
{
    return app_err_set(err, APP_FAILED, "out of memory; compose fewer seconds at once");
}

/* Both names are taken before the work is done: an existing file costs no waiting. */
static bool open_drafts(struct work *w, bool force, app_err *err)
{
    w->truth_path = truth_document_path(w->path);
    if (w->truth_path == NULL) {
        return no_memory(err);
    }
    return sound_writer_knows(w->path, err) &&
           file_draft_open(&w->sound, w->path, force, err) &&
           file_draft_open(&w->truth, w->truth_path, force, err);
}

static bool make_sound(struct work *w, const fm_recipe *recipe, app_err *err)
{
    w->n = fm_recipe_samples(recipe);
    w->rate_hz = (int)lround(recipe->rate_hz);
    w->samples = calloc(w->n > 0 ? w->n : 1, sizeof *w->samples);
    if (w->samples == NULL) {
        return no_memory(err);
    }
    const fm_status status = fm_compose(recipe, w->samples, w->n, &w->document.truth);
    if (status == FM_ERR_NOMEM) {
        return no_memory(err);
    }
    return status == FM_OK || app_err_set(err, APP_USAGE, "cannot compose %s: %s",
                                          w->path, fm_status_text(status));
}

static bool compose_one(
    const options *o, const fm_recipe *recipe, struct work *w, bool force, app_err *err)
{
    if (!open_drafts(w, force, err) || !make_sound(w, recipe, err)) {
        return false;
    }
    (void)snprintf(w->document.licence, sizeof w->document.licence, "%s", LICENCE);
    compose_options_format(o, w->document.recipe, sizeof w->document.recipe);
    w->text = truth_document_format(&w->document);
    if (w->text == NULL) {
        return no_memory(err);
    }
    return sound_writer_fill(&w->sound, w->path, w->samples, w->n, w->rate_hz, err) &&
           file_draft_write(&w->truth, w->text, strlen(w->text), err) &&
           file_draft_commit_both(&w->sound, &w->truth, err);
}

static size_t in_minute(const double *times_s, size_t n)
{
    size_t inside = 0;
    while (inside < n && times_s[inside] < 60.0) {
        inside++;
    }
    return inside;
}

static void say(const struct work *w, bool json)
{
    if (json) {
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

/* One recording from parsed options to its two files; path is the sound's. */
static bool run_one(
    const options *o, const char *path, bool force, bool json, app_err *err)
{
    fm_recipe recipe;
    compose_files files;
    if (!compose_options_recipe(o, &recipe, &files, err)) {
        return false;
    }
    struct work w = {.path = path,
                     .document = TRUTH_NONE,
                     .sound = FILE_DRAFT_NONE,
                     .truth = FILE_DRAFT_NONE};
    const bool ok = compose_one(o, &recipe, &w, force, err);
    if (ok) {
        say(&w, json);
    }
    file_draft_drop(&w.truth);
    file_draft_drop(&w.sound);
    free(w.text);
    truth_document_free(&w.document);
    free(w.samples);
    free(w.truth_path);
    compose_files_free(&files);
    return ok;
}

/* The sound's path in the folder, to be freed; NULL with err. */
static char *path_in_folder(const char *folder, const char *name, app_err *err)
{
    const size_t bytes = strlen(folder) + strlen(name) + 2;
    char *const path = malloc(bytes);
    if (path == NULL) {
        (void)no_memory(err);
        return NULL;
    }
    (void)snprintf(path, bytes, "%s/%s", folder, name);
    return path;
}

static bool run_line(const options *line,
                     const char *name,
                     const options *o,
                     app_err *err)
{
    char *const path = path_in_folder(o->operands[0], name, err);
    const bool ok = path != NULL && run_one(line, path, options_given(o, "force"),
                                            options_given(o, "json"), err);
    free(path);
    return ok;
}

/* Can these two files be made? Nothing is left behind. */
static bool try_names(const char *path, bool force, app_err *err)
{
    struct work w = {.path = path,
                     .document = TRUTH_NONE,
                     .sound = FILE_DRAFT_NONE,
                     .truth = FILE_DRAFT_NONE};
    const bool ok = open_drafts(&w, force, err);
    file_draft_drop(&w.truth);
    file_draft_drop(&w.sound);
    free(w.truth_path);
    return ok;
}

/* Everything of a line that can be wrong, but for the disk. */
static bool check_line(recipe_file *file, size_t i, const options *o, app_err *err)
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
    char *const path = path_in_folder(o->operands[0], file->line[i].word[0], err);
    const bool ok = path != NULL && try_names(path, options_given(o, "force"), err);
    free(path);
    return ok;
}

/* With --recipe nothing but --force and --json may stand beside it: the file says all. */
static bool alone(const options *o, app_err *err)
{
    for (size_t i = 0; o->specs[i].name != NULL; i++) {
        const char *const name = o->specs[i].name;
        if (o->texts[i] != NULL && strcmp(name, "recipe") != 0 &&
            strcmp(name, "force") != 0 && strcmp(name, "json") != 0) {
            return app_err_set(err, APP_USAGE,
                               "--%s does not go with --recipe; write it into the file",
                               name);
        }
    }
    return true;
}

static bool run_recipes(const options *o, app_err *err)
{
    recipe_file file;
    if (!alone(o, err) ||
        !recipe_file_read(options_text(o, "recipe", ""), &file, err)) {
        return false;
    }
    bool ok = true;
    for (size_t i = 0; ok && i < file.n; i++) { /* all of it, before anything is made */
        ok = check_line(&file, i, o, err) && interrupt_check(err);
    }
    for (size_t i = 0; ok && i < file.n; i++) {
        options line;
        ok = recipe_file_options(&file, i, &line, err) &&
             run_line(&line, file.line[i].word[0], o, err);
        ok = ok && interrupt_check(err);
    }
    recipe_file_free(&file);
    return ok;
}

static int run(const options *o, app_err *err)
{
    const bool ok = options_given(o, "recipe")
                        ? run_recipes(o, err)
                        : run_one(o, o->operands[0], options_given(o, "force"),
                                  options_given(o, "json"), err);
    return ok ? APP_DONE : err->code;
}

const struct command command_compose = {
    .name = "compose",
    .summary = "Compose a recording of heart sounds with known truth",
    .usage = "OUT.wav|OUT.flac [options]",
    .details =
        "The sound is mono, 16 bit. Its truth is written beside it as\n"
        "OUT.truth.json: every S1 and S2, breath starts, the pulse at the wrist,\n"
        "the pattern of the rhythm. For lessons and for tests of counting; it\n"
        "sounds like a heart, but it is nobody's.\n"
        "\n"
        "A sound alone cannot establish what a rhythm is called in a clinic, an\n"
        "ECG does: let students answer with a pattern and a count.\n"
        "recordings/README.md says of each rhythm what is heard.\n"
        "\n"
        "With --recipe FILE, OUT is a folder. The file's first line is\n"
        "'# fullminute.recipe/1'; each further line is a file name and its\n"
        "options; '#' starts a comment. Nothing is written unless every line is "
        "right.\n",
    .options = compose_option_table,
    .min_operands = 1,
    .max_operands = 1,
    .run = run,
};
