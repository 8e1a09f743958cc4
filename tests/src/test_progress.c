/*
 * A learner's progress: what is left out, what is grouped, when a goal is met.
 *   Source: Bland and Altman, Lancet 1986; 1:307, peak expiratory flow of 17 subjects by
 *           two meters: mean difference -2.1, SD 38.8, limits -79.7 and 75.5 by two
 *           standard deviations as printed; unrounded from its data -2.117647, 38.765130,
 *           -79.647907, 75.412613, and by 1.96, the product's own, -78.097302, 73.862007.
 *   Input:  that table, its litres a minute taken for beats; invented rows.
 */
#include "src/logbook/logbook_private.h"
#include "src/usecase/last_count.h"
#include "src/usecase/progress_make.h"
#include "src/words/progress_text.h"

#include "tests/support.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

static char path[] = "/tmp/fullminute-progress-XXXXXX";
static logbook *book;

static int open_book(void **state)
{
    app_err err = APP_ERR_NONE;
    (void)state;
    memcpy(path + sizeof path - 7, "XXXXXX", 6);
    const int fd = mkstemp(path);
    (void)close(fd);
    book = logbook_open(path, true, &err);
    return book == NULL;
}

static int close_book(void **state)
{
    char name[64];
    (void)state;
    logbook_close(book);
    (void)snprintf(name, sizeof name, "%s-wal", path);
    (void)unlink(name);
    (void)snprintf(name, sizeof name, "%s-shm", path);
    (void)unlink(name);
    return unlink(path);
}

/* What a row is unless a test says otherwise: a full minute at the apex, counted. */
static const char *site = "apical";
static const char *status = "counted";
static const char *word; /* the learner's; NULL: as the device's */

/* One compared count; each at a recording of its own unless one is named. */
static void add(
    int beats, int seconds, double reference, const char *rhythm, int attempt)
{
    static int n;
    app_err err = APP_ERR_NONE;
    entry e = entry_none();
    entry_put(e.learner, sizeof e.learner, "AB");
    (void)snprintf(e.recording, sizeof e.recording, "/r/%d.wav", ++n);
    (void)snprintf(e.entered_utc, sizeof e.entered_utc, "2026-01-%02uT08:00:00Z",
                   (unsigned)(1 + n % 28) % 100U);
    e.attempt = attempt;
    e.beats = beats;
    e.seconds = seconds;
    entry_put(e.site, sizeof e.site, site);
    entry_put(e.rhythm, sizeof e.rhythm, word != NULL ? word : rhythm);
    assert_true(logbook_enter(book, &e, &err));
    entry_put(e.device_status, sizeof e.device_status, status);
    entry_put(e.device_rhythm, sizeof e.device_rhythm, rhythm);
    e.reference_per_min = reference;
    e.difference_per_min = entry_per_min(&e) - reference;
    assert_true(logbook_count(book, &e, &err));
}

/* One that could not be counted, judged so; the same recording is never met twice. */
static void add_could_not(fm_verdict right)
{
    static int n;
    app_err err = APP_ERR_NONE;
    entry e = entry_none();
    entry_put(e.learner, sizeof e.learner, "AB");
    (void)snprintf(e.recording, sizeof e.recording, "/r/not-%d.wav", ++n);
    e.seconds = 60;
    entry_put(e.site, sizeof e.site, site);
    e.could_not = 1;
    assert_true(logbook_enter(book, &e, &err));
    entry_put(e.device_status, sizeof e.device_status,
              right == FM_VERDICT_AGREES ? "refused" : "counted");
    entry_put(e.verdict, sizeof e.verdict, fm_verdict_word(right));
    assert_true(logbook_count(book, &e, &err));
}

static progress make(void)
{
    app_err err = APP_ERR_NONE;
    progress p;
    assert_true(progress_make(book, "AB", (double)NAN, &p, &err));
    return p;
}

static void the_published_example_comes_out(void **state)
{
    static const int WRIGHT[] = {494, 395, 516, 434, 476, 557, 413, 442, 650,
                                 433, 417, 656, 267, 478, 178, 423, 427};
    static const int MINI[] = {512, 430, 520, 428, 500, 600, 364, 380, 658,
                               445, 432, 626, 260, 477, 259, 350, 451};
    (void)state;
    for (size_t i = 0; i < 17; i++) {
        app_err err = APP_ERR_NONE;
        entry e = entry_none();
        entry_put(e.learner, sizeof e.learner, "AB");
        (void)snprintf(e.recording, sizeof e.recording, "/r/pefr-%zu.wav", i);
        e.beats = WRIGHT[i];
        e.seconds = 60;
        assert_true(logbook_enter(book, &e, &err));
        e.reference_per_min = MINI[i];
        e.difference_per_min = WRIGHT[i] - MINI[i];
        assert_true(logbook_count(book, &e, &err));
    }
    progress p = make();
    const fm_agreement *const a = &p.all.agreement;
    assert_int_equal(a->n, 17);
    assert_within(a->bias, -2.1, 0.15); /* as printed */
    assert_within(a->sd, 38.8, 0.15);
    assert_within(a->bias - 2.0 * a->sd, -79.7, 0.15);
    assert_within(a->bias + 2.0 * a->sd, 75.5, 0.15);
    assert_within(a->bias, -2.117647, 1e-4);
    assert_within(a->sd, 38.765130, 1e-4);
    assert_within(a->bias - 2.0 * a->sd, -79.647907, 1e-4);
    assert_within(a->bias + 2.0 * a->sd, 75.412613, 1e-4);
    assert_within(a->limits.low, -78.097302, 2e-3); /* its 1.96 is rounded */
    assert_within(a->limits.high, 73.862007, 2e-3);
    progress_free(&p);
}

static void only_first_compared_attempts_are_in_it(void **state)
{
    (void)state;
    add(72, 60, 72.0, "regular", 1);
    add(70, 60, 74.0, "regular", 2);
    add(70, 60, (double)NAN, "regular", 1);
    progress p = make();
    assert_int_equal(p.rows, 3);
    assert_int_equal(p.repeated, 1);
    assert_int_equal(p.not_compared, 1);
    assert_int_equal(p.all.agreement.n, 1);
    progress_free(&p);
}

static progress_group group(const progress *p, const char *label)
{
    for (size_t i = 0; i < p->n_groups; i++) {
        if (strcmp(p->groups[i].label, label) == 0) {
            return p->groups[i];
        }
    }
    fail_msg("no group %s", label);
    return (progress_group){0};
}

static void counts_are_grouped_by_method_rate_and_rhythm(void **state)
{
    (void)state;
    add(55, 60, 55.0, "regular", 1);
    add(40, 30, 70.0, "irregularly irregular", 1); /* 80, ten too many */
    add(30, 15, 120.0, "undetermined", 1);
    progress p = make();
    assert_int_equal(group(&p, "full minute").agreement.n, 1);
    assert_within(group(&p, "30 s x 2").agreement.bias, 10.0, 1e-9);
    assert_int_equal(group(&p, "30 s x 2").within, 0);
    assert_int_equal(group(&p, "15 s x 4").within, 1);
    assert_int_equal(group(&p, "under 60 a minute").agreement.n, 1);
    assert_int_equal(group(&p, "over 100 a minute").agreement.n, 1);
    assert_within(group(&p, "irregular").agreement.bias, 10.0, 1e-9);
    assert_int_equal(group(&p, "rhythm not known").agreement.n, 1);
    progress_free(&p);
}

static void set_goal(int in_a_row, double within, int irregular)
{
    app_err err = APP_ERR_NONE;
    logbook_goal g = {
        .in_a_row = in_a_row, .within_per_min = within, .irregular = irregular};
    entry_put(g.learner, sizeof g.learner, "AB");
    assert_true(logbook_set_goal(book, &g, &err));
}

static void a_goal_needs_its_irregular_ones(void **state)
{
    (void)state;
    set_goal(3, 2.0, 1);
    add(70, 60, 70.0, "irregularly irregular", 1);
    add(70, 60, 75.0, "regular", 1); /* five off: the row begins again */
    add(70, 60, 70.0, "regular", 1);
    add(70, 60, 72.0, "regular", 1); /* two off: just within */
    add(70, 60, 70.0, "regular", 1);
    progress p = make();
    assert_false(p.goal.met);
    assert_int_equal(p.goal.now_in_a_row, 3);
    assert_int_equal(p.goal.now_irregular, 0);
    progress_free(&p);
    add(70, 60, 71.0, "irregularly irregular", 1);
    add(70, 60, 90.0, "regular", 1); /* met once stays met */
    p = make();
    assert_true(p.goal.met);
    assert_int_equal(p.goal.now_in_a_row, 0);
    assert_within(p.within_per_min, 2.0, 1e-12);
    progress_free(&p);
}

/* Two 15 s counts at the wrist met a goal of two: they are none for it, nor is a refused or
 * doubtful one, nor an irregular one called by another word. */
static void a_goal_takes_full_minutes_at_the_apex_with_the_word_right(void **state)
{
    (void)state;
    set_goal(2, 4.0, 1);
    site = "radial";
    add(18, 15, 72.0, "irregularly irregular", 1);
    add(18, 15, 72.0, "irregularly irregular", 1);
    add(72, 60, 72.0, "irregularly irregular", 1);
    site = "apical";
    add(36, 30, 72.0, "irregularly irregular", 1);
    status = "caution";
    add(72, 60, 72.0, "irregularly irregular", 1);
    status = "refused";
    add(72, 60, 72.0, "irregularly irregular", 1);
    status = "counted";
    progress p = make();
    assert_false(p.goal.met);
    assert_int_equal(p.goal.now_in_a_row, 0);
    progress_free(&p);
    word = "regular"; /* heard, and called by the wrong word */
    add(72, 60, 72.0, "irregularly irregular", 1);
    add(72, 60, 72.0, "irregularly irregular", 1);
    word = NULL;
    p = make();
    assert_false(p.goal.met);
    assert_int_equal(p.goal.now_in_a_row, 2);
    assert_int_equal(p.goal.now_irregular, 0);
    progress_free(&p);
    add(72, 60, 72.0, "irregularly irregular", 1);
    p = make();
    assert_true(p.goal.met);
    char *const text = progress_text(&p);
    assert_non_null(strstr(text, "Practice record, not a competence check"));
    assert_non_null(strstr(text, "It takes first attempts"));
    free(text);
    progress_free(&p);
}

static void add_breaths(int breaths, int seconds, double reference, const char *said)
{
    static int n;
    app_err err = APP_ERR_NONE;
    entry e = entry_none();
    entry_put(e.learner, sizeof e.learner, "AB");
    (void)snprintf(e.recording, sizeof e.recording, "/b/%d.wav", ++n);
    e.breaths = breaths;
    e.breath_seconds = seconds;
    assert_true(logbook_enter(book, &e, &err));
    entry_put(e.device_breath_status, sizeof e.device_breath_status, said);
    e.breath_reference_per_min = reference;
    e.breath_difference_per_min = entry_breath_per_min(&e) - reference;
    assert_true(logbook_count(book, &e, &err));
}

static void respirations_have_a_goal_of_their_own(void **state)
{
    (void)state;
    app_err err = APP_ERR_NONE;
    logbook_goal g = {.breath_in_a_row = 2, .breath_within_per_min = 2.0};
    entry_put(g.learner, sizeof g.learner, "AB");
    assert_true(logbook_set_goal(book, &g, &err));
    add_breaths(16, 60, 16.0, "counted");
    add_breaths(8, 30, 16.0, "counted");
    add_breaths(16, 60, 16.0, "caution");
    progress p = make();
    assert_false(p.goal.set);
    assert_false(p.goal.breath_met);
    assert_int_equal(p.goal.breath_now_in_a_row, 1);
    progress_free(&p);
    add_breaths(17, 60, 16.0, "counted");
    p = make();
    assert_true(p.goal.breath_met);
    progress_free(&p);
}

/* The medians of the first ten and of the last ten; of two and two nothing is said. */
static void how_far_off_at_first_and_at_last(void **state)
{
    (void)state;
    for (int i = 0; i < 5; i++) {
        add(66, 60, 72.0, "regular", 1);
    }
    progress p = make();
    char *text = progress_text(&p);
    assert_null(strstr(text, "were off by"));
    free(text);
    progress_free(&p);
    for (int i = 0; i < 17; i++) {
        add(i < 6 ? 66 : 74, 60, 72.0, "regular", 1);
    }
    p = make();
    text = progress_text(&p);
    assert_non_null(strstr(
        text, "The first 10 were off by 6.0 per minute (median), the last 10 by"));
    assert_non_null(strstr(text, "2.0."));
    free(text);
    json_t *const document = progress_document(&p);
    assert_within(json_real_value(json_object_get(document, "trend_first_per_min")),
                  6.0, 0.0);
    assert_within(json_real_value(json_object_get(document, "trend_last_per_min")), 2.0,
                  0.0);
    json_decref(document);
    progress_free(&p);
}

static void nobody_is_told(void **state)
{
    (void)state;
    app_err err = APP_ERR_NONE;
    progress p;
    assert_false(progress_make(book, "XY", (double)NAN, &p, &err));
    assert_int_equal(err.code, APP_USAGE);
    progress_free(&p);
}

/* 'Better than last time': the last first attempt that was compared, and not of a second. */
static void last_time_is_the_last_first_attempt(void **state)
{
    (void)state;
    app_err err = APP_ERR_NONE;
    entry e;
    add(70, 60, 72.0, "regular", 1);
    assert_true(logbook_get(book, 1, &e, &err));
    assert_true(isnan(last_count_find(book, &e).off_per_min[FM_EVENT_BEAT]));
    add(75, 60, 80.0, "regular", 1);
    add(80, 60, 80.0, "regular", 2);        /* a second attempt */
    add(66, 60, (double)NAN, "regular", 1); /* refused */
    add(64, 60, 65.0, "regular", 1);
    assert_true(logbook_get(book, 5, &e, &err));
    const check_before before = last_count_find(book, &e);
    assert_within(before.off_per_min[FM_EVENT_BEAT], -5.0, 1e-9);
    assert_true(isnan(before.off_per_min[FM_EVENT_BREATH]));
    e.attempt = 2;
    assert_true(isnan(last_count_find(book, &e).off_per_min[FM_EVENT_BEAT]));
    e.attempt = 1;
    e.number = 0; /* not stored */
    assert_true(isnan(last_count_find(book, &e).off_per_min[FM_EVENT_BEAT]));
    assert_true(isnan(last_count_find(NULL, &e).off_per_min[FM_EVENT_BEAT]));
}

/* Two say too little. */
static void two_counts_have_no_limits_of_agreement(void **state)
{
    (void)state;
    add(70, 60, 72.0, "regular", 1);
    add(75, 60, 80.0, "regular", 1);
    progress p = make();
    char *const text = progress_text(&p);
    assert_true(isnan(p.all.agreement.limits.low));
    assert_non_null(strstr(text, "none from fewer than three counts"));
    assert_null(strstr(text, "nan"));
    free(text);
    progress_free(&p);
}

#define WITH_BOOK(test) cmocka_unit_test_setup_teardown(test, open_book, close_book)

/* Right where nothing can be counted; where something can, the run begins again. */
static void could_not_count_ends_a_run_where_it_can_be_counted(void **state)
{
    (void)state;
    app_err err = APP_ERR_NONE;
    logbook_goal g = {.in_a_row = 3, .within_per_min = 4.0};
    entry_put(g.learner, sizeof g.learner, "AB");
    add(72, 60, 72.0, "regular", 1);
    assert_true(logbook_set_goal(book, &g, &err));
    add(72, 60, 72.0, "regular", 1);
    add_could_not(FM_VERDICT_DIFFERS);
    add(72, 60, 72.0, "regular", 1);
    progress p = make();
    assert_int_equal(p.goal.now_in_a_row, 1);
    assert_false(p.goal.met);
    assert_int_equal(p.could_not, 1);
    assert_int_equal(p.could_not_rightly, 0);
    progress_free(&p);
    add(72, 60, 72.0, "regular", 1);
    add_could_not(FM_VERDICT_AGREES); /* neither helps nor harms */
    add_could_not(FM_VERDICT_TOO_CLOSE);
    add(72, 60, 72.0, "regular", 1);
    p = make();
    assert_int_equal(p.goal.now_in_a_row, 3);
    assert_true(p.goal.met);
    assert_int_equal(p.could_not, 3);
    assert_int_equal(p.could_not_rightly, 1);
    assert_int_equal(p.all.agreement.n, 5); /* no number of theirs is in any sum */
    progress_free(&p);
    add_could_not(FM_VERDICT_DIFFERS); /* the newest of all */
    p = make();
    assert_int_equal(p.goal.now_in_a_row, 0);
    assert_true(p.goal.met); /* it was, then */
    progress_free(&p);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        WITH_BOOK(the_published_example_comes_out),
        WITH_BOOK(only_first_compared_attempts_are_in_it),
        WITH_BOOK(counts_are_grouped_by_method_rate_and_rhythm),
        WITH_BOOK(a_goal_needs_its_irregular_ones),
        WITH_BOOK(a_goal_takes_full_minutes_at_the_apex_with_the_word_right),
        WITH_BOOK(respirations_have_a_goal_of_their_own),
        WITH_BOOK(how_far_off_at_first_and_at_last),
        WITH_BOOK(nobody_is_told),
        WITH_BOOK(last_time_is_the_last_first_attempt),
        WITH_BOOK(two_counts_have_no_limits_of_agreement),
        WITH_BOOK(could_not_count_ends_a_run_where_it_can_be_counted),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
