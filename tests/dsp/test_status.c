/* Every status has a text of its own, fit to end a sentence for a person. */
#include "dsp/status.h"

#include "tests/support.h"

#include <ctype.h>
#include <string.h>

static void every_status_has_its_own_text(void **state)
{
    (void)state;
    const char *const unknown = fm_status_text(FM_STATUS_COUNT);
    for (int i = 0; i < FM_STATUS_COUNT; i++) {
        const char *const text = fm_status_text((fm_status)i);
        assert_non_null(text);
        assert_true(strlen(text) > 1);
        assert_string_not_equal(text, unknown);
        for (int k = 0; k < i; k++) {
            assert_string_not_equal(text, fm_status_text((fm_status)k));
        }
    }
}

/* Texts follow "cannot ...: ", so they start small and end without a full stop. */
static void texts_can_end_a_sentence(void **state)
{
    (void)state;
    for (int i = 0; i < FM_STATUS_COUNT; i++) {
        const char *const text = fm_status_text((fm_status)i);
        assert_true(islower((unsigned char)text[0]));
        assert_int_not_equal(text[strlen(text) - 1], '.');
    }
}

static void numbers_that_are_no_status_have_a_text_too(void **state)
{
    (void)state;
    assert_string_equal(fm_status_text((fm_status)-1), "unknown status");
    assert_string_equal(fm_status_text((fm_status)1000), "unknown status");
}

static void ok_is_zero(void **state)
{
    (void)state;
    assert_int_equal(FM_OK, 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_status_has_its_own_text),
        cmocka_unit_test(texts_can_end_a_sentence),
        cmocka_unit_test(numbers_that_are_no_status_have_a_text_too),
        cmocka_unit_test(ok_is_zero),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
