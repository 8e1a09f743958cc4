/* Which route a path leads to: paths are compared whole, numbers are short, nothing else. */
#include "src/page/page_private.h"

#include "tests/support.h"

#include <stdio.h>
#include <string.h>

static const page_route *find(const char *method, const char *path, long *number)
{
    bool known = false;
    const page_route *const a =
        page_route_find(PAGE_ROUTES, method, path, number, &known);
    assert_true(a == NULL || known);
    return a;
}

static void every_route_is_found_by_its_own_path_and_method(void **state)
{
    (void)state;
    static const page_route *const TABLES[] = {PAGE_ROUTES, PAGE_SEAT_ROUTES};
    for (size_t t = 0; t < 2; t++) {
        for (const page_route *a = TABLES[t]; a->method != NULL; a++) {
            char path[256];
            long number = 0;
            bool known = false;
            const char *const number_at = strchr(a->path, '#');
            const int before = (int)(number_at != NULL ? number_at - a->path : 99);
            (void)snprintf(path, sizeof path, "%.*s%s%s", before, a->path,
                           number_at != NULL ? "42" : "",
                           number_at != NULL ? number_at + 1 : "");
            assert_ptr_equal(
                page_route_find(TABLES[t], a->method, path, &number, &known), a);
            assert_true(known);
            assert_int_equal(number, number_at != NULL ? 42 : -1);
            assert_null(page_route_find(TABLES[t], "PATCH", path, &number, &known));
            assert_true(known);
            (void)strncat(path, "x", 2);
            assert_null(page_route_find(TABLES[t], a->method, path, &number, &known));
            assert_false(known);
        }
    }
}

static void a_change_never_goes_by_get(void **state)
{
    (void)state;
    static const char *const CHANGES[] = {"/open", "/start", "/again", "/keep",
                                          "/stop", "/tap",   "/enter", "/end",
                                          "/seat", "/taps"};
    static const page_route *const TABLES[] = {PAGE_ROUTES, PAGE_SEAT_ROUTES};
    for (size_t t = 0; t < 2; t++) {
        for (const page_route *a = TABLES[t]; a->method != NULL; a++) {
            const char *const last = strrchr(a->path, '/');
            bool changes = false;
            for (size_t i = 0; i < sizeof CHANGES / sizeof CHANGES[0]; i++) {
                changes = changes || (strcmp(last, CHANGES[i]) == 0 && last != a->path);
            }
            assert_true(!changes || strcmp(a->method, "POST") == 0);
            assert_true((a->body_bytes > 0) == (strcmp(a->method, "POST") == 0));
        }
    }
}

static void a_number_is_digits_and_few(void **state)
{
    (void)state;
    static const struct {
        const char *path;
        long number; /* -1: no such path */
    } ROWS[] = {
        {"/api/recordings/0/sound", 0},
        {"/api/recordings/1/sound", 1},
        {"/api/recordings/007/sound", 7},
        {"/api/recordings/999999/sound", 999999},
        {"/api/recordings/1000000/sound", 1000000},
        {"/api/recordings/9999999/sound", 9999999},
        {"/api/recordings/10000000/sound", -1},
        {"/api/recordings/99999999999999999999999/sound", -1},
        {"/api/recordings/00000001/sound", -1},
        {"/api/recordings//sound", -1},
        {"/api/recordings/-1/sound", -1},
        {"/api/recordings/+1/sound", -1},
        {"/api/recordings/ 1/sound", -1},
        {"/api/recordings/1 /sound", -1},
        {"/api/recordings/0x1/sound", -1},
        {"/api/recordings/1.0/sound", -1},
        {"/api/recordings/1/sound/", -1},
        {"/api/recordings/1/soun", -1},
        {"/api/recordings/1/", -1},
        {"/api/recordings/1", -1},
        {"/api/recordings/../1/sound", -1},
        {"", -1},
        {"//", -1},
        {"/report/row/3", 3},
        {"/report/row/", -1},
        {"/report/row/#", -1},
    };
    for (size_t i = 0; i < sizeof ROWS / sizeof ROWS[0]; i++) {
        long number = 0;
        const page_route *const a = find("GET", ROWS[i].path, &number);
        assert_int_equal(number, ROWS[i].number);
        assert_int_equal(a != NULL, ROWS[i].number >= 0);
    }
}

static void nothing_of_the_persons_is_reached_by_the_seats(void **state)
{
    (void)state;
    static const char *const SHARED[] = {"/", "/api/clock"};
    for (const page_route *a = PAGE_SEAT_ROUTES; a->method != NULL; a++) {
        long number = 0;
        bool known = false;
        (void)page_route_find(PAGE_ROUTES, a->method, a->path, &number, &known);
        bool may = false;
        for (size_t i = 0; i < sizeof SHARED / sizeof SHARED[0]; i++) {
            may = may || strcmp(a->path, SHARED[i]) == 0;
        }
        assert_true(may || !known);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_route_is_found_by_its_own_path_and_method),
        cmocka_unit_test(a_change_never_goes_by_get),
        cmocka_unit_test(a_number_is_digits_and_few),
        cmocka_unit_test(nothing_of_the_persons_is_reached_by_the_seats),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
