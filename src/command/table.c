#include "src/command/command.h"

extern const struct command command_batch;
extern const struct command command_check;
extern const struct command command_count;
extern const struct command command_compose;
extern const struct command command_demonstrate;
extern const struct command command_logbook;
extern const struct command command_merge;
extern const struct command command_page;
extern const struct command command_report;
extern const struct command command_sources;
extern const struct command command_summary;
extern const struct command command_worksheet;

const struct command *const command_table[] = {
    &command_count,
    &command_check,
    &command_compose,
    &command_demonstrate,
    &command_batch,
    &command_merge,
    &command_summary,
    &command_logbook,
    &command_report,
    &command_worksheet,
    &command_sources,
    &command_page,
    NULL,
};
