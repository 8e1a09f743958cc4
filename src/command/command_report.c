/* report: one page for a sitting or a learner. */
#include "src/command/command.h"

#include "src/base/file.h"
#include "src/base/text.h"
#include "src/sitting/report_make.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const option_spec OPTIONS[] = {
    {"out", OPTION_TEXT, "FILE", "where the page goes, - for standard output", 0, 0,
     NULL},
    {"row", OPTION_WHOLE, "N", "the sitting of this row of the logbook", 1.0, 1e12,
     NULL},
    {"learner", OPTION_TEXT, "NAME",
     "this learner's progress (without --row and --learner: everybody's)", 0, 0, NULL},
    {"logbook", OPTION_TEXT, "FILE", "the logbook (default: your own)", 0, 0, NULL},
    {"force", OPTION_FLAG, NULL, "replace the page if the file exists", 0, 0, NULL},
    {NULL, OPTION_FLAG, NULL, NULL, 0, 0, NULL},
};

static bool write_page(const options *o, const char *page, size_t n, app_err *err)
{
    const char *const to = options_text(o, "out", "-");
    if (strcmp(to, "-") == 0) {
        return fwrite(page, 1, n, stdout) == n ||
               app_err_set(err, APP_FAILED, "cannot write to standard output");
    }
    return file_write(to, page, n, options_given(o, "force"), err);
}

static char *make(logbook *l, const options *o, size_t *n, app_err *err)
{
    return options_given(o, "row")
               ? report_make_sitting(l, (int64_t)options_number(o, "row", 0.0), n, err)
               : report_make_learner(l, options_text(o, "learner", NULL), n, err);
}

static int run(const options *o, app_err *err)
{
    if (options_given(o, "row") && options_given(o, "learner")) {
        return !app_err_set(err, APP_USAGE,
                            "--row is one sitting, --learner all of a learner's; give "
                            "one of them");
    }
    if (!options_given(o, "out")) {
        return !app_err_set(err, APP_USAGE,
                            "where does the page go? give --out FILE.html, or --out -");
    }
    char *const own = options_given(o, "logbook") ? NULL : logbook_default_path(err);
    const char *const path = options_text(o, "logbook", own);
    logbook *const l = path != NULL ? logbook_open(path, false, err) : NULL;
    free(own);
    if (l == NULL) {
        return APP_FAILED;
    }
    if (logbook_note(l) != NULL) {
        (void)fputs("fullminute report: warning: ", stderr);
        text_print_clean(logbook_note(l), stderr);
        (void)fputc('\n', stderr);
    }
    size_t n = 0;
    char *const page = make(l, o, &n, err);
    const bool ok = page != NULL && write_page(o, page, n, err);
    free(page);
    logbook_close(l);
    return ok ? APP_DONE : APP_FAILED;
}

const struct command command_report = {
    .name = "report",
    .summary = "One page of HTML for a sitting or a learner, to read or print",
    .usage = "--out FILE.html [--row N | --learner NAME]",
    .details =
        "From the logbook. Of a sitting: the charted line, the minute dial, the "
        "intervals\n"
        "and the sound with its marks, the comparison and what short counts would "
        "have\n"
        "said; its recording is counted again for that. Of a learner: progress,\n"
        "agreement, the goal and the newest counts. The page needs no other file.\n",
    .options = OPTIONS,
    .min_operands = 0,
    .max_operands = 0,
    .exits = NULL,
    .run = run,
};
