#include "src/batch/merge.h"

#include "src/base/text.h"
#include "src/batch/rows_out.h"
#include "src/port/digest.h"
#include "src/port/file.h"
#include "src/port/interrupt.h"
#include "src/port/read_whole.h"

#include <stdlib.h>
#include <string.h>

enum {
    ABOUT_BYTES_MOST = 1 << 20
};

/* One shard being read. */
struct shard {
    const char *path;
    about about;
    row_reader *reader;
    row row;      /* the one in front */
    bool has_row; /* false at the end */
    char *last;   /* file of the row before, owned */
};

static bool unlike(const struct shard *a,
                   const struct shard *b,
                   const char *what,
                   app_err *err)
{
    return app_err_set(err, APP_UNREADABLE,
                       "%s and %s are not of one run: %s; run the shards again with "
                       "one list, one set of options and one version",
                       a->path, b->path, what);
}

static bool is_one_run(const struct shard *a, const struct shard *b, app_err *err)
{
    if (strcmp(a->about.engine, b->about.engine) != 0) {
        return unlike(a, b, "their engines differ", err);
    }
    if (!json_equal(a->about.options, b->about.options)) {
        return unlike(a, b, "their options differ", err);
    }
    if (a->about.list_files != b->about.list_files ||
        strcmp(a->about.list_blake2b, b->about.list_blake2b) != 0) {
        return unlike(a, b, "their lists of files differ", err);
    }
    if (a->about.shards != b->about.shards) {
        return unlike(a, b, "they are shards of different numbers", err);
    }
    return a->about.format == b->about.format ||
           unlike(a, b, "one is CSV and one JSON Lines", err);
}

/* ---- Is everything there, once? ---- */

/* The shards that are missing, at most a few of them, as words. */
static bool say_missing(const struct shard *shards, int n, app_err *err)
{
    enum {
        NAMED = 8,
        ROOM = 256
    };
    char list[ROOM] = "";
    int missing = 0;
    const int of = shards[0].about.shards;
    for (int index = 1; index <= of; index++) {
        bool there = false;
        for (int i = 0; i < n; i++) {
            there |= shards[i].about.shard == index;
        }
        if (!there && missing++ < NAMED) {
            text_add(list, sizeof list, "%s%d", list[0] != '\0' ? ", " : "", index);
        }
    }
    return missing == 0 ||
           app_err_set(err, APP_UNREADABLE,
                       "%d of %d shards missing: %s%s; run %s, then merge again",
                       missing, of, list, missing > NAMED ? ", ..." : "",
                       missing > 1 ? "them" : "it");
}

static bool check_shards(const struct shard *shards, int n, app_err *err)
{
    for (int i = 1; i < n; i++) {
        if (!is_one_run(&shards[0], &shards[i], err)) {
            return false;
        }
        for (int k = 0; k < i; k++) {
            if (shards[k].about.shard == shards[i].about.shard) {
                return app_err_set(err, APP_UNREADABLE,
                                   "shard %d is there twice: %s and %s; give one of "
                                   "them",
                                   shards[i].about.shard, shards[k].path,
                                   shards[i].path);
            }
        }
    }
    return say_missing(shards, n, err);
}

static bool read_about(struct shard *s, app_err *err)
{
    bytes all = BYTES_NONE;
    char *const path = about_path(s->path);
    const bool ok = path == NULL
                        ? app_err_memory(err)
                        : read_whole_regular(path, ABOUT_BYTES_MOST, &all, err) &&
                              about_parse(path, all.data, all.n, &s->about, err);
    bytes_free(&all);
    free(path);
    return ok;
}

static bool check_bytes(const struct shard *s, app_err *err)
{
    digest found;
    char text[DIGEST_TEXT_BYTES];
    const int failed = digest_of_path(s->path, NULL, NULL, &found);
    if (failed != 0) {
        return app_err_set(err, APP_UNREADABLE, "cannot read %s: %s", s->path,
                           APP_CAUSE(failed));
    }
    return strcmp(digest_format(&found, text), s->about.rows_blake2b) == 0 ||
           app_err_set(err, APP_UNREADABLE,
                       "%s is not as it was written: cut or changed since; run that "
                       "shard again (its ledger makes it quick)",
                       s->path);
}

/* ---- Merging ---- */

static bool advance(struct shard *s, app_err *err)
{
    if (s->has_row) {
        free(s->last);
        s->last = strdup(s->row.field[ROW_FILE]);
        if (s->last == NULL) {
            return app_err_memory(err);
        }
    }
    const int got = row_reader_next(s->reader, &s->row, err);
    s->has_row = got > 0;
    if (s->has_row && s->last != NULL && strcmp(s->row.field[ROW_FILE], s->last) < 0) {
        return app_err_set(err, APP_UNREADABLE, "%s: rows out of order at %s", s->path,
                           s->row.field[ROW_FILE]);
    }
    return got >= 0;
}

static bool open_shard(struct shard *s, const char *path, app_err *err)
{
    s->path = path;
    return read_about(s, err) && check_bytes(s, err);
}

static bool start_shard(struct shard *s, app_err *err)
{
    s->reader = row_reader_open(file_open(s->path, err), s->path, err);
    return s->reader != NULL && advance(s, err);
}

/* The shard whose front row comes first; NULL at the end, or with err. */
static struct shard *first_of(struct shard *shards, int n, app_err *err)
{
    struct shard *first = NULL;
    for (int i = 0; i < n; i++) {
        if (!shards[i].has_row) {
            continue;
        }
        const int order = first == NULL ? -1
                                        : strcmp(shards[i].row.field[ROW_FILE],
                                                 first->row.field[ROW_FILE]);
        if (order == 0) {
            (void)app_err_set(err, APP_UNREADABLE, "%s has rows in %s and in %s",
                              shards[i].row.field[ROW_FILE], first->path,
                              shards[i].path);
            return NULL;
        }
        first = order < 0 ? &shards[i] : first;
    }
    return first;
}

static bool write_rows(struct shard *shards, int n, rows_out *to, app_err *err)
{
    struct shard *s = NULL;
    while (interrupt_check(err) && (s = first_of(shards, n, err)) != NULL) {
        size_t bytes_of_row = 0;
        /* A CSV record of an older version has fewer columns than the head that is
         * written now: it is put together again by their names. */
        const char *const text = shards[0].about.format == ROW_FORMAT_CSV
                                     ? NULL
                                     : row_reader_text(s->reader, &bytes_of_row);
        if (!rows_out_add(to, &s->row, text, bytes_of_row, err) || !advance(s, err)) {
            return false;
        }
    }
    return err->text[0] == '\0';
}

static bool merge_open(
    struct shard *shards, int n, const char *out, about *a, app_err *err)
{
    rows_out to;
    bool ok = true;
    for (int i = 0; ok && i < n; i++) {
        ok = start_shard(&shards[i], err);
    }
    if (!ok || !rows_out_open(&to, out, shards[0].about.format, err)) {
        return false;
    }
    if (!write_rows(shards, n, &to, err)) {
        rows_out_drop(&to);
        return false;
    }
    int64_t files = 0;
    for (int i = 0; i < n; i++) {
        files += shards[i].about.files;
    }
    if (files != shards[0].about.list_files) {
        rows_out_drop(&to);
        return app_err_set(err, APP_UNREADABLE,
                           "the shards hold %lld files and the list %lld",
                           (long long)files, (long long)shards[0].about.list_files);
    }
    *a = shards[0].about;
    a->options = json_incref(a->options);
    a->shard = 1;
    a->shards = 1;
    a->files = files;
    ok = rows_out_commit(&to, a, err);
    if (!ok) {
        about_free(a);
    }
    return ok;
}

static bool check_format(const char *out, row_format format, app_err *err)
{
    row_format named = format;
    return !row_format_of_name(out, &named) || named == format ||
           app_err_set(err, APP_USAGE, "the shards are %s; give --out a name for that",
                       format == ROW_FORMAT_CSV ? "CSV (.csv)" : "JSON Lines (.jsonl)");
}

bool merge_rows(const char *const *paths,
                int n,
                const char *out,
                bool force,
                about *a,
                app_err *err)
{
    *a = about_none();
    struct shard *const shards = calloc((size_t)n, sizeof *shards);
    if (shards == NULL) {
        return app_err_memory(err);
    }
    bool ok = rows_out_check(out, force, err);
    for (int i = 0; ok && i < n; i++) {
        ok = open_shard(&shards[i], paths[i], err);
    }
    ok = ok && check_shards(shards, n, err) &&
         check_format(out, shards[0].about.format, err) &&
         merge_open(shards, n, out, a, err);
    for (int i = 0; i < n; i++) {
        row_reader_close(shards[i].reader);
        about_free(&shards[i].about);
        free(shards[i].last);
    }
    free(shards);
    return ok;
}
