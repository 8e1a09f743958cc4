#include "src/command/say.h"

#include "src/base/json_text.h"
#include "src/base/text.h"
#include "src/port/file.h"

#include <stdlib.h>
#include <string.h>

void say_line(const char *text, FILE *to)
{
    text_print_clean(text, to);
    (void)fputc('\n', to);
}

void say_named(FILE *to, const char *before, const char *name, const char *after)
{
    (void)fputs(before, to);
    text_print_clean(name, to);
    (void)fputs(after, to);
}

bool say_text(char *text, app_err *err)
{
    const bool ok = text != NULL || app_err_memory(err);
    if (ok) {
        (void)fputs(text, stdout);
    }
    free(text);
    return ok;
}

bool say_json(json_t *document, app_err *err)
{
    char *const text = json_text_of(document, JSON_COMPACT | JSON_REAL_PRECISION(15));
    json_decref(document);
    return say_text(text, err) && putchar('\n') != EOF;
}

bool say_bytes(const char *to, const void *data, size_t n, bool force, app_err *err)
{
    return strcmp(to, "-") != 0
               ? file_write(to, data, n, force, err)
               : fwrite(data, 1, n, stdout) == n ||
                     app_err_set(err, APP_FAILED, "cannot write to standard output");
}

logbook *say_logbook(const char *command, const char *path, bool makes, app_err *err)
{
    char *const own = path != NULL ? NULL : logbook_default_path(err);
    const char *const chosen = path != NULL ? path : own;
    logbook *const l = chosen != NULL ? logbook_open(chosen, makes, err) : NULL;
    free(own);
    if (l != NULL && logbook_note(l) != NULL) {
        (void)fprintf(stderr, "fullminute %s: warning: ", command);
        say_line(logbook_note(l), stderr);
    }
    return l;
}
