/*
 * Sealed bytes: unreadable without the phrase, refused when changed anywhere.
 *   Source: the layout in src/port/sealed.h. That sealed bytes look like chance: of 8 n
 *           bits about half are set, with a standard deviation of sqrt(2 n) bits (binomial).
 *   Input:  invented words.
 */
#include "src/port/sealed.h"

#include "tests/support.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const char PHRASE[] = "four quiet words here";
static const char SECRET[] =
    "{\"items\":[{\"item\":\"item-01\",\"beats\":72,\"pattern\":\"regular\"}]}";

static bytes seal(void)
{
    app_err err = APP_ERR_NONE;
    bytes out = BYTES_NONE;
    assert_true(sealed_make(PHRASE, SECRET, sizeof SECRET - 1, &out, &err));
    return out;
}

static void opens_with_the_phrase(void **state)
{
    (void)state;
    app_err err = APP_ERR_NONE;
    bytes file = seal();
    bytes open = BYTES_NONE;
    assert_true(sealed_open("k", PHRASE, file.data, file.n, &open, &err));
    assert_int_equal(open.n, sizeof SECRET - 1);
    assert_string_equal(open.data, SECRET);
    bytes_free(&open);
    bytes_free(&file);
}

static void a_wrong_phrase_says_so(void **state)
{
    (void)state;
    static const char *const wrong[] = {"four quiet words herE", "",
                                        "four quiet words here "};
    bytes file = seal();
    for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++) {
        app_err err = APP_ERR_NONE;
        bytes open = BYTES_NONE;
        assert_false(sealed_open("k", wrong[i], file.data, file.n, &open, &err));
        assert_int_equal(err.code, APP_UNREADABLE);
        assert_non_null(strstr(err.text, "pass phrase is not"));
        assert_int_equal(open.n, 0);
    }
    bytes_free(&file);
}

static bool holds(const bytes *file, const char *word)
{
    const size_t n = strlen(word);
    for (size_t i = 0; i + n <= file->n; i++) {
        if (memcmp(file->data + i, word, n) == 0) {
            return true;
        }
    }
    return false;
}

/* No word of it in the file, another file each time, and bits like chance. */
static void nothing_shows(void **state)
{
    (void)state;
    bytes a = seal();
    bytes b = seal();
    assert_false(holds(&a, "item") || holds(&a, "regular") || holds(&a, PHRASE));
    assert_int_equal(a.n, b.n);
    size_t same = 0;
    for (size_t i = 33; i < a.n; i++) { /* behind the name and the two numbers */
        same += a.data[i] == b.data[i];
    }
    assert_true(same < a.n / 10);
    long set = 0;
    const size_t from = a.n - sizeof SECRET;
    for (size_t i = from; i < a.n; i++) {
        for (int bit = 0; bit < 8; bit++) {
            set += (a.data[i] >> bit) & 1;
        }
    }
    const double n = (double)(a.n - from);
    assert_within((double)set, 4.0 * n, 6.0 * sqrt(2.0 * n));
    bytes_free(&a);
    bytes_free(&b);
}

/* Each of the header's parts, the sealed bytes and the tag; every length too short. */
static void a_changed_file_is_refused(void **state)
{
    (void)state;
    bytes file = seal();
    const size_t at[] = {3, 17, 25, 35, 60, 100, file.n - 40, file.n - 1};
    for (size_t i = 0; i < sizeof at / sizeof at[0]; i++) {
        app_err err = APP_ERR_NONE;
        bytes open = BYTES_NONE;
        file.data[at[i]] ^= 1;
        assert_false(sealed_open("k", PHRASE, file.data, file.n, &open, &err));
        assert_true(err.code == APP_UNREADABLE || err.code == APP_FAILED);
        assert_int_equal(open.n, 0);
        file.data[at[i]] ^= 1;
    }
    const size_t cut[] = {0, 5, 17, 120, file.n - 1};
    for (size_t i = 0; i < sizeof cut / sizeof cut[0]; i++) {
        app_err err = APP_ERR_NONE;
        bytes open = BYTES_NONE;
        assert_false(sealed_open("k", PHRASE, file.data, cut[i], &open, &err));
        assert_int_equal(err.code, APP_UNREADABLE);
    }
    bytes_free(&file);
}

static void a_short_phrase_is_refused(void **state)
{
    (void)state;
    app_err err = APP_ERR_NONE;
    bytes out = BYTES_NONE;
    assert_false(sealed_make("short", SECRET, 4, &out, &err));
    assert_int_equal(err.code, APP_USAGE);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(opens_with_the_phrase),
        cmocka_unit_test(a_wrong_phrase_says_so),
        cmocka_unit_test(nothing_shows),
        cmocka_unit_test(a_changed_file_is_refused),
        cmocka_unit_test(a_short_phrase_is_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
