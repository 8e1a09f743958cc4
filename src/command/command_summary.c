/* summary: the rows of a batch at a glance, and beside the truth where it is known. */
#include "src/base/file.h"
#include "src/base/text.h"
#include "src/command/command.h"
#include "src/report/summary_text.h"
#include "src/sitting/summarise.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const char *const BREATH_WINDOWS[] = {"same", "batch", NULL};

static const option_spec OPTIONS[] = {
    {"truth", OPTION_TEXT, "WHERE",
     "compare with what is true: a CSV file (file, rate_bpm, breath_rate_per_min, "
     "pattern, window_start_s), a folder of NAME.truth.json, or 'beside' for "
     "NAME.truth.json beside each recording",
     0, 0, NULL},
    {"html", OPTION_TEXT, "FILE",
     "also write a page with plots that needs no other file, or - for standard output "
     "in place of the text",
     0, 0, NULL},
    {"json", OPTION_FLAG, NULL, "print one document (fullminute.summary/1)", 0, 0,
     NULL},
    {"breath-window", OPTION_CHOICE, "same|batch",
     "with truth documents: where the batch counted respirations, in the pulse's "
     "window "
     "or as batch does by itself (default)",
     0, 0, BREATH_WINDOWS},
    {"force", OPTION_FLAG, NULL, "replace the page if the file exists", 0, 0, NULL},
    {NULL, OPTION_FLAG, NULL, NULL, 0, 0, NULL},
};

/* The page must not take the place of what it is made from. */
static bool check_page(const options *o, const char *page, app_err *err)
{
    const char *const truth = options_text(o, "truth", NULL);
    if (page == NULL || strcmp(page, "-") == 0) {
        return true;
    }
    for (int i = 0; i < o->n_operands; i++) {
        if (file_is_same(page, o->operands[i])) {
            return app_err_set(err, APP_USAGE,
                               "%s is a file of rows and would be lost; give the page "
                               "another name",
                               page);
        }
    }
    return truth == NULL || !file_is_same(page, truth) ||
           app_err_set(err, APP_USAGE,
                       "%s is the truth and would be lost; give the page another name",
                       page);
}

static bool check_inputs(const options *o, app_err *err)
{
    int from_stdin = 0;
    for (int i = 0; i < o->n_operands; i++) {
        from_stdin += strcmp(o->operands[i], "-") == 0;
        for (int k = 0; k < i; k++) {
            if (file_is_same(o->operands[i], o->operands[k])) {
                return app_err_set(err, APP_USAGE,
                                   "%s is named twice; its rows would count twice",
                                   o->operands[i]);
            }
        }
    }
    return from_stdin <= 1 ||
           app_err_set(err, APP_USAGE, "standard input can be read once only");
}

static bool write_page(const options *o, const summary *s, const char *to, app_err *err)
{
    char title[600];
    const char *const first = o->operands[0];
    char *const name = text_escape_name(
        strcmp(first, "-") == 0 ? "standard input" : file_base_name(first));
    if (name == NULL) {
        return app_err_set(err, APP_FAILED, "out of memory");
    }
    if (o->n_operands > 1) {
        (void)snprintf(title, sizeof title, "%.500s and %d more", name,
                       o->n_operands - 1);
    } else {
        (void)snprintf(title, sizeof title, "%.500s", name);
    }
    free(name);
    size_t n = 0;
    char *const page = summary_page_format(s, title, &n);
    bool ok = page != NULL || app_err_set(err, APP_FAILED, "out of memory");
    if (ok && strcmp(to, "-") == 0) {
        (void)fwrite(page, 1, n, stdout);
    } else if (ok) {
        ok = file_write(to, page, n, options_given(o, "force"), err);
    }
    free(page);
    return ok;
}

static bool print(const options *o, const summary *s, app_err *err)
{
    const bool json = options_given(o, "json");
    char *const text = json ? summary_document_format(s) : summary_text_format(s);
    if (text == NULL) {
        return app_err_set(err, APP_FAILED, "out of memory");
    }
    if (json) {
        (void)puts(text);
    } else {
        /* Names of files in it may hold anything. Line by line: a line end is kept. */
        for (char *line = text; *line != '\0';) {
            char *const end = strchr(line, '\n');
            if (end != NULL) {
                *end = '\0';
            }
            text_print_clean(line, stdout);
            (void)putchar('\n');
            line = end != NULL ? end + 1 : line + strlen(line);
        }
    }
    free(text);
    return true;
}

static int run(const options *o, app_err *err)
{
    const char *const page = options_text(o, "html", NULL);
    const bool page_to_stdout = page != NULL && strcmp(page, "-") == 0;
    if (page_to_stdout && options_given(o, "json")) {
        (void)app_err_set(
            err, APP_USAGE,
            "--html - and --json both want standard output; give the page "
            "a file");
        return APP_USAGE;
    }
    if (!check_inputs(o, err) || !check_page(o, page, err)) {
        return APP_USAGE;
    }
    const summarise_request request = {
        .paths = o->operands,
        .n_paths = o->n_operands,
        .truth = options_text(o, "truth", NULL),
        .breath_same = options_is(o, "breath-window", "same"),
    };
    summary s;
    if (!summarise(&request, &s, err)) {
        return err->code;
    }
    const bool ok = (page == NULL || write_page(o, &s, page, err)) &&
                    (page_to_stdout || print(o, &s, err));
    summary_free(&s);
    return ok ? APP_DONE : err->code;
}

const struct command command_summary = {
    .name = "summary",
    .summary =
        "A batch at a glance: coverage, refusals, rates, agreement with the truth",
    .usage = "ROWS... [options]",
    .details =
        "ROWS are files of rows as batch writes them, CSV or JSON Lines, or - for\n"
        "standard input. Says how many recordings could be counted and why others "
        "could\n"
        "not, how rates, patterns and quality are distributed and, with --truth, "
        "bias,\n"
        "limits of agreement and the shares within 1, 2 and 3 per minute, each with "
        "its\n"
        "exact 95 % interval. A row without a truth is left out there and counted.\n",
    .options = OPTIONS,
    .min_operands = 1,
    .max_operands = -1,
    .exits = NULL,
    .run = run,
};
