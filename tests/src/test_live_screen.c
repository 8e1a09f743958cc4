/*
 * A moment of a live sitting as text: it fits the screen in every phase, and what there is to
 * say of the level is said.
 *   Source: the contract in src/command/live_screen.h: at most 20 lines of 58 columns.
 *   Input:  every phase of both kinds, with all that can be said at once and with nothing.
 */
#include "tests/support.h"

#include "src/command/live_screen.h"
#include "src/command/own_ask.h"
#include "src/words/entry_question.h"

#include <math.h>
#include <string.h>

enum {
    LINES_MOST = 20
};

static const char ADVICE[] = "too quiet: press the chest piece more firmly";

static live_view view_of(taking_phase phase, sitting_kind kind)
{
    return (live_view){.phase = phase,
                       .kind = kind,
                       .window = 1,
                       .seconds = 60,
                       .elapsed_s = 12.0,
                       .left_s = 48.0,
                       .can_start = true,
                       .level_dbfs = -30.0,
                       .advice = "",
                       .trouble = "",
                       .person = ""};
}

static void assert_fits(const char *screen)
{
    int n_lines = 0;
    for (const char *at = screen; *at != '\0'; n_lines++) {
        const size_t n = strcspn(at, "\n");
        if (n > LIVE_SCREEN_COLUMNS || at[n] == '\0') {
            fail_msg("a line of %zu: '%s'", n, at);
        }
        at += n + 1;
    }
    if (n_lines > LINES_MOST) {
        fail_msg("%d lines: %s", n_lines, screen);
    }
}

static void every_moment_fits_the_screen(void **state)
{
    (void)state;
    for (int phase = TAKING_SETTLING; phase <= TAKING_BROKEN; phase++) {
        for (int i = 0; i < 32; i++) {
            live_view v = view_of((taking_phase)phase,
                                  i % 2 == 0 ? SITTING_PULSE : SITTING_BREATH);
            const bool full = (i & 2) != 0;
            v.advice = full ? ADVICE : "";
            v.level_dbfs = full ? -66.0 : (double)NAN;
            v.watched = (i & 4) != 0;
            v.stalled = full;
            v.ticks = full;
            v.missing_s = full ? 12.5 : 0.0;
            v.lost_start_s = 3.0;
            v.lost_length_s = full ? 0.0 : 55.0;
            v.entry = (i & 8) != 0 ? TAKING_SECOND : TAKING_PULSE;
            const live_screen_state s = {.checked = (i & 16) != 0,
                                         .breath_next = full,
                                         .watches_first = v.watched,
                                         .typed = full ? "123" : "",
                                         .note = full ? "a whole number of beats" : "",
                                         .person = ""};
            char screen[LIVE_SCREEN_BYTES];
            live_screen_format(&v, &s, screen);
            assert_fits(screen);
            assert_true(phase == TAKING_BROKEN || screen[0] != '\0');
        }
    }
}

/* Each question beside the number, with the longest answer; a question of the person and an
 * error however long; all of it is there. */
static void what_is_asked_fits_the_screen(void **state)
{
    (void)state;
    static const taking_entry OF[] = {TAKING_PULSE, TAKING_BREATH};
    char screen[LIVE_SCREEN_BYTES];
    for (size_t k = 0; k < sizeof OF / sizeof OF[0]; k++) {
        char asked[LINES_PARAGRAPH_BYTES];
        char note[LINES_PARAGRAPH_BYTES];
        char ask[OWN_ASK_BYTES];
        live_view v = view_of(TAKING_ENTRY, SITTING_PULSE);
        own_count own = own_count_of(0);
        v.entry = OF[k];
        own.could_not = true;
        (void)entry_question_of(OF[k], &own, 60, true, asked);
        live_screen_wrap(asked, note, sizeof note);
        live_screen_state s = {
            .checked = true, .typed = "c", .note = note, .person = ""};
        live_screen_format(&v, &s, screen);
        assert_fits(screen);
        assert_non_null(strstr(screen, "resuscitation"));
        s.typed = "399,399,399";
        s.note = "a whole number";
        int n = 0;
        for (const own_question *q = NULL; (q = own_question_at(OF[k], n)) != NULL;
             n++) {
            s.ask = own_question_say(q, ask);
            live_screen_format(&v, &s, screen);
            assert_fits(screen);
            assert_non_null(strstr(screen, s.typed));
        }
        assert_int_equal(n, OF[k] == TAKING_PULSE ? 2 : 4);
    }
    live_view v = view_of(TAKING_BROKEN, SITTING_PULSE);
    const live_screen_state s = {
        .checked = true, .typed = "", .note = "", .person = ""};
    v.trouble =
        "cannot write /a/folder/with/a/long/name/that/goes/on/and/on.wav: no space "
        "left on device; make room in that folder or choose another one, what was "
        "recorded before that moment is kept beside it and can be counted, and its "
        "last word is here: end";
    live_screen_format(&v, &s, screen);
    assert_non_null(strstr(screen, "end\n"));
}

/* 'good' only where there is nothing to advise. */
static void the_advice_about_the_level_is_shown(void **state)
{
    (void)state;
    const live_screen_state s = {
        .checked = true, .typed = "", .note = "", .person = ""};
    live_view v = view_of(TAKING_SETTLING, SITTING_PULSE);
    char screen[LIVE_SCREEN_BYTES];
    live_screen_format(&v, &s, screen);
    assert_non_null(strstr(screen, "-30 dB   good"));
    v.advice = ADVICE;
    live_screen_format(&v, &s, screen);
    assert_non_null(strstr(screen, ADVICE));
    assert_non_null(strstr(screen, "-30 dB"));
    assert_null(strstr(screen, "good"));
    v.level_dbfs = (double)NAN;
    live_screen_format(&v, &s, screen);
    assert_non_null(strstr(screen, "listening"));
    assert_null(strstr(screen, "dB"));
}

/* A sound that is not named is neither of the two, on the screen and in the page's JSON. */
static void a_sound_that_is_not_named_has_its_own_mark(void **state)
{
    (void)state;
    const live_screen_state s = {.marks = true, .typed = "", .note = "", .person = ""};
    live_view v = view_of(TAKING_RUNNING, SITTING_PULSE);
    char screen[LIVE_SCREEN_BYTES];
    v.now_s = 12.0;
    v.n_marks = 3;
    v.marks[0] = (live_mark){10.0, FM_PROVISIONAL_S1, 0.0};
    v.marks[1] = (live_mark){10.35, FM_PROVISIONAL_S2, 0.0};
    v.marks[2] = (live_mark){11.0, FM_PROVISIONAL_UNSURE, 0.0};
    live_screen_format(&v, &s, screen);
    assert_non_null(strstr(screen, "|  .    :"));
    const live_envelope none = {0};
    json_t *const json = live_view_json(&v, &none, 12.0);
    json_t *const marks = json_object_get(json_object_get(json, "open"), "marks");
    assert_true(json_is_false(json_array_get(json_array_get(marks, 0), 1)));
    assert_true(json_is_true(json_array_get(json_array_get(marks, 1), 1)));
    assert_true(json_is_null(json_array_get(json_array_get(marks, 2), 1)));
    json_decref(json);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_moment_fits_the_screen),
        cmocka_unit_test(the_advice_about_the_level_is_shown),
        cmocka_unit_test(what_is_asked_fits_the_screen),
        cmocka_unit_test(a_sound_that_is_not_named_has_its_own_mark),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
