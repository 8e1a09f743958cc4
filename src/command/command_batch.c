/* batch: many recordings in, one row each out. */
#include "src/base/text.h"
#include "src/batch/batch.h"
#include "src/command/command.h"
#include "src/command/say.h"
#include "src/usecase/batch_file.h"

#include <inttypes.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum {
    SHARDS_MAX = 100000
};

static const double TIME_LIMIT_S = 120.0;

typedef struct plan {
    batch_request batch;
    batch_file_plan files;
    double every_s; /* NaN: a row a file */
    int format;     /* a row_format; -1: by the name of the file */
    int shard[2];   /* which, of how many */
    bool strict, json;
} plan;

static const field_word FORMATS[] = {
    {"csv", ROW_FORMAT_CSV}, {"jsonl", ROW_FORMAT_JSON_LINES}, {NULL, 0}};

/* ---- From the options ---- */

static bool read_shard(const char *text, void *member, app_err *err)
{
    int *const shard = member;
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
    shard[0] = (int)i;
    shard[1] = (int)of;
    return true;
}

static const option_spec OPTIONS[] = {
    {"out", "FILE", OPTION_TEXT(plan, batch.out),
     "file of rows, or - for standard output (which keeps no ledger)"},
    {"format", "csv|jsonl", OPTION_CHOICE(plan, format, FORMATS),
     "CSV or JSON Lines (default: by the name of --out, else CSV)"},
    {"list", "FILE|-", OPTION_TEXT(plan, batch.list),
     "also take the paths that FILE, or standard input, names, one a line"},
    {"null", NULL, OPTION_FLAG(plan, batch.list_zero),
     "paths of --list end with zero bytes, as find -print0 writes them"},
    {"match", "PATTERN", OPTION_TEXT(plan, batch.match),
     "of walked folders take only files of such names, as '*.wav'"},
    {"every", "S", OPTION_NUMBER(plan, every_s, 1.0, FM_WINDOW_MAX_S),
     "a row for every S seconds up to the end, 1 to 60 (default: one row a file)"},
    ANALYSE_OPTION_START(plan, files.request),
    {"seconds", "S", OPTION_NUMBER(plan, files.request.seconds, 1.0, FM_WINDOW_MAX_S),
     "length of the window, 1 to 60 s (default 60)"},
    ANALYSE_OPTION_CHANNEL(plan, files.request),
    ANALYSE_OPTION_FIRST_BEAT(plan, files.request),
    ANALYSE_OPTION_BREATH_WINDOW(plan, files.request),
    ANALYSE_OPTION_NO_SITTING(plan, files.request),
    {"documents", "DIR", OPTION_TEXT(plan, files.documents),
     "also write each file's count document, NAME.count.json, under DIR (with --every "
     "NAME.count.jsonl)"},
    {"pictures", "DIR", OPTION_TEXT(plan, files.pictures),
     "also draw each minute, NAME.svg, under DIR"},
    {"marks", "DIR", OPTION_TEXT(plan, files.marks),
     "also write each file's beats and breaths, NAME.marks.tsv, under DIR: start_s, "
     "end_s, mark, sureness, with tabs between"},
    {"jobs", "N", OPTION_NUMBER(plan, batch.pool.workers, 1, POOL_WORKERS_MAX),
     "files at a time (default: the processors this program may use)"},
    {"time-limit", "S", OPTION_NUMBER(plan, batch.pool.time_limit_s, 0.1, 1e6),
     "give up a file of which nothing comes for S seconds (default 120)"},
    {"shard", "I/N", OPTION_OWN(plan, shard, read_shard),
     "of N parts of the list do the I-th; merge puts them together"},
    {"ledger", "FILE", OPTION_TEXT(plan, batch.ledger),
     "where to keep what is done (default: beside the rows, OUT.ledger)"},
    {"strict", NULL, OPTION_FLAG(plan, strict),
     "exit 3 when a row has the status error"},
    {"quiet", NULL, OPTION_FLAG(plan, batch.quiet), "show no progress and no summary"},
    {"json", NULL, OPTION_FLAG(plan, json),
     "print what the rows hold (fullminute.batch/1) to standard output"},
    {"force", NULL, OPTION_FLAG(plan, batch.force),
     "replace the file of rows if it exists"},
    OPTIONS_END,
};

static bool find_format(plan *p, app_err *err)
{
    batch_request *const r = &p->batch;
    const bool known = row_format_of_name(r->out, &r->format);
    if (p->format >= 0) {
        r->format = (row_format)p->format;
        return true;
    }
    return known || strcmp(r->out, "-") == 0 ||
           app_err_set(err, APP_USAGE,
                       "--out %s: its name says neither .csv nor .jsonl; add "
                       "--format",
                       r->out);
}

static bool settle_window(plan *p, app_err *err)
{
    analyse_request *const r = &p->files.request;
    const bool rows = !isnan(p->every_s);
    if (rows && !isnan(r->seconds)) {
        return app_err_set(
            err, APP_USAGE,
            "--every S counts windows of S seconds; leave --seconds out");
    }
    if (rows && r->convention != FM_CONVENTION_CLOCK) {
        return app_err_set(err, APP_USAGE,
                           "--first-beat starts one window and --every counts a row on "
                           "the clock; use one of them");
    }
    if (rows && p->files.pictures != NULL) {
        return app_err_set(err, APP_USAGE,
                           "--pictures shows one minute of a file and --every counts "
                           "many; use one of them");
    }
    r->seconds = rows ? p->every_s : r->seconds;
    analyse_request_settle(r, "");
    r->whole = rows;
    return !rows ||
           (r->breath_window != BREATH_WINDOW_NEXT &&
            r->breath_window != BREATH_WINDOW_AT) ||
           app_err_set(err, APP_USAGE,
                       "--breath-window gives respirations one window and --every "
                       "counts them in every one; leave it out");
}

static bool check_request(plan *p, app_err *err)
{
    batch_request *const r = &p->batch;
    if (r->out == NULL) {
        return app_err_set(err, APP_USAGE,
                           "--out is missing: where the rows go; usage: fullminute "
                           "batch PATH... --out FILE");
    }
    if (r->n_paths == 0 && r->list == NULL) {
        return app_err_set(err, APP_USAGE,
                           "no folder or file named; usage: fullminute batch PATH... "
                           "--out FILE, or --list FILE");
    }
    for (int i = 0; i < r->n_paths; i++) {
        if (strcmp(r->paths[i], "-") == 0) {
            return app_err_set(err, APP_USAGE,
                               "-: batch takes names of files from standard input with "
                               "--list -");
        }
    }
    if (strcmp(r->out, "-") == 0 && p->json) {
        return app_err_set(err, APP_USAGE,
                           "--json and --out - both want standard output; give --out a "
                           "file");
    }
    if (r->list_zero && r->list == NULL) {
        return app_err_set(err, APP_USAGE, "--null goes with --list");
    }
    return find_format(p, err) && settle_window(p, err);
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
        say_named(stderr, " in ", r->out, "");
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

static int run_plan(const plan *p, app_err *err)
{
    batch_report report;
    if (!batch_run(&p->batch, &report, err)) {
        return APP_FAILED;
    }
    if (!p->batch.quiet) {
        say_summary(&p->batch, &report);
    }
    const bool ok = !p->json || say_text(about_format(&report.about), err);
    const bool errors = report.about.by_status[ROW_ERROR] > 0;
    about_free(&report.about);
    if (!ok) {
        return APP_FAILED;
    }
    return errors && p->strict ? APP_UNREADABLE : APP_DONE;
}

static int run(const options *o, app_err *err)
{
    analyser_keep keep = {0};
    plan p = {.batch = {.paths = o->operands,
                        .n_paths = o->n_operands,
                        .format = ROW_FORMAT_CSV,
                        .pool = {.workers = pool_processors(),
                                 .time_limit_s = TIME_LIMIT_S,
                                 .work = batch_file_count}},
              .files = {.request = analyse_request_unasked(), .words = TERMINAL_HINTS},
              .every_s = (double)NAN,
              .format = -1,
              .shard = {1, 1}};
    if (!options_fill(o, &p, err) || !check_request(&p, err)) {
        return APP_USAGE;
    }
    p.batch.shard = p.shard[0];
    p.batch.shards = p.shard[1];
    const char *const folders[] = {p.files.documents, p.files.pictures, p.files.marks};
    for (int i = 0, n = 0; i < 3; i++) {
        if (folders[i] != NULL) {
            p.batch.kept_out[n++] = folders[i];
        }
    }
    p.batch.pool.beside = p.files.request.use_sitting;
    p.batch.pool.work_context = &p.files;
    p.files.request.keep = &keep;
    char *const depends_on = batch_file_options(&p.files);
    char *const outputs = batch_file_outputs(&p.files);
    p.batch.options = depends_on;
    p.batch.outputs = outputs;
    int status = APP_FAILED;
    if (depends_on != NULL && outputs != NULL) {
        status = run_plan(&p, err);
    } else {
        (void)app_err_memory(err);
    }
    free(outputs);
    free(depends_on);
    analyser_keep_free(&keep);
    return status;
}

static const char DETAILS[] =
    "PATH is a file, or a folder that is walked. Every file found has its row (with\n"
    "--every a row a window), whatever is the matter with it: counted, caution,\n"
    "refused, or error where it cannot be read. Rows stand in the order of the\n"
    "files' names. What they depend on is in OUT.batch.json beside them.\n\n"
    "A run that was stopped or killed goes on where it was: run the same command\n"
    "again. The end is the same, byte for byte. What is done is kept in\n"
    "OUT.ledger; changed files are done again. A file that crashes or hangs costs\n"
    "its own row alone.\n\n"
    "In walked folders hidden names and this program's own documents are left out.\n"
    "Links to folders are not followed, pipes, sockets and devices not opened; each\n"
    "has a row of status error.\n\n"
    "On a cluster, or with GNU parallel, each task does its shard:\n"
    "  parallel fullminute batch DIR --shard {}/4 --jobs 1 --force \\\n"
    "    --out part-{}.csv ::: 1 2 3 4\n"
    "  fullminute merge part-*.csv --out rows.csv\n";

const struct command command_batch = {
    .name = "batch",
    .summary = "Count many recordings, a row each, on all processors",
    .usage = "PATH... --out FILE [options]",
    .details = DETAILS,
    .options = OPTIONS,
    .max_operands = -1,
    .exits = "       Here: a named path is not there, or no file was found; rows of\n"
             "       status error only with --strict. 0: every file has its rows\n",
    .run = run,
};
