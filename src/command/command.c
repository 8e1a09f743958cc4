#include "src/command/command.h"

#include <string.h>

const struct command *command_find(const char *name)
{
    for (const struct command *const *c = command_table; *c != NULL; c++) {
        if (strcmp((*c)->name, name) == 0) {
            return *c;
        }
    }
    return NULL;
}

void command_print_help(const struct command *command, FILE *to)
{
    (void)fprintf(to, "fullminute %s %s\n\n%s.\n", command->name, command->usage,
                  command->summary);
    if (command->details != NULL) {
        (void)fprintf(to, "\n%s", command->details);
    }
    (void)fputs("\nOptions:\n", to);
    options_print_help(command->options, to);
    (void)fputs("\nExit status:\n"
                "  0    done\n"
                "  1    failed: the disk is full, or an output cannot be written\n"
                "  2    wrong usage, or a file exists and --force was not given\n"
                "  3    an input cannot be read\n",
                to);
    if (command->exits != NULL) {
        (void)fputs(command->exits, to);
    }
    (void)fputs("  130  stopped with Ctrl-C\n", to);
}

void command_print_overview(FILE *to)
{
    (void)fputs(
        "fullminute COMMAND [options]\n\n"
        "An independent second count beside your own full-minute apical pulse count.\n"
        "For learning and research; not a medical device.\n\n"
        "Commands:\n",
        to);
    for (const struct command *const *c = command_table; *c != NULL; c++) {
        (void)fprintf(to, "  %-13s%s\n", (*c)->name, (*c)->summary);
    }
    (void)fputs("\nfullminute COMMAND --help explains one command and its options.\n"
                "fullminute --version prints the version.\n",
                to);
}

static bool check_operands(const struct command *command,
                           const options *o,
                           app_err *err)
{
    if (o->n_operands < command->min_operands) {
        return app_err_set(err, APP_USAGE,
                           "no recording named; usage: fullminute %s %s", command->name,
                           command->usage);
    }
    if (command->max_operands >= 0 && o->n_operands > command->max_operands) {
        return app_err_set(
            err, APP_USAGE,
            "one recording at a time; not also %s; usage: fullminute %s %s",
            o->operands[command->max_operands], command->name, command->usage);
    }
    return true;
}

int command_run(const struct command *command, int argc, char **argv, app_err *err)
{
    options o;
    if (!options_parse(command->options, argc, argv, &o, err)) {
        return err->code;
    }
    if (o.help) {
        command_print_help(command, stdout);
        return APP_DONE;
    }
    if (!check_operands(command, &o, err)) {
        return err->code;
    }
    const int status = command->run(&o, err);
    return err->text[0] != '\0' ? err->code : status;
}
