#include "src/command/phrase.h"

#include <errno.h>
#include <sodium.h>
#include <stdio.h>
#include <string.h>
#include <termios.h>
#include <unistd.h>

static bool take_line(FILE *from, char out[PHRASE_BYTES], app_err *err)
{
    if (fgets(out, PHRASE_BYTES, from) == NULL) {
        return app_err_set(err, APP_USAGE, "no pass phrase was given");
    }
    if (strchr(out, '\n') == NULL && strlen(out) == PHRASE_BYTES - 1) {
        return app_err_set(err, APP_USAGE, "the pass phrase is longer than %d bytes",
                           PHRASE_BYTES - 2);
    }
    out[strcspn(out, "\r\n")] = '\0';
    return true;
}

/* Asked on the terminal, not shown; twice where it seals. */
static bool ask_once(const char *prompt, char out[PHRASE_BYTES], app_err *err)
{
    struct termios before;
    if (tcgetattr(STDIN_FILENO, &before) != 0) {
        return app_err_set(
            err, APP_USAGE,
            "no terminal to ask for the pass phrase; give --phrase-file");
    }
    struct termios silent = before;
    silent.c_lflag &= ~(tcflag_t)ECHO;
    (void)fputs(prompt, stderr);
    (void)tcsetattr(STDIN_FILENO, TCSAFLUSH, &silent);
    const bool ok = take_line(stdin, out, err);
    (void)tcsetattr(STDIN_FILENO, TCSAFLUSH, &before);
    (void)fputc('\n', stderr);
    return ok;
}

bool phrase_find(const char *path,
                 const char *prompt,
                 bool twice,
                 char out[PHRASE_BYTES],
                 app_err *err)
{
    char again[PHRASE_BYTES];
    char cause[APP_CAUSE_BYTES];
    if (path != NULL) {
        FILE *const file = fopen(path, "r");
        if (file == NULL) {
            return app_err_set(err, APP_UNREADABLE, "cannot open %s: %s", path,
                               app_err_cause(errno, cause));
        }
        const bool ok = take_line(file, out, err);
        (void)fclose(file);
        return ok;
    }
    if (!ask_once(prompt, out, err)) {
        return false;
    }
    bool ok = true;
    if (twice) {
        ok =
            ask_once("The same again: ", again, err) &&
            (strcmp(out, again) == 0 ||
             app_err_set(err, APP_USAGE, "the two are not the same; nothing was made"));
        sodium_memzero(again, sizeof again);
    }
    return ok;
}
