/**
 * @file row.h
 * The batch row, "fullminute.row/1": what one window of one file came to, as one record
 * of CSV (RFC 4180, with a header) or one line of JSON Lines. Both hold the same columns
 * in the same order and the same digits.
 *
 * The columns are a contract: within the number in ROW_SCHEMA columns are only added, and
 * only at the end. A reader takes them by their names; a file of an older version lacks
 * the later ones.
 */
#ifndef DOCUMENT_ROW_H
#define DOCUMENT_ROW_H

#include "dsp/result.h"
#include "src/base/bytes.h"
#include "src/base/error.h"

#include <stdio.h>

#define ROW_SCHEMA "fullminute.row/1"

/** What a column holds. */
typedef enum row_kind {
    ROW_TEXT,
    ROW_NUMBER /**< decimal digits; empty (CSV) or null (JSON) when not known */
} row_kind;

/** Enumerator, name, kind. */
#define ROW_COLUMN_MAP(X)                                                              \
    X(ROW_FILE, "file", ROW_TEXT)                                                      \
    X(ROW_STATUS, "status", ROW_TEXT)                                                  \
    X(ROW_REASON_CODE, "reason_code", ROW_TEXT)                                        \
    X(ROW_REASON, "reason", ROW_TEXT)                                                  \
    X(ROW_WINDOW_START_S, "window_start_s", ROW_NUMBER)                                \
    X(ROW_WINDOW_S, "window_s", ROW_NUMBER)                                            \
    X(ROW_DURATION_S, "duration_s", ROW_NUMBER)                                        \
    X(ROW_BEATS, "beats", ROW_NUMBER)                                                  \
    X(ROW_RATE_BPM, "rate_bpm", ROW_NUMBER)                                            \
    X(ROW_RATE_LOW_BPM, "rate_low_bpm", ROW_NUMBER)                                    \
    X(ROW_RATE_HIGH_BPM, "rate_high_bpm", ROW_NUMBER)                                  \
    X(ROW_CONFIDENCE, "confidence", ROW_NUMBER)                                        \
    X(ROW_PATTERN, "pattern", ROW_TEXT)                                                \
    X(ROW_FINDINGS, "findings", ROW_TEXT)                                              \
    X(ROW_MEAN_INTERVAL_S, "mean_interval_s", ROW_NUMBER)                              \
    X(ROW_SDNN_MS, "sdnn_ms", ROW_NUMBER)                                              \
    X(ROW_RMSSD_MS, "rmssd_ms", ROW_NUMBER)                                            \
    X(ROW_PNN50, "pnn50", ROW_NUMBER)                                                  \
    X(ROW_CV, "cv", ROW_NUMBER)                                                        \
    X(ROW_EARLY, "early", ROW_NUMBER)                                                  \
    X(ROW_LATE, "late", ROW_NUMBER)                                                    \
    X(ROW_PAUSES, "pauses", ROW_NUMBER)                                                \
    X(ROW_BREATH_STATUS, "breath_status", ROW_TEXT)                                    \
    X(ROW_BREATHS, "breaths", ROW_NUMBER)                                              \
    X(ROW_BREATH_RATE_PER_MIN, "breath_rate_per_min", ROW_NUMBER)                      \
    X(ROW_BREATH_CONFIDENCE, "breath_confidence", ROW_NUMBER)                          \
    X(ROW_QUALITY, "quality", ROW_NUMBER)                                              \
    X(ROW_SCHEMA_NAME, "schema", ROW_TEXT)                                             \
    X(ROW_ENGINE, "engine", ROW_TEXT)                                                  \
    X(ROW_BREATH_PATTERN, "breath_pattern", ROW_TEXT)                                  \
    X(ROW_BREATH_FINDINGS, "breath_findings", ROW_TEXT)

typedef enum row_column {
    ROW_COLUMN_MAP(FM_ENUMERATOR) ROW_COLUMN_COUNT
} row_column;

typedef enum row_format {
    ROW_FORMAT_CSV,
    ROW_FORMAT_JSON_LINES
} row_format;

/** What a file came to: the words of the status column. */
typedef enum row_status {
    ROW_COUNTED, /**< the number is vouched for */
    ROW_CAUTION, /**< a number with a doubt */
    ROW_REFUSED, /**< no number: see reason_code */
    ROW_ERROR,   /**< the file could not be read: see reason_code */
    ROW_STATUS_COUNT
} row_status;

/** "counted", "caution", "refused", "error"; never NULL. */
const char *row_status_word(row_status status);

/** One row. Texts are borrowed; NULL or "" is not known. Numbers are their digits. */
typedef struct row {
    const char *field[ROW_COLUMN_COUNT];
} row;

/** The name of a column ("rate_bpm"); never NULL. */
const char *row_column_name(row_column column);

/** The number in a field; NaN when it is not known or no number. */
double row_number(const row *r, row_column column);

/** The status of a row; ROW_STATUS_COUNT for a word that is none. */
row_status row_status_of(const row *r);

/**
 * Add what stands before the first row: the CSV header; nothing for JSON Lines.
 */
void row_header_format(row_format format, bytes *to);

/**
 * Add one row with its line end. JSON Lines: a field that is not known is null; text that
 * is not UTF-8 must have been escaped before.
 */
void row_write(const row *r, row_format format, bytes *to);

/**
 * The format a file name asks for: .csv; .jsonl, .ndjson and .jsonlines, any case.
 *
 * @return false when the name ends otherwise; out untouched
 */
bool row_format_of_name(const char *path, row_format *out);

/* ---- Reading ---- */

/** Reads rows one by one, memory bounded by the longest. Opaque; see row_reader_close. */
typedef struct row_reader row_reader;

/**
 * Begin with a file of rows. The format is told by the first byte. CSV columns are found by
 * the names in the header, in any order; unknown ones are passed over, `file` and `status`
 * must be there.
 *
 * @param from  open for reading (src/port/file.h); the reader's from now on. NULL: what
 *              kept it from being opened stands in err
 * @param path  for errors; "-" is standard input
 * @return the reader; NULL with err APP_UNREADABLE or APP_FAILED
 */
row_reader *row_reader_open(FILE *from, const char *path, app_err *err);

/** Close and free; NULL is allowed. */
void row_reader_close(row_reader *reader);

/**
 * The next row; out borrows from the reader until the next call.
 *
 * @return 1 a row; 0 the end; -1 with err APP_UNREADABLE (the record and what is wrong
 *         there) or APP_FAILED
 */
int row_reader_next(row_reader *reader, row *out, app_err *err);

/**
 * The record that the last row was read from, as it stands in the file, with its line end.
 *
 * @param[out] n  its bytes
 * @return borrowed until the next call of row_reader_next
 */
const char *row_reader_text(const row_reader *reader, size_t *n);

#endif
