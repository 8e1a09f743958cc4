/*
 * JSON of which the Nth allocation fails, for every N: whole or not there; and what is read is
 * not called malformed for it, nor put aside.
 *   Source:    none outside. Jansson 2.14 leaves a member out where json_object_set_new is
 *              given the NULL of a value that could not be made.
 *   Input:     documents and settings in the test; malloc is this file's own.
 *   Tolerance: none.
 */
#include "src/base/json_text.h"
#include "src/document/truth_document.h"
#include "src/port/settings.h"

#include "../support.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

static int n_calls, failing;

void *__real_malloc(size_t n);
void *__wrap_malloc(size_t n);
void *__wrap_malloc(size_t n)
{
    return ++n_calls == failing ? NULL : __real_malloc(n);
}

static char *document(void)
{
    json_t *const all = json_object();
    json_t *const list = json_array();
    for (int i = 0; i < 20; i++) {
        (void)json_array_append_new(list, json_real(0.5 * i));
    }
    (void)json_object_set_new(all, "name", json_string("a"));
    (void)json_object_set_new(all, "list", list);
    (void)json_object_set_new(all, "n", json_integer(7));
    char *const text = json_text_of(all, JSON_COMPACT);
    json_decref(all);
    return text;
}

static void a_document_is_whole_or_not_there(void **state)
{
    (void)state;
    failing = 0;
    n_calls = 0;
    char *const whole = document();
    const int all = n_calls;
    assert_non_null(whole);
    assert_true(all > 20);
    for (failing = 1; failing <= all; failing++) {
        n_calls = 0;
        char *const text = document();
        if (text != NULL) {
            fail_msg("allocation %d of %d: %s", failing, all, text);
        }
    }
    failing = 0;
    char *const again = document();
    assert_string_equal(again, whole); /* what was short is not held against the next */
    free(again);
    free(whole);
}

static void a_truth_that_is_short_of_memory_is_not_malformed(void **state)
{
    (void)state;
    static const char TEXT[] =
        "{\"schema\":\"fullminute.truth/1\",\"x\":[1.5,2.5,3.5]}";
    int n_short = 0;
    for (failing = 1; failing <= 12; failing++) {
        app_err err = APP_ERR_NONE;
        truth_document d;
        n_calls = 0;
        assert_false(truth_document_parse("it", TEXT, strlen(TEXT), &d, &err));
        n_short += strstr(err.text, "memory") != NULL;
        assert_null(strstr(err.text, "not JSON")); /* it is */
    }
    failing = 0;
    assert_true(n_short >= 5);
}

/* Settings that cannot be read are put aside with a word; those that could not be read for
 * want of memory stay what they are. */
static void settings_stay_where_they_are(void **state)
{
    (void)state;
    char folder[] = "/tmp/json-text-XXXXXX";
    char path[96];
    struct stat is;
    app_err err = APP_ERR_NONE;
    assert_non_null(mkdtemp(folder));
    assert_int_equal(setenv("XDG_CONFIG_HOME", folder, 1), 0);
    settings *s = settings_load(&err);
    assert_non_null(s);
    assert_true(settings_set_text(s, "input", "alsa:default"));
    assert_true(settings_save(s, &err));
    (void)snprintf(path, sizeof path, "%s", settings_path(s));
    settings_free(s);
    for (failing = 1; failing < 60; failing++) {
        n_calls = 0;
        s = settings_load(&err);
        assert_int_equal(stat(path, &is), 0);
        assert_true(s == NULL || settings_text(s, "input") != NULL);
        settings_free(s);
    }
    failing = 0;
    (void)unlink(path);
    *strrchr(path, '/') = '\0';
    assert_int_equal(rmdir(path), 0);
    (void)rmdir(folder);
}

int main(void)
{
    json_text_begin();
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_document_is_whole_or_not_there),
        cmocka_unit_test(a_truth_that_is_short_of_memory_is_not_malformed),
        cmocka_unit_test(settings_stay_where_they_are),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
