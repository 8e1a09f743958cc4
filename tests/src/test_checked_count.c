#include "tests/support.h"

#include "src/document/truth_document.h"
#include "src/usecase/checked_count.h"
#include "src/usecase/document_files.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

/* A folder of our own, with links to one bundled recording. */
static char folder[64];
static app_err err;

static const char *path_of(const char *name)
{
    static char paths[4][256];
    static size_t next;
    char *const path = paths[next++ % 4];
    (void)snprintf(path, sizeof paths[0], "%s/%s", folder, name);
    return path;
}

static void write_text(const char *name, const char *text)
{
    FILE *const file = fopen(path_of(name), "w");
    assert_non_null(file);
    (void)fputs(text, file);
    assert_int_equal(fclose(file), 0);
}

static int make_folder(void **state)
{
    (void)state;
    (void)snprintf(folder, sizeof folder, "/tmp/fullminute-check-XXXXXX");
    if (mkdtemp(folder) == NULL ||
        symlink(RECORDINGS_DIR "/steady-072.flac", path_of("known.flac")) != 0 ||
        symlink(RECORDINGS_DIR "/steady-072.truth.json", path_of("known.truth.json")) !=
            0 ||
        symlink(RECORDINGS_DIR "/steady-072.flac", path_of("alone.flac")) != 0 ||
        symlink(RECORDINGS_DIR "/steady-072.flac", path_of("broken.flac")) != 0) {
        return -1;
    }
    write_text("broken.truth.json",
               "{\"schema\": \"fullminute.truth/1\", \"s1_s\": 4}");
    return 0;
}

static int remove_folder(void **state)
{
    (void)state;
    static const char *const names[] = {"known.flac", "known.truth.json",
                                        "alone.flac", "broken.flac",
                                        "taps.txt",   "broken.truth.json"};
    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++) {
        (void)unlink(path_of(names[i]));
    }
    return rmdir(folder);
}

/* Taps on the known beats of the first minute, but for two. */
static size_t write_taps(double lag_s, size_t missed_a, size_t missed_b)
{
    truth_document d = TRUTH_NONE;
    assert_true(truth_document_read(path_of("known.truth.json"), &d, &err));
    FILE *const file = fopen(path_of("taps.txt"), "w");
    assert_non_null(file);
    (void)fputs("# fullminute.taps/1\n", file);
    size_t n = 0;
    for (size_t i = 0; i < d.truth.n_s1 && d.truth.s1_s[i] < 60.0; i++) {
        if (i != missed_a && i != missed_b) {
            (void)fprintf(file, "%.3f\n", d.truth.s1_s[i] + lag_s);
            n++;
        }
    }
    assert_int_equal(fclose(file), 0);
    truth_document_free(&d);
    return n;
}

static checked_count *check(const char *name, int entered, const char *taps)
{
    check_request request = check_request_default(path_of(name));
    request.pulse.manual.entered = entered;
    request.pulse.taps_path = taps != NULL ? path_of(taps) : NULL;
    err = (app_err)APP_ERR_NONE;
    return checked_count_make(&request, &err);
}

static void a_truth_beside_the_recording_is_judged_against(void **state)
{
    (void)state;
    checked_count *const c = check("known.flac", 72, NULL);
    assert_non_null(c);
    const check_view *const v = checked_count_view(c);
    assert_true(v->comparison->against_truth);
    assert_int_equal(v->comparison->counted, 72);
    assert_int_equal(v->comparison->verdict, FM_VERDICT_AGREES);
    assert_null(v->taps);
    assert_true(v->known_pattern);
    assert_int_equal(v->pattern, FM_PATTERN_REGULAR);
    checked_count_free(c);
}

static void without_a_truth_the_device_is_judged_against(void **state)
{
    (void)state;
    checked_count *c = check("alone.flac", 72, NULL);
    assert_non_null(c);
    assert_false(checked_count_view(c)->comparison->against_truth);
    assert_int_equal(checked_count_view(c)->comparison->counted, 72);
    checked_count_free(c);
    check_request request = check_request_default(path_of("known.flac"));
    request.pulse.manual.entered = 72;
    request.use_truth = false;
    c = checked_count_make(&request, &err);
    assert_non_null(c);
    assert_false(checked_count_view(c)->comparison->against_truth);
    checked_count_free(c);
}

/* An annotated recording may know breaths only. */
static void a_truth_without_beats_is_no_judge(void **state)
{
    (void)state;
    write_text("alone.truth.json",
               "{\"schema\": \"fullminute.truth/1\", \"s1_s\": [], \"s2_s\": [], "
               "\"origin\": \"annotated\"}");
    checked_count *const c = check("alone.flac", 72, NULL);
    (void)unlink(path_of("alone.truth.json"));
    if (c == NULL) {
        fail_msg("%s", err.text);
    }
    assert_false(checked_count_view(c)->comparison->against_truth);
    checked_count_free(c);
}

static void taps_find_the_beats_left_out(void **state)
{
    (void)state;
    const size_t n = write_taps(0.06, 20, 50);
    checked_count *const c = check("known.flac", 70, "taps.txt");
    assert_non_null(c);
    const fm_taps *const taps = checked_count_view(c)->taps;
    assert_non_null(taps);
    assert_int_equal(taps->n_matched, n);
    assert_int_equal(taps->n_not_tapped, 2);
    assert_int_equal(taps->n_extra, 0);
    assert_within(taps->lag_s, 0.06, 0.002);
    checked_count_free(c);
}

static void taps_alone_are_the_count(void **state)
{
    (void)state;
    write_taps(0.0, 20, 50);
    checked_count *const c = check("known.flac", CHECK_BY_TAPS, "taps.txt");
    assert_non_null(c);
    assert_int_equal(checked_count_view(c)->comparison->manual.entered, 70);
    assert_true(checked_count_view(c)->counted_taps);
    checked_count_free(c);
    write_text("taps.txt", "# fullminute.taps/1\n75.0\n");
    assert_null(check("known.flac", CHECK_BY_TAPS, "taps.txt"));
    assert_int_equal(err.code, APP_USAGE);
    assert_non_null(strstr(err.text, "no tap"));
}

static void what_cannot_be_read_is_named(void **state)
{
    (void)state;
    assert_null(check("missing.flac", 72, NULL));
    assert_int_equal(err.code, APP_UNREADABLE);
    assert_null(check("known.flac", 72, "missing.txt"));
    assert_int_equal(err.code, APP_UNREADABLE);
    assert_non_null(strstr(err.text, "missing.txt"));
    write_text("taps.txt", "# fullminute.taps/1\nseventy\n");
    assert_null(check("known.flac", 72, "taps.txt"));
    assert_int_equal(err.code, APP_UNREADABLE);
    assert_non_null(strstr(err.text, "line 2"));
    assert_null(check("broken.flac", 72, NULL));
    assert_int_equal(err.code, APP_UNREADABLE);
    assert_non_null(strstr(err.text, "broken.truth.json"));
}

static void write_many_taps(int n)
{
    FILE *const file = fopen(path_of("taps.txt"), "w");
    assert_non_null(file);
    (void)fputs("# fullminute.taps/1\n", file);
    for (int i = 0; i < n; i++) {
        (void)fprintf(file, "%.3f\n", 0.1 * (double)i);
    }
    assert_int_equal(fclose(file), 0);
}

static void counts_no_heart_can_have_are_refused(void **state)
{
    (void)state;
    check_request request = check_request_default(path_of("known.flac"));
    request.pulse.manual.entered = 101;
    request.pulse.manual.seconds = 15;
    assert_null(checked_count_make(&request, &err));
    assert_int_equal(err.code, APP_USAGE);
    assert_non_null(strstr(err.text, "404"));
    request.pulse.manual.seconds = 60;
    request.pulse.taps_path = path_of("taps.txt");
    request.pulse.manual.entered = CHECK_BY_TAPS;
    write_many_taps(401);
    assert_null(checked_count_make(&request, &err));
    assert_int_equal(err.code, APP_UNREADABLE);
    assert_non_null(strstr(err.text, "401 taps in 60 s"));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_truth_beside_the_recording_is_judged_against),
        cmocka_unit_test(without_a_truth_the_device_is_judged_against),
        cmocka_unit_test(a_truth_without_beats_is_no_judge),
        cmocka_unit_test(taps_find_the_beats_left_out),
        cmocka_unit_test(taps_alone_are_the_count),
        cmocka_unit_test(what_cannot_be_read_is_named),
        cmocka_unit_test(counts_no_heart_can_have_are_refused),
    };
    return cmocka_run_group_tests_name("src.checked_count", tests, make_folder,
                                       remove_folder);
}
