/* logbook: what was counted, how the learner improves, what gets documented. */
#include "src/command/command.h"
#include "src/command/logbook_private.h"

#include "src/base/settings.h"
#include "src/base/text.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const char *const FORMATS[] = {"csv", "json", "fhir", NULL};

static const option_spec OPTIONS[] = {
    {"logbook", OPTION_TEXT, "FILE", "the logbook (default: your own)", 0, 0, NULL},
    {"learner", OPTION_TEXT, "NAME", "only this learner's rows; initials or a nickname",
     0, 0, NULL},
    {"last", OPTION_WHOLE, "N", "list, chart, export: only the newest N rows", 1.0, 1e7,
     NULL},
    {"within", OPTION_NUMBER, "N",
     "progress, goal: how far off a count may be, per minute", 0.5, 50.0, NULL},
    {"in-a-row", OPTION_WHOLE, "N", "goal: how many counts in a row", 1.0, 1000.0,
     NULL},
    {"irregular", OPTION_WHOLE, "N",
     "goal: how many of them with an irregular rhythm (default 1)", 0.0, 1000.0, NULL},
    {"breaths-in-a-row", OPTION_WHOLE, "N",
     "goal: full minutes of respirations in a row, a goal of their own", 1.0, 1000.0,
     NULL},
    {"breaths-within", OPTION_NUMBER, "N",
     "goal: how far off respirations may be, per minute", 0.5, 50.0, NULL},
    {"by", OPTION_TEXT, "NAME", "sign-off, instructor: the instructor's initials", 0, 0,
     NULL},
    {"watched", OPTION_TEXT, "TEXT", "sign-off: what the instructor watched", 0, 0,
     NULL},
    {"phrase-file", OPTION_TEXT, "FILE",
     "sign-off, instructor: take the pass phrase from the first line of FILE; without "
     "it "
     "you are asked",
     0, 0, NULL},
    {"format", OPTION_CHOICE, "csv|json|fhir",
     "export: as CSV (default), JSON, or HL7 FHIR R4 Observations", 0, 0, FORMATS},
    {"out", OPTION_TEXT, "FILE", "export: write a file, not standard output", 0, 0,
     NULL},
    {"force", OPTION_FLAG, NULL, "export: replace the file if it exists", 0, 0, NULL},
    {"yes", OPTION_FLAG, NULL, "forget: do not ask", 0, 0, NULL},
    {"with-copies", OPTION_FLAG, NULL,
     "forget: also remove copies of a damaged logbook that hold the name", 0, 0, NULL},
    {"json", OPTION_FLAG, NULL, "list, show, progress: print a document", 0, 0, NULL},
    {NULL, OPTION_FLAG, NULL, NULL, 0, 0, NULL},
};

/* What can be done, in the order of the help. */
static const struct verb {
    const char *name;
    int least, most; /**< operands behind the name; most -1: any number */
    bool makes;      /**< begins a logbook where there is none */
    logbook_verb *run;
} VERBS[] = {
    {"new", 0, 0, true, logbook_do_new},
    {"list", 0, 0, false, logbook_do_list},
    {"show", 1, 1, false, logbook_do_show},
    {"chart", 0, 1, false, logbook_do_chart},
    {"progress", 0, 0, false, logbook_do_progress},
    {"enter", 1, -1, true, logbook_do_enter},
    {"add", 2, -1, false, logbook_do_add},
    {"goal", 0, 0, true, logbook_do_goal},
    {"instructor", 0, 0, true, logbook_do_instructor},
    {"sign-off", 0, 0, false, logbook_do_sign_off},
    {"export", 0, 0, false, logbook_do_export},
    {"import", 1, 1, true, logbook_do_import},
    {"forget", 0, 0, false, logbook_do_forget},
};

static const struct verb *find_verb(const options *o, app_err *err)
{
    const char *const name = o->n_operands > 0 ? o->operands[0] : "list";
    text_nearest nearest = {.typed = name};
    for (size_t i = 0; i < sizeof VERBS / sizeof VERBS[0]; i++) {
        if (strcmp(VERBS[i].name, name) == 0) {
            return &VERBS[i];
        }
        text_nearest_offer(&nearest, VERBS[i].name);
    }
    (void)app_err_set(err, APP_USAGE, "logbook %.40s is not known%s%s%s", name,
                      nearest.word != NULL ? "; did you mean '" : "",
                      nearest.word != NULL ? nearest.word : "",
                      nearest.word != NULL ? "'?"
                                           : "; see 'fullminute logbook --help'");
    return NULL;
}

static bool check_operands(const struct verb *v, const options *o, app_err *err)
{
    const int n = o->n_operands > 0 ? o->n_operands - 1 : 0;
    if (n < v->least || (v->most >= 0 && n > v->most)) {
        return app_err_set(err, APP_USAGE,
                           "logbook %s: %s; see 'fullminute logbook --help'", v->name,
                           n < v->least ? "something is missing" : "there is too much");
    }
    return true;
}

bool logbook_check_learner(const options *o, app_err *err)
{
    entry trial = entry_none();
    const char *const learner = options_text(o, "learner", "");
    return entry_set(&trial, entry_field_named("learner"), learner) ||
           app_err_set(err, APP_USAGE,
                       "--learner: give initials or a nickname of at most %d bytes",
                       ENTRY_LEARNER_BYTES - 1);
}

bool logbook_need_learner(const options *o, app_err *err)
{
    return options_given(o, "learner") ||
           app_err_set(err, APP_USAGE,
                       "whose? give initials or a nickname with --learner");
}

static int run(const options *o, app_err *err)
{
    const struct verb *const v = find_verb(o, err);
    if (v == NULL || !check_operands(v, o, err) || !logbook_check_learner(o, err)) {
        return APP_USAGE;
    }
    char *const own = options_given(o, "logbook") ? NULL : logbook_default_path(err);
    const char *const path = options_text(o, "logbook", own);
    logbook *const l = path != NULL ? logbook_open(path, v->makes, err) : NULL;
    free(own);
    if (l == NULL) {
        return APP_FAILED;
    }
    if (logbook_note(l) != NULL) {
        (void)fputs("fullminute logbook: warning: ", stderr);
        text_print_clean(logbook_note(l), stderr);
        (void)fputc('\n', stderr);
    }
    const bool ok = v->run(l, o, err);
    logbook_close(l);
    return ok ? APP_DONE : APP_FAILED;
}

const struct command command_logbook = {
    .name = "logbook",
    .summary = "What was counted, how the learner improves, what gets documented",
    .usage = "[list|show|progress|...] [options]",
    .details =
        "A learner's checked counts: 'check --learner NAME' stores one. The learner's "
        "own\n"
        "count is committed before the second count is made, and never changes; a "
        "second\n"
        "attempt at a recording is a row of its own. Learners are initials or a\n"
        "nickname; nothing of a patient is kept.\n"
        "\n"
        "  new [--learner NAME]      begin a logbook; from then on every check of "
        "this\n"
        "                            learner is stored (check --no-logbook: not this "
        "one)\n"
        "  list                      the rows\n"
        "  show N                    everything known of row N\n"
        "  chart [N]                 as it is charted, the learner's own numbers\n"
        "  progress                  bias, limits of agreement, share within tolerance "
        "by\n"
        "                            method, rate and rhythm; the goal\n"
        "  enter NAME=VALUE...       a count made without fullminute: beats=72 "
        "seconds=60\n"
        "  add N NAME=VALUE...       signs of the same set, a note: "
        "temperature=98.4\n"
        "                            temperature_unit=F systolic_mmhg=118 ...\n"
        "  goal --in-a-row N --within N [--irregular N]\n"
        "                            what the instructor asks for; without options: "
        "shown\n"
        "                            (--breaths-in-a-row N --breaths-within N: "
        "theirs)\n"
        "  instructor --by NAME      an instructor sets a pass phrase of their own\n"
        "  sign-off --by NAME --watched TEXT\n"
        "                            the instructor signs with it, not the program;\n"
        "                            without one a line to sign in ink is printed\n"
        "  export, import FILE       the rows as CSV and back; also JSON and FHIR\n"
        "  forget                    remove a learner: rows, recordings, everything\n",
    .options = OPTIONS,
    .min_operands = 0,
    .max_operands = -1,
    .exits = NULL,
    .run = run,
};
