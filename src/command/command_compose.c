/* fullminute compose: recordings with known truth, one or a recipe file's worth. */
#include "src/command/command.h"
#include "src/command/compose_options.h"
#include "src/command/compose_run.h"

/* With --recipe nothing but --force and --json may stand beside it: the file says all. */
static bool alone(const options *o, app_err *err)
{
    for (size_t i = 0; o->specs[i].name != NULL; i++) {
        if (o->texts[i] != NULL && compose_options_changes_sound(&o->specs[i])) {
            return app_err_set(err, APP_USAGE,
                               "--%s does not go with --recipe; write it into the file",
                               o->specs[i].name);
        }
    }
    return true;
}

static int run(const options *o, app_err *err)
{
    compose_plan p = {.age_years = 0.0};
    if (!options_fill(o, &p, err)) {
        return APP_USAGE;
    }
    const struct compose_batch *const b = &p.batch;
    const compose_say how = b->json ? COMPOSE_SAY_JSON : COMPOSE_SAY_TEXT;
    const bool ok =
        b->recipe != NULL
            ? alone(o, err) &&
                  compose_run_recipes(b->recipe, o->operands[0], b->force, how, err)
            : compose_run_one(o, o->operands[0], b->force, how, err);
    return ok ? APP_DONE : err->code;
}

static const char DETAILS[] =
    "The sound is mono, 16 bit. Its truth is written beside it as\n"
    "OUT.truth.json: every S1 and S2, breath starts, the pulse at the wrist,\n"
    "the pattern of the rhythm. For lessons and for tests of counting; it\n"
    "sounds like a heart, but it is nobody's.\n\n"
    "A sound alone cannot establish what a rhythm is called in a clinic, an\n"
    "ECG does: let students answer with a pattern and a count.\n"
    "recordings/README.md says of each rhythm what is heard.\n\n"
    "With --recipe FILE, OUT is a folder. The file's first line is\n"
    "'# fullminute.recipe/1'; each further line is a file name and its\n"
    "options; '#' starts a comment. Nothing is written unless every line is right.\n";

const struct command command_compose = {
    .name = "compose",
    .summary = "Compose a recording of heart sounds with known truth",
    .usage = "OUT.wav|OUT.flac [options]",
    .details = DETAILS,
    .options = compose_option_table,
    .min_operands = 1,
    .max_operands = 1,
    .run = run,
};
