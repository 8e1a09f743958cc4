/* The evaluation's command line; see README.md for what each job measures. */
#include "accuracy.h"

#include <stdlib.h>
#include <string.h>

static void print_usage(FILE *out)
{
    (void)fprintf(
        out, "usage: accuracy [-v] [-j N] FOLDER...\n"
             "  FOLDER   a folder with truth.csv and rpeaks/, or with NAME.truth.json\n"
             "           beside each sound file\n"
             "  -v       a line for every window\n"
             "  -j N     threads (default: one for each processor)\n");
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

int main(int argc, char *argv[])
{
    settings s = {.first_seed = 1};
    int at = 1;
    for (; at < argc && argv[at][0] == '-'; at++) {
        uint64_t value = 0;
        const char *next = at + 1 < argc ? argv[at + 1] : NULL;
        if (strcmp(argv[at], "-v") == 0) {
            s.each = true;
        } else if (strcmp(argv[at], "-j") == 0 && parse_number(next, &value)) {
            s.jobs = (unsigned)value;
            at++;
        } else {
            print_usage(stderr);
            return EXIT_USAGE;
        }
    }
    if (at == argc) {
        print_usage(stderr);
        return EXIT_USAGE;
    }
    return accuracy_folders(&s, argv + at, (size_t)(argc - at));
}
