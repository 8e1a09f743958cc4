#include "src/command/command.h"

extern const struct command command_count;

const struct command *const command_table[] = {
    &command_count,
    NULL,
};
