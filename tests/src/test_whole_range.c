/*
 * An interval of rates comes out alike wherever it is printed.
 *   Source: the rule in src/document/whole_range.h; documents print rates to a tenth.
 *   Input:  intervals a little inside and outside whole numbers.
 */
#include "src/document/whole_range.h"
#include "src/words/count_text.h"
#include "src/words/pieces.h"

#include "tests/support.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static void intervals_go_outward_from_the_tenth(void **state)
{
    (void)state;
    assert_within(whole_range_low(71.96), 72.0, 0.0);
    assert_within(whole_range_low(71.94), 71.0, 0.0);
    assert_within(whole_range_low(72.0), 72.0, 0.0);
    assert_within(whole_range_high(73.04), 73.0, 0.0);
    assert_within(whole_range_high(73.06), 74.0, 0.0);
    assert_within(whole_range_high(73.0), 73.0, 0.0);
}

/* As count prints it ("71 to 74"), and as check does ("71-74"). */
static void count_and_check_print_the_same(void **state)
{
    (void)state;
    const count_source source = {
        .name = "a.wav", .duration_s = 30.0, .rate_hz = 4000.0};
    fm_count *const count = calloc(1, sizeof *count);
    assert_non_null(count);
    count->heart.count.window = (fm_window){.start_s = 0.0, .end_s = 30.0};
    count->heart = (fm_heart){.count.status = FM_COUNTED,
                              .count.n = 36,
                              .count.rate_per_min = 72.0,
                              .count.confidence = 0.99};
    for (int i = 0; i < 40; i++) {
        char counted[64];
        char checked[PIECE_RANGE_BYTES];
        char *text = NULL;
        size_t n = 0;
        count->heart.count.rate_low_per_min = 71.0 + 0.025 * i + 0.001;
        count->heart.count.rate_high_per_min = 74.0 - 0.025 * i + 0.001;
        FILE *const to = open_memstream(&text, &n);
        assert_non_null(to);
        count_text_print_line(&source, count, to);
        assert_int_equal(fclose(to), 0);
        const char *const at = strchr(text, '(');
        assert_non_null(at);
        char *end = NULL;
        const long low = strtol(at + 1, &end, 10);
        assert_true(strncmp(end, " to ", 4) == 0);
        const long high = strtol(end + 4, &end, 10);
        assert_true(*end == ')');
        (void)snprintf(counted, sizeof counted, "%ld-%ld", low, high);
        (void)piece_range(count->heart.count.rate_low_per_min,
                          count->heart.count.rate_high_per_min, checked);
        assert_string_equal(checked, counted);
        free(text);
    }
    free(count);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(intervals_go_outward_from_the_tenth),
        cmocka_unit_test(count_and_check_print_the_same),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
