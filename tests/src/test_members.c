/*
 * A document's members by a table: written, read again, and what is wrong is named.
 *   Source:    the contract in src/document/members.h and csv_table.h.
 *   Input:     a struct with a member of every kind.
 *   Tolerance: none; the numbers have few decimals.
 */
#include "src/document/csv_table.h"

#include "tests/support.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

typedef enum colour {
    RED,
    GREEN,
    COLOURS
} colour;

typedef struct point {
    double at_s;
} point;

typedef struct thing {
    char name[8];
    int count;
    int64_t large;
    double rate;
    bool flag, known;
    colour colour;
    point inner;
    size_t n, n_times;
    point *points;
    double *times_s;
} thing;

static const field_word WORDS[] = {{"red", RED}, {"green", GREEN}, {NULL, 0}};
static const member POINT[] = {
    MEMBER("at_s", FIELD_IN(point, at_s, 0, 10), .decimals = 2, .how = MEMBER_NEEDED),
    MEMBERS_END,
};
static const member THING[] = {
    MEMBER_IS("schema", "thing/1"),
    MEMBER("name", FIELD(thing, name), .how = MEMBER_NEEDED),
    MEMBER("count", FIELD_IN(thing, count, 0, 9), .how = 0),
    MEMBER("large", FIELD(thing, large), .how = 0),
    MEMBER("rate", FIELD_IN(thing, rate, 0, 100), .decimals = 1),
    MEMBER("flag", FIELD(thing, flag), .how = 0),
    MEMBER("colour", FIELD_ONE_OF(thing, colour, WORDS), MEMBER_KNOWN(thing, known)),
    MEMBER_INSIDE("inner", thing, inner, POINT, .how = 0),
    MEMBER_LIST("points", thing, points, n, POINT, .most = 3),
    MEMBER_TIMES("times_s", thing, times_s, n_times, 0, 10, .decimals = 3),
    MEMBERS_END,
};

static char *written(const thing *t)
{
    char *const text = document_format_line(members_object(THING, t), 0);
    assert_non_null(text);
    return text;
}

static bool read_back(const char *text, thing *t, app_err *err)
{
    document_reader r = {"it", "; said", err, true, NULL};
    *t = (thing){.count = -1, .rate = (double)NAN};
    return members_read(&r, THING, text, strlen(text), t);
}

static void free_thing(thing *t)
{
    free(t->points);
    free(t->times_s);
}

static void what_is_written_comes_back(void **state)
{
    (void)state;
    point points[] = {{1.25}, {2.5}};
    double times_s[] = {0.5, 0.5, 9.125};
    const thing t = {"a",   3,     1LL << 40, 71.96, true,   true,
                     GREEN, {4.5}, 2,         3,     points, times_s};
    static const char SAYS[] = "{\"schema\": \"thing/1\", \"name\": \"a\", \"count\": "
                               "3, \"large\": 1099511627776, "
                               "\"rate\": 72.0, \"flag\": true, \"colour\": \"green\", "
                               "\"inner\": {\"at_s\": 4.5}, "
                               "\"points\": [{\"at_s\": 1.25}, {\"at_s\": 2.5}], "
                               "\"times_s\": [0.5, 0.5, 9.125]}\n";
    char *const text = written(&t);
    thing back;
    app_err err = APP_ERR_NONE;
    assert_string_equal(text, SAYS);
    assert_true(read_back(text, &back, &err));
    assert_int_equal(back.n, 2);
    assert_int_equal(back.n_times, 3);
    char *const again = written(&back);
    assert_string_equal(again, SAYS);
    free(again);
    free(text);
    free_thing(&back);
}

/* NaN, a number outside its limits and a word that is not known are null, and stay as they
 * were when they are read. */
static void what_is_not_known_is_null(void **state)
{
    (void)state;
    const thing t = {.name = "a", .count = -1, .rate = (double)NAN, .colour = GREEN};
    char *const text = written(&t);
    thing back;
    app_err err = APP_ERR_NONE;
    assert_non_null(strstr(text, "\"count\": null"));
    assert_non_null(strstr(text, "\"rate\": null"));
    assert_non_null(strstr(text, "\"colour\": null"));
    assert_true(read_back(text, &back, &err));
    assert_int_equal(back.count, -1);
    assert_true(isnan(back.rate));
    assert_false(back.known);
    free(text);
    free_thing(&back);
}

#define HEAD "{\"schema\":\"thing/1\",\"name\":\"a\""

static void what_is_wrong_is_named(void **state)
{
    (void)state;
    static const struct {
        const char *text, *says;
    } CASES[] = {
        {"", "not JSON"},
        {"[]", "not one object"},
        {"{\"name\":\"a\"}", "schema"},
        {"{\"schema\":\"thing/1\"}", "name is missing"},
        {"{\"schema\":\"thing/1\",\"name\":\"longer than it\"}", "name is not a text"},
        {HEAD ",\"count\":10}", "count is not a whole number from 0 to 9"},
        {HEAD ",\"count\":1.5}", "count"},
        {HEAD ",\"rate\":\"72\"}", "rate is not a number"},
        {HEAD ",\"flag\":1}", "flag is not true or false"},
        {HEAD ",\"colour\":\"blue\"}", "colour is not 'red' or 'green'"},
        {HEAD ",\"inner\":3}", "inner is not an object"},
        {HEAD ",\"points\":[{},{},{},{}]}", "points is not a list, or far too long"},
        {HEAD ",\"points\":[{\"at_s\":1},{\"at_s\":11}]}", "points: at_s"},
        {HEAD ",\"times_s\":[1,0.5]}", "times_s"},
        {HEAD ",\"times_s\":[11]}", "times_s"},
        {HEAD ",\"name\":\"a\"}", "line 1"},
    };
    for (size_t i = 0; i < sizeof CASES / sizeof CASES[0]; i++) {
        thing t;
        app_err err = APP_ERR_NONE;
        assert_false(read_back(CASES[i].text, &t, &err));
        assert_int_equal(err.code, APP_UNREADABLE);
        if (strstr(err.text, CASES[i].says) == NULL ||
            strstr(err.text, "; said") == NULL) {
            fail_msg("%s: no '%s' in: %s", CASES[i].text, CASES[i].says, err.text);
        }
        free_thing(&t);
    }
}

/* ---- CSV by the same rows ---- */

static bool take_names(csv_table *t, void *context, app_err *err)
{
    (void)context;
    return csv_table_names(t, THING, "is not known", err);
}

static bool take_record(csv_table *t, void *context, app_err *err)
{
    return csv_table_fill(t, context, err);
}

static bool read_csv(const char *text, thing *to, app_err *err)
{
    char copy[128] = "";
    csv_table t = {.name = "t.csv", .hint = "; said"};
    memcpy(copy, text, strlen(text));
    *to = (thing){.count = -1};
    return csv_table_read(&t, copy, strlen(text), take_names, take_record, to, err);
}

static void columns_are_members(void **state)
{
    (void)state;
    thing t;
    app_err err = APP_ERR_NONE;
    assert_true(read_csv("\xef\xbb\xbf"
                         "rate,name,colour,count\r\n\r\n71.5,\"a\"\"b\",green,\r\n",
                         &t, &err));
    assert_string_equal(t.name, "a\"b");
    assert_within(t.rate, 71.5, 0.0);
    assert_int_equal(t.colour, GREEN);
    assert_true(t.known);
    assert_int_equal(t.count, -1);
    static const struct {
        const char *text, *says;
    } CASES[] = {
        {"", "empty"},
        {"rate\n1\n", "no column name"},
        {"name,mood\na,b\n", "'mood' is not known"},
        {"name,name\na,b\n", "two columns"},
        {"name,count\na,10\n", "record 2: '10' cannot be count; said"},
        {"name,count\na,1\n,2\n", "record 3: '' cannot be name"},
        {"name,count\na\n", "record 2: not as many columns"},
        {"name\n\"a\n", "record 2: a quote is not closed"},
    };
    for (size_t i = 0; i < sizeof CASES / sizeof CASES[0]; i++) {
        err = (app_err)APP_ERR_NONE;
        assert_false(read_csv(CASES[i].text, &t, &err));
        assert_int_equal(err.code, APP_UNREADABLE);
        if (strstr(err.text, CASES[i].says) == NULL) {
            fail_msg("%s: no '%s' in: %s", CASES[i].text, CASES[i].says, err.text);
        }
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(what_is_written_comes_back),
        cmocka_unit_test(what_is_not_known_is_null),
        cmocka_unit_test(what_is_wrong_is_named),
        cmocka_unit_test(columns_are_members),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
