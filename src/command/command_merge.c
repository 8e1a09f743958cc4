/* merge: the shards of a batch in, one file of rows out. */
#include "src/batch/merge.h"
#include "src/command/command.h"
#include "src/command/say.h"

#include <inttypes.h>
#include <stdio.h>
#include <string.h>

typedef struct plan {
    const char *out;
    bool json, force;
} plan;

static const option_spec OPTIONS[] = {
    {"out", "FILE", OPTION_TEXT(plan, out), "file of rows, or - for standard output"},
    {"json", NULL, OPTION_FLAG(plan, json),
     "print what the rows hold (fullminute.batch/1) to standard output"},
    {"force", NULL, OPTION_FLAG(plan, force), "replace the file of rows if it exists"},
    OPTIONS_END,
};

static int run(const options *o, app_err *err)
{
    plan p = {.out = NULL};
    if (!options_fill(o, &p, err)) {
        return APP_USAGE;
    }
    if (p.out == NULL || o->n_operands == 0) {
        return !app_err_set(err, APP_USAGE,
                            "%s; usage: fullminute merge SHARD... --out FILE",
                            p.out == NULL ? "--out is missing" : "no shard named");
    }
    if (p.json && strcmp(p.out, "-") == 0) {
        return !app_err_set(err, APP_USAGE,
                            "--json and --out - both want standard output; give --out "
                            "a file");
    }
    about a;
    if (!merge_rows(o->operands, o->n_operands, p.out, p.force, &a, err)) {
        return APP_FAILED;
    }
    (void)(p.json && !say_text(about_format(&a), err));
    (void)fprintf(stderr, "%d shards, %" PRId64 " files, %" PRId64 " rows",
                  o->n_operands, a.files, a.rows);
    if (strcmp(p.out, "-") != 0) {
        say_named(stderr, " in ", p.out, "");
    }
    (void)fputs(".\n", stderr);
    about_free(&a);
    return APP_DONE;
}

static const char DETAILS[] =
    "SHARD is a file of rows that batch --shard wrote, its .batch.json beside it.\n"
    "All shards must be there, each once, whole, and of one list, one set of\n"
    "options and one version; otherwise it says which are missing, double or\n"
    "damaged. The result is what one run over the whole list writes, byte for byte.\n";

const struct command command_merge = {
    .name = "merge",
    .summary = "Put the shards of a batch together",
    .usage = "SHARD... --out FILE [options]",
    .details = DETAILS,
    .options = OPTIONS,
    .max_operands = -1,
    .exits = "       Here: a shard is missing, double, damaged or of another run\n",
    .run = run,
};
