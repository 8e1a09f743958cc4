/*
 * Comma-separated values, read and written.
 *   Source:    RFC 4180, section 2: rules 1 and 2 (line ends, the last one may be missing), 4
 *              (commas; blanks belong to a field), 5 to 7 (quotes). Beyond it: a bare line feed
 *              ends a record as well.
 *   Input:     records in the test.
 *   Tolerance: none.
 */
#include "src/base/csv.h"

#include "../support.h"

#include <stdlib.h>
#include <string.h>

enum {
    MOST = 4,
    TEXT_BYTES = 256
};

/* The fields, with | between them; "malformed". What is left goes to rest. */
static void split(const char *record, char out[TEXT_BYTES], const char **rest)
{
    static char text[TEXT_BYTES];
    char *fields[MOST];
    size_t used = 0;
    (void)strcpy(text, record);
    const int n = csv_split(text, strlen(record), fields, MOST, &used);
    out[0] = '\0';
    if (n < 0) {
        (void)strcpy(out, "malformed");
    }
    for (int i = 0; i < n; i++) {
        (void)strcat(out, i > 0 ? "|" : "");
        (void)strcat(out, fields[i]);
    }
    *rest = record + used;
}

static void records_are_split(void **state)
{
    (void)state;
    static const struct {
        const char *record, *fields, *rest;
    } CASES[] = {
        {"aaa,bbb,ccc\r\nzzz", "aaa|bbb|ccc", "zzz"},
        {"aaa,bbb,ccc\nzzz", "aaa|bbb|ccc", "zzz"},
        {"aaa,bbb,ccc", "aaa|bbb|ccc", ""},
        {"a\r\n", "a", ""},
        {"\r\nb", "", "b"},
        {",", "|", ""},
        {"a,", "a|", ""},
        {",,\n", "||", ""},
        {" a , b ", " a | b ", ""},
        {"\"aaa\",\"bbb\"\r\nz", "aaa|bbb", "z"},
        {"\"a,b\",c", "a,b|c", ""},
        {"\"b \r\nbb\",ccc\r\nz", "b \r\nbb|ccc", "z"},
        {"\"b\"\"bb\"", "b\"bb", ""},
        {"\"\"\"\"", "\"", ""},
        {"\"\",\"\"", "|", ""},
        {"a\rb,c", "a\rb|c", ""}, /* alone it ends nothing */
        {"\xc3\xa9,\xff", "\xc3\xa9|\xff", ""},
        {"a,b,c,d", "a|b|c|d", ""},
    };
    for (size_t i = 0; i < sizeof CASES / sizeof CASES[0]; i++) {
        char fields[TEXT_BYTES];
        const char *rest = NULL;
        split(CASES[i].record, fields, &rest);
        assert_string_equal(fields, CASES[i].fields);
        assert_string_equal(rest, CASES[i].rest);
    }
}

static void what_is_malformed_is_refused(void **state)
{
    (void)state;
    static const char *const CASES[] = {
        "a,b,c,d,e",    /* more than there is room for */
        "\"a",          /* no closing quote */
        "\"a\"\"",      /* nor here */
        "a\"b",         /* a quote in a field without quotes */
        "\"a\"b,c",     /* something behind a closing quote */
        "a,\"b\nc,d\n", /* a quote that is never closed takes the next lines */
    };
    for (size_t i = 0; i < sizeof CASES / sizeof CASES[0]; i++) {
        char fields[TEXT_BYTES];
        const char *rest = NULL;
        split(CASES[i], fields, &rest);
        assert_string_equal(fields, "malformed");
    }
    char *fields[MOST];
    char zero[] = {'a', '\0', 'b', '\n', '\0'};
    assert_int_equal(csv_split(zero, 4, fields, MOST, NULL), -1);
    char none[] = "";
    size_t used = 1;
    assert_int_equal(csv_split(none, 0, fields, MOST, &used), 0);
    assert_int_equal(used, 0);
}

/* Whatever is written comes back, and a spreadsheet gets quotes only where they must be. */
static void what_is_written_comes_back(void **state)
{
    (void)state;
    static const char *const FIELDS[] = {"",         "a",         "a,b",   "\"",
                                         "\"\"",     "a\nb",      "\r\n",  " blank",
                                         "=1+1;\",", "\xc3\xa9,", ",,,\"", "a\rb"};
    for (size_t i = 0; i < sizeof FIELDS / sizeof FIELDS[0]; i++) {
        bytes text = BYTES_NONE;
        char *fields[MOST];
        size_t used = 0;
        csv_add(&text, FIELDS[i]);
        csv_add(&text, ""); /* adds nothing: an empty field is no quotes */
        bytes_add_text(&text, ",last\r\n");
        bytes_add(&text, "", 1);
        assert_int_equal(csv_split(text.data, text.n - 1, fields, MOST, &used), 2);
        assert_string_equal(fields[0], FIELDS[i]);
        assert_string_equal(fields[1], "last");
        assert_int_equal(used, text.n - 1);
        bytes_free(&text);
    }
    bytes text = BYTES_NONE;
    csv_add(&text, "plain");
    csv_add(&text, "q\"");
    bytes_add(&text, "", 1);
    assert_string_equal(text.data, "plain\"q\"\"\"");
    bytes_free(&text);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(records_are_split),
        cmocka_unit_test(what_is_malformed_is_refused),
        cmocka_unit_test(what_is_written_comes_back),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
