/*
 * The sitting document, written and read.
 *   Source:    the contract fullminute.sitting/1 (DEVELOPERS.md).
 *   It says:   times lead back to whole samples; everything read is checked.
 *   Input:     documents in the test.
 *   Tolerance: none where samples are meant.
 */
#include "src/document/sitting_document.h"
#include "src/usecase/document_files.h"
#include "src/usecase/sitting_entries.h"

#include "../support.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

static sitting_document example(double rate_hz, int64_t start)
{
    sitting_document d = sitting_document_none();
    (void)strcpy(d.started_utc, "2026-01-02T03:04:05Z");
    d.rate_hz = rate_hz;
    d.gain_db = 6.0;
    d.checked = true;
    d.sealed = true;
    d.pulse.given = true;
    d.pulse.entered = 71;
    d.pulse.seconds = 60;
    (void)strcpy(d.pulse.entered_utc, "2026-01-02T03:06:05Z");
    const sitting_window w = {.kind = SITTING_PULSE,
                              .start_s = (double)start / rate_hz,
                              .end_s = (double)start / rate_hz + 60.0};
    const sitting_window b = {
        .kind = SITTING_BREATH, .start_s = w.end_s + 20.0, .end_s = w.end_s + 80.0};
    const sitting_gap g = {w.start_s + 1.0, 0.5, "stall"};
    assert_true(sitting_document_add_window(&d, &w));
    assert_true(sitting_document_add_window(&d, &b));
    assert_true(sitting_document_add_gap(&d, &g));
    for (int i = 0; i < 70; i++) {
        assert_true(sitting_document_add_tap(&d, w.start_s + 0.85 * i));
    }
    return d;
}

static void comes_back_whole(void **state)
{
    (void)state;
    static const double RATES_HZ[] = {4000.0, 44100.0, 48000.0, 192000.0};
    for (size_t i = 0; i < sizeof RATES_HZ / sizeof RATES_HZ[0]; i++) {
        const int64_t start = 1234567 + (int64_t)i;
        sitting_document d = example(RATES_HZ[i], start);
        sitting_document r;
        app_err err = APP_ERR_NONE;
        char *const text = sitting_document_format(&d);
        assert_non_null(text);
        assert_true(sitting_document_parse("it", text, strlen(text), &r, &err));
        const sitting_window *const w = sitting_document_window(&r, SITTING_PULSE);
        assert_non_null(w);
        assert_int_equal(llround(w->start_s * RATES_HZ[i]), start);
        assert_int_equal(llround(w->end_s * RATES_HZ[i]),
                         start + llround(60.0 * RATES_HZ[i]));
        assert_int_equal(r.n_taps, 70);
        assert_int_equal(r.n_gaps, 1);
        assert_string_equal(r.gaps[0].cause, "stall");
        assert_true(r.sealed && r.checked && r.pulse.given && !r.breath.given);
        assert_int_equal(r.pulse.entered, 71);
        assert_true(isnan(r.deficit_per_min));
        char *const again = sitting_document_format(&r);
        assert_string_equal(text, again);
        free(again);
        free(text);
        sitting_document_free(&d);
        sitting_document_free(&r);
    }
}

static void written_for_its_owner_only(void **state)
{
    (void)state;
    char path[] = "/tmp/sitting-XXXXXX";
    const int fd = mkstemp(path);
    assert_true(fd >= 0);
    (void)close(fd);
    assert_int_equal(chmod(path, 0644), 0);
    sitting_document d = example(4000.0, 8000);
    app_err err = APP_ERR_NONE;
    struct stat info;
    sitting_document r;
    assert_true(sitting_document_write(&d, path, &err));
    assert_int_equal(stat(path, &info), 0);
    assert_int_equal(info.st_mode & 0777, 0600);
    assert_true(sitting_document_read(path, &r, &err));
    assert_int_equal(r.n_windows, 2);
    sitting_document_free(&r);
    sitting_document_free(&d);
    (void)unlink(path);
    assert_false(sitting_document_read(path, &r, &err));
    assert_int_equal(err.code, APP_UNREADABLE);
}

static void a_lost_contact_and_its_answer_are_kept(void **state)
{
    (void)state;
    static const sitting_answer ANSWERS[] = {SITTING_NO_ANSWER, SITTING_YES,
                                             SITTING_NO};
    for (size_t i = 0; i < sizeof ANSWERS / sizeof ANSWERS[0]; i++) {
        sitting_document d = example(4000.0, 8000);
        sitting_document r;
        app_err err = APP_ERR_NONE;
        d.windows[0].lost_start_s = 25.0;
        d.windows[0].lost_length_s = 3.5;
        d.windows[0].moved = ANSWERS[i];
        char *const text = sitting_document_format(&d);
        assert_non_null(text);
        assert_true(sitting_document_parse("it", text, strlen(text), &r, &err));
        assert_within(r.windows[0].lost_start_s, 25.0, 1e-6);
        assert_within(r.windows[0].lost_length_s, 3.5, 1e-6);
        assert_int_equal(r.windows[0].moved, ANSWERS[i]);
        assert_within(r.windows[1].lost_length_s, 0.0, 0.0);
        free(text);
        sitting_document_free(&r);
        sitting_document_free(&d);
    }
}

static void a_minute_begun_anew_counts_as_the_last(void **state)
{
    (void)state;
    sitting_document d = example(4000.0, 8000);
    d.windows[0].set_aside = true;
    assert_null(sitting_document_window(&d, SITTING_PULSE));
    const sitting_window w = {.kind = SITTING_PULSE, .start_s = 200.0, .end_s = 260.0};
    assert_true(sitting_document_add_window(&d, &w));
    assert_within(sitting_document_window(&d, SITTING_PULSE)->start_s, 200.0, 0.0);
    assert_within(sitting_document_missing_s(&d, 3.25, 62.0), 0.25, 1e-9);
    sitting_document_free(&d);
}

#define HEAD "{\"schema\":\"fullminute.sitting/1\",\"sample_rate_hz\":4000"

static void what_is_wrong_is_named(void **state)
{
    (void)state;
    static const struct {
        const char *text, *says;
    } CASES[] = {
        {"[", "not JSON"},
        {"[]", "not one object"},
        {"{\"schema\":\"fullminute.sitting/2\"}", "schema"},
        {"{\"schema\":\"fullminute.sitting/1\"}", "sample_rate_hz"},
        {HEAD ",\"windows\":[{\"kind\":\"pulse\",\"start_s\":9,\"end_s\":1}]}",
         "empty"},
        {HEAD ",\"windows\":[{\"kind\":\"x\",\"start_s\":1,\"end_s\":9}]}", "kind"},
        {HEAD ",\"windows\":[{\"kind\":\"pulse\",\"start_s\":1,\"end_s\":90}]}",
         "longer"},
        {HEAD ",\"gaps\":[{\"start_s\":-1,\"length_s\":1}]}", "start_s"},
        {HEAD ",\"taps_s\":[2,1]}", "goes back"},
        {HEAD ",\"manual\":{\"pulse\":{\"entered\":0,\"seconds\":60}}}", "in range"},
        {HEAD ",\"manual\":{\"pulse\":{\"entered\":70,\"seconds\":61}}}", "seconds"},
    };
    for (size_t i = 0; i < sizeof CASES / sizeof CASES[0]; i++) {
        sitting_document d;
        app_err err = APP_ERR_NONE;
        assert_false(sitting_document_parse("it", CASES[i].text, strlen(CASES[i].text),
                                            &d, &err));
        assert_int_equal(err.code, APP_UNREADABLE);
        if (strstr(err.text, CASES[i].says) == NULL) {
            fail_msg("%s: no '%s' in: %s", CASES[i].text, CASES[i].says, err.text);
        }
    }
}

/* One or two fewer at the wrist can be an error of counting: no deficit is stored. */
static void a_deficit_is_stored_from_three_on(void **state)
{
    (void)state;
    const struct {
        int wrist;
        double deficit;
    } rows[] = {
        {71, 0.0}, {70, (double)NAN}, {69, (double)NAN}, {68, 3.0}, {72, (double)NAN}};
    for (size_t i = 0; i < sizeof rows / sizeof rows[0]; i++) {
        app_err err = APP_ERR_NONE;
        sitting_document d = example(4000.0, 40000);
        d.n_gaps = 0;
        const own_count wrist = own_count_of(rows[i].wrist);
        assert_true(sitting_entries_take(&d, TAKING_SECOND, &wrist, 60, &err));
        assert_int_equal(isnan(d.deficit_per_min), isnan(rows[i].deficit));
        if (!isnan(rows[i].deficit)) {
            assert_within(d.deficit_per_min, rows[i].deficit, 0.0);
        }
        sitting_document_free(&d);
    }
}

/* It is null in the document, never 0, and what was found beside it comes back. */
static void a_count_that_could_not_be_made_is_kept(void **state)
{
    (void)state;
    sitting_document d = example(4000.0, 8000);
    sitting_document r;
    app_err err = APP_ERR_NONE;
    own_count own = own_count_of(0);
    own.could_not = true;
    (void)strcpy(own.words.rhythm, "irregularly irregular");
    own.words.running[1] = 36;
    assert_true(sitting_entries_take(&d, TAKING_PULSE, &own, 60, &err));
    own_count breaths = own_count_of(14);
    (void)strcpy(breaths.words.rhythm, "with pauses");
    (void)strcpy(breaths.words.depth, "shallow");
    assert_true(sitting_entries_take(&d, TAKING_BREATH, &breaths, 60, &err));
    char *const text = sitting_document_format(&d);
    assert_non_null(strstr(text, "\"entered\": null"));
    assert_true(sitting_document_parse("it", text, strlen(text), &r, &err));
    assert_true(r.pulse.given && r.pulse.could_not && !r.breath.could_not);
    assert_int_equal(r.pulse.entered, 0);
    assert_string_equal(r.pulse.words.rhythm, "irregularly irregular");
    assert_int_equal(r.pulse.words.running[0], OWN_NOT_NOTED);
    assert_int_equal(r.pulse.words.running[1], 36);
    assert_int_equal(r.breath.entered, 14);
    assert_string_equal(r.breath.words.rhythm, "with pauses");
    assert_string_equal(r.breath.words.depth, "shallow");
    check_request request = check_request_default("r.wav");
    times taps;
    assert_true(sitting_entries_fill(&r, &request, &taps));
    assert_true(request.pulse.manual.could_not && request.pulse.asked);
    assert_int_equal(request.pulse.manual.entered, 0);
    assert_int_equal(request.pulse.words.running[1], 36);
    assert_false(request.breaths.manual.could_not);
    assert_string_equal(request.breaths.words.rhythm, "with pauses");
    times_free(&taps);
    own_count wrist = own_count_of(60); /* of two examiners one could not: no deficit */
    assert_true(sitting_entries_take(&r, TAKING_SECOND, &wrist, 60, &err));
    assert_true(isnan(r.deficit_per_min));
    own.words.running[2] = 30; /* fewer than at 30 s */
    assert_false(sitting_entries_take(&r, TAKING_PULSE, &own, 60, &err));
    free(text);
    sitting_document_free(&r);
    sitting_document_free(&d);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_count_that_could_not_be_made_is_kept),
        cmocka_unit_test(comes_back_whole),
        cmocka_unit_test(written_for_its_owner_only),
        cmocka_unit_test(a_lost_contact_and_its_answer_are_kept),
        cmocka_unit_test(a_minute_begun_anew_counts_as_the_last),
        cmocka_unit_test(a_deficit_is_stored_from_three_on),
        cmocka_unit_test(what_is_wrong_is_named),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
