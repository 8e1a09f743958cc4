/* A summary of rows: gathered from files, compared with a truth, laid out. */
#include "src/picture/chart_plots.h"
#include "src/usecase/summarise.h"
#include "src/usecase/summary_truth.h"
#include "src/words/summary_text.h"

#include "tests/support.h"

#include <jansson.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static char folder[] = "/tmp/fullminute-summary-XXXXXX";
static char path_of[2][64];

/* Writes text as a file of the test's folder; the path is good until the next but one. */
static const char *file_with(const char *name, const char *text)
{
    static int turn;
    char *const path = path_of[turn++ % 2];
    (void)snprintf(path, sizeof path_of[0], "%s/%s", folder, name);
    FILE *const f = fopen(path, "wb");
    assert_non_null(f);
    assert_true(fputs(text, f) >= 0);
    assert_int_equal(fclose(f), 0);
    return path;
}

#define COLUMNS                                                                        \
    "file,status,reason_code,reason,window_start_s,window_s,duration_s,rate_bpm,"      \
    "confidence,pattern,early,pauses,breath_status,breath_rate_per_min,quality"
#define HEAD       COLUMNS "\n"
#define LATER_HEAD COLUMNS ",breath_pattern,breath_findings\n" /* added in 2026-11 */

static const char ROWS[] = LATER_HEAD
    "a.wav,counted,,,0,60,70,72,0.99,regular,0,0,counted,15,0.9,even,\n"
    "dir/b.wav,counted,,,0,60,150,80,0.98,occasionally "
    "irregular,3,0,caution,16,0.8,with pauses,pause 27.5 41.5\n"
    "\"c,\"\"x\"\".wav\",caution,rate_ambiguous,why,0,60,60,55,0.6,regular,0,1,"
    "refused,,0.5,undetermined,\n"
    "d.wav,refused,friction,why,0,60,60,,,,,,refused,,0.2,undetermined,pause 3 14; "
    "pause 20 31\n"
    "e.wav,error,unreadable,no sound file,,,,,,,,,,,,,\n"
    "f.wav,counted,,,0,60,120,90,0.97,regular,0,0,counted,20,0.9,even,\n"
    "f.wav,counted,,,60,60,120,91,0.97,regular,0,0,counted,21,0.9,waxing and waning,\n";

static void gather(const char *rows, const char *truth, summary *s)
{
    const char *const paths[] = {rows};
    const summarise_request r = {.paths = paths, .n_paths = 1, .truth = truth};
    app_err err = APP_ERR_NONE;
    if (!summarise(&r, s, &err)) {
        fail_msg("%s", err.text);
    }
}

static void rows_are_gathered(void **state)
{
    (void)state;
    summary s;
    gather(file_with("rows.csv", ROWS), NULL, &s);
    assert_int_equal(s.n_rows, 7);
    assert_int_equal(s.n_files, 6);
    assert_int_equal(s.by_status[0], 4);
    assert_int_equal(s.by_status[1], 1);
    assert_int_equal(s.by_status[2], 1);
    assert_int_equal(s.by_status[3], 1);
    assert_within(s.counted_hours, 6.0 / 60.0, 1e-12);
    assert_within(s.sound_hours, (70.0 + 150.0 + 60.0 + 60.0 + 120.0) / 3600.0, 1e-12);
    assert_int_equal(s.refused[FM_REASON_FRICTION], 1);
    assert_int_equal(s.doubted[FM_REASON_RATE_AMBIGUOUS], 1);
    assert_int_equal(s.patterns[FM_PATTERN_REGULAR], 4);
    assert_int_equal(s.patterns[FM_PATTERN_OCCASIONALLY_IRREGULAR], 1);
    assert_int_equal(s.with_early, 1);
    assert_int_equal(s.with_pauses, 1);
    assert_int_equal(s.rate_bpm.n, 5);
    assert_within(s.rate_bpm.value[0], 55.0, 0.0);
    assert_within(s.rate_bpm.value[4], 91.0, 0.0);
    assert_int_equal(s.quality.n, 6);
    assert_int_equal(s.breath_per_min.n, 4);
    assert_int_equal(s.breath_by_status[2], 2);
    assert_int_equal(s.breath_patterns[FM_BREATH_PATTERN_EVEN], 2);
    assert_int_equal(s.breath_patterns[FM_BREATH_PATTERN_WAXING], 1);
    assert_int_equal(s.breath_patterns[FM_BREATH_PATTERN_UNDETERMINED], 2);
    assert_int_equal(s.with_breath_pause, 2);
    char *const words = summary_text_format(&s);
    assert_non_null(words);
    assert_non_null(strstr(words, "with pauses"));
    assert_non_null(strstr(words, "no breath, 10 s and more"));
    free(words);
    char *const document = summary_document_format(&s);
    assert_non_null(document);
    assert_non_null(strstr(document, "\"breath_patterns\": {\"undetermined\": 2, "
                                     "\"even\": 2, \"uneven\": 0, \"with pauses\": 1, "
                                     "\"waxing and waning\": 1}, "
                                     "\"rows_with_breath_pause\": 2"));
    free(document);
    assert_int_equal(s.n_errors_named, 1);
    assert_string_equal(s.errors[0].file, "e.wav");
    assert_false(s.has_truth);
    summary_free(&s);
}

/* JSON Lines of the same rows come to the same. */
static void json_lines_come_to_the_same(void **state)
{
    (void)state;
    summary s;
    gather(file_with("rows.jsonl",
                     "{\"file\": \"a.wav\", \"status\": \"counted\", \"window_s\": 60, "
                     "\"rate_bpm\": 72.5, \"quality\": null}\n"
                     "{\"file\": \"b.wav\", \"status\": \"refused\", \"reason_code\": "
                     "\"from_the_future\"}\n"),
           NULL, &s);
    assert_int_equal(s.n_rows, 2);
    assert_within(s.rate_bpm.value[0], 72.5, 0.0);
    assert_int_equal(s.quality.n, 0);
    assert_int_equal(s.refused[SUMMARY_OTHER_REASON], 1);
    summary_free(&s);
}

/* Worked by hand: differences 1, 5, -2 and 0 of those with a number. */
static void a_truth_of_csv_is_found_by_name_and_window(void **state)
{
    (void)state;
    summary s;
    const char *const truth =
        file_with("truth.csv", "rate_bpm,file,window_start_s,pattern\n"
                               "71,a.wav,,regular\r\n"
                               "75,/elsewhere/b.wav,,regular\n"
                               "57,\"c,\"\"x\"\".wav\",,\n"
                               "60,d.wav,,\n"
                               "1,f.wav,5,\n"
                               "91,f.wav,60,irregularly irregular\n");
    gather(file_with("rows.csv", ROWS), truth, &s);
    assert_int_equal(s.rate.agreement.n, 4);
    assert_within(s.rate.agreement.bias, (1.0 + 5.0 - 2.0 + 0.0) / 4.0, 1e-12);
    assert_int_equal(s.rate.agreement.within[0], 2);
    assert_int_equal(s.rate.agreement.within[1], 3);
    assert_int_equal(s.rate.agreement.within[2], 3);
    assert_int_equal(s.counted_wrong, 1);
    assert_int_equal(s.truth_by_status[0], 3);
    assert_int_equal(s.truth_by_status[1], 1);
    assert_int_equal(s.truth_by_status[2], 1);
    assert_int_equal(s.without_truth, 1); /* the first window of f.wav */
    assert_int_equal(s.pattern_known, 3);
    assert_int_equal(s.pattern_right, 1);
    assert_int_equal(s.n_worst, 2);
    assert_string_equal(s.worst[0].file, "dir/b.wav");
    assert_within(s.worst[1].truth_per_min, 57.0, 0.0);
    /* Forecasts: .99 right, .98 wrong, .6 right, .97 right. */
    const double brier = (0.01 * 0.01 + 0.98 * 0.98 + 0.4 * 0.4 + 0.03 * 0.03) / 4.0;
    assert_within(s.calibration.brier, brier, 1e-12);
    summary_free(&s);
}

/* A document's respirations are those of the minute in which the batch counted. */
static void a_document_speaks_of_the_windows_of_the_row(void **state)
{
    (void)state;
    char text[8192] = "{\"schema\":\"fullminute.truth/1\",\"s1_s\":[";
    char *at = text + strlen(text);
    for (int i = 0; i < 150; i++) {
        at += sprintf(at, "%s%.3f", i > 0 ? "," : "", 0.5 + (double)i);
    }
    at += sprintf(at, "],\"s2_s\":[],\"inaudible_s1\":[],\"breath_starts_s\":[");
    /* 10 in the first minute, 20 in the second */
    for (int i = 0; i < 30; i++) {
        at += sprintf(at, "%s%.3f", i > 0 ? "," : "",
                      i < 10 ? 1.0 + 6.0 * i : 61.0 + 3.0 * (i - 10));
    }
    (void)sprintf(at, "],\"radial_s\":null,\"pattern\":\"regular\",\"findings\":[],"
                      "\"snr_db\":20,\"seed\":1,\"sample_rate_hz\":4000,"
                      "\"origin\":\"composed\",\"licence\":\"MIT\"}");
    (void)file_with("b.truth.json", text);
    summary s;
    gather(file_with("rows.csv", ROWS), folder, &s);
    assert_int_equal(s.rate.agreement.n, 1);
    assert_within(s.rate.truth.value[0], 60.0, 0.0);
    assert_int_equal(s.breath.agreement.n, 1);
    assert_within(s.breath.truth.value[0], 20.0, 0.0);
    assert_int_equal(s.without_truth, 5);
    summary_free(&s);
    const char *const paths[] = {file_with("rows.csv", ROWS)};
    const summarise_request same = {paths, 1, folder, true};
    assert_true(summarise(&same, &s, NULL));
    assert_within(s.breath.truth.value[0], 10.0, 0.0);
    summary_free(&s);
    /* Thirty seconds: by the intervals between first and last, here one second each. */
    app_err err = APP_ERR_NONE;
    summary_truth *const t = summary_truth_open(folder, &err);
    const truth_window half = {10.0, 30.0, 10.0, 30.0};
    truth_said said;
    assert_true(summary_truth_find(t, "anywhere/b.wav", &half, &said, &err));
    assert_within(said.rate_bpm, 60.0, 1e-9);
    assert_within(said.breath_per_min, 10.0, 1e-9);
    assert_false(said.pattern_known);
    summary_truth_close(t);
}

static void assert_refused(const char *rows, const char *truth, const char *word)
{
    const char *const paths[] = {rows};
    const summarise_request r = {.paths = paths, .n_paths = 1, .truth = truth};
    summary s;
    app_err err = APP_ERR_NONE;
    assert_false(summarise(&r, &s, &err));
    assert_int_equal(err.code, APP_UNREADABLE);
    if (strstr(err.text, word) == NULL) {
        fail_msg("'%s' does not say '%s'", err.text, word);
    }
}

static void what_cannot_be_read_is_named(void **state)
{
    (void)state;
    static const struct {
        const char *text;
        const char *word;
    } bad[] = {
        {"", "empty"},
        {"file,beats\na.wav,3\n", "rate_bpm"},
        /*    ^ a column that is needed */
        {"file,rate_bpm\na.wav,seventy\n", "record 2"},
        /*                     ^ */
        {"file,rate_bpm\na.wav,-7\n", "record 2"},
        {"file,rate_bpm\na.wav,72\nb.wav\n", "record 3"},
        /*                              ^ */
        {"file,rate_bpm\n\"a.wav,72\n", "record 2"},
        {"file,pattern\na.wav,jumpy\n", "record 2"},
    };
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
        assert_refused(file_with("rows.csv", ROWS), file_with("bad.csv", bad[i].text),
                       bad[i].word);
    }
    assert_refused(file_with("rows.csv", ROWS), "/nowhere/truth.csv", "truth.csv");
    assert_refused("/nowhere/rows.csv", NULL, "rows.csv");
    assert_refused(file_with("bad.csv", "name,colour\nx,y\n"), NULL, "file");
    (void)file_with("a.truth.json", "{\"schema\": 3}");
    assert_refused(file_with("rows.csv", ROWS), folder, "a.truth.json");
}

static void bins_hold_every_value(void **state)
{
    (void)state;
    double v[] = {0.0, 0.05, 0.15, 0.3, 0.95, 1.0};
    const summary_series shares = {v, 6, 6};
    const summary_bins b = summary_bins_of(&shares, 0.05, 1.0);
    assert_int_equal(b.n, 20);
    assert_int_equal(b.count[0], 1);
    assert_int_equal(b.count[1], 1);
    assert_int_equal(b.count[3], 1);
    assert_int_equal(b.count[6], 1);
    assert_int_equal(b.count[19], 2);
    double wide[] = {30.0, 30.0, 59.9, 60.0, 1000.0};
    const summary_series rates = {wide, 5, 5};
    const summary_bins w = summary_bins_of(&rates, 10.0, (double)INFINITY);
    assert_true(w.n <= SUMMARY_BINS && w.step > 10.0);
    size_t all = 0;
    for (size_t i = 0; i < w.n; i++) {
        all += w.count[i];
    }
    assert_int_equal(all, 5);
    const summary_series none = {NULL, 0, 0};
    assert_int_equal(summary_bins_of(&none, 10.0, (double)INFINITY).n, 0);
}

static void a_page_escapes_names_and_stands_alone(void **state)
{
    (void)state;
    summary s;
    gather(file_with("rows.csv", HEAD "<b>&.wav,error,,<script>bad,,,,,,,,,,,\n"
                                      "a.wav,counted,,,0,60,60,72,0.9,regular,0,0,"
                                      "counted,15,0.9\n"),
           NULL, &s);
    size_t n = 0;
    char *const page = summary_page_format(&s, "rows <1>", &n);
    assert_non_null(page);
    assert_int_equal(strlen(page), n);
    assert_non_null(strstr(page, "&lt;b&gt;&amp;.wav: &lt;script&gt;bad"));
    assert_non_null(strstr(page, "<h1>Summary of rows &lt;1&gt;</h1>"));
    assert_null(strstr(page, "<script"));
    assert_null(strstr(page, "src="));
    assert_null(strstr(page, "href="));
    assert_non_null(strstr(page, "from 70 to under 80: 1."));
    free(page);
    summary_free(&s);
}

static void nothing_one_and_unknown_are_laid_out(void **state)
{
    (void)state;
    summary s;
    gather(file_with("rows.csv", HEAD), NULL, &s);
    assert_int_equal(s.n_rows, 0);
    char *text = summary_text_format(&s);
    assert_non_null(strstr(text, "counted                      0 of 0"));
    assert_null(strstr(text, "nan"));
    free(text);
    text = summary_document_format(&s);
    json_t *const document = json_loads(text, 0, NULL);
    assert_non_null(document);
    assert_string_equal(json_string_value(json_object_get(document, "schema")),
                        "fullminute.summary/1");
    assert_true(
        json_is_null(json_object_get(json_object_get(document, "rate_bpm"), "median")));
    assert_true(json_is_null(json_object_get(document, "truth")));
    json_decref(document);
    free(text);
    summary_free(&s);
    gather(file_with("rows.csv", ROWS),
           file_with("truth.csv", "file,rate_bpm\na.wav,70\n"), &s);
    text = summary_text_format(&s);
    assert_non_null(strstr(text, "difference                   2.00 per minute"));
    assert_null(strstr(text, "nan"));
    free(text);
    text = summary_page_format(&s, "one", NULL);
    assert_null(strstr(text, "nan"));
    assert_null(strstr(text, "inf "));
    free(text);
    text = summary_document_format(&s);
    assert_null(strstr(text, "nan"));
    free(text);
    summary_free(&s);
}

/* A name that is cut, or no UTF-8 at all, still makes a document. */
static void any_name_makes_a_document(void **state)
{
    (void)state;
    char rows[2048] = HEAD "x";
    for (int i = 0; i < 200; i++) {
        strcat(rows, "\xC3\xA9"); /* two bytes each: the cut falls inside one */
    }
    strcat(rows, ".wav,error,,bad,,,,,,,,,,,\n\xFF.wav,error,,bad,,,,,,,,,,,\n");
    summary s;
    gather(file_with("rows.csv", rows), NULL, &s);
    assert_int_equal(strlen(s.errors[0].file), 255);
    char *const text = summary_document_format(&s);
    assert_non_null(text);
    assert_non_null(strstr(text, "\"%FF.wav\""));
    free(text);
    summary_free(&s);
}

static void charts_of_nothing_say_so(void **state)
{
    (void)state;
    svg out = {0};
    chart_histogram_draw(&out,
                         &(chart_histogram){.title = "Pulse", .unit = "per minute"});
    const summary_pairs none = {.agreement = fm_agreement_of(NULL, NULL, 0)};
    chart_differences_draw(&out, "Differences", &none);
    double nan_there[] = {(double)NAN, 72.0};
    double truth[] = {70.0, 72.0};
    const summary_pairs some = {.measured = {nan_there, 2, 2},
                                .truth = {truth, 2, 2},
                                .agreement = fm_agreement_of(nan_there, truth, 2)};
    chart_differences_draw(&out, "Differences", &some);
    char *const text = svg_take(&out, NULL);
    assert_non_null(strstr(text, "No row has this number."));
    assert_non_null(strstr(text, "No row has both numbers."));
    assert_null(strstr(text, "nan"));
    assert_non_null(strstr(text, "<circle"));
    free(text);
}

static int make_folder(void **state)
{
    (void)state;
    return mkdtemp(folder) != NULL ? 0 : -1;
}

static int remove_folder(void **state)
{
    (void)state;
    static const char *const names[] = {"rows.csv", "rows.jsonl",   "truth.csv",
                                        "bad.csv",  "b.truth.json", "a.truth.json"};
    char path[128];
    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        (void)snprintf(path, sizeof path, "%s/%s", folder, names[i]);
        (void)unlink(path);
    }
    return rmdir(folder);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(rows_are_gathered),
        cmocka_unit_test(json_lines_come_to_the_same),
        cmocka_unit_test(a_truth_of_csv_is_found_by_name_and_window),
        cmocka_unit_test(a_document_speaks_of_the_windows_of_the_row),
        cmocka_unit_test(bins_hold_every_value),
        cmocka_unit_test(a_page_escapes_names_and_stands_alone),
        cmocka_unit_test(nothing_one_and_unknown_are_laid_out),
        cmocka_unit_test(any_name_makes_a_document),
        cmocka_unit_test(charts_of_nothing_say_so),
        cmocka_unit_test(what_cannot_be_read_is_named),
    };
    return cmocka_run_group_tests(tests, make_folder, remove_folder);
}
