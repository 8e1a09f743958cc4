/*
 * Batch rows written and read again.
 *   Source: RFC 4180 (CSV), sections 2.1-2.7: records end with CRLF, a field with a
 *           comma, a quote or a line end is quoted, a quote inside is doubled. RFC 8259
 *           (JSON), section 7: what must be escaped in a string.
 */
#include "tests/support.h"

#include "src/document/row.h"
#include "src/port/file.h"

#include <jansson.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static const char HARD_NAME[] = "a,\"b\"\r\n\tc\\.wav";

static row hard_row(void)
{
    row r = {{NULL}};
    r.field[ROW_FILE] = HARD_NAME;
    r.field[ROW_STATUS] = "counted";
    r.field[ROW_BEATS] = "72";
    r.field[ROW_RATE_BPM] = "72.0";
    r.field[ROW_FINDINGS] = "early beats 2; pauses 1";
    r.field[ROW_SCHEMA_NAME] = ROW_SCHEMA;
    return r;
}

/* Writes text to a file without a name and points standard input at it. */
static row_reader *reader_of(const char *text, size_t n, app_err *err)
{
    char path[] = "/tmp/fullminute-row-XXXXXX";
    const int fd = mkstemp(path);
    assert_true(fd >= 0);
    assert_int_equal(write(fd, text, n), (ssize_t)n);
    (void)close(fd);
    row_reader *const reader = row_reader_open(file_open(path, err), path, err);
    (void)unlink(path);
    return reader;
}

static void the_columns_are_those_of_the_contract(void **state)
{
    (void)state;
    bytes b = BYTES_NONE;
    row_header_format(ROW_FORMAT_CSV, &b);
    assert_string_equal(
        b.data,
        "file,status,reason_code,reason,window_start_s,window_s,duration_s,beats,"
        "rate_bpm,rate_low_bpm,rate_high_bpm,confidence,pattern,findings,"
        "mean_interval_s,sdnn_ms,rmssd_ms,pnn50,cv,early,late,pauses,breath_status,"
        "breaths,breath_rate_per_min,breath_confidence,quality,schema,engine,"
        "breath_pattern,breath_findings\r\n");
    bytes_clear(&b);
    row_header_format(ROW_FORMAT_JSON_LINES, &b);
    assert_int_equal(b.n, 0);
    bytes_free(&b);
}

static void csv_quotes_what_must_be_quoted(void **state)
{
    (void)state;
    const row r = hard_row();
    bytes b = BYTES_NONE;
    row_write(&r, ROW_FORMAT_CSV, &b);
    assert_string_equal(b.data, "\"a,\"\"b\"\"\r\n\tc\\.wav\",counted,,,,,,72,72.0,,,,,"
                                "early beats 2; pauses 1,,,,,,,,,,,,,,fullminute.row/1,"
                                ",,\r\n");
    bytes_free(&b);
}

static void json_is_read_by_a_json_library(void **state)
{
    (void)state;
    const row r = hard_row();
    bytes b = BYTES_NONE;
    row_write(&r, ROW_FORMAT_JSON_LINES, &b);
    assert_int_equal(b.data[b.n - 1], '\n');
    assert_null(memchr(b.data, '\n', b.n - 1));
    json_t *const object = json_loadb(b.data, b.n, 0, NULL);
    assert_non_null(object);
    assert_int_equal(json_object_size(object), ROW_COLUMN_COUNT);
    assert_string_equal(json_string_value(json_object_get(object, "file")), HARD_NAME);
    assert_within(json_real_value(json_object_get(object, "rate_bpm")), 72.0, 0.0);
    assert_true(json_is_integer(json_object_get(object, "beats")));
    assert_true(json_is_null(json_object_get(object, "cv")));
    json_decref(object);
    bytes_free(&b);
}

static void both_formats_come_back(void **state)
{
    (void)state;
    const row written = hard_row();
    for (int format = 0; format < 2; format++) {
        bytes b = BYTES_NONE;
        app_err err = APP_ERR_NONE;
        row_header_format((row_format)format, &b);
        row_write(&written, (row_format)format, &b);
        row_write(&written, (row_format)format, &b);
        row_reader *const reader = reader_of(b.data, b.n, &err);
        assert_non_null(reader);
        row got;
        for (int i = 0; i < 2; i++) {
            assert_int_equal(row_reader_next(reader, &got, &err), 1);
            assert_string_equal(got.field[ROW_FILE], HARD_NAME);
            assert_int_equal(row_status_of(&got), ROW_COUNTED);
            assert_within(row_number(&got, ROW_RATE_BPM), 72.0, 0.0);
            assert_within(row_number(&got, ROW_BEATS), 72.0, 0.0);
            assert_true(isnan(row_number(&got, ROW_CV)));
        }
        assert_int_equal(row_reader_next(reader, &got, &err), 0);
        row_reader_close(reader);
        bytes_free(&b);
    }
}

static void columns_are_found_by_name(void **state)
{
    (void)state;
    static const char TEXT[] =
        "\xef\xbb\xbf"
        "status,mine,file\nerror,x,b.wav\nrefused,\"y\nz\",c.wav\n";
    app_err err = APP_ERR_NONE;
    row_reader *const reader = reader_of(TEXT, sizeof TEXT - 1, &err);
    assert_non_null(reader);
    row got;
    assert_int_equal(row_reader_next(reader, &got, &err), 1);
    assert_string_equal(got.field[ROW_FILE], "b.wav");
    assert_int_equal(row_status_of(&got), ROW_ERROR);
    assert_int_equal(row_reader_next(reader, &got, &err), 1);
    assert_string_equal(got.field[ROW_FILE], "c.wav");
    assert_int_equal(row_reader_next(reader, &got, &err), 0);
    row_reader_close(reader);
}

static void damaged_records_are_named(void **state)
{
    (void)state;
    static const struct {
        const char *text;
        size_t n;
    } BAD[] = {
#define TEXT(t) {(t), sizeof(t) - 1}
        TEXT("file,status\na,counted"),        /* cut */
        TEXT("file,status\n\"a,counted\n"),    /* no closing quote */
        TEXT("file,status\na\"b,counted\n"),   /* a quote in the middle */
        TEXT("file,status\n\"a\"b,counted\n"), /* behind the quote */
        TEXT("file,status\na,counted,3\n"),    /* too many */
        TEXT("file,status\na\n"),              /* too few */
        TEXT("file,status\na,count\n"),        /* no such status */
        TEXT("file,status\na\0b,counted\n"),   /* a zero byte */
        TEXT("{\"file\": \"a\"}\n"),           /* no status */
        TEXT("{\"file\": \"a\", \"status\": \"error\"\n"),
        TEXT("{}\n"),
#undef TEXT
    };
    for (size_t i = 0; i < sizeof BAD / sizeof *BAD; i++) {
        app_err err = APP_ERR_NONE;
        row_reader *const reader = reader_of(BAD[i].text, BAD[i].n, &err);
        assert_non_null(reader);
        row got;
        assert_int_equal(row_reader_next(reader, &got, &err), -1);
        assert_int_equal(err.code, APP_UNREADABLE);
        assert_non_null(strstr(err.text, "record "));
        row_reader_close(reader);
    }
}

static void a_file_without_its_columns_is_refused(void **state)
{
    (void)state;
    app_err err = APP_ERR_NONE;
    assert_null(reader_of("name,status\n", 12, &err));
    assert_int_equal(err.code, APP_UNREADABLE);
}

static void names_choose_the_format(void **state)
{
    (void)state;
    row_format format = ROW_FORMAT_JSON_LINES;
    assert_true(row_format_of_name("a.b/c.CSV", &format));
    assert_int_equal(format, ROW_FORMAT_CSV);
    assert_true(row_format_of_name("c.jsonl", &format));
    assert_int_equal(format, ROW_FORMAT_JSON_LINES);
    assert_false(row_format_of_name("c.txt", &format));
    assert_false(row_format_of_name("csv", &format));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_columns_are_those_of_the_contract),
        cmocka_unit_test(csv_quotes_what_must_be_quoted),
        cmocka_unit_test(json_is_read_by_a_json_library),
        cmocka_unit_test(both_formats_come_back),
        cmocka_unit_test(columns_are_found_by_name),
        cmocka_unit_test(damaged_records_are_named),
        cmocka_unit_test(a_file_without_its_columns_is_refused),
        cmocka_unit_test(names_choose_the_format),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
