/* merge: the shards of a batch in, one file of rows out. */
#include "src/base/text.h"
#include "src/batch/merge.h"
#include "src/command/command.h"

#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const option_spec OPTIONS[] = {
    {"out", OPTION_TEXT, "FILE", "file of rows, or - for standard output", 0, 0, NULL},
    {"json", OPTION_FLAG, NULL,
     "print what the rows hold (fullminute.batch/1) to standard output", 0, 0, NULL},
    {"force", OPTION_FLAG, NULL, "replace the file of rows if it exists", 0, 0, NULL},
    {NULL, OPTION_FLAG, NULL, NULL, 0, 0, NULL},
};

static int run(const options *o, app_err *err)
{
    const char *const out = options_text(o, "out", NULL);
    if (out == NULL || o->n_operands == 0) {
        (void)app_err_set(err, APP_USAGE,
                          "%s; usage: fullminute merge SHARD... --out FILE",
                          out == NULL ? "--out is missing" : "no shard named");
        return APP_USAGE;
    }
    const bool json = options_given(o, "json");
    if (json && strcmp(out, "-") == 0) {
        (void)app_err_set(err, APP_USAGE,
                          "--json and --out - both want standard output; give --out a "
                          "file");
        return APP_USAGE;
    }
    about a;
    if (!merge_rows(o->operands, o->n_operands, out, options_given(o, "force"), &a,
                    err)) {
        return APP_FAILED;
    }
    char *const text = json ? about_format(&a) : NULL;
    if (json && text == NULL) {
        (void)app_err_memory(err);
    } else if (json) {
        (void)fputs(text, stdout);
    }
    (void)fprintf(stderr, "%d shards, %" PRId64 " files, %" PRId64 " rows",
                  o->n_operands, a.files, a.rows);
    if (strcmp(out, "-") != 0) {
        (void)fputs(" in ", stderr);
        text_print_clean(out, stderr);
    }
    (void)fputs(".\n", stderr);
    free(text);
    about_free(&a);
    return APP_DONE;
}

const struct command command_merge = {
    .name = "merge",
    .summary = "Put the shards of a batch together",
    .usage = "SHARD... --out FILE [options]",
    .details =
        "SHARD is a file of rows that batch --shard wrote, its .batch.json beside it.\n"
        "All shards must be there, each once, whole, and of one list, one set of\n"
        "options and one version; otherwise it says which are missing, double or\n"
        "damaged. The result is what one run over the whole list writes, byte for "
        "byte.\n",
    .options = OPTIONS,
    .min_operands = 0,
    .max_operands = -1,
    .exits = "       Here: a shard is missing, double, damaged or of another run\n",
    .run = run,
};
