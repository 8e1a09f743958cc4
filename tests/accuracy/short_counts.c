/* What short counts of recordings would have said: truth alone, nothing is analysed. */
#include "short_counts.h"

#include "truth.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const double MINUTE_S = 60.0;

/* Counts of so many seconds, begun at every whole second of the minute. */
typedef struct spread {
    long low;
    long high;
    long widest; /* furthest from the minute's count, either way */
} spread;

static size_t beats_in(const recording *r, double from_s, double to_s)
{
    size_t n = 0;
    for (size_t i = 0; i < r->n_beats; i++) {
        n += r->beats_s[i] >= from_s && r->beats_s[i] < to_s;
    }
    return n;
}

static spread spread_of(const recording *r, int seconds)
{
    const long minute = (long)beats_in(r, 0.0, MINUTE_S);
    const long factor = (long)MINUTE_S / seconds;
    spread s = {.low = 100000, .high = 0};
    for (int from = 0; from + seconds <= (int)MINUTE_S; from++) {
        const long said =
            factor * (long)beats_in(r, (double)from, (double)(from + seconds));
        s.low = said < s.low ? said : s.low;
        s.high = said > s.high ? said : s.high;
        s.widest = labs(said - minute) > s.widest ? labs(said - minute) : s.widest;
    }
    return s;
}

static bool heard(const recording *r)
{
    return !r->rhythm.known || isnan(r->snr_db) || r->snr_db > -10.0;
}

static int by_name(const void *a, const void *b)
{
    return strcmp(((const recording *)a)->name, ((const recording *)b)->name);
}

static void print_recording(const recording *r, long worst[2])
{
    const char *const slash = strrchr(r->name, '/');
    const char *const name = slash != NULL ? slash + 1 : r->name;
    const spread fifteen = spread_of(r, 15);
    const spread thirty = spread_of(r, 30);
    const bool irregular = r->rhythm.pattern != FM_PATTERN_REGULAR;
    (void)printf("| %.*s | %zu | %s%s%s | %ld to %ld | %ld | %ld to %ld | %ld |\n",
                 (int)strcspn(name, "."), name, beats_in(r, 0.0, MINUTE_S),
                 fm_pattern_word(r->rhythm.pattern),
                 r->rhythm.repeat[0] != '\0' ? ", " : "", r->rhythm.repeat, fifteen.low,
                 fifteen.high, fifteen.widest, thirty.low, thirty.high, thirty.widest);
    worst[0] = irregular && fifteen.widest > worst[0] ? fifteen.widest : worst[0];
    worst[1] = irregular && thirty.widest > worst[1] ? thirty.widest : worst[1];
}

int accuracy_short_counts(const char *folder)
{
    recordings list = {0};
    long worst[2] = {0, 0};
    if (recordings_add_folder(&list, folder) <= 0) {
        recordings_free(&list);
        return EXIT_FAILED;
    }
    qsort(list.items, list.n, sizeof *list.items, by_name);
    (void)printf(
        "| recording | the minute | pattern | 15 s x 4 | widest error | 30 s x "
        "2 | widest error |\n|---|---|---|---|---|---|---|\n");
    for (size_t i = 0; i < list.n; i++) {
        if (heard(&list.items[i])) {
            print_recording(&list.items[i], worst);
        }
    }
    (void)printf(
        "\nWidest error on the irregular ones: %ld from 15 s, %ld from 30 s.\n",
        worst[0], worst[1]);
    recordings_free(&list);
    return EXIT_DONE;
}
