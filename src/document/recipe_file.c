#include "src/document/recipe_file.h"

#include <stdlib.h>
#include <string.h>

static const char FIRST_LINE[] = "# fullminute.recipe/1";
static const char BLANKS[] = " \t\r";

void recipe_file_free(recipe_file *file)
{
    free(file->path);
    free(file->text);
    free(file->words);
    for (size_t i = 0; i < RECIPE_NAMED; i++) {
        free(file->named[i]);
    }
    free(file->line);
    *file = (recipe_file){0};
}

static bool no_memory(const char *path, app_err *err)
{
    return app_err_set(err, APP_FAILED, "out of memory reading %s", path);
}

static bool wrong(const char *path, int number, const char *what, app_err *err)
{
    return app_err_set(err, APP_UNREADABLE, "%s, line %d: %s", path, number, what);
}

/* A '#' that starts a line or follows a blank starts a comment. */
static void cut_comment(char *line)
{
    for (char *c = line; *c != '\0'; c++) {
        if (*c == '#' && (c == line || strchr(BLANKS, c[-1]) != NULL)) {
            *c = '\0';
            return;
        }
    }
}

/* Cuts a line into words at `words`; returns how many, RECIPE_WORDS_MAX + 1 for too many. */
static int cut_words(char *line, char **words)
{
    int n = 0;
    char *at = line + strspn(line, BLANKS);
    while (*at != '\0' && n <= RECIPE_WORDS_MAX) {
        if (n < RECIPE_WORDS_MAX) {
            words[n] = at;
        }
        n++;
        at += strcspn(at, BLANKS);
        if (*at != '\0') {
            *at++ = '\0';
            at += strspn(at, BLANKS);
        }
    }
    return n;
}

/* a.wav and a.flac would both write a.truth.json. */
static bool share_a_truth(const char *a, const char *b)
{
    const char *const dot_a = strrchr(a, '.');
    const char *const dot_b = strrchr(b, '.');
    const size_t n_a = dot_a != NULL && dot_a != a ? (size_t)(dot_a - a) : strlen(a);
    const size_t n_b = dot_b != NULL && dot_b != b ? (size_t)(dot_b - b) : strlen(b);
    return n_a == n_b && strncmp(a, b, n_a) == 0;
}

static bool take_line(
    recipe_file *out, char *text, int number, size_t *used, app_err *err)
{
    cut_comment(text);
    char **const words = out->words + *used;
    const int n = cut_words(text, words);
    if (n == 0) {
        return true;
    }
    if (n > RECIPE_WORDS_MAX) {
        return wrong(out->path, number, "too many words; 100 at most", err);
    }
    if (out->n == RECIPE_LINES_MAX) {
        return wrong(out->path, number, "too many recordings; 2000 at most", err);
    }
    if (strchr(words[0], '/') != NULL || words[0][0] == '-') {
        return wrong(out->path, number,
                     "a line starts with a file name, without a folder", err);
    }
    for (size_t i = 0; i < out->n; i++) {
        char *const *const word = out->line[i].word;
        if (word != NULL && strcmp(word[0], words[0]) == 0) {
            return wrong(out->path, number, "this name stands in the file already",
                         err);
        }
        if (word != NULL && share_a_truth(word[0], words[0])) {
            return wrong(out->path, number,
                         "its truth would have the same name as another recording's; "
                         "give it another",
                         err);
        }
    }
    out->line[out->n++] = (recipe_line){number, n, words};
    *used += (size_t)n;
    return true;
}

static bool take_all(recipe_file *out, size_t n, app_err *err)
{
    out->line = calloc(RECIPE_LINES_MAX, sizeof *out->line);
    out->words = calloc(n / 2 + RECIPE_WORDS_MAX + 1, sizeof *out->words);
    if (out->line == NULL || out->words == NULL) {
        return no_memory(out->path, err);
    }
    char *at = out->text;
    size_t used = 0;
    for (int number = 1; at != NULL; number++) {
        char *const end = strchr(at, '\n');
        if (end != NULL) {
            *end = '\0';
        }
        at[strcspn(at, "\r")] = '\0';
        if (number == 1 && strcmp(at, FIRST_LINE) != 0) {
            return wrong(out->path, 1, "expected '# fullminute.recipe/1'", err);
        }
        if (!take_line(out, at, number, &used, err)) {
            return false;
        }
        at = end != NULL ? end + 1 : NULL;
    }
    return true;
}

static bool take_text(recipe_file *out, const char *bytes, size_t n, app_err *err)
{
    if (n > RECIPE_BYTES_MAX) {
        return app_err_set(err, APP_UNREADABLE,
                           "%s is too large for a recipe file; the limit is 1 MiB",
                           out->path);
    }
    if (memchr(bytes, '\0', n) != NULL) {
        return app_err_set(err, APP_UNREADABLE, "%s is not a text file", out->path);
    }
    out->text = malloc(n + 1);
    if (out->text == NULL) {
        return no_memory(out->path, err);
    }
    memcpy(out->text, bytes, n);
    out->text[n] = '\0';
    return true;
}

bool recipe_file_parse(
    const char *name, const char *bytes, size_t n, recipe_file *out, app_err *err)
{
    *out = (recipe_file){.path = strdup(name)};
    const bool ok = out->path == NULL
                        ? no_memory(name, err)
                        : take_text(out, bytes, n, err) && take_all(out, n, err);
    if (!ok) {
        recipe_file_free(out);
    }
    return ok;
}
