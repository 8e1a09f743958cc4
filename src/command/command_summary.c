/* summary: the rows of a batch at a glance, and beside the truth where it is known. */
#include "src/base/text.h"
#include "src/command/command.h"
#include "src/command/say.h"
#include "src/port/file.h"
#include "src/usecase/summarise.h"
#include "src/words/summary_text.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

typedef struct plan {
    summarise_request request;
    const char *page; /* NULL: none */
    bool json, force;
} plan;

static const field_word BREATH_WINDOWS[] = {
    {"same", true}, {"batch", false}, {NULL, 0}};

static const option_spec OPTIONS[] = {
    {"truth", "WHERE", OPTION_TEXT(plan, request.truth),
     "compare with what is true: a CSV file (file, rate_bpm, breath_rate_per_min, "
     "pattern, window_start_s), a folder of NAME.truth.json, or 'beside' for "
     "NAME.truth.json beside each recording"},
    {"html", "FILE", OPTION_TEXT(plan, page),
     "also write a page with plots that needs no other file, or - for standard output "
     "in place of the text"},
    {"json", NULL, OPTION_FLAG(plan, json),
     "print one document (fullminute.summary/1)"},
    {"breath-window", "same|batch",
     OPTION_CHOICE(plan, request.breath_same, BREATH_WINDOWS),
     "with truth documents: where the batch counted respirations, in the pulse's "
     "window or as batch does by itself (default)"},
    {"force", NULL, OPTION_FLAG(plan, force), "replace the page if the file exists"},
    OPTIONS_END,
};

/* The page must not take the place of what it is made from. */
static bool check_page(const plan *p, app_err *err)
{
    const summarise_request *const r = &p->request;
    if (p->page == NULL || strcmp(p->page, "-") == 0) {
        return true;
    }
    for (int i = 0; i < r->n_paths; i++) {
        if (file_is_same(p->page, r->paths[i])) {
            return app_err_set(err, APP_USAGE,
                               "%s is a file of rows and would be lost; give the page "
                               "another name",
                               p->page);
        }
    }
    return r->truth == NULL || !file_is_same(p->page, r->truth) ||
           app_err_set(err, APP_USAGE,
                       "%s is the truth and would be lost; give the page another name",
                       p->page);
}

static bool check_inputs(const summarise_request *r, app_err *err)
{
    int from_stdin = 0;
    for (int i = 0; i < r->n_paths; i++) {
        from_stdin += strcmp(r->paths[i], "-") == 0;
        for (int k = 0; k < i; k++) {
            if (file_is_same(r->paths[i], r->paths[k])) {
                return app_err_set(err, APP_USAGE,
                                   "%s is named twice; its rows would count twice",
                                   r->paths[i]);
            }
        }
    }
    return from_stdin <= 1 ||
           app_err_set(err, APP_USAGE, "standard input can be read once only");
}

static bool write_page(const plan *p, const summary *s, app_err *err)
{
    char title[600];
    const char *const first = p->request.paths[0];
    const int others = p->request.n_paths - 1;
    char *const name = text_escape_name(
        strcmp(first, "-") == 0 ? "standard input" : file_base_name(first));
    if (name == NULL) {
        return app_err_memory(err);
    }
    const int used = snprintf(title, sizeof title, "%.500s", name);
    if (others > 0) {
        (void)snprintf(title + used, sizeof title - (size_t)used, " and %d more",
                       others);
    }
    free(name);
    size_t n = 0;
    char *const page = summary_page_format(s, title, &n);
    const bool ok =
        page != NULL ? say_bytes(p->page, page, n, p->force, err) : app_err_memory(err);
    free(page);
    return ok;
}

static bool print(const plan *p, const summary *s, app_err *err)
{
    char *const text = p->json ? summary_document_format(s) : summary_text_format(s);
    if (text == NULL || p->json) {
        return say_text(text, err) && putchar('\n') != EOF;
    }
    /* Names of files in it may hold anything. Line by line: a line end is kept. */
    for (char *line = text; *line != '\0';) {
        char *const end = strchr(line, '\n');
        if (end != NULL) {
            *end = '\0';
        }
        say_line(line, stdout);
        line = end != NULL ? end + 1 : line + strlen(line);
    }
    free(text);
    return true;
}

static int run(const options *o, app_err *err)
{
    plan p = {.request = {.paths = o->operands, .n_paths = o->n_operands}};
    summary s;
    if (!options_fill(o, &p, err)) {
        return APP_USAGE;
    }
    const bool page_to_stdout = p.page != NULL && strcmp(p.page, "-") == 0;
    if (page_to_stdout && p.json) {
        return !app_err_set(
            err, APP_USAGE,
            "--html - and --json both want standard output; give the page "
            "a file");
    }
    if (!check_inputs(&p.request, err) || !check_page(&p, err)) {
        return APP_USAGE;
    }
    if (!summarise(&p.request, &s, err)) {
        return err->code;
    }
    const bool ok = (p.page == NULL || write_page(&p, &s, err)) &&
                    (page_to_stdout || print(&p, &s, err));
    summary_free(&s);
    return ok ? APP_DONE : err->code;
}

static const char DETAILS[] =
    "ROWS are files of rows as batch writes them, CSV or JSON Lines, or - for\n"
    "standard input. Says how many recordings could be counted and why others could\n"
    "not, how rates, patterns and quality are distributed and, with --truth, bias,\n"
    "limits of agreement and the shares within 1, 2 and 3 per minute, each with its\n"
    "exact 95 % interval. A row without a truth is left out there and counted.\n";

const struct command command_summary = {
    .name = "summary",
    .summary =
        "A batch at a glance: coverage, refusals, rates, agreement with the truth",
    .usage = "ROWS... [options]",
    .details = DETAILS,
    .options = OPTIONS,
    .min_operands = 1,
    .max_operands = -1,
    .run = run,
};
