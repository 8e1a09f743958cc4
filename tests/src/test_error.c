/* Errors: kept whole, cut at a whole character, in plain words. */
#include "tests/support.h"

#include "src/base/error.h"

#include <errno.h>
#include <string.h>

static void a_sentence_is_kept_with_its_code(void **state)
{
    (void)state;
    app_err err = APP_ERR_NONE;
    assert_false(app_err_set(&err, APP_UNREADABLE, "cannot open %s", "a.wav"));
    assert_int_equal(err.code, APP_UNREADABLE);
    assert_string_equal(err.text, "cannot open a.wav");
    assert_false(app_err_set(NULL, APP_FAILED, "nobody listens"));
}

static void a_long_text_is_cut_between_characters(void **state)
{
    (void)state;
    static char name[3 * APP_ERR_TEXT_BYTES];
    for (size_t shift = 0; shift < 3; shift++) {
        memset(name, 'x', shift);
        for (size_t i = shift; i + 3 < sizeof name; i += 3) {
            memcpy(name + i, "\xe2\x99\xa5", 3);
        }
        app_err err = APP_ERR_NONE;
        (void)app_err_set(&err, APP_FAILED, "%s", name);
        const size_t n = strlen(err.text);
        assert_true(n > APP_ERR_TEXT_BYTES - 5 && n < APP_ERR_TEXT_BYTES);
        assert_int_equal((n - shift) % 3, 0);
    }
}

static void a_front_end_words_the_hints_of_an_error(void **state)
{
    (void)state;
    const char *words[HINT_COUNT] = {[HINT_NONE] = "",
                                     [HINT_START] = "--start",
                                     [HINT_NO_SITTING] =
                                         "; --no-sitting leaves it out"};
    app_err err = APP_ERR_NONE;
    (void)app_err_set(&err, APP_USAGE, " 70: a.wav ends before");
    assert_false(app_err_hint(&err, HINT_START, HINT_NO_SITTING));
    assert_string_equal(err.text,
                        "start 70: a.wav ends before; move that away to go without it");
    app_err_word(&err, NULL);
    assert_int_equal(err.about, HINT_START);
    app_err_word(&err, words);
    assert_string_equal(err.text,
                        "--start 70: a.wav ends before; --no-sitting leaves it out");
    app_err_word(&err, words);
    assert_int_equal(strncmp(err.text, "--start 70", 10), 0);
    (void)app_err_set(&err, APP_USAGE, "another");
    assert_int_equal(err.advice, HINT_NONE);
    assert_false(app_err_hint(NULL, HINT_START, HINT_NONE));
}

static void causes_are_words_in_a_sentence(void **state)
{
    (void)state;
    char cause[APP_CAUSE_BYTES];
    assert_string_equal(app_err_cause(ENOENT, cause), "no such file or directory");
    assert_true(strlen(app_err_cause(99999, cause)) > 5);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_sentence_is_kept_with_its_code),
        cmocka_unit_test(a_long_text_is_cut_between_characters),
        cmocka_unit_test(a_front_end_words_the_hints_of_an_error),
        cmocka_unit_test(causes_are_words_in_a_sentence),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
