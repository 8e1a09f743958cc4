/* What worksheet make does around the worksheet itself: recordings composed from a recipe
 * file first, a PDF of the sheet afterwards. */
#include "src/command/compose_run.h"
#include "src/command/worksheet_private.h"

#include "src/base/file.h"
#include "src/base/private_folder.h"

#include <errno.h>
#include <fcntl.h>
#include <spawn.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

extern char **environ;

enum {
    PATH_BYTES = 4096,
    ARGUMENTS_MOST = 8
};

/* ---- A recipe file ---- */

static const char FOLDER_KIND[] = "worksheet";

/* The recordings lie, with their truth, where only this person can read, and not for long. */
static bool make_from_recipe(worksheet_plan *plan, size_t *n, app_err *err)
{
    private_folder folder;
    const char *const recipe = plan->from;
    private_folder_sweep(FOLDER_KIND);
    if (!private_folder_make(&folder, FOLDER_KIND, err)) {
        return false;
    }
    plan->from = folder.path;
    const bool ok =
        compose_run_recipes(recipe, folder.path, false, COMPOSE_SAY_NOTHING, err) &&
        worksheet_make(plan, n, err);
    plan->from = recipe;
    private_folder_remove(&folder);
    return ok;
}

bool worksheet_make_any(worksheet_plan *plan, size_t *n, app_err *err)
{
    struct stat there;
    return stat(plan->from, &there) == 0 && S_ISREG(there.st_mode)
               ? make_from_recipe(plan, n, err)
               : worksheet_make(plan, n, err);
}

/* ---- A PDF of the sheet ---- */

/* Runs a program with its output thrown away; false where it is not there or failed. */
static bool run_quietly(const char *const arguments[])
{
    pid_t child = 0;
    int status = -1;
    posix_spawn_file_actions_t quiet;
    char *list[ARGUMENTS_MOST + 1] = {NULL};
    for (size_t i = 0; i < ARGUMENTS_MOST && arguments[i] != NULL; i++) {
        /* the call takes them without const, and does not change them */
        memcpy(&list[i], &arguments[i], sizeof list[i]);
    }
    if (posix_spawn_file_actions_init(&quiet) != 0) {
        return false;
    }
    bool ok =
        posix_spawn_file_actions_addopen(&quiet, 1, "/dev/null", O_WRONLY, 0) == 0 &&
        posix_spawn_file_actions_adddup2(&quiet, 1, 2) == 0 &&
        posix_spawnp(&child, arguments[0], &quiet, NULL, list, environ) == 0;
    (void)posix_spawn_file_actions_destroy(&quiet);
    while (ok && waitpid(child, &status, 0) < 0) {
        ok = errno == EINTR;
    }
    return ok && WIFEXITED(status) && WEXITSTATUS(status) == 0;
}

static bool is_pdf(const char *path)
{
    char head[5] = "";
    FILE *const file = fopen(path, "rb");
    const bool ok = file != NULL && fread(head, 1, sizeof head, file) == sizeof head &&
                    memcmp(head, "%PDF-", sizeof head) == 0;
    if (file != NULL) {
        (void)fclose(file);
    }
    return ok;
}

/* A browser that prints without a window; as root it runs only without its sandbox, and
 * the page is our own. */
static bool print_by_browser(const char *browser, const char *page, const char *pdf)
{
    char to[PATH_BYTES + 32];
    char *const real = file_real_path(page);
    char from[PATH_BYTES + 32];
    (void)snprintf(to, sizeof to, "--print-to-pdf=%s", pdf);
    (void)snprintf(from, sizeof from, "file://%s", real != NULL ? real : page);
    free(real);
    const char *const arguments[] = {browser,
                                     "--headless",
                                     "--disable-gpu",
                                     "--no-pdf-header-footer",
                                     to,
                                     from,
                                     geteuid() == 0 ? "--no-sandbox" : NULL,
                                     NULL};
    return run_quietly(arguments);
}

static bool print_by_converter(const char *page, const char *pdf)
{
    const char *const arguments[] = {"weasyprint", page, pdf, NULL};
    return run_quietly(arguments);
}

bool worksheet_make_pdf(const char *folder)
{
    char page[PATH_BYTES];
    char draft[PATH_BYTES];
    char pdf[PATH_BYTES];
    (void)snprintf(page, sizeof page, "%s/sheet.html", folder);
    (void)snprintf(draft, sizeof draft, "%s/.sheet.part.pdf", folder);
    (void)snprintf(pdf, sizeof pdf, "%s/sheet.pdf", folder);
    const bool made = (print_by_converter(page, draft) && is_pdf(draft)) ||
                      (print_by_browser("chromium", page, draft) && is_pdf(draft));
    const bool ok = made && rename(draft, pdf) == 0;
    (void)unlink(draft);
    return ok;
}
