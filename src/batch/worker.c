#include "src/batch/pool.h"

#include "src/base/bytes.h"
#include "src/base/text.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

enum {
    TRIES = 2 /* a file that changes while it is read is read once more */
};

struct worker {
    int fd;
    const pool_config *config;
    const char *name; /* of the file, as its rows have it */
    bytes text;       /* the row being sent */
};

/* Nobody listens any more: there is nothing left to do. */
static void send_or_leave(const struct worker *w,
                          wire_type type,
                          const void *in,
                          size_t n)
{
    if (!wire_send(w->fd, type, in, n)) {
        _exit(EXIT_FAILURE);
    }
}

static void stop_run(const struct worker *w, const app_err *err)
{
    send_or_leave(w, WIRE_STOP, err, sizeof *err);
}

static void stop_without_memory(const struct worker *w)
{
    app_err err = APP_ERR_NONE;
    (void)app_err_set(&err, APP_FAILED,
                      "out of memory; close other programs, or give fewer --jobs");
    stop_run(w, &err);
}

static void say_alive(void *context)
{
    send_or_leave(context, WIRE_ALIVE, NULL, 0);
}

static bool emit_row(void *context, const row *r)
{
    struct worker *const w = context;
    row whole = *r;
    whole.field[ROW_FILE] = w->name;
    whole.field[ROW_SCHEMA_NAME] = ROW_SCHEMA;
    whole.field[ROW_ENGINE] = FM_VERSION;
    bytes_clear(&w->text);
    row_write(&whole, ROW_FORMAT_CSV, &w->text);
    if (w->text.failed) {
        stop_without_memory(w);
        return false;
    }
    return wire_send(w->fd, WIRE_ROWS, w->text.data, w->text.n);
}

void pool_error_row(const char *path, const char *code, const char *reason, bytes *to)
{
    char *const name = text_escape_name(path);
    char *const sentence = text_escape_name(reason);
    row r = {{NULL}};
    r.field[ROW_FILE] = name;
    r.field[ROW_STATUS] = row_status_word(ROW_ERROR);
    r.field[ROW_REASON_CODE] = code;
    r.field[ROW_REASON] = sentence;
    r.field[ROW_SCHEMA_NAME] = ROW_SCHEMA;
    r.field[ROW_ENGINE] = FM_VERSION;
    row_write(&r, ROW_FORMAT_CSV, to);
    to->failed |= name == NULL || sentence == NULL;
    free(sentence);
    free(name);
}

static void finish(struct worker *w, const wire_outcome *outcome)
{
    send_or_leave(w, WIRE_DONE, outcome, sizeof *outcome);
}

/* The file's one row says what is wrong with it. */
static void finish_with_error(struct worker *w,
                              const char *path,
                              const identity *is,
                              const char *code,
                              const char *reason,
                              bool settled)
{
    bytes_clear(&w->text);
    pool_error_row(path, code, reason, &w->text);
    if (w->text.failed) {
        stop_without_memory(w);
        return;
    }
    send_or_leave(w, WIRE_ROWS, w->text.data, w->text.n);
    const wire_outcome outcome = {.identity = *is, .settled = settled, .error = true};
    finish(w, &outcome);
}

/* ---- What is no file ---- */

static const char *special_word(mode_t mode)
{
    if (S_ISFIFO(mode)) {
        return "a named pipe";
    }
    if (S_ISSOCK(mode)) {
        return "a socket";
    }
    return "a device";
}

static void finish_special(struct worker *w, const char *path)
{
    char reason[APP_ERR_TEXT_BYTES];
    struct stat info;
    const identity none = {0};
    const char *code = "not_a_file";
    if (stat(path, &info) != 0) {
        code = "unreadable";
        (void)snprintf(reason, sizeof reason,
                       "cannot open it: %s; check the name and the folder",
                       APP_CAUSE(errno));
    } else if (!S_ISDIR(info.st_mode)) {
        (void)snprintf(reason, sizeof reason, "%s, not a recording: not opened",
                       special_word(info.st_mode));
    } else if (lstat(path, &info) == 0 && S_ISLNK(info.st_mode)) {
        (void)snprintf(reason, sizeof reason,
                       "a link to a folder: not followed; name the folder itself");
    } else {
        code = "unreadable";
        (void)snprintf(reason, sizeof reason,
                       "a folder that cannot be read; ask for permission to read it");
    }
    finish_with_error(w, path, &none, code, reason, false);
}

/* ---- One file ---- */

static const char *error_code(const app_err *err)
{
    switch (err->code) {
    case APP_UNREADABLE:
        return "unreadable";
    case APP_USAGE:
        return "not_in_file"; /* a start behind its end, a channel it has not */
    default:
        return "failed";
    }
}

static bool is_the_same(const identity *a, const identity *b)
{
    return identity_is_alike(a, b) && a->inode == b->inode;
}

/* Counts it; false when it changed meanwhile and nothing was said of its end. */
static bool count(struct worker *w, const char *path, const identity *is)
{
    const pool_emit emit = {w, emit_row};
    app_err err = APP_ERR_NONE;
    const pool_verdict verdict =
        w->config->work(w->config->work_context, path, &emit, &err);
    if (verdict == POOL_STOP) {
        stop_run(w, &err);
        return true;
    }
    const identity after = identity_look(path, w->config->beside);
    if (!is_the_same(is, &after)) {
        return false;
    }
    if (verdict == POOL_ERROR) {
        send_or_leave(w, WIRE_RESTART, NULL, 0);
        finish_with_error(w, path, is, error_code(&err), err.text,
                          err.code != APP_FAILED);
        return true;
    }
    const wire_outcome outcome = {.identity = *is, .settled = true};
    finish(w, &outcome);
    return true;
}

static void do_file(struct worker *w, const wire_order *order, const char *path)
{
    identity is = {0};
    for (int i = 0; i < TRIES; i++) {
        is = identity_look(path, w->config->beside);
        const int failed =
            is.regular ? digest_of_path(path, say_alive, w, &is.digest) : 0;
        is.digested = is.regular && failed == 0;
        const bool same = is.digested && order->expected && i == 0 &&
                          memcmp(&is.digest, &order->digest, sizeof is.digest) == 0;
        if (same) {
            const wire_outcome outcome = {.identity = is, .same = true};
            finish(w, &outcome);
            return;
        }
        if (order->expected || i > 0) {
            send_or_leave(w, WIRE_RESTART, NULL, 0);
        }
        if (failed != 0) {
            char reason[APP_ERR_TEXT_BYTES];
            (void)snprintf(reason, sizeof reason,
                           "cannot read it: %s; ask for permission to read it, or copy "
                           "it where you can",
                           APP_CAUSE(failed));
            finish_with_error(w, path, &is, "unreadable", reason, false);
            return;
        }
        if (!is.regular) {
            finish_special(w, path);
            return;
        }
        if (count(w, path, &is)) {
            return;
        }
    }
    send_or_leave(w, WIRE_RESTART, NULL, 0);
    finish_with_error(w, path, &is, "changed",
                      "it changed while it was read; run it again when it has come to "
                      "rest",
                      false);
}

_Noreturn void worker_serve(int fd, const pool_config *config)
{
    struct worker w = {.fd = fd, .config = config, .text = BYTES_NONE};
    bytes body = BYTES_NONE;
    wire_type type = WIRE_JOB;
    wire_order order;
    while (wire_receive(fd, &type, &body) && type == WIRE_JOB &&
           body.n > sizeof order && body.data[body.n - 1] == '\0') {
        memcpy(&order, body.data, sizeof order);
        const char *const path = body.data + sizeof order;
        char *const name = text_escape_name(path);
        if (name == NULL) {
            stop_without_memory(&w);
            break;
        }
        w.name = name;
        do_file(&w, &order, path);
        free(name);
    }
    bytes_free(&body);
    bytes_free(&w.text);
    _exit(EXIT_SUCCESS);
}
