/* report: one page for a sitting or a learner. */
#include "src/command/command.h"
#include "src/command/say.h"

#include "src/usecase/report_make.h"

#include <stdlib.h>

typedef struct plan {
    const char *out, *learner, *logbook; /* NULL: not given */
    int64_t row;                         /* 0: not given */
    bool force;
} plan;

static const option_spec OPTIONS[] = {
    {"out", "FILE", OPTION_TEXT(plan, out),
     "where the page goes, - for standard output"},
    {"row", "N", OPTION_NUMBER(plan, row, 1.0, 1e12),
     "the sitting of this row of the logbook"},
    {"learner", "NAME", OPTION_TEXT(plan, learner),
     "this learner's progress (without --row and --learner: everybody's)"},
    {"logbook", "FILE", OPTION_TEXT(plan, logbook), "the logbook (default: your own)"},
    {"force", NULL, OPTION_FLAG(plan, force), "replace the page if the file exists"},
    OPTIONS_END,
};

static int run(const options *o, app_err *err)
{
    plan p = {.row = 0};
    size_t n = 0;
    if (!options_fill(o, &p, err)) {
        return APP_USAGE;
    }
    if (p.row > 0 && p.learner != NULL) {
        return !app_err_set(err, APP_USAGE,
                            "--row is one sitting, --learner all of a learner's; give "
                            "one of them");
    }
    if (p.out == NULL) {
        return !app_err_set(err, APP_USAGE,
                            "where does the page go? give --out FILE.html, or --out -");
    }
    logbook *const l = say_logbook("report", p.logbook, false, err);
    if (l == NULL) {
        return APP_FAILED;
    }
    char *const page = p.row > 0 ? report_make_sitting(l, p.row, &n, err)
                                 : report_make_learner(l, p.learner, &n, err);
    const bool ok = page != NULL && say_bytes(p.out, page, n, p.force, err);
    free(page);
    logbook_close(l);
    return ok ? APP_DONE : APP_FAILED;
}

static const char DETAILS[] =
    "From the logbook. Of a sitting: the charted line, the minute dial, the intervals\n"
    "and the sound with its marks, the comparison and what short counts would have\n"
    "said; its recording is counted again for that. Of a learner: progress,\n"
    "agreement, the goal and the newest counts. The page needs no other file.\n";

const struct command command_report = {
    .name = "report",
    .summary = "One page of HTML for a sitting or a learner, to read or print",
    .usage = "--out FILE.html [--row N | --learner NAME]",
    .details = DETAILS,
    .options = OPTIONS,
    .run = run,
};
