#include "src/words/pieces.h"

#include "src/document/whole_range.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

enum {
    TIMES_SHOWN = 8 /* more are told as first and last */
};

const char *piece_number(double value, char out[PIECE_NUMBER_BYTES])
{
    const bool whole = fabs(value - round(value)) < 0.05;
    (void)snprintf(out, PIECE_NUMBER_BYTES, whole ? "%.0f" : "%.1f", value);
    return out;
}

const char *piece_range(double low, double high, char out[PIECE_RANGE_BYTES])
{
    const double from = whole_range_low(low);
    const double to = whole_range_high(high);
    if (to > from) {
        (void)snprintf(out, PIECE_RANGE_BYTES, "%.0f-%.0f", from, to);
    } else {
        (void)snprintf(out, PIECE_RANGE_BYTES, "%.0f", from);
    }
    return out;
}

const char *piece_number_in_range(double value,
                                  double low,
                                  double high,
                                  char out[PIECE_RANGE_BYTES])
{
    char middle[PIECE_NUMBER_BYTES];
    char limits[PIECE_RANGE_BYTES];
    piece_number(value, middle);
    piece_range(low, high, limits);
    if (!isfinite(low) || !isfinite(high) || strcmp(middle, limits) == 0) {
        (void)snprintf(out, PIECE_RANGE_BYTES, "%s", middle);
    } else {
        (void)snprintf(out, PIECE_RANGE_BYTES, "%.20s (%.30s)", middle, limits);
    }
    return out;
}

const char *piece_counted(size_t n,
                          const char *one,
                          const char *many,
                          char out[PIECE_RANGE_BYTES])
{
    static const char *const words[] = {"no",   "one", "two",   "three", "four",
                                        "five", "six", "seven", "eight", "nine"};
    const char *const noun = n == 1 ? one : many;
    if (n < sizeof words / sizeof words[0]) {
        (void)snprintf(out, PIECE_RANGE_BYTES, "%s %s", words[n], noun);
    } else {
        (void)snprintf(out, PIECE_RANGE_BYTES, "%zu %s", n, noun);
    }
    return out;
}

const char *piece_finding(fm_finding_kind kind, size_t n)
{
    static const char *const WORDS[FM_FINDING_KIND_COUNT][2] = {
        [FM_FINDING_EARLY_BEATS] = {"early beats", "early beat"},
        [FM_FINDING_PAUSES] = {"pauses", "pause"},
        [FM_FINDING_RATE_CHANGE] = {"sudden rate changes", "sudden rate change"},
        [FM_FINDING_FAST_RUN] = {"runs of fast beats", "run of fast beats"},
    };
    return WORDS[kind][n == 1];
}

void piece_put_repeat(char out[PIECE_WORDS_BYTES], const fm_rhythm *r)
{
    const char *const colon = strchr(r->repeat, ':');
    if (strcmp(r->repeat, "breathing") == 0) {
        PIECE_PUT(out, ", in step with breathing");
    } else if (colon != NULL &&
               strncmp(r->repeat, colon + 1, (size_t)(colon - r->repeat)) == 0) {
        PIECE_PUT(out, ", in groups of %s", colon + 1);
    } else if (colon != NULL) {
        PIECE_PUT(out, ", in groups of %s beats and a pause (%s)", colon + 1,
                  r->repeat);
    }
}

void piece_capital(char *text)
{
    if (text[0] >= 'a' && text[0] <= 'z') {
        text[0] = (char)(text[0] - 'a' + 'A');
    }
}

void piece_put_times(char out[PIECE_WORDS_BYTES], const double *times_s, size_t n)
{
    if (n > TIMES_SHOWN) {
        PIECE_PUT(out, ", the first at %.0f s, the last at %.0f s", times_s[0],
                  times_s[n - 1]);
        return;
    }
    for (size_t i = 0; i < n;) {
        size_t same = 1;
        while (i + same < n && lround(times_s[i + same]) == lround(times_s[i])) {
            same++;
        }
        const char *const before = i + same < n ? "," : " and";
        PIECE_PUT(out, "%s%s%ld s", i == 0 ? "" : before, i == 0 ? " at " : " ",
                  lround(times_s[i]));
        if (same > 1) {
            PIECE_PUT(out, " (%zu)", same);
        }
        i += same;
    }
}

void piece_put_edge(char out[PIECE_WORDS_BYTES],
                    double low,
                    double high,
                    const fm_reference_range *judge,
                    const char *name)
{
    PIECE_PUT(out,
              "%s reaches the edge of %.0f-%.0f%s: count another full minute before "
              "you call it %s",
              PIECE_RANGE(low, high), judge->low_per_min, judge->high_per_min, name,
              low >= judge->low_per_min    ? "high"
              : high > judge->high_per_min ? "low or high"
                                           : "low");
}

void piece_put_spacing(char out[PIECE_WORDS_BYTES], const fm_event_count *c)
{
    const double heard_s = fmin(c->window.end_s - c->window.start_s, c->usable_s);
    if (heard_s < 59.5) {
        PIECE_PUT(out, " Even spacing in these %.0f s only, not a check of the heart.",
                  heard_s);
    } else {
        PIECE_PUT(out, " Even spacing in this minute only, not a check of the heart.");
    }
}
