#include "tests/support.h"

#include "src/words/lines.h"

#include <stdlib.h>
#include <string.h>

static void assert_text(lines *l, const char *expected)
{
    char *const text = bytes_take(l, NULL);
    assert_non_null(text);
    assert_string_equal(text, expected);
    free(text);
}

/* Every length of word and paragraph around the width: no line over it, no word lost. */
static void paragraphs_wrap_at_the_width(void **state)
{
    (void)state;
    for (size_t word = 1; word <= 30; word++) {
        for (size_t n_words = 1; n_words <= 60; n_words += 7) {
            char paragraph[LINES_PARAGRAPH_BYTES] = "";
            for (size_t i = 0; i < n_words; i++) {
                memset(paragraph + strlen(paragraph), 'a' + (int)(i % 26), word);
                if (i + 1 < n_words) {
                    (void)strcat(paragraph, " ");
                }
            }
            lines l = BYTES_NONE;
            lines_add(&l, 2, "%s", paragraph);
            char *const text = bytes_take(&l, NULL);
            assert_non_null(text);
            char joined[LINES_PARAGRAPH_BYTES] = "";
            for (char *line = strtok(text, "\n"); line != NULL;
                 line = strtok(NULL, "\n")) {
                assert_true(strlen(line) <= LINES_WIDTH);
                assert_memory_equal(line, "  ", 2);
                assert_true(line[strlen(line) - 1] != ' ');
                (void)strcat(joined, joined[0] != '\0' ? " " : "");
                (void)strcat(joined, line + 2);
            }
            assert_string_equal(joined, paragraph);
            free(text);
        }
    }
}

static void a_word_longer_than_a_line_stands_alone(void **state)
{
    (void)state;
    char word[101];
    memset(word, 'x', 100);
    word[100] = '\0';
    lines l = BYTES_NONE;
    lines_add(&l, 0, "a %s b", word);
    char expected[128] = "a\n";
    (void)strcat(expected, word);
    (void)strcat(expected, "\nb\n");
    assert_text(&l, expected);
}

static void breaks_do_not_pile_up(void **state)
{
    (void)state;
    lines l = BYTES_NONE;
    lines_break(&l);
    lines_add(&l, 0, "one");
    lines_break(&l);
    lines_break(&l);
    lines_add_row(&l, "%-4s|", "two");
    assert_text(&l, "one\n\ntwo |\n");
}

static void nothing_is_nothing(void **state)
{
    (void)state;
    lines a = BYTES_NONE;
    lines_add(&a, 0, "%s", "");
    assert_int_equal(a.n, 0);
    lines_add(&a, 1, "b");
    assert_text(&a, " b\n");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(paragraphs_wrap_at_the_width),
        cmocka_unit_test(a_word_longer_than_a_line_stands_alone),
        cmocka_unit_test(breaks_do_not_pile_up),
        cmocka_unit_test(nothing_is_nothing),
    };
    return cmocka_run_group_tests_name("src.lines", tests, NULL, NULL);
}
