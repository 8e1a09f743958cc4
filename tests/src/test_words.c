/*
 * The words of documents and options, and what they mean: every value of an enumeration has a
 * word of its own, and every reader takes that word back to the same value.
 *   Source:    the headers: a word for each value.
 *   Input:     all values, one after the other; words that no value has.
 *   Tolerance: none.
 */
#include "src/command/compose_options.h"
#include "src/document/sitting_document.h"
#include "src/document/truth_document.h"

#include "../support.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum {
    TEXT_BYTES = 2048
};

/* ---- Options of compose ---- */

static bool recipe_of(const char *name, const char *word, fm_recipe *out)
{
    char option[64];
    char value[64];
    char *argv[] = {option, value, NULL};
    options o;
    compose_files files;
    app_err err = APP_ERR_NONE;
    (void)snprintf(option, sizeof option, "--%s", name);
    (void)snprintf(value, sizeof value, "%s", word);
    if (!options_parse(compose_option_table, 2, argv, &o, &err)) {
        return false;
    }
    const bool ok = compose_options_recipe(&o, out, &files, &err);
    if (ok) {
        compose_files_free(&files);
    }
    return ok;
}

static int n_words(const char *name)
{
    for (const option_spec *s = compose_option_table; s->name != NULL; s++) {
        if (strcmp(s->name, name) == 0) {
            int n = 0;
            while (s->to.words[n].word != NULL) {
                n++;
            }
            return n;
        }
    }
    return -1;
}

static void compose_takes_every_word(void **state)
{
    (void)state;
    fm_recipe r;
    assert_int_equal(n_words("rhythm"), FM_COMPOSE_RHYTHM_COUNT);
    assert_int_equal(n_words("murmur"), FM_COMPOSE_MURMUR_COUNT);
    assert_int_equal(n_words("breathing"), FM_COMPOSE_BREATHING_COUNT);
    for (int k = 0; k < FM_COMPOSE_RHYTHM_COUNT; k++) {
        const char *const word = fm_compose_rhythm_word((fm_compose_rhythm)k);
        if (strcmp(word, "given") != 0) { /* wants a file beside it */
            assert_true(recipe_of("rhythm", word, &r));
            assert_int_equal(r.rhythm, k);
        }
    }
    for (int k = 0; k < FM_COMPOSE_MURMUR_COUNT; k++) {
        assert_true(
            recipe_of("murmur", fm_compose_murmur_word((fm_compose_murmur)k), &r));
        assert_int_equal(r.murmur, k);
    }
    for (int k = 0; k < FM_COMPOSE_BREATHING_COUNT; k++) {
        const char *const word = fm_compose_breathing_word((fm_compose_breathing)k);
        if (recipe_of("breathing", word, &r)) {
            assert_int_equal(r.breathing, k);
        } else {
            assert_string_equal(word, "given"); /* the same */
        }
    }
    for (int k = 0; k < FM_COMPOSE_NOISE_COUNT; k++) {
        assert_true(recipe_of("noise", fm_compose_noise_word((fm_compose_noise)k), &r));
        for (int i = 0; i < FM_COMPOSE_NOISE_COUNT; i++) {
            assert_int_equal(r.noise[i], i == k);
        }
    }
    assert_false(recipe_of("rhythm", "regular", &r));
    assert_false(recipe_of("murmur", "loud", &r));
    assert_false(recipe_of("noise", "white,grey", &r));
}

/* ---- The sitting's document ---- */

static void again(const sitting_document *d, sitting_document *out)
{
    app_err err = APP_ERR_NONE;
    char *const text = sitting_document_format(d);
    assert_non_null(text);
    assert_true(sitting_document_parse("it", text, strlen(text), out, &err));
    free(text);
}

static void a_sitting_keeps_every_word(void **state)
{
    (void)state;
    sitting_document d = sitting_document_none();
    sitting_document r;
    d.rate_hz = 4000.0;
    for (int k = 0; k < FM_SITE_COUNT; k++) {
        d.site = (fm_site)k;
        again(&d, &r);
        assert_int_equal(r.site, k);
        sitting_document_free(&r);
    }
    for (int k = 0; k < FM_CONVENTION_COUNT; k++) {
        d.convention = (fm_convention)k;
        again(&d, &r);
        assert_int_equal(r.convention, k);
        sitting_document_free(&r);
    }
    for (int k = 0; k < FM_BREATH_METHOD_COUNT; k++) {
        d.method = (fm_breath_method)k;
        again(&d, &r);
        assert_int_equal(r.method, k);
        sitting_document_free(&r);
    }
    sitting_document_free(&d);
}

/* ---- The truth ---- */

static bool truth_of(const char *pattern, const char *breathing, truth_document *d)
{
    char text[TEXT_BYTES];
    app_err err = APP_ERR_NONE;
    (void)snprintf(text, sizeof text,
                   "{\"schema\":\"fullminute.truth/"
                   "1\",\"s1_s\":[0.5,1.3,2.1],\"s2_s\":[],\"findings\":[],"
                   "\"duration_s\":3.0,\"sample_rate_hz\":4000,\"origin\":\"composed\","
                   "\"seed\":1,\"pattern\":\"%s\","
                   "\"breath_pattern\":\"%s\"}",
                   pattern, breathing);
    return truth_document_parse("it", text, strlen(text), d, &err);
}

static void a_truth_takes_every_word(void **state)
{
    (void)state;
    truth_document d;
    const char *const even = fm_breath_pattern_word((fm_breath_pattern)0);
    for (int k = 0; k < FM_PATTERN_COUNT; k++) {
        assert_true(truth_of(fm_pattern_word((fm_pattern)k), even, &d));
        assert_true(d.truth.pattern_known);
        assert_int_equal(d.truth.pattern, k);
        truth_document_free(&d);
    }
    for (int k = 0; k < FM_BREATH_PATTERN_COUNT; k++) {
        assert_true(
            truth_of("regular", fm_breath_pattern_word((fm_breath_pattern)k), &d));
        assert_true(d.truth.breathing_known);
        assert_int_equal(d.truth.breath_pattern, k);
        truth_document_free(&d);
    }
    assert_false(truth_of("Regular", even, &d));
    assert_false(truth_of("regular", "Even", &d));
}

/* ---- No word stands for two ---- */

static void all_differ(const char *const *words, int n)
{
    for (int i = 0; i < n; i++) {
        assert_true(words[i] != NULL && words[i][0] != '\0');
        for (int k = 0; k < i; k++) {
            assert_string_not_equal(words[i], words[k]);
        }
    }
}

#define ALL_DIFFER(word_of, type, count)                                               \
    do {                                                                               \
        const char *words[count];                                                      \
        for (int k = 0; k < (count); k++) {                                            \
            words[k] = word_of((type)k);                                               \
        }                                                                              \
        all_differ(words, count);                                                      \
    } while (0)

static void no_word_stands_for_two(void **state)
{
    (void)state;
    ALL_DIFFER(fm_verdict_word, fm_verdict, FM_VERDICT_COUNT);
    ALL_DIFFER(fm_convention_word, fm_convention, FM_CONVENTION_COUNT);
    ALL_DIFFER(fm_site_word, fm_site, FM_SITE_COUNT);
    ALL_DIFFER(fm_slip_word, fm_slip, FM_SLIP_COUNT);
    ALL_DIFFER(fm_no_verdict_word, fm_no_verdict, FM_NO_VERDICT_COUNT);
    ALL_DIFFER(fm_breath_method_word, fm_breath_method, FM_BREATH_METHOD_COUNT);
    ALL_DIFFER(fm_slip_word, fm_slip, FM_SLIP_COUNT);
    ALL_DIFFER(fm_interval_word, fm_interval_kind, FM_INTERVAL_KIND_COUNT);
    ALL_DIFFER(fm_pattern_word, fm_pattern, FM_PATTERN_COUNT);
    ALL_DIFFER(fm_finding_word, fm_finding_kind, FM_FINDING_KIND_COUNT);
    ALL_DIFFER(fm_cue_word, fm_cue, FM_CUE_COUNT);
    ALL_DIFFER(fm_breath_pattern_word, fm_breath_pattern, FM_BREATH_PATTERN_COUNT);
    ALL_DIFFER(fm_compose_rhythm_word, fm_compose_rhythm, FM_COMPOSE_RHYTHM_COUNT);
    ALL_DIFFER(fm_compose_noise_word, fm_compose_noise, FM_COMPOSE_NOISE_COUNT);
    ALL_DIFFER(fm_compose_murmur_word, fm_compose_murmur, FM_COMPOSE_MURMUR_COUNT);
    ALL_DIFFER(fm_compose_breathing_word, fm_compose_breathing,
               FM_COMPOSE_BREATHING_COUNT);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(compose_takes_every_word),
        cmocka_unit_test(a_sitting_keeps_every_word),
        cmocka_unit_test(a_truth_takes_every_word),
        cmocka_unit_test(no_word_stands_for_two),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
