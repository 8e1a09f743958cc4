/* The evaluation's command line; see README.md for what each job measures. */
#include "accuracy.h"

#include <stdlib.h>
#include <string.h>

static void print_usage(FILE *out)
{
    (void)fprintf(
        out, "usage: accuracy [-v] [-j N] FOLDER...\n"
             "       accuracy [-v] [-j N] --composed N [--first-seed S]\n"
             "       accuracy --refusals\n"
             "  FOLDER          a folder with truth.csv and rpeaks/, or with "
             "NAME.truth.json\n"
             "                  beside each sound file\n"
             "  --composed N    compose N recordings, one a seed, and measure them\n"
             "  --first-seed S  the first of these seeds (default 1)\n"
             "  --refusals      sounds without a heart, each of which must be refused\n"
             "  --dump FOLDER   write the beats of every window that went wrong (F1 at "
             "100 ms\n"
             "                  under 0.95, or off by more than 3) there, one TSV "
             "each, and\n"
             "                  the sound of composed ones; --all: of every window\n"
             "  -v              a line for every window\n"
             "  -j N            threads (default: one for each processor)\n");
}

static bool parse_number(const char *text, uint64_t *value)
{
    char *end = NULL;
    if (text == NULL || text[0] < '0' || text[0] > '9') {
        return false;
    }
    *value = strtoull(text, &end, 10);
    return *end == '\0';
}

/* Takes one option and its value; returns how many words it was, 0 when it is wrong. */
static int take_option(settings *s, const char *word, const char *next)
{
    uint64_t value = 0;
    if (strcmp(word, "-v") == 0) {
        s->each = true;
        return 1;
    }
    if (strcmp(word, "--refusals") == 0) {
        s->refusals = true;
        return 1;
    }
    if (strcmp(word, "--all") == 0) {
        s->dump_all = true;
        return 1;
    }
    if (strcmp(word, "--dump") == 0 && next != NULL) {
        s->dump = next;
        return 2;
    }
    if (!parse_number(next, &value)) {
        return 0;
    }
    if (strcmp(word, "-j") == 0 && value > 0) {
        s->jobs = (unsigned)value;
    } else if (strcmp(word, "--composed") == 0 && value > 0) {
        s->n_composed = (size_t)value;
    } else if (strcmp(word, "--first-seed") == 0) {
        s->first_seed = value;
    } else {
        return 0;
    }
    return 2;
}

int main(int argc, char *argv[])
{
    settings s = {.first_seed = 1};
    int at = 1;
    while (at < argc && argv[at][0] == '-') {
        const int used = take_option(&s, argv[at], at + 1 < argc ? argv[at + 1] : NULL);
        if (used == 0) {
            print_usage(stderr);
            return EXIT_USAGE;
        }
        at += used;
    }
    const size_t n_folders = (size_t)(argc - at);
    const int n_jobs = (s.n_composed > 0) + (n_folders > 0) + s.refusals;
    if (n_jobs != 1) {
        print_usage(stderr);
        return EXIT_USAGE;
    }
    if (s.refusals) {
        return accuracy_refusals(&s);
    }
    return s.n_composed > 0 ? accuracy_composed(&s)
                            : accuracy_folders(&s, argv + at, n_folders);
}
