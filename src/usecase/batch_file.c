#include "src/usecase/batch_file.h"

#include "src/base/bytes.h"
#include "src/base/json_text.h"
#include "src/document/document_parts.h"
#include "src/picture/picture.h"
#include "src/port/digest.h"
#include "src/port/file.h"
#include "src/usecase/batch_row.h"
#include "src/usecase/sitting_windows.h"
#include "src/words/said.h"

#include <stdlib.h>
#include <string.h>

enum {
    NAME_MAX_BYTES = 255, /* one name on the file systems in use (from memory) */
    PLACE_MAX_BYTES = 3000
};

static const char DOCUMENT[] = ".count.json";
static const char DOCUMENTS[] = ".count.jsonl"; /* one line a window */
static const char PICTURE[] = ".svg";
static const char MARKS[] = ".marks.tsv";

/* One file being counted. */
struct job {
    const batch_file_plan *plan;
    const char *path;
    const pool_emit *emit;
    file_draft documents;
    file_draft marks;
    bytes text;
    bool stop; /* what failed is ours, not the file's */
};

static bool stop_without_memory(struct job *job, app_err *err)
{
    job->stop = true;
    return app_err_memory(err);
}

/* ---- Places ---- */

/* The parts of path, each behind a '/'. */
static void add_parts(bytes *to, const char *path)
{
    while (*path != '\0') {
        const size_t n = strcspn(path, "/");
        if (n == 2 && strncmp(path, "..", 2) == 0) {
            bytes_add_text(to, "/up");
        } else if (n > 0 && !(n == 1 && path[0] == '.')) {
            bytes_add(to, "/", 1);
            bytes_add(to, path, n);
        }
        path += n + (path[n] == '/');
    }
}

static void add_digest(bytes *to, const char *path)
{
    char digits[DIGEST_TEXT_BYTES];
    digest_stream *const stream = digest_start();
    digest_push(stream, path, strlen(path));
    const digest d = digest_finish(stream);
    bytes_add_text(to, "/long-name-");
    bytes_add_text(to, digest_format(&d, digits));
}

char *batch_file_place(const char *folder, const char *path, const char *suffix)
{
    bytes out = BYTES_NONE;
    bytes_add_text(&out, folder);
    const size_t n = out.n;
    add_parts(&out, path);
    if (strlen(file_base_name(path)) + strlen(suffix) > NAME_MAX_BYTES ||
        out.n > PLACE_MAX_BYTES) {
        out.n = n;
        add_digest(&out, path);
    }
    bytes_add_text(&out, suffix);
    if (out.failed) {
        bytes_free(&out);
    }
    return out.data;
}

/* ---- Outputs ---- */

static const char *documents_suffix(const batch_file_plan *plan)
{
    return plan->request.whole ? DOCUMENTS : DOCUMENT;
}

static bool open_place(struct job *job,
                       file_draft *draft,
                       const char *folder,
                       const char *suffix,
                       app_err *err)
{
    char *const place = batch_file_place(folder, job->path, suffix);
    if (place == NULL) {
        return stop_without_memory(job, err);
    }
    const bool ok =
        file_make_folders(place, false, err) && file_draft_open_sole(draft, place, err);
    job->stop |= !ok;
    free(place);
    return ok;
}

static bool write_text(struct job *job, file_draft *to, app_err *err)
{
    if (job->text.failed) {
        return stop_without_memory(job, err);
    }
    const bool ok = file_draft_write(to, job->text.data, job->text.n, err);
    job->stop |= !ok;
    return ok;
}

static bool add_document(struct job *job, const analysed *result, app_err *err)
{
    json_t *const document = said_count(&result->source, &result->count);
    char *const text = document != NULL ? document_format(document) : NULL;
    bytes_clear(&job->text);
    job->text.failed = text == NULL;
    if (text != NULL) {
        bytes_add_text(&job->text, text);
        bytes_add(&job->text, "\n", 1);
    }
    free(text);
    json_decref(document);
    return write_text(job, &job->documents, err);
}

static bool add_marks(struct job *job, const analysed *result, app_err *err)
{
    bytes_clear(&job->text);
    batch_marks_add(result, &job->text);
    return (job->text.n == 0 && !job->text.failed) || write_text(job, &job->marks, err);
}

/* The same picture as count --picture draws. */
static bool write_picture(struct job *job, const analysed *result, app_err *err)
{
    file_draft draft = FILE_DRAFT_NONE;
    char *const svg = count_picture_format(&result->source, &result->count);
    bytes_clear(&job->text);
    job->text.failed = svg == NULL;
    bytes_add_text(&job->text, svg != NULL ? svg : "");
    free(svg);
    const bool ok = open_place(job, &draft, job->plan->pictures, PICTURE, err) &&
                    write_text(job, &draft, err) && file_draft_commit(&draft, err);
    job->stop |= !ok;
    file_draft_drop(&draft);
    return ok;
}

static bool open_outputs(struct job *job, app_err *err)
{
    const batch_file_plan *const plan = job->plan;
    if (plan->documents != NULL && !open_place(job, &job->documents, plan->documents,
                                               documents_suffix(plan), err)) {
        return false;
    }
    if (plan->marks == NULL) {
        return true;
    }
    bytes_clear(&job->text);
    batch_marks_header(&job->text);
    return open_place(job, &job->marks, plan->marks, MARKS, err) &&
           write_text(job, &job->marks, err);
}

static bool commit_outputs(struct job *job, app_err *err)
{
    const bool ok =
        (job->plan->documents == NULL || file_draft_commit(&job->documents, err)) &&
        (job->plan->marks == NULL || file_draft_commit(&job->marks, err));
    job->stop |= !ok;
    return ok;
}

/* What an earlier run wrote of a file that can no longer be counted would mislead. */
static void remove_output(const char *folder, const char *path, const char *suffix)
{
    char *const place = folder != NULL ? batch_file_place(folder, path, suffix) : NULL;
    if (place != NULL) {
        (void)file_remove(place);
    }
    free(place);
}

/* ---- Counting ---- */

static bool take_result(void *context, const analysed *result, app_err *err)
{
    struct job *const job = context;
    batch_row filled;
    batch_row_fill(&filled, result);
    if (!job->emit->row(job->emit->context, &filled.row)) {
        job->stop = true;
        return app_err_set(err, APP_FAILED, "the rows are not taken any more");
    }
    return (job->plan->documents == NULL || add_document(job, result, err)) &&
           (job->plan->marks == NULL || add_marks(job, result, err)) &&
           (job->plan->pictures == NULL || write_picture(job, result, err));
}

pool_verdict batch_file_count(void *context,
                              const char *path,
                              const pool_emit *emit,
                              app_err *err)
{
    const batch_file_plan *const plan = context;
    struct job job = {.plan = plan,
                      .path = path,
                      .emit = emit,
                      .documents = FILE_DRAFT_NONE,
                      .marks = FILE_DRAFT_NONE,
                      .text = BYTES_NONE};
    analyse_request request = plan->request;
    request.path = path;
    bool ok = sitting_windows_take(&request, err);
    /* Of a sitting of several minutes the first is counted, unless all are asked for. */
    request.whole = plan->request.whole;
    ok = ok && open_outputs(&job, err) &&
         analyse_file(&request, take_result, &job, err) && commit_outputs(&job, err);
    file_draft_drop(&job.documents);
    file_draft_drop(&job.marks);
    bytes_free(&job.text);
    if (ok) {
        return POOL_FINE;
    }
    if (!job.stop) {
        remove_output(plan->documents, path, documents_suffix(plan));
        remove_output(plan->marks, path, MARKS);
        remove_output(plan->pictures, path, PICTURE);
    }
    app_err_word(err, plan->words);
    return job.stop ? POOL_STOP : POOL_ERROR;
}

/* ---- What the rows depend on ---- */

static json_t *breath_window_value(const analyse_request *r)
{
    switch (r->breath_window) {
    case BREATH_WINDOW_SAME:
        return json_string("same");
    case BREATH_WINDOW_NEXT:
        return json_string("next");
    case BREATH_WINDOW_AT:
        return json_real(r->breath_start_s);
    case BREATH_WINDOW_AUTO:
    default:
        return json_string("auto");
    }
}

char *batch_file_options(const batch_file_plan *plan)
{
    const analyse_request *const r = &plan->request;
    json_t *const o = json_pack(
        "{s:f, s:f, s:b, s:o, s:o, s:o, s:b}", "start_s", r->start_s, "seconds",
        r->seconds, "every", r->whole, "channel",
        r->channel > 0 ? json_integer(r->channel) : json_string("best"), "first_beat",
        r->convention == FM_CONVENTION_CLOCK
            ? json_null()
            : json_string(fm_convention_word(r->convention)),
        "breath_window", breath_window_value(r), "sitting", r->use_sitting);
    char *const text = json_text_of(o, JSON_REAL_PRECISION(15));
    json_decref(o);
    return text;
}

char *batch_file_outputs(const batch_file_plan *plan)
{
    const char *const folders[] = {plan->documents, plan->pictures, plan->marks};
    const char *const names[] = {"\ndocuments ", "\npictures ", "\nmarks "};
    bytes out = BYTES_NONE;
    bytes_add_text(&out, "");
    for (int i = 0; i < 3; i++) {
        if (folders[i] != NULL) {
            bytes_add_text(&out, names[i]);
            bytes_add_text(&out, folders[i]);
        }
    }
    if (out.failed) {
        bytes_free(&out);
    }
    return out.data;
}
