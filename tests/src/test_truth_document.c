/*
 * The truth document, written and read.
 *   Source:    the contract fullminute.truth/1 (DEVELOPERS.md).
 *   It says:   times to 1 ms, null for what is not known, everything read is checked.
 *   Input:     composed here; documents in the test.
 *   Tolerance: 0.5 ms for times (rounding), 0.005 dB for SNR.
 */
#include "src/document/truth_document.h"
#include "src/usecase/document_files.h"

#include "../support.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

/* A composed truth with something in every member. */
static truth_document example(void)
{
    truth_document d = TRUTH_NONE;
    fm_recipe r = fm_recipe_default();
    r.rhythm = FM_COMPOSE_PREMATURE;
    r.seconds = 65.0;
    r.rate_hz = 2000.0;
    r.seed = 77;
    r.breathing = FM_COMPOSE_PAUSED_BREATHING;
    r.breath_pause_s = 12.0;
    r.lost_start_s = 30.0;
    r.lost_length_s = 2.0;
    r.noise[FM_COMPOSE_PINK] = true;
    const size_t n = fm_recipe_samples(&r);
    float *const x = malloc(n * sizeof *x);
    assert_non_null(x);
    assert_int_equal(fm_compose(&r, x, n, &d.truth), FM_OK);
    free(x);
    (void)strcpy(d.licence, "MIT");
    (void)strcpy(d.recipe, "--rhythm premature --seed 77");
    return d;
}

static void assert_same_times(const double *a, size_t n_a, const double *b, size_t n_b)
{
    assert_int_equal(n_a, n_b);
    for (size_t i = 0; i < n_a; i++) {
        assert_within(a[i], b[i], 0.0005 + 1e-9);
    }
}

static void what_is_written_is_read_back(void **state)
{
    (void)state;
    truth_document d = example();
    char *const text = truth_document_format(&d);
    assert_non_null(text);
    assert_int_equal(text[strlen(text) - 1], '\n');
    truth_document back;
    app_err err = APP_ERR_NONE;
    assert_true(truth_document_parse("text", text, strlen(text), &back, &err));
    const fm_truth *const a = &d.truth;
    const fm_truth *const b = &back.truth;
    assert_same_times(a->s1_s, a->n_s1, b->s1_s, b->n_s1);
    assert_same_times(a->s2_s, a->n_s2, b->s2_s, b->n_s2);
    assert_same_times(a->radial_s, a->n_radial, b->radial_s, b->n_radial);
    assert_same_times(a->breath_starts_s, a->n_breaths, b->breath_starts_s,
                      b->n_breaths);
    assert_true(b->breathing_known);
    assert_int_equal(b->breath_pattern, FM_BREATH_PATTERN_WITH_PAUSES);
    assert_int_equal(b->n_breath_pauses, 1);
    assert_within(b->breath_pauses[0].start_s, a->breath_pauses[0].start_s, 0.00051);
    assert_within(b->breath_pauses[0].end_s, a->breath_pauses[0].end_s, 0.00051);
    assert_true(a->n_inaudible_s1 >= 2);
    assert_int_equal(a->n_inaudible_s1, b->n_inaudible_s1);
    assert_memory_equal(a->inaudible_s1, b->inaudible_s1,
                        a->n_inaudible_s1 * sizeof(size_t));
    assert_true(b->pattern_known && b->has_radial && back.composed);
    assert_int_equal(a->pattern, b->pattern);
    assert_string_equal(a->repeat, b->repeat);
    assert_int_equal(b->n_findings, 1);
    assert_int_equal(b->findings[0].kind, FM_FINDING_EARLY_BEATS);
    assert_int_equal(b->findings[0].count, a->findings[0].count);
    assert_same_times(a->findings[0].times_s, a->findings[0].count,
                      b->findings[0].times_s, b->findings[0].count);
    assert_within(b->snr_db, a->snr_db, 0.005);
    assert_within(b->duration_s, 65.0, 0.0);
    assert_within(b->rate_hz, 2000.0, 0.0);
    assert_true(b->seed == 77);
    assert_string_equal(back.licence, "MIT");
    assert_string_equal(back.recipe, d.recipe);
    free(text);
    truth_document_free(&d);
    truth_document_free(&back);
}

static void the_contract_members_are_there(void **state)
{
    (void)state;
    truth_document d = example();
    json_t *const j = truth_document_build(&d);
    assert_non_null(j);
    const char *const members[] = {
        "schema",         "s1_s",    "s2_s",     "inaudible_s1", "breath_starts_s",
        "radial_s",       "pattern", "findings", "snr_db",       "seed",
        "sample_rate_hz", "origin",  "licence"};
    for (size_t i = 0; i < sizeof members / sizeof members[0]; i++) {
        assert_non_null(json_object_get(j, members[i]));
    }
    assert_string_equal(json_string_value(json_object_get(j, "schema")),
                        "fullminute.truth/1");
    assert_string_equal(json_string_value(json_object_get(j, "origin")), "composed");
    json_decref(j);
    truth_document_free(&d);
}

static void what_is_not_known_is_null(void **state)
{
    (void)state;
    truth_document d = TRUTH_NONE;
    d.composed = false;
    d.truth.snr_db = (double)NAN;
    d.truth.rate_hz = (double)NAN;
    json_t *const j = truth_document_build(&d);
    assert_non_null(j);
    const char *const members[] = {"radial_s", "pattern",        "snr_db",
                                   "seed",     "sample_rate_hz", "licence"};
    for (size_t i = 0; i < sizeof members / sizeof members[0]; i++) {
        assert_true(json_is_null(json_object_get(j, members[i])));
    }
    json_decref(j);
    truth_document_free(&d);
}

static void annotated_documents_may_lack_what_is_ours(void **state)
{
    (void)state;
    const char text[] = "{\"schema\":\"fullminute.truth/1\",\"s1_s\":[0.5,1.25],"
                        "\"s2_s\":[],\"origin\":\"annotated\",\"pattern\":null}";
    truth_document d;
    app_err err = APP_ERR_NONE;
    assert_true(truth_document_parse("text", text, strlen(text), &d, &err));
    assert_false(d.composed);
    assert_false(d.truth.pattern_known);
    assert_false(d.truth.has_radial);
    assert_true(isnan(d.truth.snr_db) && isnan(d.truth.duration_s));
    assert_int_equal(d.truth.n_s1, 2);
    assert_within(d.truth.s1_s[1], 1.25, 0.0);
    truth_document_free(&d);
}

#define HEAD "{\"schema\":\"fullminute.truth/1\",\"s1_s\":[1,2],\"s2_s\":[],"
#define TAIL "\"origin\":\"composed\"}"

static void bad_documents_are_named_and_refused(void **state)
{
    (void)state;
    struct {
        const char *text;
        const char *word; /* stands in the error */
    } const rows[] = {
        {"", "line"},
        {"[]", "one object"},
        {"{", "line 1"},
        {"{\"schema\": \"fullminute.count/1\"}", "schema"},
        {"{\"schema\":\"fullminute.truth/1\",\"s2_s\":[],\"origin\":\"composed\"}",
         "s1_s"},
        {"{\"schema\":\"fullminute.truth/1\",\"s1_s\":[2,1],\"s2_s\":[],"
         "\"origin\":\"composed\"}",
         "s1_s"},
        {"{\"schema\":\"fullminute.truth/1\",\"s1_s\":[-1],\"s2_s\":[],"
         "\"origin\":\"composed\"}",
         "s1_s"},
        {"{\"schema\":\"fullminute.truth/1\",\"s1_s\":[\"1\"],\"s2_s\":[],"
         "\"origin\":\"composed\"}",
         "s1_s"},
        {HEAD "\"inaudible_s1\":[2]," TAIL, "inaudible_s1"},
        {"{\"schema\":\"fullminute.truth/1\",\"s1_s\":[1,1],\"s2_s\":[],"
         "\"origin\":\"composed\"}",
         "0.1 s apart"}, /* one beat twice would be two */
        {"{\"schema\":\"fullminute.truth/1\",\"s1_s\":[1,1.05],\"s2_s\":[],"
         "\"origin\":\"composed\"}",
         "0.1 s apart"},
        {HEAD "\"inaudible_s1\":[1,1]," TAIL, "twice"},
        {HEAD "\"inaudible_s1\":[1,0]," TAIL, "goes back"},
        {HEAD "\"inaudible_s1\":[0.5]," TAIL, "inaudible_s1"},
        {HEAD "\"pattern\":\"odd\"," TAIL, "pattern"},
        {HEAD "\"findings\":[{\"kind\":\"odd\",\"count\":1,\"times_s\":[]}]," TAIL,
         "findings"},
        {HEAD "\"findings\":[{\"kind\":\"pauses\",\"count\":0,\"times_s\":[1]}]," TAIL,
         "findings"},
        {HEAD "\"findings\":[{\"kind\":\"pauses\",\"count\":2,\"times_s\":[1]}]," TAIL,
         "findings"},
        {HEAD "\"breath_pattern\":\"odd\"," TAIL, "breath_pattern"},
        {HEAD "\"breath_findings\":{}," TAIL, "breath_findings"},
        {HEAD
         "\"breath_findings\":[{\"kind\":\"odd\",\"start_s\":1,\"end_s\":20}]," TAIL,
         "breath_findings"},
        {HEAD
         "\"breath_findings\":[{\"kind\":\"pause\",\"start_s\":9,\"end_s\":9}]," TAIL,
         "breath_findings"},
        {HEAD "\"breath_findings\":[{\"kind\":\"pause\",\"start_s\":9}]," TAIL,
         "breath_findings"},
        {HEAD "\"snr_db\":1e300," TAIL, "snr_db"},
        {HEAD "\"breath_starts_s\":[1e300]," TAIL, "breath_starts_s"},
        {HEAD "\"seed\":-1," TAIL, "seed"},
        {HEAD "\"snr_db\":\"loud\"," TAIL, "snr_db"},
        {HEAD "\"repeat\":\"much longer than a repeat\"," TAIL, "repeat"},
        {HEAD "\"origin\":\"guessed\"}", "origin"},
        {HEAD "\"s2_s\":[]," TAIL, "line 1"}, /* a member twice */
    };
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        truth_document d;
        app_err err = APP_ERR_NONE;
        assert_false(
            truth_document_parse("text", rows[i].text, strlen(rows[i].text), &d, &err));
        assert_int_equal(err.code, APP_UNREADABLE);
        assert_non_null(strstr(err.text, rows[i].word));
        assert_non_null(strstr(err.text, "text"));
        assert_null(d.truth.s1_s);
    }
    truth_document d;
    app_err err = APP_ERR_NONE;
    assert_false(truth_document_read("no-such-folder/x.truth.json", &d, &err));
    assert_int_equal(err.code, APP_UNREADABLE);
}

/* Nobody writes to that pipe: a reader that opens it waits for ever. */
static void a_pipe_in_its_place_is_refused_and_not_waited_for(void **state)
{
    (void)state;
    char folder[] = "/tmp/fullminute-test-XXXXXX";
    assert_non_null(mkdtemp(folder));
    char path[64];
    (void)snprintf(path, sizeof path, "%s/a.truth.json", folder);
    assert_int_equal(mkfifo(path, 0600), 0);
    truth_document d;
    app_err err = APP_ERR_NONE;
    (void)alarm(20); /* ends the test where it would wait */
    const bool ok = truth_document_read(path, &d, &err);
    (void)alarm(0);
    assert_int_equal(unlink(path), 0);
    assert_int_equal(rmdir(folder), 0);
    assert_false(ok);
    assert_int_equal(err.code, APP_UNREADABLE);
    assert_non_null(strstr(err.text, "no ordinary file"));
    assert_null(d.truth.s1_s);
}

/* Cut anywhere, a document is refused, never half read. */
static void a_cut_document_is_refused_at_every_length(void **state)
{
    (void)state;
    truth_document d = example();
    char *const text = truth_document_format(&d);
    assert_non_null(text);
    const size_t whole = strlen(text) - 1; /* without the line end */
    for (size_t n = 0; n < whole; n += 7) {
        truth_document back;
        app_err err = APP_ERR_NONE;
        assert_false(truth_document_parse("text", text, n, &back, &err));
    }
    free(text);
    truth_document_free(&d);
}

static void the_path_takes_the_place_of_the_extension(void **state)
{
    (void)state;
    const char *const rows[][2] = {{"a.flac", "a.truth.json"},
                                   {"b/c.d/e.wav", "b/c.d/e.truth.json"},
                                   {"b.c/e", "b.c/e.truth.json"},
                                   {"two.dots.flac", "two.dots.truth.json"},
                                   {"b/.hidden", "b/.hidden.truth.json"}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        char *const path = truth_document_path(rows[i][0]);
        assert_string_equal(path, rows[i][1]);
        free(path);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(what_is_written_is_read_back),
        cmocka_unit_test(the_contract_members_are_there),
        cmocka_unit_test(what_is_not_known_is_null),
        cmocka_unit_test(annotated_documents_may_lack_what_is_ours),
        cmocka_unit_test(bad_documents_are_named_and_refused),
        cmocka_unit_test(a_pipe_in_its_place_is_refused_and_not_waited_for),
        cmocka_unit_test(a_cut_document_is_refused_at_every_length),
        cmocka_unit_test(the_path_takes_the_place_of_the_extension),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
