#include "src/command/command.h"

extern const struct command command_check;
extern const struct command command_count;
extern const struct command command_compose;

const struct command *const command_table[] = {
    &command_count,
    &command_check,
    &command_compose,
    NULL,
};
