/* What worksheet make does around the worksheet itself: recordings composed from a recipe
 * file first, a PDF of the sheet afterwards. */
#include "src/command/compose_run.h"
#include "src/command/worksheet_private.h"

#include "src/host/offline.h"
#include "src/port/file.h"
#include "src/port/private_folder.h"

#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

enum {
    PATH_BYTES = 4096,
    ARGUMENTS_MOST = 24,
    NOT_STARTED = 127
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

static const char HOME_KIND[] = "print";

/* Becomes that program, without a network, with a home of its own, and quiet. Where there is
 * no filter for sockets, the browser's own options have to do. */
static void become(const char *const arguments[], const char *home)
{
    static const char *const HOMES[] = {"HOME", "XDG_CONFIG_HOME", "XDG_CACHE_HOME",
                                        "XDG_DATA_HOME", "XDG_RUNTIME_DIR"};
    char *list[ARGUMENTS_MOST + 1] = {NULL};
    for (size_t i = 0; i < ARGUMENTS_MOST && arguments[i] != NULL; i++) {
        /* the call takes them without const, and does not change them */
        memcpy(&list[i], &arguments[i], sizeof list[i]);
    }
    const int nowhere = open("/dev/null", O_RDWR);
    bool ok = nowhere >= 0 && dup2(nowhere, STDIN_FILENO) >= 0 &&
              dup2(nowhere, STDOUT_FILENO) >= 0 && dup2(nowhere, STDERR_FILENO) >= 0;
    for (size_t i = 0; i < sizeof HOMES / sizeof HOMES[0]; i++) {
        /* One thread runs in this child. NOLINTNEXTLINE(concurrency-mt-unsafe) */
        ok = ok && setenv(HOMES[i], home, 1) == 0;
    }
    (void)offline_enter();
    if (ok) {
        (void)execvp(list[0], list);
    }
}

/* False where it is not there or failed. */
static bool run_apart(const char *const arguments[], const char *home)
{
    int status = -1;
    const pid_t child = fork();
    if (child == 0) {
        become(arguments, home);
        _exit(NOT_STARTED);
    }
    bool ok = child > 0;
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

/* A browser that prints without a window. By itself it would ask hosts of its maker's for
 * updates and accounts: the options say no to that and lead every name nowhere, and the child
 * has no network (run_apart). As root it runs only without its sandbox; the page is our own. */
static bool print_by_browser(const char *browser,
                             const char *page,
                             const char *pdf,
                             const char *home)
{
    char to[PATH_BYTES + 32];
    char profile[PATH_BYTES + 32];
    char *const real = file_real_path(page);
    char from[PATH_BYTES + 32];
    (void)snprintf(to, sizeof to, "--print-to-pdf=%s", pdf);
    (void)snprintf(from, sizeof from, "file://%s", real != NULL ? real : page);
    (void)snprintf(profile, sizeof profile, "--user-data-dir=%s/profile", home);
    free(real);
    const char *const arguments[] = {browser,
                                     "--headless",
                                     "--disable-gpu",
                                     "--no-pdf-header-footer",
                                     profile,
                                     "--no-first-run",
                                     "--no-default-browser-check",
                                     "--disable-background-networking",
                                     "--disable-component-update",
                                     "--disable-domain-reliability",
                                     "--disable-extensions",
                                     "--disable-sync",
                                     "--disable-breakpad",
                                     "--no-pings",
                                     "--password-store=basic",
                                     "--host-resolver-rules=MAP * ~NOTFOUND",
                                     to,
                                     from,
                                     geteuid() == 0 ? "--no-sandbox" : NULL,
                                     NULL};
    return run_apart(arguments, home);
}

static bool print_by_converter(const char *page, const char *pdf, const char *home)
{
    const char *const arguments[] = {"weasyprint", page, pdf, NULL};
    return run_apart(arguments, home);
}

bool worksheet_make_pdf(const char *folder)
{
    char page[PATH_BYTES];
    char draft[PATH_BYTES];
    char pdf[PATH_BYTES];
    (void)snprintf(page, sizeof page, "%s/sheet.html", folder);
    (void)snprintf(draft, sizeof draft, "%s/.sheet.part.pdf", folder);
    (void)snprintf(pdf, sizeof pdf, "%s/sheet.pdf", folder);
    private_folder home;
    app_err ignored = APP_ERR_NONE; /* then without a PDF: the page is there */
    private_folder_sweep(HOME_KIND);
    if (!private_folder_make(&home, HOME_KIND, &ignored)) {
        return false;
    }
    const bool made =
        (print_by_converter(page, draft, home.path) && is_pdf(draft)) ||
        (print_by_browser("chromium", page, draft, home.path) && is_pdf(draft));
    private_folder_remove(&home);
    const bool ok = made && rename(draft, pdf) == 0;
    (void)unlink(draft);
    return ok;
}
