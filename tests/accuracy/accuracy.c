/* The evaluation's command line; see README.md for what each job measures. */
#include "accuracy.h"

#include "breath.h"
#include "guard.h"
#include "lost_contact.h"
#include "rhythms.h"
#include "sampler.h"
#include "short_counts.h"

#include <stdlib.h>
#include <string.h>

static void print_usage(FILE *out)
{
    (void)fputs(
        "usage: accuracy [options] FOLDER...\n"
        "       accuracy [options] --composed N [--first-seed S] [--only NOISE]\n"
        "       accuracy --refusals | --guard | --open-data F | --recordings F | "
        "--real F |\n"
        "                --quality F\n"
        "  FOLDER          a folder with truth.csv and rpeaks/, or with "
        "NAME.truth.json\n"
        "                  beside each sound file\n"
        "  --composed N    compose N recordings, one a seed, and measure them\n"
        "  --first-seed S  the first of these seeds (default 1)\n"
        "  --only NOISE    only clean, white, pink, speech-like, room, friction, hum "
        "or\n"
        "                  'small microphone'\n"
        "  --rhythms N     compose N seeds of every rhythm at 15 dB and better; what "
        "is "
        "said\n"
        "                  of each\n"
        "  --lost-contact N  compose N seeds, those at 10 dB and better with contact "
        "lost "
        "once;\n"
        "                  is it called a pause, and does the range hold the truth\n"
        "  --short-counts F  what 15 s x 4 and 30 s x 2 give of the recordings in F\n"
        "  --refusals      sounds without a heart, each of which must be refused\n"
        "  --guard         60 composed recordings against the bars that ctest keeps\n"
        "  --open-data F   the open heart data in F/heart-2016 against its bars; "
        "status 77\n"
        "                  where it is not there\n"
        "  --real F        the project's real recordings (tests/data/real) against "
        "their bars\n"
        "  --recordings F  the demonstration recordings, each exact or refused as it "
        "must\n"
        "  --breath composed N | --breath cycles FILE [N] | --breath manikin FOLDER\n"
        "                  breaths: composed, composed with the lengths in FILE "
        "(--breath\n"
        "                  short-cycles FILE [N]: files of 10 to 30 s), the\n"
        "                  manikin at five speeds (--breath manikin-whole FOLDER: "
        "until "
        "both\n"
        "                  tracks are over); --breath chests FOLDER: real "
        "chests\n"
        "                  with the rate from an ECG's intervals; --breath heart N: "
        "hearts\n"
        "                  beside louder and louder breath; --breath troubles N: "
        "breaths\n"
        "                  beside crackles, wheeze, cough and speech; --breath guard: "
        "the\n"
        "                  bars of ctest\n"
        "  --quality F     recordings labelled usable or too noisy in F/quality.csv\n"
        "options:\n"
        "  -v              a line for every window\n"
        "  -j N            threads (default: one for each processor)\n"
        "  --save FILE     write every window's result there (folders only)\n"
        "  --load FILE     score results saved so instead of analysing\n"
        "  --dump FOLDER   write the beats of every window that went wrong (F1 at 100 "
        "ms\n"
        "                  under 0.95, or off by more than 3) there, one TSV each, "
        "and\n"
        "                  the sound of composed ones; --all: of every window\n",
        out);
}

static bool parse_number(const char *text, uint64_t *value)
{
    char *end = NULL;
    if (text[0] < '0' || text[0] > '9') {
        return false;
    }
    *value = strtoull(text, &end, 10);
    return *end == '\0';
}

static bool take_flag(settings *s, const char *word)
{
    bool *const flags[] = {&s->each, &s->dump_all, &s->refusals, &s->guard, &s->breath};
    static const char *const words[] = {"-v", "--all", "--refusals", "--guard",
                                        "--breath"};
    for (size_t i = 0; i < sizeof words / sizeof *words; i++) {
        if (strcmp(word, words[i]) == 0) {
            *flags[i] = true;
            return true;
        }
    }
    return false;
}

static bool take_folder(settings *s, const char *word, const char *text)
{
    const char **const folders[] = {&s->dump,         &s->open_data, &s->recordings,
                                    &s->quality,      &s->save,      &s->load,
                                    &s->short_counts, &s->real};
    static const char *const words[] = {"--dump",         "--open-data", "--recordings",
                                        "--quality",      "--save",      "--load",
                                        "--short-counts", "--real"};
    for (size_t i = 0; i < sizeof words / sizeof *words; i++) {
        if (strcmp(word, words[i]) == 0) {
            *folders[i] = text;
            return true;
        }
    }
    return false;
}

static bool take_value(settings *s, const char *word, const char *text)
{
    uint64_t value = 0;
    if (take_folder(s, word, text)) {
        return true;
    }
    if (strcmp(word, "--only") == 0) {
        s->only = sample_kind_of(text);
        return s->only >= 0;
    }
    if (!parse_number(text, &value)) {
        return false;
    }
    if (strcmp(word, "-j") == 0 && value > 0) {
        s->jobs = (unsigned)value;
    } else if (strcmp(word, "--composed") == 0 && value > 0) {
        s->n_composed = (size_t)value;
    } else if (strcmp(word, "--rhythms") == 0 && value > 0) {
        s->n_rhythms = (size_t)value;
    } else if (strcmp(word, "--lost-contact") == 0 && value > 0) {
        s->n_lost = (size_t)value;
    } else if (strcmp(word, "--first-seed") == 0) {
        s->first_seed = value;
    } else {
        return false;
    }
    return true;
}

static int run_job(const settings *s, char *const folders[], size_t n_folders)
{
    if (s->short_counts != NULL) {
        return accuracy_short_counts(s->short_counts);
    }
    if (s->n_rhythms > 0) {
        return accuracy_rhythms(s);
    }
    if (s->n_lost > 0) {
        return accuracy_lost_contact(s);
    }
    if (s->refusals) {
        return accuracy_refusals(s);
    }
    if (s->guard) {
        return guard_composed(s);
    }
    if (s->open_data != NULL) {
        return guard_open_data(s, s->open_data);
    }
    if (s->real != NULL) {
        return guard_real(s, s->real);
    }
    if (s->recordings != NULL) {
        return guard_recordings(s, s->recordings);
    }
    if (s->quality != NULL) {
        return accuracy_quality(s, s->quality);
    }
    if (s->breath) {
        const int status = accuracy_breath(s, folders, n_folders);
        if (status == EXIT_USAGE) {
            print_usage(stderr);
        }
        return status;
    }
    return s->n_composed > 0 ? accuracy_composed(s)
                             : accuracy_folders(s, folders, n_folders, NULL, NULL);
}

int main(int argc, char *argv[])
{
    settings s = {.first_seed = 1, .only = -1};
    int at = 1;
    bool good = true;
    while (good && at < argc && argv[at][0] == '-') {
        if (take_flag(&s, argv[at])) {
            at += 1;
        } else {
            good = at + 1 < argc && take_value(&s, argv[at], argv[at + 1]);
            at += 2;
        }
    }
    const int jobs = (s.n_composed > 0) + (s.n_rhythms > 0) + (s.n_lost > 0) +
                     (at < argc || s.breath) + s.refusals + s.guard +
                     (s.open_data != NULL) + (s.recordings != NULL) +
                     (s.quality != NULL) + (s.short_counts != NULL) + (s.real != NULL);
    if (!good || jobs != 1) {
        print_usage(stderr);
        return EXIT_USAGE;
    }
    return run_job(&s, argv + at, (size_t)(argc - at));
}
