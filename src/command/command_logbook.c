/* logbook: what was counted, how the learner improves, what gets documented. */
#include "src/command/command.h"
#include "src/command/logbook_private.h"
#include "src/command/say.h"

#include "src/base/text.h"

#include <math.h>
#include <string.h>

static const field_word FORMATS[] = {
    {"csv", LOGBOOK_CSV}, {"json", LOGBOOK_JSON}, {"fhir", LOGBOOK_FHIR}, {NULL, 0}};

static const option_spec OPTIONS[] = {
    {"logbook", "FILE", OPTION_TEXT(logbook_plan, path),
     "the logbook (default: your own)"},
    {"learner", "NAME", OPTION_TEXT(logbook_plan, rows.learner),
     "only this learner's rows; initials or a nickname"},
    {"last", "N", OPTION_NUMBER(logbook_plan, rows.last, 1.0, 1e7),
     "list, chart, export: only the newest N rows"},
    {"within", "N", OPTION_NUMBER(logbook_plan, within_per_min, 0.5, 50.0),
     "progress, goal: how far off a count may be, per minute"},
    {"in-a-row", "N", OPTION_NUMBER(logbook_plan, in_a_row, 1.0, 1000.0),
     "goal: how many counts in a row"},
    {"irregular", "N", OPTION_NUMBER(logbook_plan, irregular, 0.0, 1000.0),
     "goal: how many of them with an irregular rhythm (default 1)"},
    {"breaths-in-a-row", "N", OPTION_NUMBER(logbook_plan, breath_in_a_row, 1.0, 1000.0),
     "goal: full minutes of respirations in a row, a goal of their own"},
    {"breaths-within", "N",
     OPTION_NUMBER(logbook_plan, breath_within_per_min, 0.5, 50.0),
     "goal: how far off respirations may be, per minute"},
    {"by", "NAME", OPTION_TEXT(logbook_plan, by),
     "sign-off, instructor: the instructor's initials"},
    {"watched", "TEXT", OPTION_TEXT(logbook_plan, watched),
     "sign-off: what the instructor watched"},
    {"phrase-file", "FILE", OPTION_TEXT(logbook_plan, phrase_path),
     "sign-off, instructor: take the pass phrase from the first line of FILE; without "
     "it you are asked"},
    {"format", "csv|json|fhir", OPTION_CHOICE(logbook_plan, format, FORMATS),
     "export: as CSV (default), JSON, or HL7 FHIR R4 Observations"},
    {"out", "FILE", OPTION_TEXT(logbook_plan, out),
     "export: write a file, not standard output"},
    {"force", NULL, OPTION_FLAG(logbook_plan, force),
     "export: replace the file if it exists"},
    {"yes", NULL, OPTION_FLAG(logbook_plan, yes), "forget: do not ask"},
    {"with-copies", NULL, OPTION_FLAG(logbook_plan, with_copies),
     "forget: also remove copies of a damaged logbook that hold the name"},
    {"json", NULL, OPTION_FLAG(logbook_plan, json),
     "list, show, progress: print a document"},
    OPTIONS_END,
};

/* What can be done, in the order of the help. */
static const struct verb {
    const char *name;
    int least, most; /**< operands behind the name; most -1: any number */
    bool makes;      /**< begins a logbook where there is none */
    bool of_one;     /**< nothing without --learner */
    logbook_verb *run;
} VERBS[] = {
    {"new", 0, 0, true, false, logbook_do_new},
    {"list", 0, 0, false, false, logbook_do_list},
    {"show", 1, 1, false, false, logbook_do_show},
    {"chart", 0, 1, false, false, logbook_do_chart},
    {"progress", 0, 0, false, false, logbook_do_progress},
    {"enter", 1, -1, true, false, logbook_do_enter},
    {"add", 2, -1, false, false, logbook_do_add},
    {"goal", 0, 0, true, true, logbook_do_goal},
    {"instructor", 0, 0, true, false, logbook_do_instructor},
    {"sign-off", 0, 0, false, true, logbook_do_sign_off},
    {"export", 0, 0, false, false, logbook_do_export},
    {"import", 1, 1, true, false, logbook_do_import},
    {"forget", 0, 0, false, true, logbook_do_forget},
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

static bool check_plan(const struct verb *v, const logbook_plan *p, app_err *err)
{
    entry trial = entry_none();
    const int n = p->n_operands;
    if (n < v->least || (v->most >= 0 && n > v->most)) {
        return app_err_set(err, APP_USAGE,
                           "logbook %s: %s; see 'fullminute logbook --help'", v->name,
                           n < v->least ? "something is missing" : "there is too much");
    }
    if (p->rows.learner != NULL &&
        !entry_set(&trial, entry_field_named("learner"), p->rows.learner)) {
        return app_err_set(err, APP_USAGE,
                           "--learner: give initials or a nickname of at most %d bytes",
                           ENTRY_LEARNER_BYTES - 1);
    }
    return !v->of_one || p->rows.learner != NULL ||
           app_err_set(err, APP_USAGE,
                       "whose? give initials or a nickname with --learner");
}

static int run(const options *o, app_err *err)
{
    const struct verb *const v = find_verb(o, err);
    const int named = o->n_operands > 0;
    logbook_plan p = {.operands = o->operands + named,
                      .n_operands = o->n_operands - named,
                      .within_per_min = (double)NAN,
                      .irregular = -1,
                      .breath_within_per_min = (double)NAN};
    if (v == NULL || !options_fill(o, &p, err) || !check_plan(v, &p, err)) {
        return APP_USAGE;
    }
    logbook *const l = say_logbook("logbook", p.path, v->makes, err);
    if (l == NULL) {
        return APP_FAILED;
    }
    const bool ok = v->run(l, &p, err);
    logbook_close(l);
    return ok ? APP_DONE : APP_FAILED;
}

static const char DETAILS[] =
    "A learner's checked counts: 'check --learner NAME' stores one. The learner's own\n"
    "count is committed before the second count is made, and never changes; a second\n"
    "attempt at a recording is a row of its own. Learners are initials or a\n"
    "nickname; nothing of a patient is kept.\n\n"
    "  new [--learner NAME]      begin a logbook; from then on every check of this\n"
    "                            learner is stored (check --no-logbook: not this one)\n"
    "  list                      the rows\n"
    "  show N                    everything known of row N\n"
    "  chart [N]                 as it is charted, the learner's own numbers\n"
    "  progress                  bias, limits of agreement, share within tolerance by\n"
    "                            method, rate and rhythm; the goal\n"
    "  enter NAME=VALUE...       a count made without fullminute: beats=72 seconds=60\n"
    "  add N NAME=VALUE...       signs of the same set, a note: temperature=98.4\n"
    "                            temperature_unit=F systolic_mmhg=118 ...\n"
    "  goal --in-a-row N --within N [--irregular N]\n"
    "                            what the instructor asks for; without options: shown\n"
    "                            (--breaths-in-a-row N --breaths-within N: theirs)\n"
    "  instructor --by NAME      an instructor sets a pass phrase of their own\n"
    "  sign-off --by NAME --watched TEXT\n"
    "                            the instructor signs with it, not the program;\n"
    "                            without one a line to sign in ink is printed\n"
    "  export, import FILE       the rows as CSV and back; also JSON and FHIR\n"
    "  forget                    remove a learner: rows, recordings, everything\n";

const struct command command_logbook = {
    .name = "logbook",
    .summary = "What was counted, how the learner improves, what gets documented",
    .usage = "[list|show|progress|...] [options]",
    .details = DETAILS,
    .options = OPTIONS,
    .max_operands = -1,
    .run = run,
};
