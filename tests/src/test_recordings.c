/*
 * The recordings folder is what recipes.txt says.
 *   Input:     every line of recordings/recipes.txt, composed again here.
 *   It says:   each decoded sample of the FLAC file within 1 step of 16 bits; each time of
 *              the truth beside it within 1 ms; 65-75 s, 4 kHz, mono, under 8 MB together.
 */
#include "src/command/compose_options.h"
#include "src/document/truth_document.h"
#include "src/port/sound_file.h"
#include "src/usecase/document_files.h"

#include "../support.h"

#include <glob.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

static recipe_file recipes;

static int read_recipes(void **state)
{
    (void)state;
    app_err err = APP_ERR_NONE;
    if (!recipe_file_read(RECORDINGS_DIR "/recipes.txt", &recipes, &err)) {
        (void)fprintf(stderr, "%s\n", err.text);
        return -1;
    }
    return 0;
}

static int free_recipes(void **state)
{
    (void)state;
    recipe_file_free(&recipes);
    return 0;
}

static void check_sound(const char *path, const float *expected, size_t n)
{
    app_err err = APP_ERR_NONE;
    sound_file *const file = sound_file_open(path, &err);
    assert_non_null(file);
    const sound_info info = sound_file_info(file);
    assert_int_equal(info.channels, 1);
    assert_within(info.rate_hz, 4000.0, 0.0);
    float *const got = malloc((n + 1) * sizeof *got);
    assert_non_null(got);
    assert_int_equal(sound_file_read(file, got, n + 1), n);
    for (size_t i = 0; i < n; i++) {
        assert_within((double)got[i], (double)expected[i], 1.0 / 32768.0);
    }
    free(got);
    sound_file_close(file);
}

static void check_times(const double *a, size_t n_a, const double *b, size_t n_b)
{
    assert_int_equal(n_a, n_b);
    for (size_t i = 0; i < n_a; i++) {
        assert_within(a[i], b[i], 0.001);
    }
}

static void check_truth(const char *path, const fm_truth *expected)
{
    truth_document d;
    app_err err = APP_ERR_NONE;
    assert_true(truth_document_read(path, &d, &err));
    check_times(d.truth.s1_s, d.truth.n_s1, expected->s1_s, expected->n_s1);
    check_times(d.truth.s2_s, d.truth.n_s2, expected->s2_s, expected->n_s2);
    check_times(d.truth.breath_starts_s, d.truth.n_breaths, expected->breath_starts_s,
                expected->n_breaths);
    check_times(d.truth.radial_s, d.truth.n_radial, expected->radial_s,
                expected->n_radial);
    assert_int_equal(d.truth.pattern, expected->pattern);
    assert_string_equal(d.truth.repeat, expected->repeat);
    assert_int_equal(d.truth.n_findings, expected->n_findings);
    assert_within(d.truth.snr_db, expected->snr_db, 0.01);
    truth_document_free(&d);
}

static void check_line(size_t i)
{
    app_err err = APP_ERR_NONE;
    options o;
    fm_recipe r;
    compose_files files;
    assert_true(recipe_file_options(&recipes, i, &o, &err));
    assert_true(compose_options_recipe(&o, &r, &files, &err));
    assert_true(r.seconds >= 65.0 && r.seconds <= 75.0);
    const size_t n = fm_recipe_samples(&r);
    float *const x = malloc(n * sizeof *x);
    assert_non_null(x);
    fm_truth truth = {0};
    assert_int_equal(fm_compose(&r, x, n, &truth), FM_OK);
    char path[512];
    (void)snprintf(path, sizeof path, "%s/%s", RECORDINGS_DIR, recipes.line[i].word[0]);
    check_sound(path, x, n);
    char *const truth_path = truth_document_path(path);
    assert_non_null(truth_path);
    check_truth(truth_path, &truth);
    free(truth_path);
    free(x);
    fm_truth_free(&truth);
    compose_files_free(&files);
}

static void every_recording_is_its_recipe(void **state)
{
    (void)state;
    assert_true(recipes.n >= 16);
    for (size_t i = 0; i < recipes.n; i++) {
        check_line(i);
    }
}

/* Nothing lies there that no recipe makes, and together it stays small. */
static void nothing_else_lies_there(void **state)
{
    (void)state;
    glob_t found;
    assert_int_equal(glob(RECORDINGS_DIR "/*", 0, NULL, &found), 0);
    size_t sounds = 0;
    long long bytes = 0;
    for (size_t i = 0; i < found.gl_pathc; i++) {
        struct stat info;
        assert_int_equal(stat(found.gl_pathv[i], &info), 0);
        bytes += (long long)info.st_size;
        sounds += strstr(found.gl_pathv[i], ".flac") != NULL ? 1 : 0;
    }
    globfree(&found);
    assert_int_equal(sounds, recipes.n);
    assert_true(bytes < 10LL * 1000 * 1000);
}

static int in_first_minute(const double *times_s, size_t n)
{
    int inside = 0;
    for (size_t k = 0; k < n; k++) {
        inside += times_s[k] < 60.0 ? 1 : 0;
    }
    return inside;
}

/* README.md names every recording and its counts of the first minute: beats, and where
 * the recording is one for respirations those too. */
static void check_row(const char *text, const char *name, const fm_truth *t)
{
    const int length = (int)(strchr(name, '.') - name);
    const int beats = in_first_minute(t->s1_s, t->n_s1);
    char row[300];
    if (strstr(name, "breathing") != NULL || strstr(name, "expiration") != NULL) {
        (void)snprintf(row, sizeof row, "| %.*s | %d | %d", length, name, beats,
                       in_first_minute(t->breath_starts_s, t->n_breaths));
    } else {
        (void)snprintf(row, sizeof row, "| %.*s | %d", length, name, beats);
    }
    if (strstr(text, row) == NULL) {
        fail_msg("README.md has no '%s'", row);
    }
}

static void the_readme_gives_every_count(void **state)
{
    (void)state;
    FILE *const f = fopen(RECORDINGS_DIR "/README.md", "r");
    assert_non_null(f);
    char *const text = calloc(1, 65536);
    assert_non_null(text);
    assert_true(fread(text, 1, 65535, f) > 0);
    (void)fclose(f);
    for (size_t i = 0; i < recipes.n; i++) {
        char path[512];
        (void)snprintf(path, sizeof path, "%s/%s", RECORDINGS_DIR,
                       recipes.line[i].word[0]);
        char *const truth_path = truth_document_path(path);
        truth_document d;
        app_err err = APP_ERR_NONE;
        assert_true(truth_document_read(truth_path, &d, &err));
        check_row(text, recipes.line[i].word[0], &d.truth);
        truth_document_free(&d);
        free(truth_path);
    }
    free(text);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_recording_is_its_recipe),
        cmocka_unit_test(nothing_else_lies_there),
        cmocka_unit_test(the_readme_gives_every_count),
    };
    return cmocka_run_group_tests(tests, read_recipes, free_recipes);
}
