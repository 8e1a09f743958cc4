#include "src/batch/batch.h"

#include "src/base/bytes.h"
#include "src/base/csv.h"
#include "src/base/text.h"
#include "src/batch/meter.h"
#include "src/batch/rows_out.h"
#include "src/port/interrupt.h"
#include "src/port/steady.h"

#include <errno.h>
#include <inttypes.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

/* What is done is forced to disk so often: so much work is lost to a kill. */
static const double COMMIT_EVERY_S = 0.25;

/* One run. */
struct run {
    const batch_request *request;
    ledger *ledger;
    char *ledger_path; /* owned */
    ledger_list list;
    ledger_plan plan;
    int64_t same; /* looked at again, and the rows stand */
    meter meter;
    double committed_s;
    rows_out out;
};

/* ---- The list ---- */

static bool add_to_list(void *context, const char *path, int64_t size, app_err *err)
{
    struct run *const run = context;
    /* A file that is called "-" must not be taken for standard input. */
    return ledger_list_add(run->ledger, strcmp(path, "-") == 0 ? "./-" : path, size,
                           err);
}

static bool read_list(const struct run *run,
                      const file_list_config *config,
                      app_err *err)
{
    const char *const name = run->request->list;
    const bool standard = strcmp(name, "-") == 0;
    FILE *const file = standard ? stdin : fopen(name, "re");
    if (file == NULL) {
        return app_err_set(err, APP_UNREADABLE, "cannot open the list %s: %s", name,
                           APP_CAUSE(errno));
    }
    const bool ok =
        file_list_text(config, file, standard ? "from standard input" : name,
                       run->request->list_zero, err);
    if (!standard) {
        (void)fclose(file);
    }
    return ok;
}

/* A typing slip must not become a row. */
static bool check_paths(const batch_request *r, app_err *err)
{
    struct stat info;
    for (int i = 0; i < r->n_paths; i++) {
        if (lstat(r->paths[i], &info) != 0) {
            return app_err_set(err, APP_UNREADABLE,
                               "cannot find %s: %s; nothing was done", r->paths[i],
                               APP_CAUSE(errno));
        }
    }
    return true;
}

static bool make_list(struct run *run, file_list_left *left, app_err *err)
{
    const batch_request *const r = run->request;
    file_list_config config = {
        .match = r->match, .found = add_to_list, .context = run, .left = left};
    int n = 0;
    config.kept_out[n++] = r->out;
    if (run->ledger_path[0] != '\0') {
        config.kept_out[n++] = run->ledger_path;
    }
    for (int i = 0; i < 4 && r->kept_out[i] != NULL; i++) {
        config.kept_out[n++] = r->kept_out[i];
    }
    for (int i = 0; i < r->n_paths; i++) {
        if (!file_list_path(&config, r->paths[i], err)) {
            return false;
        }
    }
    if (r->list != NULL && !read_list(run, &config, err)) {
        return false;
    }
    return ledger_list_seal(run->ledger, r->shard, r->shards, &run->list, err) &&
           (run->list.files > 0 ||
            app_err_set(err, APP_UNREADABLE,
                        "no file found there; name a folder with recordings, or "
                        "another --match"));
}

/* ---- The pool's hooks ---- */

static int next_job(void *context, ledger_job *out, app_err *err)
{
    struct run *const run = context;
    return ledger_next(run->ledger, out, err);
}

static bool take_rows(
    void *context, const ledger_job *job, const char *text, size_t n, app_err *err)
{
    struct run *const run = context;
    return ledger_add_rows(run->ledger, job, text, n, err);
}

static bool forget_rows(void *context, const ledger_job *job, app_err *err)
{
    struct run *const run = context;
    return ledger_drop_rows(run->ledger, job, err);
}

static bool take_done(void *context,
                      const ledger_job *job,
                      const wire_outcome *outcome,
                      app_err *err)
{
    struct run *const run = context;
    meter_add(&run->meter, job->size_bytes, outcome->error);
    run->same += outcome->same;
    return ledger_finish(run->ledger, job, &outcome->identity, outcome->same,
                         outcome->settled, err);
}

static bool tick(void *context, app_err *err)
{
    struct run *const run = context;
    const double now = steady_now_s();
    meter_show(&run->meter);
    if (now - run->committed_s < COMMIT_EVERY_S) {
        return true;
    }
    const bool ok = ledger_commit(run->ledger, err);
    run->committed_s = steady_now_s();
    return ok;
}

static bool how_to_go_on(const struct run *run, app_err *err)
{
    if (run->ledger_path[0] == '\0') {
        return app_err_set(err, APP_INTERRUPTED, "stopped; nothing was kept");
    }
    return app_err_set(err, APP_INTERRUPTED,
                       "stopped; %" PRId64 " of %" PRId64
                       " files are done and kept in %s: run the same command again to "
                       "go on",
                       run->plan.kept + run->meter.done_files, run->list.mine,
                       run->ledger_path);
}

static bool go_through(struct run *run, app_err *err)
{
    const pool_hooks hooks = {.context = run,
                              .next = next_job,
                              .rows = take_rows,
                              .restart = forget_rows,
                              .done = take_done,
                              .tick = tick};
    pool_config config = run->request->pool;
    if (config.workers > run->plan.files) {
        config.workers = run->plan.files > 0 ? (int)run->plan.files : 1;
    }
    run->meter = meter_start(run->request->quiet, run->plan.files, run->plan.bytes);
    run->committed_s = steady_now_s();
    bool ok = pool_run(&config, &hooks, err);
    meter_end(&run->meter);
    app_err later = APP_ERR_NONE;
    /* Also of a run that was stopped nothing done is lost. */
    if (!ledger_commit(run->ledger, &later) && ok) {
        *err = later;
        ok = false;
    }
    return ok;
}

/* ---- The rows ---- */

static bool write_record(void *context, char *text, size_t n, app_err *err)
{
    struct run *const run = context;
    char *fields[ROW_COLUMN_COUNT];
    size_t used = 0;
    if (csv_split(text, n, fields, ROW_COLUMN_COUNT, &used) != ROW_COLUMN_COUNT ||
        used != n) {
        return app_err_set(err, APP_UNREADABLE,
                           "the ledger %s is damaged; move it away, and everything is "
                           "done again",
                           run->ledger_path);
    }
    row r;
    for (int i = 0; i < ROW_COLUMN_COUNT; i++) {
        r.field[i] = fields[i];
    }
    return rows_out_add(&run->out, &r, NULL, 0, err) && interrupt_check(err);
}

static bool write_rows(struct run *run, about *a, app_err *err)
{
    const batch_request *const r = run->request;
    if (!rows_out_open(&run->out, r->out, r->format, err)) {
        return false;
    }
    if (!ledger_each(run->ledger, write_record, run, err)) {
        rows_out_drop(&run->out);
        return false;
    }
    json_error_t problem;
    *a = about_none();
    a->options = json_loads(r->options, 0, &problem);
    (void)snprintf(a->engine, sizeof a->engine, "%s", FM_VERSION);
    a->shard = r->shard;
    a->shards = r->shards;
    a->list_files = run->list.files;
    (void)digest_format(&run->list.digest, a->list_blake2b);
    a->files = run->list.mine;
    const bool ok = a->options != NULL || app_err_memory(err);
    if (!ok || !rows_out_commit(&run->out, a, err)) {
        rows_out_drop(&run->out);
        about_free(a);
        return false;
    }
    return true;
}

/* ---- The run ---- */

/* The program's own bytes: a new build may count otherwise under the same version. */
static void digest_build(char out[DIGEST_TEXT_BYTES])
{
    digest d = {{0}};
    (void)digest_of_path("/proc/self/exe", NULL, NULL, &d);
    (void)digest_format(&d, out);
}

static char *choose_ledger(const batch_request *r)
{
    if (r->ledger != NULL) {
        return strdup(r->ledger);
    }
    if (strcmp(r->out, "-") == 0) {
        return strdup("");
    }
    return text_join(r->out, ".ledger", "");
}

static bool open_ledger(struct run *run, app_err *err)
{
    const batch_request *const r = run->request;
    char build[DIGEST_TEXT_BYTES];
    bytes key = BYTES_NONE;
    run->ledger_path = choose_ledger(r);
    bytes_add_text(&key, r->options);
    bytes_add_text(&key, r->outputs);
    if (run->ledger_path == NULL || key.failed) {
        bytes_free(&key);
        return app_err_memory(err);
    }
    digest_build(build);
    const ledger_setting setting = {.engine = FM_VERSION,
                                    .build = build,
                                    .options = key.data,
                                    .beside = r->pool.beside};
    run->ledger = ledger_open(run->ledger_path, &setting, err);
    bytes_free(&key);
    return run->ledger != NULL;
}

bool batch_run(const batch_request *request, batch_report *report, app_err *err)
{
    struct run run = {.request = request};
    *report = (batch_report){.about = about_none()};
    bool ok = rows_out_check(request->out, request->force, err) &&
              check_paths(request, err) && open_ledger(&run, err) &&
              make_list(&run, &report->left, err) &&
              ledger_make_plan(run.ledger, &run.plan, err) && go_through(&run, err) &&
              write_rows(&run, &report->about, err);
    report->kept = run.plan.kept + run.same;
    report->done = run.meter.done_files - run.same;
    if (!ok && err->code == APP_INTERRUPTED && run.ledger != NULL) {
        ok = how_to_go_on(&run, err);
    }
    ledger_close(run.ledger);
    free(run.ledger_path);
    return ok;
}
