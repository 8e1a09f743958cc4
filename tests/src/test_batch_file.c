/*
 * Where a file's outputs go, what its row holds of a refused count, and the words of the
 * progress line.
 */
#include "tests/support.h"

#include "src/batch/meter.h"
#include "src/usecase/batch_file.h"
#include "src/usecase/batch_row.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static void assert_place(const char *path, const char *expected)
{
    char *const place = batch_file_place("out", path, ".svg");
    assert_string_equal(place, expected);
    free(place);
}

static void outputs_stay_under_their_folder(void **state)
{
    (void)state;
    assert_place("a/b.wav", "out/a/b.wav.svg");
    assert_place("/a//b.wav", "out/a/b.wav.svg");
    assert_place("./b.wav", "out/b.wav.svg");
    assert_place("../../etc/b.wav", "out/up/up/etc/b.wav.svg");
    assert_place("..b/...", "out/..b/....svg");
}

static void a_name_too_long_for_its_suffix_becomes_a_digest(void **state)
{
    (void)state;
    char a[256];
    char b[256];
    memset(a, 'x', sizeof a);
    a[255] = '\0';
    memcpy(b, a, sizeof b);
    b[254] = 'y';
    char *const of_a = batch_file_place("out", a, ".svg");
    char *const of_b = batch_file_place("out", b, ".svg");
    assert_true(strncmp(of_a, "out/long-name-", 14) == 0);
    assert_int_equal(strlen(of_a), 14 + 64 + 4);
    assert_string_not_equal(of_a, of_b);
    free(of_a);
    free(of_b);
}

static analysed *refused(void)
{
    analysed *const a = calloc(1, sizeof *a);
    assert_non_null(a);
    a->source = (count_source){.name = "a.wav", .duration_s = 60.0};
    a->count.heart.count.window = (fm_window){.start_s = -0.0, .end_s = 60.0};
    a->count.heart.count.status = FM_REFUSED;
    a->count.heart.count.reason = FM_REASON_FRICTION;
    a->count.heart.count.rate_per_min = 72.0;
    a->count.heart.count.n = 1;
    a->count.heart.n_s2 = 1;
    a->count.breath.count.status = FM_REFUSED;
    a->count.breath.count.n = 16;
    a->count.breath.count.n = 1;
    a->count.heart.count.quality.overall = 0.25;
    a->count.heart.count.quality.n_unusable = 1;
    a->count.heart.count.quality.unusable[0] = (fm_span){1.0, 2.0, FM_REASON_FRICTION};
    return a;
}

static void a_refused_count_shows_no_number_and_no_beat(void **state)
{
    (void)state;
    analysed *const a = refused();
    batch_row r;
    batch_row_fill(&r, a);
    assert_string_equal(r.row.field[ROW_STATUS], "refused");
    assert_string_equal(r.row.field[ROW_REASON_CODE], "friction");
    assert_string_equal(r.row.field[ROW_WINDOW_START_S], "0.000");
    assert_string_equal(r.row.field[ROW_BREATH_STATUS], "refused");
    assert_string_equal(r.row.field[ROW_QUALITY], "0.250");
    for (int i = ROW_BEATS; i <= ROW_PAUSES; i++) {
        assert_null(r.row.field[i]);
    }
    assert_null(r.row.field[ROW_BREATHS]);
    bytes marks = BYTES_NONE;
    batch_marks_add(a, &marks);
    assert_string_equal(marks.data, "1.000\t3.000\tfriction\t\n");
    bytes_free(&marks);
    free(a);
}

static void marks_stand_in_order_of_time(void **state)
{
    (void)state;
    analysed *const a = refused();
    a->count.heart.count.status = FM_COUNTED;
    a->count.heart.count.n = 2;
    a->count.heart.count.onsets_s[0] = 0.5;
    a->count.heart.count.onsets_s[1] = 2.5;
    a->count.heart.s1_sureness[0] = 0.75F;
    a->count.heart.s2_s[0] = 0.8;
    a->count.breath.pattern = FM_BREATH_PATTERN_WITH_PAUSES;
    a->count.breath.n_pauses = 2;
    a->count.breath.pauses[0] = (fm_breath_pause){2.75, 14.0};
    a->count.breath.pauses[1] = (fm_breath_pause){20.0, 31.0004};
    batch_row r;
    batch_row_fill(&r, a);
    assert_string_equal(r.row.field[ROW_BREATH_PATTERN], "with pauses");
    assert_string_equal(r.row.field[ROW_BREATH_FINDINGS],
                        "pause 2.750 14.000; pause 20.000 31.000");
    bytes marks = BYTES_NONE;
    batch_marks_add(a, &marks);
    assert_string_equal(marks.data, "0.500\t0.500\tS1\t0.75\n0.800\t0.800\tS2\t\n"
                                    "1.000\t3.000\tfriction\t\n2.500\t2.500\tS1\t0.00\n"
                                    "2.750\t14.000\tno breath\t\n20.000\t31.000\tno "
                                    "breath\t\n");
    bytes_free(&marks);
    free(a);
}

static bool no_room_for_marks;
void *__real_calloc(size_t n, size_t size);
void *__wrap_calloc(size_t n, size_t size);

void *__wrap_calloc(size_t n, size_t size)
{
    return no_room_for_marks && n > 2 * FM_BEATS_MAX && n < 4 * FM_BEATS_MAX
               ? NULL
               : __real_calloc(n, size);
}

static bool take_row(void *context, const row *r)
{
    (void)context;
    (void)r;
    return true;
}

/* A table of marks without a mark is not written as if there were none. */
static void without_memory_for_its_marks_a_file_is_not_done(void **state)
{
    (void)state;
    char folder[] = "/tmp/fullminute-marks-XXXXXX";
    char sound[512];
    batch_file_plan plan = {.request = analyse_request_default(NULL),
                            .marks = mkdtemp(folder)};
    const pool_emit emit = {NULL, take_row};
    app_err err = APP_ERR_NONE;
    (void)snprintf(sound, sizeof sound, "%s/steady-072.flac", RECORDINGS_DIR);
    no_room_for_marks = true;
    assert_int_not_equal(batch_file_count(&plan, sound, &emit, &err), POOL_FINE);
    no_room_for_marks = false;
    assert_int_equal(err.code, APP_FAILED);
    char *const place = batch_file_place(folder, sound, ".marks.tsv");
    assert_int_equal(access(place, F_OK), -1);
    free(place);
    char command[64];
    (void)snprintf(command, sizeof command, "rm -rf '%s'", folder);
    assert_int_equal(system(command),
                     0); /* NOLINT(cert-env33-c,concurrency-mt-unsafe) */
}

static void a_file_that_was_cut_says_so_beside_its_number(void **state)
{
    (void)state;
    analysed *const a = refused();
    a->count.heart.count.status = FM_COUNTED;
    a->count.heart.count.reason = FM_REASON_NONE;
    a->count.heart.count.n = 72;
    a->source.truncated = true;
    batch_row r;
    batch_row_fill(&r, a);
    assert_string_equal(r.row.field[ROW_STATUS], "counted");
    assert_string_equal(r.row.field[ROW_REASON_CODE], "truncated");
    assert_string_equal(r.row.field[ROW_BEATS], "72");
    free(a);
}

static void the_progress_line_says_rate_errors_and_time_left(void **state)
{
    (void)state;
    char text[160];
    meter m = {
        .files = 200, .bytes = 1000, .done_files = 12, .done_bytes = 125, .errors = 1};
    meter_format(&m, 10.0, text, sizeof text);
    assert_string_equal(text,
                        "12 of 200 files, 1.2 a second, 1 error, about 70 s left");
    meter_format(&m, 0.5, text, sizeof text); /* too early for a rate */
    assert_string_equal(text, "12 of 200 files, 1 error");
    m.bytes = 0;
    m.errors = 0;
    meter_format(&m, 1200.0, text, sizeof text);
    assert_string_equal(text,
                        "12 of 200 files, 0.01 a second, 0 errors, about 5.2 h left");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(outputs_stay_under_their_folder),
        cmocka_unit_test(a_name_too_long_for_its_suffix_becomes_a_digest),
        cmocka_unit_test(a_refused_count_shows_no_number_and_no_beat),
        cmocka_unit_test(marks_stand_in_order_of_time),
        cmocka_unit_test(without_memory_for_its_marks_a_file_is_not_done),
        cmocka_unit_test(a_file_that_was_cut_says_so_beside_its_number),
        cmocka_unit_test(the_progress_line_says_rate_errors_and_time_left),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
