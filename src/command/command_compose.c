/* fullminute compose: recordings with known truth, one or a recipe file's worth. */
#include "src/command/command.h"
#include "src/command/compose_options.h"
#include "src/command/compose_run.h"

#include <string.h>

/* With --recipe nothing but --force and --json may stand beside it: the file says all. */
static bool alone(const options *o, app_err *err)
{
    for (size_t i = 0; o->specs[i].name != NULL; i++) {
        const char *const name = o->specs[i].name;
        if (o->texts[i] != NULL && strcmp(name, "recipe") != 0 &&
            strcmp(name, "force") != 0 && strcmp(name, "json") != 0) {
            return app_err_set(err, APP_USAGE,
                               "--%s does not go with --recipe; write it into the file",
                               name);
        }
    }
    return true;
}

static int run(const options *o, app_err *err)
{
    const bool force = options_given(o, "force");
    const compose_say how =
        options_given(o, "json") ? COMPOSE_SAY_JSON : COMPOSE_SAY_TEXT;
    const bool ok =
        options_given(o, "recipe")
            ? alone(o, err) && compose_run_recipes(options_text(o, "recipe", ""),
                                                   o->operands[0], force, how, err)
            : compose_run_one(o, o->operands[0], force, how, err);
    return ok ? APP_DONE : err->code;
}

const struct command command_compose = {
    .name = "compose",
    .summary = "Compose a recording of heart sounds with known truth",
    .usage = "OUT.wav|OUT.flac [options]",
    .details =
        "The sound is mono, 16 bit. Its truth is written beside it as\n"
        "OUT.truth.json: every S1 and S2, breath starts, the pulse at the wrist,\n"
        "the pattern of the rhythm. For lessons and for tests of counting; it\n"
        "sounds like a heart, but it is nobody's.\n"
        "\n"
        "A sound alone cannot establish what a rhythm is called in a clinic, an\n"
        "ECG does: let students answer with a pattern and a count.\n"
        "recordings/README.md says of each rhythm what is heard.\n"
        "\n"
        "With --recipe FILE, OUT is a folder. The file's first line is\n"
        "'# fullminute.recipe/1'; each further line is a file name and its\n"
        "options; '#' starts a comment. Nothing is written unless every line is "
        "right.\n",
    .options = compose_option_table,
    .min_operands = 1,
    .max_operands = 1,
    .run = run,
};
