/*
 * Any bytes as a file of rows and as a truth in CSV: no crash, no leak, and what is read
 * is laid out in every way, with no more rows with a number than rows.
 */
#include "src/usecase/summarise.h"
#include "src/words/summary_text.h"

#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static const char ROWS[] =
    "file,status,window_start_s,window_s,duration_s,rate_bpm,confidence,pattern\n"
    "a.wav,counted,0,60,60,72,0.9,regular\n"
    "dir/b.wav,caution,60,60,120,88,0.7,regular\n"
    "dir/b.wav,refused,120,60,120,,,\n";

static char input_path[] = "/tmp/fullminute-fuzz-input-XXXXXX";
static char rows_path[] = "/tmp/fullminute-fuzz-rows-XXXXXX";
static int input = -1;

static void remove_files(void)
{
    (void)unlink(input_path);
    (void)unlink(rows_path);
}

static void start(void)
{
    input = mkstemp(input_path);
    const int rows = mkstemp(rows_path);
    if (input < 0 || rows < 0 || atexit(remove_files) != 0 ||
        write(rows, ROWS, sizeof ROWS - 1) != (ssize_t)(sizeof ROWS - 1)) {
        abort();
    }
    (void)close(rows);
}

static void lay_out(const summary *s)
{
    size_t n = 0;
    char *const text = summary_text_format(s);
    char *const document = summary_document_format(s);
    char *const page = summary_page_format(s, "rows", &n);
    if (text == NULL || document == NULL || page == NULL || strlen(page) != n) {
        abort();
    }
    free(text);
    free(document);
    free(page);
}

static void check(const char *rows, const char *truth)
{
    const char *const paths[] = {rows};
    const summarise_request r = {.paths = paths, .n_paths = 1, .truth = truth};
    summary s;
    app_err err = APP_ERR_NONE;
    if (!summarise(&r, &s, &err)) {
        if (err.text[0] == '\0' || s.rate_bpm.value != NULL) {
            abort();
        }
        return;
    }
    const size_t numbers = s.by_status[0] + s.by_status[1];
    if (s.rate_bpm.n > numbers || s.rate.agreement.n > numbers ||
        s.n_files > s.n_rows) {
        abort();
    }
    lay_out(&s);
    summary_free(&s);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    if (input < 0) {
        start();
    }
    if (ftruncate(input, 0) != 0 || pwrite(input, data, size, 0) != (ssize_t)size) {
        abort();
    }
    check(input_path, NULL);
    check(rows_path, input_path);
    return 0;
}
