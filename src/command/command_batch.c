/* batch: many recordings in, one row each out. */
#include "dsp/analyser.h"
#include "src/base/text.h"
#include "src/batch/batch.h"
#include "src/command/command.h"
#include "src/sitting/batch_file.h"

#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum {
    SHARDS_MAX = 100000
};

static const double TIME_LIMIT_S = 120.0;

static const char *const FORMATS[] = {"csv", "jsonl", NULL};

static const option_spec OPTIONS[] = {
    {"out", OPTION_TEXT, "FILE",
     "file of rows, or - for standard output (which keeps no ledger)", 0, 0, NULL},
    {"format", OPTION_CHOICE, "csv|jsonl",
     "CSV or JSON Lines (default: by the name of --out, else CSV)", 0, 0, FORMATS},
    {"list", OPTION_TEXT, "FILE|-",
     "also take the paths that FILE, or standard input, names, one a line", 0, 0, NULL},
    {"null", OPTION_FLAG, NULL,
     "paths of --list end with zero bytes, as find -print0 writes them", 0, 0, NULL},
    {"match", OPTION_TEXT, "PATTERN",
     "of walked folders take only files of such names, as '*.wav'", 0, 0, NULL},
    {"every", OPTION_NUMBER, "S",
     "a row for every S seconds up to the end, 1 to 60 (default: one row a file)", 1.0,
     FM_WINDOW_MAX_S, NULL},
    ANALYSE_OPTION_START,
    {"seconds", OPTION_NUMBER, "S", "length of the window, 1 to 60 s (default 60)", 1.0,
     FM_WINDOW_MAX_S, NULL},
    ANALYSE_OPTION_CHANNEL,
    ANALYSE_OPTION_FIRST_BEAT,
    ANALYSE_OPTION_BREATH_WINDOW,
    ANALYSE_OPTION_NO_SITTING,
    {"documents", OPTION_TEXT, "DIR",
     "also write each file's count document, NAME.count.json, under DIR (with --every "
     "NAME.count.jsonl)",
     0, 0, NULL},
    {"pictures", OPTION_TEXT, "DIR", "also draw each minute, NAME.svg, under DIR", 0, 0,
     NULL},
    {"marks", OPTION_TEXT, "DIR",
     "also write each file's beats and breaths, NAME.marks.tsv, under DIR: start_s, "
     "end_s, mark, sureness, with tabs between",
     0, 0, NULL},
    {"jobs", OPTION_WHOLE, "N",
     "files at a time (default: the processors this program may use)", 1,
     POOL_WORKERS_MAX, NULL},
    {"time-limit", OPTION_NUMBER, "S",
     "give up a file of which nothing comes for S seconds (default 120)", 0.1, 1e6,
     NULL},
    {"shard", OPTION_TEXT, "I/N",
     "of N parts of the list do the I-th; merge puts them together", 0, 0, NULL},
    {"ledger", OPTION_TEXT, "FILE",
     "where to keep what is done (default: beside the rows, OUT.ledger)", 0, 0, NULL},
    {"strict", OPTION_FLAG, NULL, "exit 3 when a row has the status error", 0, 0, NULL},
    {"quiet", OPTION_FLAG, NULL, "show no progress and no summary", 0, 0, NULL},
    {"json", OPTION_FLAG, NULL,
     "print what the rows hold (fullminute.batch/1) to standard output", 0, 0, NULL},
    {"force", OPTION_FLAG, NULL, "replace the file of rows if it exists", 0, 0, NULL},
    {NULL, OPTION_FLAG, NULL, NULL, 0, 0, NULL},
};

/* ---- From the options ---- */

static bool read_shard(const options *o, batch_request *r, app_err *err)
{
    const char *const text = options_text(o, "shard", "1/1");
    char index[16] = "";
    long i = 0;
    long of = 0;
    const size_t n = strcspn(text, "/");
    if (n < sizeof index && text[n] == '/') {
        memcpy(index, text, n);
    }
    if (!text_to_long(index, &i) || !text_to_long(text + n + 1, &of) || of < 1 ||
        of > SHARDS_MAX || i < 1 || i > of) {
        return app_err_set(
            err, APP_USAGE,
            "--shard %s: give the part and how many, from 1/N to N/N, as "
            "3/8",
            text);
    }
    r->shard = (int)i;
    r->shards = (int)of;
    return true;
}

static bool read_format(const options *o, batch_request *r, app_err *err)
{
    r->format = ROW_FORMAT_CSV;
    const bool named = row_format_of_name(r->out, &r->format);
    if (!options_given(o, "format")) {
        return named || strcmp(r->out, "-") == 0 ||
               app_err_set(err, APP_USAGE,
                           "--out %s: its name says neither .csv nor .jsonl; add "
                           "--format",
                           r->out);
    }
    r->format = options_is(o, "format", "csv") ? ROW_FORMAT_CSV : ROW_FORMAT_JSON_LINES;
    return true;
}

static bool read_window(const options *o, analyse_request *r, app_err *err)
{
    r->whole = options_given(o, "every");
    if (r->whole && options_given(o, "seconds")) {
        return app_err_set(
            err, APP_USAGE,
            "--every S counts windows of S seconds; leave --seconds out");
    }
    if (r->whole && options_given(o, "first-beat")) {
        return app_err_set(err, APP_USAGE,
                           "--first-beat starts one window and --every counts a row on "
                           "the clock; use one of them");
    }
    if (r->whole && options_given(o, "pictures")) {
        return app_err_set(err, APP_USAGE,
                           "--pictures shows one minute of a file and --every counts "
                           "many; use one of them");
    }
    analyse_request_from_options(r, o);
    if (r->whole && (r->breath_window == BREATH_WINDOW_NEXT ||
                     r->breath_window == BREATH_WINDOW_AT)) {
        return app_err_set(err, APP_USAGE,
                           "--breath-window gives respirations one window and --every "
                           "counts them in every one; leave it out");
    }
    r->seconds_given = options_given(o, "seconds") || r->whole;
    r->seconds = options_number(o, r->whole ? "every" : "seconds", r->seconds);
    return true;
}

static bool read_request(const options *o, batch_request *r, app_err *err)
{
    if (r->out == NULL) {
        return app_err_set(err, APP_USAGE,
                           "--out is missing: where the rows go; usage: fullminute "
                           "batch PATH... --out FILE");
    }
    if (o->n_operands == 0 && r->list == NULL) {
        return app_err_set(err, APP_USAGE,
                           "no folder or file named; usage: fullminute batch PATH... "
                           "--out FILE, or --list FILE");
    }
    for (int i = 0; i < o->n_operands; i++) {
        if (strcmp(o->operands[i], "-") == 0) {
            return app_err_set(err, APP_USAGE,
                               "-: batch takes names of files from standard input with "
                               "--list -");
        }
    }
    if (strcmp(r->out, "-") == 0 && options_given(o, "json")) {
        return app_err_set(err, APP_USAGE,
                           "--json and --out - both want standard output; give --out a "
                           "file");
    }
    if (r->list_zero && r->list == NULL) {
        return app_err_set(err, APP_USAGE, "--null goes with --list");
    }
    return read_shard(o, r, err) && read_format(o, r, err);
}

/* ---- What came of it ---- */

static void say_left_out(const file_list_left *left)
{
    if (left->companions + left->hidden + left->not_matching == 0) {
        return;
    }
    (void)fprintf(stderr,
                  "Left out: %" PRId64 " documents of this program, %" PRId64
                  " hidden, %" PRId64 " that do not match.\n",
                  left->companions, left->hidden, left->not_matching);
}

static void say_summary(const batch_request *r, const batch_report *report)
{
    const about *const a = &report->about;
    (void)fprintf(stderr, "%" PRId64 " files, %" PRId64 " rows", a->files, a->rows);
    if (strcmp(r->out, "-") != 0) {
        (void)fputs(" in ", stderr);
        text_print_clean(r->out, stderr);
    }
    (void)fprintf(stderr,
                  ": %" PRId64 " counted, %" PRId64 " caution, %" PRId64
                  " refused, %" PRId64 " error%s",
                  a->by_status[ROW_COUNTED], a->by_status[ROW_CAUTION],
                  a->by_status[ROW_REFUSED], a->by_status[ROW_ERROR],
                  a->by_status[ROW_ERROR] == 1 ? "" : "s");
    if (report->kept > 0) {
        (void)fprintf(stderr, " (%" PRId64 " files were done before)", report->kept);
    }
    (void)fputs(".\n", stderr);
    say_left_out(&report->left);
}

static bool print_about(const about *a, app_err *err)
{
    char *const text = about_format(a);
    const bool ok = text != NULL || app_err_memory(err);
    if (ok) {
        (void)fputs(text, stdout);
    }
    free(text);
    return ok;
}

static int run_request(const options *o, batch_request *r, app_err *err)
{
    batch_report report;
    if (!batch_run(r, &report, err)) {
        return APP_FAILED;
    }
    if (!r->quiet) {
        say_summary(r, &report);
    }
    const bool ok = !options_given(o, "json") || print_about(&report.about, err);
    const bool errors = report.about.by_status[ROW_ERROR] > 0;
    about_free(&report.about);
    if (!ok) {
        return APP_FAILED;
    }
    return errors && options_given(o, "strict") ? APP_UNREADABLE : APP_DONE;
}

static int run(const options *o, app_err *err)
{
    analyser_keep keep = {0};
    batch_file_plan plan = {.request = analyse_request_default(""),
                            .documents = options_text(o, "documents", NULL),
                            .pictures = options_text(o, "pictures", NULL),
                            .marks = options_text(o, "marks", NULL)};
    batch_request r = {.paths = o->operands,
                       .n_paths = o->n_operands,
                       .list = options_text(o, "list", NULL),
                       .list_zero = options_given(o, "null"),
                       .match = options_text(o, "match", NULL),
                       .out = options_text(o, "out", NULL),
                       .force = options_given(o, "force"),
                       .ledger = options_text(o, "ledger", NULL),
                       .quiet = options_given(o, "quiet")};
    if (!read_request(o, &r, err) || !read_window(o, &plan.request, err)) {
        return APP_USAGE;
    }
    const char *const folders[] = {plan.documents, plan.pictures, plan.marks};
    for (int i = 0, n = 0; i < 3; i++) {
        if (folders[i] != NULL) {
            r.kept_out[n++] = folders[i];
        }
    }
    r.pool =
        (pool_config){.workers = (int)options_whole(o, "jobs", pool_processors()),
                      .time_limit_s = options_number(o, "time-limit", TIME_LIMIT_S),
                      .beside = plan.request.use_sitting,
                      .work = batch_file_count,
                      .work_context = &plan};
    plan.request.keep = &keep;
    char *const hang_on = batch_file_options(&plan);
    char *const outputs = batch_file_outputs(&plan);
    r.options = hang_on;
    r.outputs = outputs;
    int status = APP_FAILED;
    if (hang_on != NULL && outputs != NULL) {
        status = run_request(o, &r, err);
    } else {
        (void)app_err_memory(err);
    }
    free(outputs);
    free(hang_on);
    analyser_keep_free(&keep);
    return status;
}

const struct command command_batch = {
    .name = "batch",
    .summary = "Count many recordings, a row each, on all processors",
    .usage = "PATH... --out FILE [options]",
    .details =
        "PATH is a file, or a folder that is walked. Every file found has its row "
        "(with\n"
        "--every a row a window), whatever is the matter with it: counted, caution,\n"
        "refused, or error where it cannot be read. Rows stand in the order of the\n"
        "files' names. What they depend on is in OUT.batch.json beside them.\n\n"
        "A run that was stopped or killed goes on where it was: run the same command\n"
        "again. The end is the same, byte for byte. What is done is kept in\n"
        "OUT.ledger; changed files are done again. A file that crashes or hangs costs\n"
        "its own row alone.\n\n"
        "In walked folders hidden names and this program's own documents are left "
        "out.\n"
        "Links to folders are not followed, pipes, sockets and devices not opened; "
        "each\n"
        "has a row of status error.\n\n"
        "On a cluster, or with GNU parallel, each task does its shard:\n"
        "  parallel fullminute batch DIR --shard {}/4 --jobs 1 --force \\\n"
        "    --out part-{}.csv ::: 1 2 3 4\n"
        "  fullminute merge part-*.csv --out rows.csv\n",
    .options = OPTIONS,
    .min_operands = 0,
    .max_operands = -1,
    .exits = "       Here: a named path is not there, or no file was found; rows of\n"
             "       status error only with --strict. 0: every file has its rows\n",
    .run = run,
};
