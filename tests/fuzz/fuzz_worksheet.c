/*
 * Any bytes as what a worksheet's key holds, and as a class's answers beside a key: no crash;
 * a key that is accepted comes back the same, and scores are of no more answers than lines.
 */
#include "src/usecase/worksheet_score.h"

#include <stdint.h>
#include <stdlib.h>
#include <string.h>

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size);

static const char KEY[] =
    "{\"schema\":\"fullminute.worksheet/"
    "1\",\"made_utc\":\"2026-01-01T00:00:00Z\",\"items\":["
    "{\"item\":\"item-01\",\"source\":\"a\",\"recipe\":\"\",\"pattern\":\"regular\","
    "\"repeat\":\"\",\"beats\":72,\"early\":0,\"breaths\":15,\"wrist\":null,"
    "\"by_15_s\":{\"low_per_min\":68,\"high_per_min\":72},"
    "\"by_30_s\":{\"low_per_min\":70,\"high_per_min\":72}}]}";

static void try_key(const char *text, size_t n)
{
    app_err err = APP_ERR_NONE;
    worksheet_key k = {.n = 0};
    worksheet_key again = {.n = 0};
    if (!worksheet_key_parse(text, n, &k, &err)) {
        return;
    }
    char *const shown = worksheet_key_format(&k);
    if (shown == NULL || !worksheet_key_parse(shown, strlen(shown), &again, &err) ||
        again.n != k.n || memcmp(again.items, k.items, k.n * sizeof *k.items) != 0) {
        abort();
    }
    free(shown);
    worksheet_key_free(&again);
    worksheet_key_free(&k);
}

static void try_answers(char *text, size_t n)
{
    app_err err = APP_ERR_NONE;
    worksheet_key k = {.n = 0};
    worksheet_scores s = {.n_items = 0};
    size_t lines = 1;
    for (size_t i = 0; i < n; i++) {
        lines += text[i] == '\n' || text[i] == '\r';
    }
    if (!worksheet_key_parse(KEY, sizeof KEY - 1, &k, &err)) {
        abort();
    }
    if (worksheet_score(&k, "input", text, n, 4.0, &s, &err) && s.n_answers >= lines) {
        abort();
    }
    worksheet_scores_free(&s);
    worksheet_key_free(&k);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
    char *const text = malloc(size + 1);
    if (text == NULL) {
        return 0;
    }
    memcpy(text, data, size);
    text[size] = '\0';
    try_key(text, size);
    try_answers(text, size);
    free(text);
    return 0;
}
