/* Finds the command, prints the error, sets the exit status. */
#include "src/base/json_text.h"
#include "src/base/text.h"
#include "src/command/command.h"
#include "src/port/interrupt.h"

#include <errno.h>
#include <fcntl.h>
#include <string.h>
#include <unistd.h>

static bool is_one_of(const char *word, const char *a, const char *b)
{
    return strcmp(word, a) == 0 || strcmp(word, b) == 0;
}

static bool unknown_command(const char *word, app_err *err)
{
    text_nearest nearest = {word, NULL, 0};
    for (const struct command *const *c = command_table; *c != NULL; c++) {
        text_nearest_offer(&nearest, (*c)->name);
    }
    if (nearest.word != NULL) {
        return app_err_set(err, APP_USAGE, "no command '%s'; did you mean '%s'?", word,
                           nearest.word);
    }
    return app_err_set(err, APP_USAGE,
                       "no command '%s'; fullminute --help lists the commands", word);
}

static int help(int argc, char **argv, app_err *err)
{
    if (argc == 0) {
        command_print_overview(stdout);
        return APP_DONE;
    }
    const struct command *const command = command_find(argv[0]);
    if (command == NULL) {
        (void)unknown_command(argv[0], err);
        return err->code;
    }
    command_print_help(command, stdout);
    return APP_DONE;
}

static int dispatch(int argc, char **argv, const char **name, app_err *err)
{
    const char *const word = argv[0];
    if (is_one_of(word, "--help", "-h")) {
        return help(0, NULL, err);
    }
    if (strcmp(word, "help") == 0) {
        return help(argc - 1, argv + 1, err);
    }
    if (strcmp(word, "--version") == 0) {
        (void)puts("fullminute " FM_VERSION);
        return APP_DONE;
    }
    const struct command *const command = command_find(word);
    if (command == NULL) {
        (void)unknown_command(word, err);
        return err->code;
    }
    *name = command->name;
    return command_run(command, argc - 1, argv + 1, err);
}

/* A result that did not reach its reader is a failure: a full disk shows only here. */
static int close_stdout(int status, app_err *err)
{
    errno = 0;
    if (fflush(stdout) == 0 && ferror(stdout) == 0) {
        return status;
    }
    /* A write that failed while the result was being made has left no cause. */
    char cause[APP_CAUSE_BYTES];
    (void)app_err_set(err, APP_FAILED,
                      "cannot write the result: %s; make room or choose "
                      "another place for it",
                      errno != 0 ? app_err_cause(errno, cause)
                                 : "a part of it was not taken");
    return APP_FAILED;
}

/* A closed standard stream must not lend its number to a file that is opened next.
 * Read-only, so that writing a result to it still fails. */
static void fill_standard_streams(void)
{
    int fd = 0;
    do {
        fd = open("/dev/null", O_RDONLY);
    } while (fd >= 0 && fd <= STDERR_FILENO);
    if (fd >= 0) {
        (void)close(fd);
    }
}

int main(int argc, char **argv)
{
    fill_standard_streams();
    interrupt_install();
    json_text_begin();
    app_err err = APP_ERR_NONE;
    const char *name = NULL;
    if (argc < 2) {
        command_print_overview(stderr);
        return APP_USAGE;
    }
    int status = dispatch(argc - 1, argv + 1, &name, &err);
    status = close_stdout(status, &err);
    if (err.text[0] != '\0') {
        app_err_word(&err, TERMINAL_HINTS);
        (void)fprintf(stderr, "fullminute%s%s: ", name != NULL ? " " : "",
                      name != NULL ? name : "");
        text_print_clean(err.text, stderr);
        (void)fputc('\n', stderr);
    }
    return status;
}
