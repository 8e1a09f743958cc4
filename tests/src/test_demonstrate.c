/*
 * A stretch made ready, and the screen of it.
 *   Source:    the truth beside bundled recordings; the minute's short counts by counting here.
 *   Input:     recordings/steady-072, bigeminy, unusable; a copy without its truth.
 *   Tolerance: times of the truth exactly; of the analyser within 40 ms.
 */
#include "src/command/demonstrate_screen.h"
#include "src/document/truth_document.h"
#include "src/usecase/demonstrate.h"
#include "src/usecase/document_files.h"

#include "tests/support.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#define STEADY RECORDINGS_DIR "/steady-072.flac"

static demonstration load_or_fail(const demonstrate_request *r)
{
    demonstration d;
    app_err err = APP_ERR_NONE;
    if (!demonstration_load(r, &d, &err)) {
        fail_msg("%s", err.text);
    }
    return d;
}

/* While a count of it is still to be entered: the sound, and nothing known of it. */
static void sealed_there_is_the_sound_alone(void **state)
{
    (void)state;
    demonstrate_request r = {.path = STEADY, .seconds = 60.0, .rate_hz = 16000.0};
    demonstration open = load_or_fail(&r);
    r.sealed = true;
    demonstration sealed = load_or_fail(&r);
    assert_true(open.n_marks > 0);
    assert_int_equal(sealed.n_marks, 0);
    assert_int_equal(sealed.beats, 0);
    assert_int_equal(sealed.origin, DEMONSTRATE_NONE);
    assert_int_equal(sealed.channel, 1);
    assert_int_equal(sealed.n, open.n);
    assert_memory_equal(sealed.plain, open.plain, (size_t)open.n * sizeof *open.plain);
    demonstration_free(&open);
    demonstration_free(&sealed);
}

static truth_document truth_or_fail(const char *path)
{
    truth_document t = TRUTH_NONE;
    app_err err = APP_ERR_NONE;
    assert_true(truth_document_read(path, &t, &err));
    return t;
}

static void the_truth_beside_it_gives_the_marks(void **state)
{
    (void)state;
    const demonstrate_request r = {
        .path = STEADY, .start_s = 10.0, .seconds = 20.0, .rate_hz = 44100.0};
    demonstration d = load_or_fail(&r);
    truth_document t = truth_or_fail(RECORDINGS_DIR "/steady-072.truth.json");
    assert_int_equal(d.origin, DEMONSTRATE_TRUTH);
    assert_int_equal(d.n, 882000);
    size_t k = 0;
    int beats = 0;
    for (size_t i = 0; i < t.truth.n_s1; i++) {
        const double at_s = t.truth.s1_s[i] - 10.0;
        if (at_s < 0.0 || at_s >= 20.0) {
            continue;
        }
        beats++;
        while (k < d.n_marks && d.marks[k].is_s2) {
            k++;
        }
        assert_true(k < d.n_marks);
        assert_within(d.marks[k++].at_s, at_s, 1e-9);
    }
    assert_int_equal(d.beats, beats);
    for (size_t i = 1; i < d.n_marks; i++) {
        assert_true(d.marks[i].at_s >= d.marks[i - 1].at_s);
    }
    truth_document_free(&t);
    demonstration_free(&d);
}

/* The click's first loud sample follows each S1, and nothing else has been changed. */
static void the_click_is_laid_at_each_first_sound(void **state)
{
    (void)state;
    const demonstrate_request r = {.path = STEADY, .seconds = 10.0, .rate_hz = 48000.0};
    demonstration d = load_or_fail(&r);
    int changed = 0;
    for (size_t i = 0; i < d.n_marks; i++) {
        const int64_t at = (int64_t)llround(d.marks[i].at_s * d.rate_hz);
        double most = 0.0;
        for (int64_t k = at; k < at + 720 && k < d.n; k++) {
            most = fmax(most, fabs((double)d.clicked[k] - (double)d.plain[k]));
        }
        assert_true(d.marks[i].is_s2 ? most < 0.2 : most > 0.2);
    }
    for (int64_t k = 0; k < d.n; k++) {
        changed += fabsf(d.clicked[k] - d.plain[k]) > 0.0F;
    }
    assert_in_range(changed, 1, 720 * d.beats);
    demonstration_free(&d);
}

static void without_a_truth_the_analyser_is_asked(void **state)
{
    (void)state;
    char folder[] = "/tmp/demonstrate-XXXXXX";
    char path[64];
    assert_non_null(mkdtemp(folder));
    (void)snprintf(path, sizeof path, "%s/alone.flac", folder);
    assert_int_equal(symlink(STEADY, path), 0);
    const demonstrate_request r = {.path = path, .seconds = 60.0, .rate_hz = 8000.0};
    demonstration d = load_or_fail(&r);
    truth_document t = truth_or_fail(RECORDINGS_DIR "/steady-072.truth.json");
    assert_int_equal(d.origin, DEMONSTRATE_COUNT);
    assert_string_equal(demonstrate_screen_origin(&d), "Marks: counted from it");
    size_t k = 0;
    for (size_t i = 0; i < d.n_marks; i++) {
        if (!d.marks[i].is_s2) {
            assert_within(d.marks[i].at_s, t.truth.s1_s[k++], 0.040);
        }
    }
    assert_int_equal(d.beats, (int)k);
    truth_document_free(&t);
    demonstration_free(&d);
    (void)unlink(path);
    (void)rmdir(folder);
}

static void what_cannot_be_counted_has_no_marks_and_says_so(void **state)
{
    (void)state;
    char folder[] = "/tmp/demonstrate-XXXXXX";
    char path[64];
    char text[DEMONSTRATE_SCREEN_BYTES];
    assert_non_null(mkdtemp(folder));
    (void)snprintf(path, sizeof path, "%s/alone.flac", folder);
    assert_int_equal(symlink(RECORDINGS_DIR "/unusable.flac", path), 0);
    const demonstrate_request r = {.path = path, .seconds = 60.0, .rate_hz = 8000.0};
    demonstration d = load_or_fail(&r);
    assert_int_equal(d.origin, DEMONSTRATE_NONE);
    assert_int_equal(d.n_marks, 0);
    demonstrate_screen_short_counts(&d, text);
    assert_string_equal(text, "Not countable: no counts.\n");
    demonstration_free(&d);
    (void)unlink(path);
    (void)rmdir(folder);
}

static void short_counts_are_those_of_the_stretch(void **state)
{
    (void)state;
    char text[DEMONSTRATE_SCREEN_BYTES];
    char wanted[DEMONSTRATE_SCREEN_BYTES];
    const demonstrate_request r = {
        .path = RECORDINGS_DIR "/bigeminy.flac", .seconds = 60.0, .rate_hz = 8000.0};
    demonstration d = load_or_fail(&r);
    truth_document t = truth_or_fail(RECORDINGS_DIR "/bigeminy.truth.json");
    int least = 1000;
    int most = 0;
    for (int from = 0; from <= 45; from++) {
        int n = 0;
        for (size_t i = 0; i < t.truth.n_s1; i++) {
            n += t.truth.s1_s[i] >= from && t.truth.s1_s[i] < from + 15;
        }
        least = n < least ? n : least;
        most = n > most ? n : most;
    }
    assert_true(most > least);
    demonstrate_screen_short_counts(&d, text);
    (void)snprintf(wanted, sizeof wanted, "15 s x 4     %d to %d\n", 4 * least,
                   4 * most);
    assert_non_null(strstr(text, wanted));
    (void)snprintf(wanted, sizeof wanted, "Full minute  %d\n", d.beats);
    assert_non_null(strstr(text, wanted));
    truth_document_free(&t);
    demonstration_free(&d);
}

static void errors_say_what_to_do(void **state)
{
    (void)state;
    demonstration d;
    app_err err = APP_ERR_NONE;
    demonstrate_request r = {
        .path = "/nowhere.wav", .seconds = 60.0, .rate_hz = 8000.0};
    assert_false(demonstration_load(&r, &d, &err));
    assert_int_equal(err.code, APP_UNREADABLE);
    assert_null(d.plain);
    r.path = STEADY;
    r.start_s = 1e6;
    assert_false(demonstration_load(&r, &d, &err));
    assert_int_equal(err.code, APP_USAGE);
    r.start_s = 0.0;
    r.channel = 2;
    assert_false(demonstration_load(&r, &d, &err));
    assert_int_equal(err.code, APP_USAGE);
    r.channel = 1;
    r.rate_hz = 1000.0;
    r.small_speaker = true;
    assert_false(demonstration_load(&r, &d, &err));
    assert_non_null(strstr(err.text, "too few for a small loudspeaker"));
}

/* ---- The screen ---- */

static void no_start(void *context, const float *samples, int64_t n, int64_t from)
{
    (void)context;
    (void)samples;
    (void)n;
    (void)from;
}

static void no_stop(void *context)
{
    (void)context;
}

static int64_t heard_at(void *context)
{
    return *(const int64_t *)context;
}

static bool always(void *context)
{
    (void)context;
    return true;
}

static void show(const demonstration *d, double at_s, bool marks, bool all, char *text)
{
    int64_t at = (int64_t)llround(at_s * d->rate_hz);
    const demonstrate_output out = {&at, no_start, no_stop, heard_at, always, 0.0};
    const demonstrate_screen_state s = {.name = "a\033[2Jb.flac",
                                        .marks = marks,
                                        .short_counts = all,
                                        .small_speaker = all,
                                        .loop_from_s = all ? 1.0 : (double)NAN,
                                        .note = ""};
    demonstrate_play p;
    demonstrate_play_init(&p, d, &out);
    demonstrate_play_click(&p, all);
    demonstrate_play_go(&p);
    demonstrate_play_step(&p);
    demonstrate_screen_format(&p, &s, text);
}

static void the_screen_fits_60_by_24_whatever_is_on_it(void **state)
{
    (void)state;
    static const double AT_S[] = {0.0, 0.3, 5.999, 6.0, 29.5, 59.99, 60.0};
    char text[DEMONSTRATE_SCREEN_BYTES];
    const demonstrate_request r = {.path = STEADY, .seconds = 60.0, .rate_hz = 8000.0};
    demonstration d = load_or_fail(&r);
    for (size_t i = 0; i < 4 * sizeof AT_S / sizeof AT_S[0]; i++) {
        show(&d, AT_S[i / 4], i % 2 == 0, i / 2 % 2 == 0, text);
        int lines = 0;
        for (const char *line = text; *line != '\0'; lines++) {
            const size_t n = strcspn(line, "\n");
            assert_in_range(n, 0, DEMONSTRATE_SCREEN_COLUMNS);
            for (size_t k = 0; k < n; k++) {
                assert_in_range(line[k], ' ', '~');
            }
            line += n + 1;
        }
        assert_in_range(lines, 10, 23);
    }
    demonstration_free(&d);
}

static int count_of(const char *text, char what)
{
    int n = 0;
    for (; *text != '\0'; text++) {
        n += *text == what;
    }
    return n;
}

static void the_dial_fills_and_a_mark_comes_when_it_is_heard(void **state)
{
    (void)state;
    char before[DEMONSTRATE_SCREEN_BYTES];
    char after[DEMONSTRATE_SCREEN_BYTES];
    const demonstrate_request r = {.path = STEADY, .seconds = 60.0, .rate_hz = 8000.0};
    demonstration d = load_or_fail(&r);
    size_t k = 4; /* some S1 */
    while (d.marks[k].is_s2) {
        k++;
    }
    show(&d, d.marks[k].at_s - 0.01, true, false, before);
    show(&d, d.marks[k].at_s + 0.001, true, false, after);
    assert_int_equal(count_of(after, '|'), count_of(before, '|') + 1);
    assert_int_equal(count_of(before, '!'), 3); /* the hairline */
    show(&d, 0.0, false, false, before);
    show(&d, 29.5, false, false, after);
    assert_int_equal(count_of(before, '='), 1); /* the second that has begun */
    assert_int_equal(count_of(after, '='), 30);
    demonstration_free(&d);
}

/* Two recordings of the same length, as different as may be, look alike. */
static void hidden_marks_show_nothing_that_follows_a_beat(void **state)
{
    (void)state;
    char a[DEMONSTRATE_SCREEN_BYTES];
    char b[DEMONSTRATE_SCREEN_BYTES];
    const demonstrate_request r = {.path = STEADY, .seconds = 60.0, .rate_hz = 8000.0};
    demonstrate_request other = r;
    other.path = RECORDINGS_DIR "/fibrillation.flac";
    demonstration d = load_or_fail(&r);
    demonstration e = load_or_fail(&other);
    for (double at_s = 0.0; at_s < 60.0; at_s += 0.37) {
        show(&d, at_s, false, false, a);
        show(&e, at_s, false, false, b);
        assert_string_equal(a, b);
        show(&d, at_s, true, false, a);
        assert_string_not_equal(a, b);
    }
    demonstration_free(&e);
    demonstration_free(&d);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(sealed_there_is_the_sound_alone),
        cmocka_unit_test(the_truth_beside_it_gives_the_marks),
        cmocka_unit_test(the_click_is_laid_at_each_first_sound),
        cmocka_unit_test(without_a_truth_the_analyser_is_asked),
        cmocka_unit_test(what_cannot_be_counted_has_no_marks_and_says_so),
        cmocka_unit_test(short_counts_are_those_of_the_stretch),
        cmocka_unit_test(errors_say_what_to_do),
        cmocka_unit_test(the_screen_fits_60_by_24_whatever_is_on_it),
        cmocka_unit_test(the_dial_fills_and_a_mark_comes_when_it_is_heard),
        cmocka_unit_test(hidden_marks_show_nothing_that_follows_a_beat),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
