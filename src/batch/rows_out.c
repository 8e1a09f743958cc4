#include "src/batch/rows_out.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

enum {
    BLOCK_BYTES = 1 << 16
};

static bool no_memory(app_err *err)
{
    return app_err_set(err, APP_FAILED, "out of memory; close other programs");
}

bool rows_out_check(const char *path, bool force, app_err *err)
{
    struct stat info;
    if (strcmp(path, "-") == 0 || stat(path, &info) != 0) {
        return true;
    }
    if (S_ISDIR(info.st_mode)) {
        return app_err_set(err, APP_USAGE, "%s is a folder; give a file name in it",
                           path);
    }
    return force || app_err_set(err, APP_USAGE,
                                "%s exists; give --force to replace it, or another "
                                "name (what a run has done stays in its ledger)",
                                path);
}

bool rows_out_open(rows_out *o, const char *path, row_format format, app_err *err)
{
    *o = (rows_out){.draft = FILE_DRAFT_NONE, .format = format, .block = BYTES_NONE};
    o->stream = digest_start();
    const bool named = strcmp(path, "-") != 0;
    o->path = named ? strdup(path) : NULL;
    if (o->stream == NULL || (named && o->path == NULL)) {
        rows_out_drop(o);
        return no_memory(err);
    }
    if (named && !file_draft_open_sole(&o->draft, path, err)) {
        rows_out_drop(o);
        return false;
    }
    row_header_format(format, &o->block);
    return true;
}

void rows_out_drop(rows_out *o)
{
    file_draft_drop(&o->draft);
    (void)digest_finish(o->stream);
    bytes_free(&o->block);
    free(o->path);
    *o = (rows_out){.draft = FILE_DRAFT_NONE};
}

static bool flush(rows_out *o, app_err *err)
{
    if (o->block.failed) {
        return no_memory(err);
    }
    if (o->block.n == 0) {
        return true;
    }
    digest_push(o->stream, o->block.data, o->block.n);
    bool ok = true;
    if (o->path != NULL) {
        ok = file_draft_write(&o->draft, o->block.data, o->block.n, err);
    } else if (fwrite(o->block.data, 1, o->block.n, stdout) != o->block.n) {
        char cause[APP_CAUSE_BYTES];
        ok = app_err_set(err, APP_FAILED, "cannot write the rows: %s",
                         app_err_cause(errno, cause));
    }
    bytes_clear(&o->block);
    return ok;
}

bool rows_out_add(rows_out *o, const row *r, const char *text, size_t n, app_err *err)
{
    const row_status status = row_status_of(r);
    o->rows++;
    if (status < ROW_STATUS_COUNT) {
        o->by_status[status]++;
    }
    if (text != NULL) {
        bytes_add(&o->block, text, n);
    } else {
        row_write(r, o->format, &o->block);
    }
    return o->block.n < BLOCK_BYTES || flush(o, err);
}

static bool write_about(const rows_out *o, const about *a, app_err *err)
{
    file_draft draft = FILE_DRAFT_NONE;
    char *const path = about_path(o->path);
    char *const text = about_format(a);
    bool ok = false;
    if (path != NULL && text != NULL) {
        ok = file_draft_open_sole(&draft, path, err) &&
             file_draft_write(&draft, text, strlen(text), err) &&
             file_draft_commit(&draft, err);
    } else {
        (void)no_memory(err);
    }
    file_draft_drop(&draft);
    free(text);
    free(path);
    return ok;
}

bool rows_out_commit(rows_out *o, about *a, app_err *err)
{
    bool ok = flush(o, err);
    a->format = o->format;
    a->rows = o->rows;
    memcpy(a->by_status, o->by_status, sizeof a->by_status);
    const digest rows = digest_finish(o->stream);
    (void)digest_format(&rows, a->rows_blake2b);
    o->stream = NULL;
    if (o->path != NULL) {
        ok = ok && write_about(o, a, err) && file_draft_commit(&o->draft, err);
    }
    rows_out_drop(o);
    return ok;
}
