/*
 * What a walk finds and what it leaves out, whatever the order the disk gives.
 */
#include "tests/support.h"

#include "src/batch/file_list.h"

#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

enum {
    FOUND_MAX = 32
};

static char folder[64];

struct found {
    char *path[FOUND_MAX];
    int n;
};

static int make_folder(void **state)
{
    (void)state;
    static const char *const FILES[] = {
        "a.wav",      "b.FLAC",           "a.truth.json",        "a.sitting.json",
        ".hidden",    "rows.csv",         "rows.csv.batch.json", "rows.csv.ledger",
        "other.csv",  "sub/c.wav",        "sub/deep/d.wav",      ".git/e.wav",
        "out/a.json", "a.wav.count.json", "a.marks.tsv",
    };
    (void)snprintf(folder, sizeof folder, "/tmp/fullminute-list-XXXXXX");
    if (mkdtemp(folder) == NULL || chdir(folder) != 0) {
        return -1;
    }
    (void)(mkdir("sub", 0700) + mkdir("sub/deep", 0700) + mkdir(".git", 0700) +
           mkdir("out", 0700) + mkdir("empty", 0700));
    for (size_t i = 0; i < sizeof FILES / sizeof *FILES; i++) {
        const int fd = open(FILES[i], O_CREAT | O_WRONLY, 0600);
        if (fd < 0 || write(fd, "abc", 3) != 3) {
            return -1;
        }
        (void)close(fd);
    }
    return mkfifo("pipe", 0600) + symlink("..", "sub/up") + symlink("loop", "loop") +
           symlink("a.wav", "link");
}

static int remove_folder(void **state)
{
    (void)state;
    char command[128];
    (void)snprintf(command, sizeof command, "cd / && rm -rf '%s'", folder);
    return system(command); /* NOLINT(cert-env33-c,concurrency-mt-unsafe) */
}

static bool take(void *context, const char *path, int64_t size_bytes, app_err *err)
{
    struct found *const f = context;
    (void)err;
    assert_true(f->n < FOUND_MAX);
    assert_true(size_bytes >= 0);
    f->path[f->n++] = strdup(path);
    return true;
}

static int by_text(const void *a, const void *b)
{
    return strcmp(*(char *const *)a, *(char *const *)b);
}

/* All that was found, sorted, with blanks between; to be freed. */
static char *text_of(struct found *f)
{
    size_t n = 1;
    qsort(f->path, (size_t)f->n, sizeof f->path[0], by_text);
    for (int i = 0; i < f->n; i++) {
        n += strlen(f->path[i]) + 1;
    }
    char *const text = calloc(n, 1);
    assert_non_null(text);
    size_t used = 0;
    for (int i = 0; i < f->n; i++) {
        used += (size_t)snprintf(text + used, n - used, "%s%s", i > 0 ? " " : "",
                                 f->path[i]);
        free(f->path[i]);
    }
    f->n = 0;
    return text;
}

static void assert_found(const char *const *paths,
                         const char *match,
                         file_list_left *left,
                         const char *expected)
{
    struct found f = {.n = 0};
    app_err err = APP_ERR_NONE;
    const file_list_config config = {.match = match,
                                     .kept_out = {"out"},
                                     .found = take,
                                     .context = &f,
                                     .left = left};
    *left = (file_list_left){0};
    for (; *paths != NULL; paths++) {
        assert_true(file_list_path(&config, *paths, &err));
    }
    char *const text = text_of(&f);
    assert_string_equal(text, expected);
    free(text);
}

static void a_walk_finds_files_and_leaves_out_our_own(void **state)
{
    (void)state;
    file_list_left left;
    const char *const here[] = {".", NULL};
    assert_found(here, NULL, &left,
                 "./a.wav ./b.FLAC ./link ./loop ./other.csv ./pipe ./sub/c.wav "
                 "./sub/deep/d.wav ./sub/up");
    assert_int_equal(left.hidden, 2);
    assert_int_equal(left.companions, 8);
    assert_int_equal(left.not_matching, 0);
    assert_found(here, "*.wav", &left, "./a.wav ./sub/c.wav ./sub/deep/d.wav");
    assert_int_equal(left.not_matching, 6);
}

static void named_paths_are_taken_as_they_are(void **state)
{
    (void)state;
    file_list_left left;
    const char *const some[] = {"sub///", "a.truth.json", "nowhere",
                                "empty",  "loop",         NULL};
    assert_found(some, NULL, &left,
                 "a.truth.json loop nowhere sub/c.wav sub/deep/d.wav sub/up");
}

static void assert_text(const char *text, size_t n, bool zero, const char *expected)
{
    struct found f = {.n = 0};
    app_err err = APP_ERR_NONE;
    file_list_left left = {0};
    const file_list_config config = {.found = take, .context = &f, .left = &left};
    FILE *const file = tmpfile();
    assert_non_null(file);
    assert_int_equal(fwrite(text, 1, n, file), n);
    rewind(file);
    const bool ok = file_list_text(&config, file, "list", zero, &err);
    (void)fclose(file);
    assert_int_equal(ok, expected != NULL);
    char *const found = text_of(&f);
    if (expected != NULL) {
        assert_string_equal(found, expected);
    } else {
        assert_int_equal(err.code, APP_UNREADABLE);
    }
    free(found);
}

static void a_list_names_one_path_a_line_or_a_zero(void **state)
{
    (void)state;
    assert_text("b\na\n\nsub\n", 9, false, "a b sub/c.wav sub/deep/d.wav sub/up");
    assert_text("last", 4, false, "last");
    assert_text("x\ny\0z", 5, true, "x\ny z");
    assert_text("", 0, false, "");
    assert_text("x\0y\0", 4, false, NULL);
    static char huge[70000];
    memset(huge, 'x', sizeof huge);
    assert_text(huge, sizeof huge, false, NULL);
}

static bool take_none(void *context, const char *path, int64_t bytes, app_err *err)
{
    (void)path;
    (void)bytes;
    (void)err;
    ++*(long *)context;
    return true;
}

/* Lines for ever, empty ones and others: it is refused and not waited for. */
static void a_list_that_never_ends_is_refused(void **state)
{
    (void)state;
    static const char *const LINES[] = {"\n\n\n\n\n\n\n\n", "nowhere/at all\n"};
    for (int i = 0; i < 2; i++) {
        int ends[2];
        assert_int_equal(pipe(ends), 0);
        const pid_t child = fork();
        if (child == 0) {
            static char block[1 << 16];
            size_t n = 0;
            for (; n + strlen(LINES[i]) <= sizeof block; n += strlen(LINES[i])) {
                memcpy(block + n, LINES[i], strlen(LINES[i]));
            }
            (void)close(ends[0]);
            while (write(ends[1], block, n) > 0) {
            }
            _exit(0);
        }
        (void)close(ends[1]);
        FILE *const file = fdopen(ends[0], "rb");
        long found = 0;
        app_err err = APP_ERR_NONE;
        file_list_left left = {0};
        const file_list_config config = {
            .found = take_none, .context = &found, .left = &left};
        assert_false(file_list_text(&config, file, "list", false, &err));
        assert_int_equal(err.code, APP_UNREADABLE);
        assert_non_null(strstr(err.text, "has not ended"));
        (void)fclose(file);
        assert_int_equal(waitpid(child, NULL, 0), child);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_walk_finds_files_and_leaves_out_our_own),
        cmocka_unit_test(named_paths_are_taken_as_they_are),
        cmocka_unit_test(a_list_names_one_path_a_line_or_a_zero),
        cmocka_unit_test(a_list_that_never_ends_is_refused),
    };
    return cmocka_run_group_tests(tests, make_folder, remove_folder);
}
