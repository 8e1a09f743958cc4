#include "src/command/check_sitting.h"

#include "src/command/own_ask.h"
#include "src/command/say.h"
#include "src/port/interrupt.h"
#include "src/port/sound_file.h"
#include "src/usecase/document_files.h"
#include "src/usecase/sitting_windows.h"
#include "src/words/second_examiner.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

enum {
    ATTEMPTS = 3,
    LINE_BYTES = 64,
    NOTE_BYTES = APP_ERR_TEXT_BYTES
};

static bool find_duration(const char *path, double *duration_s, app_err *err)
{
    sound_file *const file = sound_file_open(path, err);
    if (file == NULL) {
        return false;
    }
    const sound_info info = sound_file_info(file);
    *duration_s = info.frames == SOUND_FRAMES_UNKNOWN
                      ? (double)INFINITY
                      : (double)info.frames / info.rate_hz;
    sound_file_close(file);
    return true;
}

/* The person may not want to enter anything: both files go. */
static bool discard(const char *path, app_err *err)
{
    char *const document = sitting_document_path(path);
    const bool ok = document != NULL && unlink(path) == 0 && unlink(document) == 0;
    free(document);
    return app_err_set(
        err, ok ? APP_USAGE : APP_FAILED,
        ok ? "discarded: %s and its sitting are gone, nothing was counted"
           : "cannot discard %s; remove it by hand",
        path);
}

static bool ask_one(
    sitting_document *d, const char *path, taking_entry kind, int seconds, app_err *err)
{
    static const char *const WORDS[] = {"Your own count of beats",
                                        "The second examiner's, at the wrist,",
                                        "Your own count of respirations"};
    char line[LINE_BYTES];
    char note[NOTE_BYTES];
    own_count own = own_count_of(-1);
    for (int attempt = 0; attempt < ATTEMPTS; attempt++) {
        (void)fprintf(stderr, "%s in %d s (c: could not count): ", WORDS[kind],
                      seconds);
        if (fgets(line, sizeof line, stdin) == NULL) {
            (void)fputc('\n', stderr);
            break;
        }
        line[strcspn(line, "\r\n")] = '\0';
        if (strcmp(line, "discard") == 0) {
            return discard(path, err);
        }
        if (own_ask_number(kind, line, seconds, true, &own, note, sizeof note)) {
            if (isatty(STDIN_FILENO) == 1) {
                own_ask_all(kind, &own.words);
            }
            app_err wrong = APP_ERR_NONE;
            if (sitting_entries_take(d, kind, &own, seconds, &wrong)) {
                return true;
            }
            (void)snprintf(note, sizeof note, "%s.", wrong.text);
        }
        (void)fprintf(stderr, "%s\n", note);
    }
    return interrupt_check(err) &&
           app_err_set(err, APP_USAGE,
                       "not entered, so nothing was counted; the recording is kept: "
                       "fullminute check %s",
                       path);
}

static bool ask_missing(sitting_document *d, const char *path, app_err *err)
{
    double duration_s = 0.0;
    if (!find_duration(path, &duration_s, err)) {
        return false;
    }
    taking t = sitting_entries_missing(d, duration_s);
    if (t.phase != TAKING_ENTRY) {
        if (!d->pulse.given && !d->breath.given && d->checked) {
            return app_err_set(err, APP_USAGE,
                               "%s holds no whole minute to enter a count for; "
                               "fullminute count %s counts what there is",
                               path, path);
        }
        return true;
    }
    (void)fputs("This sitting was not entered. Nothing is counted before your entry; "
                "'discard' removes it.\n",
                stderr);
    while (t.phase == TAKING_ENTRY) {
        if (!ask_one(d, path, taking_at(&t)->entry, taking_at(&t)->seconds, err)) {
            return false;
        }
        (void)taking_tell(&t, TAKING_ENTERED, 0);
    }
    d->sealed = false;
    char *const document = sitting_document_path(path);
    const bool ok = document != NULL ? sitting_document_write(d, document, err)
                                     : app_err_memory(err);
    free(document);
    (void)taking_tell(&t, ok ? TAKING_STORED : TAKING_NOT_STORED, 0);
    return t.phase == TAKING_COUNTING;
}

bool check_sitting_read(check_sitting *c,
                        check_request *request,
                        bool ask,
                        app_err *err)
{
    const char *const path = request->analyse.path;
    c->document = sitting_document_none();
    if (!request->analyse.use_sitting ||
        !sitting_windows_find(path, &c->document, &c->found, err)) {
        return !request->analyse.use_sitting;
    }
    if (!c->found) {
        return true;
    }
    sitting_windows_apply(&c->document, &request->analyse);
    if (ask && !ask_missing(&c->document, path, err)) {
        return false;
    }
    c->entered = ask && (c->document.pulse.given || c->document.breath.given);
    return sitting_entries_fill(&c->document, request, &c->taps) || app_err_memory(err);
}

bool check_sitting_print_second(const check_sitting *c, app_err *err)
{
    char text[LINES_PARAGRAPH_BYTES];
    lines to = BYTES_NONE;
    if (!c->found || second_examiner_text(&c->document, text)[0] == '\0') {
        return true;
    }
    bytes_add(&to, "\n", 1);
    lines_add(&to, 0, "%s", text);
    return say_text(bytes_take(&to, NULL), err);
}

void check_sitting_free(check_sitting *c)
{
    sitting_document_free(&c->document);
    times_free(&c->taps);
}
