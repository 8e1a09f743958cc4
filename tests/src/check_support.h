/* One comparison, made from a count of even beats, for the tests of its text and document.
 */
#ifndef TESTS_SRC_CHECK_SUPPORT_H
#define TESTS_SRC_CHECK_SUPPORT_H

#include "tests/support.h"

#include "src/document/check_document.h"
#include "src/words/check_text.h"

#include <stdlib.h>
#include <string.h>

/* Everything one view is made from, and how it is made by default. */
static fm_count count;
static fm_comparison comparison;
static fm_taps taps;
static fm_reference_range range;
static count_source source;
static check_view view;
static char *text;

static inline void make_count(double interval_s, double length_s)
{
    memset(&count, 0, sizeof count);
    count.heart.count.window = (fm_window){0.0, length_s, length_s >= 60.0};
    count.heart.count.usable_s = length_s;
    fm_heart *const h = &count.heart;
    h->count.status = FM_COUNTED;
    double t = 0.2;
    while (t < length_s && h->count.n < FM_BEATS_MAX) {
        h->count.onsets_s[h->count.n++] = t;
        t += interval_s;
    }
    h->count.rate_per_min = length_s >= 60.0 ? (double)h->count.n : 60.0 / interval_s;
    h->count.rate_low_per_min = h->count.rate_per_min - 0.3;
    h->count.rate_high_per_min = h->count.rate_per_min + 0.3;
    count.rhythm.pattern = FM_PATTERN_REGULAR;
}

static inline void start(double rate_per_min, double length_s)
{
    make_count(60.0 / rate_per_min, length_s);
    memset(&taps, 0, sizeof taps);
    source = (count_source){.name = "minute.wav",
                            .duration_s = length_s,
                            .rate_hz = 4000.0,
                            .channels = 1,
                            .channel = 1};
    assert_int_equal(
        fm_reference_range_find(FM_EVENT_BEAT, FM_AGE_ADULT_MONTHS, &range), FM_OK);
    view = (check_view){
        .source = &source, .count = &count, .comparison = &comparison, .range = &range};
}

static inline void compare(int entered, int seconds, fm_site site)
{
    const fm_compare_input in = {
        .manual = {.entered = entered,
                   .seconds = seconds,
                   .convention = source.convention,
                   .site = site},
        .count = &count.heart.count,
        .taps = view.taps,
        .tolerance_per_min = FM_TOLERANCE_EXAMPLE_PER_MIN,
    };
    assert_int_equal(fm_compare(&in, &comparison), FM_OK);
    free(text);
    text = check_text_format(&view);
    assert_non_null(text);
}

/* What stands below the signs of the person and the line to act on. */
static inline const char *below_the_signs(void)
{
    const char *const end = strstr(text, "\n\n");
    return strncmp(text, "The person first.", 17) == 0 && end != NULL ? end + 2 : text;
}

/* The text with line ends as blanks, so that a sentence is found wherever it wraps. */
static inline const char *unwrapped(void)
{
    static char flat[8192];
    size_t n = 0;
    for (const char *c = text; *c != '\0' && n + 1 < sizeof flat; c++) {
        const bool blank = *c == '\n' || *c == ' ';
        if (!blank || (n > 0 && flat[n - 1] != ' ')) {
            flat[n++] = *c;
            if (blank) {
                flat[n - 1] = ' ';
            }
        }
    }
    flat[n] = '\0';
    return flat;
}

static inline void assert_says(const char *words)
{
    if (strstr(unwrapped(), words) == NULL) {
        fail_msg("not said: '%s' in:\n%s", words, text);
    }
}

static inline void assert_silent_on(const char *words)
{
    if (strstr(unwrapped(), words) != NULL) {
        fail_msg("said: '%s' in:\n%s", words, text);
    }
}

/* Some twenty lines as a rule below what is said of the person; everything that can come
 * together, 36. */
static inline void assert_fits(size_t most)
{
    size_t n_lines = 0;
    for (const char *line = below_the_signs(); *line != '\0';
         line = strchr(line, '\n') + 1) {
        assert_true(strcspn(line, "\n") <= 80);
        n_lines++;
    }
    if (n_lines > most) {
        fail_msg("%zu lines:\n%s", n_lines, text);
    }
    for (const char *c = text; *c != '\0'; c++) {
        assert_true(*c == '\n' || (*c >= ' ' && *c <= '~'));
    }
}

static inline void assert_fits_a_screen(void)
{
    assert_fits(24);
}

static inline int clean_up(void **state)
{
    (void)state;
    free(text);
    return 0;
}

#endif
