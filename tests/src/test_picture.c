#include "tests/src/chart_support.h"

#include "src/picture/chart_marks.h"
#include "src/picture/picture.h"
#include "src/png/png_module.h"
#include "src/usecase/picture_file.h"

#include <dlfcn.h>
#include <sys/stat.h>
#include <unistd.h>

static void check_golden(const picture *p, const char *name)
{
    size_t n = 0;
    char *text = picture_format(p, &n);
    assert_non_null(text);
    assert_int_equal(n, strlen(text));
    assert_golden(name, text);
    free(text);
}

static void steady_minute(void **state)
{
    (void)state;
    fm_count *c = minute_steady();
    const picture p = {.count = c, .title = "steady-72.flac"};
    check_golden(&p, "picture-steady.svg");
    free(c);
}

static void learner_and_taps_beside_an_irregular_minute(void **state)
{
    (void)state;
    static double breaths[15];
    for (size_t i = 0; i < 15; i++) {
        breaths[i] = 1.1 + 3.9 * (double)i + 0.2 * wobble(i);
    }
    fm_count *c = minute_irregular();
    fm_taps *t = taps_on(c);
    fm_comparison m = {.manual = {.entered = 66,
                                  .seconds = 60,
                                  .convention = FM_CONVENTION_CLOCK,
                                  .site = FM_SITE_APICAL},
                       .manual_per_min = 66.0,
                       .reference_known = true,
                       .counted = (int)c->heart.count.n,
                       .per_min = (double)c->heart.count.n,
                       .low_per_min = c->heart.count.rate_low_per_min,
                       .high_per_min = c->heart.count.rate_high_per_min,
                       .verdict = FM_VERDICT_TOO_CLOSE};
    const picture p = {.count = c,
                       .comparison = &m,
                       .taps = t,
                       .title = "early-beats.flac",
                       .n_breaths = 15,
                       .breath_s = breaths};
    check_golden(&p, "picture-taps.svg");
    free(t);
    free(c);
}

/* Irregular or outside the range: the person comes first, at the foot. */
static void the_foot_puts_the_person_first(void **state)
{
    (void)state;
    static const char FIRST[] = "look at the person first";
    fm_count *c = minute_steady();
    picture p = {.count = c, .title = "steady"};
    size_t n = 0;
    char *text = picture_format(&p, &n);
    assert_null(strstr(text, FIRST));
    free(text);
    p.outside = true;
    text = picture_format(&p, &n);
    assert_non_null(strstr(text, "Outside the range: look at the person first"));
    free(text);
    c->rhythm.pattern = FM_PATTERN_IRREGULARLY_IRREGULAR;
    text = picture_format(&p, &n);
    assert_non_null(strstr(text, "Irregular: look at the person first"));
    free(text);
    free(c);
}

/* Where a text, with the ">" before it, is drawn to, by its own attributes and in the widest
 * font. */
static double right_end_of(const char *picture_text, const char *value)
{
    const char *const at = strstr(picture_text, value);
    assert_non_null(at);
    const char *tag = at;
    while (tag > picture_text && *tag != '<') {
        tag--;
    }
    const char *const x = strstr(tag, " x=\"");
    const char *const size = strstr(tag, "font-size=\"");
    assert_true(x != NULL && x < at && size != NULL && size < at);
    return strtod(x + 4, NULL) + svg_text_width(value + 1, strtod(size + 11, NULL));
}

/* The longest line there is stays inside the margin. */
static void a_long_value_is_drawn_smaller(void **state)
{
    (void)state;
    fm_count *c = minute_steady();
    c->breath.count.status = FM_CAUTION;
    c->breath.count.window = (fm_window){60.0, 120.0, true};
    c->breath.count.rate_per_min = 16.0;
    c->breath.count.rate_low_per_min = 14.0;
    c->breath.count.rate_high_per_min = 18.0;
    const picture p = {.count = c, .title = "steady"};
    size_t n = 0;
    char *text = picture_format(&p, &n);
    assert_non_null(text);
    const double end =
        right_end_of(text, ">16 (14-18) per minute, 60 s to 120 s, in doubt");
    assert_true(end <= CHART_WIDTH - 16.0 + 0.5); /* the picture's margin */
    assert_true(end > CHART_WIDTH - 40.0);
    free(text);
    free(c);
}

static void crowded_letters(void **state)
{
    (void)state;
    fm_count *c = minute_crowded();
    const picture p = {.count = c, .title = "irregular-fast.flac"};
    check_golden(&p, "picture-crowded.svg");
    free(c);
}

static void short_window_with_a_gap(void **state)
{
    (void)state;
    fm_count *c = minute_with_gap();
    fm_comparison m = {.manual = {.entered = 17,
                                  .seconds = 15,
                                  .convention = FM_CONVENTION_CLOCK,
                                  .site = FM_SITE_APICAL},
                       .manual_per_min = 68.0,
                       .reference_known = true,
                       .counted = 16,
                       .per_min = 64.0,
                       .low_per_min = 60.0,
                       .high_per_min = 68.0,
                       .verdict = FM_VERDICT_TOO_CLOSE};
    const picture p = {
        .count = c, .comparison = &m, .title = "with <gap> & friction.wav"};
    check_golden(&p, "picture-gap.svg");
    free(c);
}

static void refused_shows_no_beat_and_no_number(void **state)
{
    (void)state;
    fm_count *c = minute_refused();
    const picture p = {.count = c, .title = "friction.flac"};
    check_golden(&p, "picture-refused.svg");
    free(c);
}

static void only_svg_and_png_are_known(void **state)
{
    (void)state;
    static const char *const good[] = {"a.svg", "a.PNG", "dir.x/b.c.Svg", ".svg"};
    static const char *const bad[] = {"a.pdf",    "a",         "",      "svg",
                                      "a.svg.gz", "dir.svg/a", "a.svg "};
    for (size_t i = 0; i < sizeof good / sizeof good[0]; i++) {
        app_err err = APP_ERR_NONE;
        assert_true(picture_file_check_name(good[i], &err));
        assert_int_equal(err.code, APP_DONE);
    }
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        app_err err = APP_ERR_NONE;
        assert_false(picture_file_check_name(bad[i], &err));
        assert_int_equal(err.code, APP_USAGE);
        assert_non_null(strstr(err.text, ".svg or .png"));
    }
}

/* A private folder; its name in path, to be removed by folder_remove. */
static void folder_create(char path[64])
{
    (void)snprintf(path, 64, "fm-picture-XXXXXX");
    assert_non_null(mkdtemp(path));
}

static void an_existing_file_is_kept_unless_forced(void **state)
{
    (void)state;
    char folder[64];
    char path[96];
    folder_create(folder);
    (void)snprintf(path, sizeof path, "%s/minute.svg", folder);
    fm_count *c = minute_steady();
    const picture p = {.count = c, .title = "first"};
    const picture q = {.count = c, .title = "second"};
    app_err err = APP_ERR_NONE;
    assert_true(picture_file_write(picture_format(&p, NULL), path, false, &err));
    assert_false(picture_file_write(picture_format(&q, NULL), path, false, &err));
    assert_int_equal(err.code, APP_USAGE);
    char *text = read_whole(path);
    assert_non_null(text);
    assert_non_null(strstr(text, "first"));
    free(text);
    assert_true(picture_file_write(picture_format(&q, NULL), path, true, &err));
    text = read_whole(path);
    char *drawn = picture_format(&q, NULL);
    assert_non_null(text);
    assert_string_equal(text, drawn);
    free(drawn);
    free(text);
    assert_int_equal(unlink(path), 0);
    assert_int_equal(rmdir(folder), 0); /* nothing else was left there */
    free(c);
}

static void a_folder_that_is_not_there_is_named(void **state)
{
    (void)state;
    fm_count *c = minute_steady();
    const picture p = {.count = c};
    app_err err = APP_ERR_NONE;
    assert_false(picture_file_write(picture_format(&p, NULL),
                                    "/nonexistent-folder/a.svg", false, &err));
    assert_int_equal(err.code, APP_FAILED);
    assert_non_null(strstr(err.text, "/nonexistent-folder"));
    free(c);
}

/* The module lies in the folder above the test programs of the build tree. */
static char module_path[4200];

static bool module_is_built(void)
{
    char *const path = module_path;
    const ssize_t n = readlink("/proc/self/exe", path, 4096);
    if (n <= 0) {
        return false;
    }
    path[n] = '\0';
    *strrchr(path, '/') = '\0';
    (void)snprintf(path + strlen(path), 64, "/../fullminute_png.so");
    return access(path, R_OK) == 0;
}

/*
 * Against a published source.
 *   Source:    PNG (Portable Network Graphics) Specification, W3C, 2003: 5.2 signature,
 *              11.2.2 IHDR.
 *   It says:   eight bytes 137 80 78 71 13 10 26 10, then IHDR with width and height as
 *              four bytes each, most significant first.
 *   Input:     the steady invented minute.
 *   Tolerance: one pixel of height, for the rounding of the picture's proportions.
 */
static void png_is_drawn_by_the_module(void **state)
{
    (void)state;
    static const unsigned char signature[] = {137, 80, 78, 71, 13, 10, 26, 10};
    char folder[64];
    char path[96];
    if (!module_is_built()) {
        print_message("skipped: fullminute_png.so was not built (librsvg missing)\n");
        skip();
    }
    folder_create(folder);
    (void)snprintf(path, sizeof path, "%s/minute.png", folder);
    fm_count *c = minute_steady();
    const picture p = {.count = c, .title = "steady-72.flac"};
    app_err err = APP_ERR_NONE;
    const bool ok = picture_file_write(picture_format(&p, NULL), path, false, &err);
    assert_string_equal(err.text, "");
    assert_true(ok);
    unsigned char head[24] = {0};
    FILE *file = fopen(path, "rb");
    assert_non_null(file);
    assert_int_equal(fread(head, 1, sizeof head, file), sizeof head);
    assert_int_equal(fclose(file), 0);
    assert_memory_equal(head, signature, sizeof signature);
    assert_memory_equal(head + 12, "IHDR", 4);
    const int width = head[16] << 24 | head[17] << 16 | head[18] << 8 | head[19];
    const int height = head[20] << 24 | head[21] << 16 | head[22] << 8 | head[23];
    char *svg_text_of_it = picture_format(&p, NULL);
    assert_non_null(svg_text_of_it);
    const double box_height = strtod(strstr(svg_text_of_it, "0 0 480 ") + 8, NULL);
    assert_int_equal(width, 1440);
    assert_within(height, 3.0 * box_height, 1.0);
    free(svg_text_of_it);
    assert_int_equal(unlink(path), 0);
    assert_int_equal(rmdir(folder), 0);
    free(c);
}

/* What the module refuses it says, and the libraries beneath it have nothing to complain of
 * (G_DEBUG=fatal-criticals, glib's own: a complaint ends the program). */
static void what_is_no_picture_is_refused_by_the_module(void **state)
{
    (void)state;
    if (!module_is_built()) {
        skip();
    }
    char why[200] = "";
    void *const module = dlopen(module_path, RTLD_NOW | RTLD_LOCAL);
    assert_non_null(module);
    png_module_render *render = NULL;
    *(void **)&render = dlsym(module, PNG_MODULE_SYMBOL);
    assert_non_null(render);
    assert_int_equal(render("no picture", 10, 480, NULL, NULL, why, sizeof why), 1);
    assert_true(strlen(why) > 3);
}

static void the_same_input_gives_the_same_bytes(void **state)
{
    (void)state;
    fm_count *c = minute_irregular();
    fm_taps *t = taps_on(c);
    const picture p = {.count = c, .taps = t};
    char *a = picture_format(&p, NULL);
    char *b = picture_format(&p, NULL);
    assert_string_equal(a, b);
    free(a);
    free(b);
    free(t);
    free(c);
}

/* A caution stands on every uneven picture, also where the pattern has no word. */
static void every_uneven_picture_has_its_caution(void **state)
{
    (void)state;
    fm_count *c = minute_steady();
    picture p = {.count = c};
    char *text = picture_format(&p, NULL);
    assert_null(strstr(text, "the person first"));
    free(text);
    c->rhythm.pattern = FM_PATTERN_UNDETERMINED;
    c->rhythm.n_findings = 1;
    c->rhythm.findings[0] = (fm_finding){.kind = FM_FINDING_FAST_RUN, .count = 2};
    text = picture_format(&p, NULL);
    assert_non_null(strstr(text, "Irregular: look at the person first"));
    free(text);
    c->heart.count.status =
        FM_CAUTION; /* as the text: a doubtful count's rhythm is not named */
    text = picture_format(&p, NULL);
    assert_non_null(strstr(text, "Perhaps irregular: look at the person first"));
    assert_non_null(
        strstr(text, "Rhythm not named, because the count itself is in doubt."));
    assert_null(strstr(text, "run of fast beats"));
    free(text);
    c->heart.count.status = FM_COUNTED;
    c->rhythm.n_findings = 0;
    c->rhythm.pattern = FM_PATTERN_REGULARLY_IRREGULAR;
    (void)snprintf(c->rhythm.repeat, sizeof c->rhythm.repeat, "breathing");
    text = picture_format(&p, NULL);
    assert_non_null(strstr(text, "Uneven in step with breathing: common in children"));
    assert_null(strstr(text, "the person first"));
    free(text);
    p.act_now = true;
    p.composed = true;
    text = picture_format(&p, NULL);
    assert_non_null(
        strstr(text, "If this were a person: a number is at the line to act"));
    free(text);
    free(c);
}

int main(void)
{
    (void)setenv("G_DEBUG", "fatal-criticals", 1); /* NOLINT(concurrency-mt-unsafe) */
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_uneven_picture_has_its_caution),
        cmocka_unit_test(steady_minute),
        cmocka_unit_test(learner_and_taps_beside_an_irregular_minute),
        cmocka_unit_test(a_long_value_is_drawn_smaller),
        cmocka_unit_test(crowded_letters),
        cmocka_unit_test(the_foot_puts_the_person_first),
        cmocka_unit_test(short_window_with_a_gap),
        cmocka_unit_test(refused_shows_no_beat_and_no_number),
        cmocka_unit_test(only_svg_and_png_are_known),
        cmocka_unit_test(an_existing_file_is_kept_unless_forced),
        cmocka_unit_test(a_folder_that_is_not_there_is_named),
        cmocka_unit_test(png_is_drawn_by_the_module),
        cmocka_unit_test(what_is_no_picture_is_refused_by_the_module),
        cmocka_unit_test(the_same_input_gives_the_same_bytes),
    };
    return cmocka_run_group_tests_name("src.picture", tests, NULL, NULL);
}
