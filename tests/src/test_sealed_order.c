/*
 * The sealed order: entered, stored, counted, shown, whoever stores and whenever he answers.
 *   Source:    the contract in src/usecase/taking.h.
 *   Input:     every event in every phase of every kind of plan, time stepped by hand; each
 *              front door's plan with each store; one recorded minute.
 *   Tolerance: none.
 */
#include "dsp/analyser.h"
#include "src/logbook/logbook_private.h"
#include "src/usecase/entry_ask.h"
#include "src/usecase/logbook_keep.h"

#include "tests/support.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

enum {
    SETTLED = 10, /* units of time, of which one is a second */
    START = 100,
    END = 160,
    TAIL = 4,
    STATES_MOST = 4096,
    LATE = 3
};

/* ---- Plans ---- */

#define PULSE                                                                          \
    {                                                                                  \
        .entry = TAKING_PULSE, .seconds = 60, .window = true                           \
    }
#define BREATH                                                                         \
    {                                                                                  \
        .entry = TAKING_BREATH, .seconds = 60, .window = true                          \
    }
#define LIVE .rate_hz = 1.0, .settle = SETTLED, .tail = TAIL

static const taking ONE = {LIVE, .n_steps = 1, .steps = {PULSE}};
static const taking TWO = {LIVE, .n_steps = 2, .steps = {PULSE, BREATH}};
static const taking EXAMINERS = {
    LIVE, .n_steps = 3,
    .steps = {PULSE, {.entry = TAKING_SECOND, .seconds = 60}, BREATH}};
static const taking WATCHED = {
    LIVE, .n_steps = 2,
    .steps = {{.entry = TAKING_BREATH, .seconds = 60, .window = true, .watched = true},
              PULSE}};
static const taking OPEN = {LIVE, .open = true, .n_steps = 1, .steps = {PULSE}};
static const taking ROW = {LIVE, .open = true, .repeats = true, .n_steps = 1,
                           .steps = {PULSE}};
static const taking PRACTICE = {
    .n_steps = 2,
    .steps = {{.entry = TAKING_PULSE, .seconds = 60, .with_next = true},
              {.entry = TAKING_BREATH, .seconds = 60}}};
static const taking ROOM = {.rate_hz = 1.0, .n_steps = 1, .steps = {PULSE}};
static const taking RECORDING = {.n_steps = 0}; /* all that is entered comes at once */

static const taking *const DOORS[] = {&ONE,      &TWO,  &EXAMINERS, &WATCHED,
                                      &PRACTICE, &ROOM, &RECORDING, &OPEN};

/* ---- Every event in every phase ---- */

static const struct {
    taking_event event;
    int64_t at;
} EVENTS[] = {
    {TAKING_TIME, START - 1},  {TAKING_TIME, START},   {TAKING_TIME, END},
    {TAKING_TIME, END + TAIL}, {TAKING_START, START},  {TAKING_LACKS, 0},
    {TAKING_AGAIN, 0},         {TAKING_KEEP, 0},       {TAKING_ENTERED, 0},
    {TAKING_STORED, 0},        {TAKING_NOT_STORED, 0}, {TAKING_COUNTED, 0},
    {TAKING_COUNT_FAILED, 0},  {TAKING_STOP, 0},       {TAKING_INPUT_ENDED, 0},
};

enum {
    N_EVENTS = sizeof EVENTS / sizeof EVENTS[0],
    N_PHASES = TAKING_FAILED + 1
};

/* A letter a phase; '.': nothing changes, '*': the phase stays, something in it changes. */
static const char LETTERS[N_PHASES + 1] = "ESLRGNKTBCVF";

/* Of one checked window. Time before the window, at its start, its end, behind its tail;
 * start, lacks, again, keep; entered, stored, not stored; counted, count failed; stop, input
 * ended. */
static const char *const PLAIN[N_PHASES] = {
    [TAKING_ENDED] = ".... .... ... .. ..",   [TAKING_SETTLING] = ".... L... ... .. EB",
    [TAKING_LEAD_IN] = ".RNN .*S. ... .. EB", [TAKING_RUNNING] = "..NN .*S. ... .. EB",
    [TAKING_GAPPED] = ".... ..SN ... .. E.",  [TAKING_ENTRY] = ".... .... K.. .. E.",
    [TAKING_STORING] = ".... .... .TN .. E.", [TAKING_TAIL] = "...C .... ... .. EC",
    [TAKING_BROKEN] = ".... .... ... .. E.",  [TAKING_COUNTING] = ".... .... ... VF ..",
    [TAKING_SHOWN] = ".... .... ... .. ..",   [TAKING_FAILED] = ".... .... ... .. .."};

/* And where another plan, or a window that lacks something, differs from it. */
static const struct {
    const taking *plan;
    bool lacks;
    taking_phase phase;
    const char *row;
} DIFFERENT[] = {
    {&ONE, true, TAKING_LEAD_IN, ".RGG ..S. ... .. EB"},
    {&ONE, true, TAKING_RUNNING, "..GG ..S. ... .. EB"},
    {&WATCHED, true, TAKING_LEAD_IN, ".RNN ..S. ... .. EB"},
    {&WATCHED, true, TAKING_RUNNING, "..NN ..S. ... .. EB"},
    {&WATCHED, true, TAKING_STORING, ".... .... .SN .. E."},
    {&TWO, false, TAKING_STORING, ".... .... .SN .. E."},
    {&EXAMINERS, false, TAKING_STORING, ".... .... .NN .. E."},
    {&PRACTICE, false, TAKING_ENTRY, ".... .... *.. .. E."},
    {&ROOM, false, TAKING_STORING, ".... .... .CN .. E."},
    {&ROOM, false, TAKING_TAIL, "..CC .... ... .. EC"},
    {&OPEN, false, TAKING_SETTLING, ".... L... ... .. CB"},
    {&OPEN, false, TAKING_LEAD_IN, ".RTC .*S. ... .. CB"},
    {&OPEN, false, TAKING_RUNNING, "..TC .*S. ... .. CB"},
    {&OPEN, false, TAKING_GAPPED, ".... ..SN ... .. C."},
    {&OPEN, false, TAKING_ENTRY, ".... .... K.. .. C."},
    {&OPEN, false, TAKING_STORING, ".... .... .TN .. C."},
    {&OPEN, false, TAKING_TAIL, "...C .... ... .. CC"},
    {&OPEN, false, TAKING_BROKEN, ".... .... ... .. C."},
    {&ROW, false, TAKING_LEAD_IN, ".RRR .*S. ... .. CB"},
    {&ROW, false, TAKING_RUNNING, "..** .*S. ... .. CB"},
};

static taking begun(const taking *plan)
{
    taking t = *plan;
    taking_begin(&t);
    (void)taking_tell(&t, TAKING_TIME, SETTLED);
    return t;
}

static taking at_phase(const taking *plan, taking_phase phase, bool lacks)
{
    taking t = begun(plan);
    t.phase = phase;
    t.start = START;
    t.end = END;
    t.lacks = lacks;
    return t;
}

static void assert_row(const taking *plan,
                       bool lacks,
                       taking_phase phase,
                       const char *row)
{
    for (int i = 0; i < N_EVENTS; i++, row++) {
        row += *row == ' ';
        taking t = at_phase(plan, phase, lacks);
        const bool changed = taking_tell(&t, EVENTS[i].event, EVENTS[i].at);
        char got = LETTERS[t.phase];
        if (!changed) {
            got = '.';
        } else if (t.phase == phase) {
            got = '*';
        }
        if (got != *row || (!changed && t.phase != phase)) {
            fail_msg("phase %c, event %d: %c, not %c", LETTERS[phase], i, got, *row);
        }
    }
}

static void every_event_in_every_phase(void **state)
{
    (void)state;
    for (int phase = 0; phase < N_PHASES; phase++) {
        assert_row(&ONE, false, (taking_phase)phase, PLAIN[phase]);
    }
    for (size_t i = 0; i < sizeof DIFFERENT / sizeof DIFFERENT[0]; i++) {
        assert_row(DIFFERENT[i].plan, DIFFERENT[i].lacks, DIFFERENT[i].phase,
                   DIFFERENT[i].row);
    }
    taking t = ONE;
    taking_begin(&t);
    (void)taking_tell(&t, TAKING_TIME, SETTLED - 1);
    assert_false(taking_tell(&t, TAKING_START, START)); /* not heard for long enough */
}

/* ---- Every way that leads anywhere ---- */

/* A taking, and what was really told of it. */
typedef struct known {
    taking t;
    unsigned entered, stored; /* a bit a step */
    bool counted;
} known;

static bool same(const known *a, const known *b)
{
    return a->t.phase == b->t.phase && a->t.step == b->t.step &&
           a->t.window == b->t.window && a->t.now == b->t.now &&
           a->t.start == b->t.start && a->t.end == b->t.end &&
           a->t.lacks == b->t.lacks && a->entered == b->entered &&
           a->stored == b->stored && a->counted == b->counted;
}

static known after(known k, int i)
{
    const unsigned bit = 1U << (unsigned)k.t.step;
    if (!taking_tell(&k.t, EVENTS[i].event, EVENTS[i].at)) {
        return k;
    }
    if (EVENTS[i].event == TAKING_ENTERED) {
        k.entered |= bit;
    } else if (EVENTS[i].event == TAKING_STORED) {
        k.stored |= k.entered;
        k.entered = 0;
    } else if (EVENTS[i].event == TAKING_NOT_STORED) {
        k.entered &= ~bit;
    }
    k.counted = k.counted || EVENTS[i].event == TAKING_COUNTED;
    return k;
}

static void assert_sealed(const known *k, int n_steps)
{
    const unsigned all = (1U << (unsigned)n_steps) - 1U;
    const bool may_count = k->t.open || k->stored == all;
    if ((k->t.phase >= TAKING_COUNTING && !may_count) ||
        (k->t.phase == TAKING_SHOWN && !k->counted)) {
        fail_msg("phase %c with %x of %x stored, counted %d", LETTERS[k->t.phase],
                 k->stored, all, k->counted);
    }
}

static void no_way_leads_round_the_store(void **state)
{
    (void)state;
    static known all[STATES_MOST];
    for (size_t d = 0; d < sizeof DOORS / sizeof DOORS[0]; d++) {
        const int n_steps = DOORS[d]->n_steps > 0 ? DOORS[d]->n_steps : 1;
        size_t n = 1;
        bool shown = false;
        all[0] = (known){.t = begun(DOORS[d])};
        for (size_t at = 0; at < n; at++) {
            assert_sealed(&all[at], n_steps);
            shown = shown || all[at].t.phase == TAKING_SHOWN;
            for (int i = 0; i < N_EVENTS; i++) {
                const known next = after(all[at], i);
                size_t k = 0;
                while (k < n && !same(&all[k], &next)) {
                    k++;
                }
                assert_true(k < STATES_MOST);
                all[k] = next;
                n += k == n;
            }
        }
        assert_true(shown);
    }
}

/* ---- Stores ---- */

typedef enum answer {
    NOT_YET,
    STORED,
    REFUSED
} answer;

/* Where entries go: the logbook, or rows of our own. */
typedef struct store {
    const char *name;
    bool is_logbook;
    int refuses; /* so many at first */
    int late;    /* so often it is asked in vain */
    logbook *book;
    int n, asked;
    answer will;
} store;

static char folder[] = "/tmp/fullminute-order-XXXXXX";
static char path[128];

static int deny(void *context,
                int action,
                const char *a,
                const char *b,
                const char *database,
                const char *inner)
{
    (void)context;
    (void)action;
    (void)a;
    (void)b;
    (void)database;
    (void)inner;
    return SQLITE_DENY;
}

static void store_open(store *s)
{
    app_err err = APP_ERR_NONE;
    if (s->is_logbook) {
        (void)unlink(path);
        s->book = logbook_open(path, true, &err);
        assert_non_null(s->book);
    }
}

static int store_rows(const store *s)
{
    return s->is_logbook ? logbook_number(s->book, "SELECT count(*) FROM session")
                         : s->n;
}

static void store_put(store *s, const fm_manual *entered)
{
    app_err err = APP_ERR_NONE;
    entry e = entry_none();
    const bool refuse = s->refuses-- > 0;
    s->asked = 0;
    s->will = refuse ? REFUSED : STORED;
    if (!s->is_logbook) {
        return;
    }
    entry_put(e.learner, sizeof e.learner, "AB");
    if (entered->could_not) {
        e.could_not = 1;
    } else {
        e.beats = entered->entered;
    }
    e.seconds = 60;
    (void)sqlite3_set_authorizer(s->book->db, refuse ? deny : NULL, NULL);
    assert_int_equal(logbook_enter(s->book, &e, &err), !refuse);
    (void)sqlite3_set_authorizer(s->book->db, NULL, NULL);
}

static answer store_ask(store *s)
{
    if (s->asked++ < s->late) {
        return NOT_YET;
    }
    s->n += !s->is_logbook && s->will == STORED;
    return s->will;
}

static void store_close(store *s)
{
    logbook_close(s->book);
}

static const store STORES[] = {
    {.name = "logbook", .is_logbook = true},
    {.name = "logbook that refuses", .is_logbook = true, .refuses = 2},
    {.name = "late", .late = LATE},
    {.name = "late and refuses", .late = LATE, .refuses = 2},
};

/* ---- One body, for every door and every store ---- */

/* Answers that nobody waits for, and those that come twice, do nothing. */
static void answer_unasked(taking *t)
{
    static const taking_event ANSWERS[] = {TAKING_STORED, TAKING_NOT_STORED,
                                           TAKING_COUNTED, TAKING_COUNT_FAILED};
    const taking before = *t;
    for (size_t i = 0; i < sizeof ANSWERS / sizeof ANSWERS[0]; i++) {
        const bool of_store =
            ANSWERS[i] == TAKING_STORED || ANSWERS[i] == TAKING_NOT_STORED;
        if (t->phase != (of_store ? TAKING_STORING : TAKING_COUNTING)) {
            assert_false(taking_tell(t, ANSWERS[i], 0));
            assert_int_equal(t->phase, before.phase);
            assert_int_equal(t->step, before.step);
        }
    }
}

/* From storing on: as long as there is no answer, nothing goes on. */
static void wait_for(store *s, taking *t)
{
    const int rows = store_rows(s);
    const int step = t->step;
    answer a = NOT_YET;
    const fm_manual seventy = {.entered = 70, .seconds = 60};
    store_put(s, &seventy);
    while ((a = store_ask(s)) == NOT_YET) {
        assert_int_equal(store_rows(s), rows);
        (void)taking_tell(t, TAKING_TIME, t->now + 1000);
        assert_int_equal(t->phase, TAKING_STORING);
        assert_false(taking_tell(t, TAKING_ENTERED, 0)); /* nor is it entered twice */
        answer_unasked(t);
    }
    assert_true(taking_tell(t, a == STORED ? TAKING_STORED : TAKING_NOT_STORED, 0));
    assert_int_equal(store_rows(s), rows + (a == STORED));
    if (a == REFUSED) {
        assert_int_equal(t->phase, TAKING_ENTRY);
        assert_int_equal(t->step, step);
    }
    answer_unasked(t);
}

/* What a front door does where it stands. @return whether it is over */
static bool one_step(store *s, taking *t)
{
    answer_unasked(t);
    switch (t->phase) {
    case TAKING_SETTLING:
        assert_true(taking_tell(t, TAKING_START, t->now + START));
        return false;
    case TAKING_LEAD_IN:
        (void)taking_tell(t, TAKING_TIME, t->start);
        return false;
    case TAKING_RUNNING:
        (void)taking_tell(t, TAKING_TIME, t->end);
        return false;
    case TAKING_TAIL:
        (void)taking_tell(t, TAKING_TIME, t->end + t->tail);
        return false;
    case TAKING_ENTRY:
        assert_true(taking_tell(t, TAKING_ENTERED, 0));
        return false;
    case TAKING_STORING:
        wait_for(s, t);
        return false;
    case TAKING_COUNTING:
        assert_true(taking_tell(t, TAKING_COUNTED, 0));
        return false;
    default:
        return true;
    }
}

/* One for each number that is stored by itself. */
static int rows_of(const taking *t)
{
    int n = t->n_steps == 0;
    for (int i = 0; i < t->n_steps && !t->open; i++) {
        n += !t->steps[i].with_next;
    }
    return n;
}

static void each_door_waits_for_each_store(void **state)
{
    (void)state;
    for (size_t k = 0; k < sizeof STORES / sizeof STORES[0]; k++) {
        for (size_t d = 0; d < sizeof DOORS / sizeof DOORS[0]; d++) {
            store s = STORES[k];
            taking t = begun(DOORS[d]);
            store_open(&s);
            while (!one_step(&s, &t)) {
                if (t.phase >= TAKING_COUNTING && store_rows(&s) != rows_of(&t)) {
                    fail_msg("%s, door %zu: counted with %d of %d stored", s.name, d,
                             store_rows(&s), rows_of(&t));
                }
            }
            assert_int_equal(t.phase, TAKING_SHOWN);
            store_close(&s);
        }
    }
}

/* ---- The same of a recording, with the analyser watched ---- */

static int pushed;

fm_status __real_fm_analyser_push(fm_analyser *a, const float *in, size_t n);
fm_status __wrap_fm_analyser_push(fm_analyser *a, const float *in, size_t n);
fm_status __wrap_fm_analyser_push(fm_analyser *a, const float *in, size_t n)
{
    pushed++;
    return __real_fm_analyser_push(a, in, n);
}

static void assert_unseen(checked_count *c)
{
    app_err err = APP_ERR_NONE;
    assert_false(checked_count_count(c, &err));
    assert_int_equal(err.code, APP_FAILED);
    assert_false(checked_count_tell(c, TAKING_COUNTED));
    assert_int_equal(pushed, 0);
    assert_null(checked_count_view(c));
}

/* A number, one that is asked back and confirmed, and none at all. */
static const own_count ENTRIES[] = {
    {.entered = 70}, {.entered = 7, .confirmed = true}, {.could_not = true}};

static void analyse_once_stored(store s, const own_count *own)
{
    app_err err = APP_ERR_NONE;
    check_request request = check_request_default(RECORDINGS_DIR "/steady-072.flac");
    own_count asked = *own;
    request.pulse.manual.entered = own->entered;
    request.pulse.manual.could_not = own->could_not;
    asked.confirmed = false;
    pushed = 0;
    store_open(&s);
    checked_count *const c = checked_count_open(&request, &err);
    assert_non_null(c);
    json_decref(entry_ask_json(TAKING_PULSE, &asked, 60, true));
    for (answer a = NOT_YET; a != STORED;) {
        assert_unseen(c);
        store_put(&s, checked_count_entered(c, FM_EVENT_BEAT));
        while ((a = store_ask(&s)) == NOT_YET) {
            assert_unseen(c);
        }
        if (a == REFUSED) {
            assert_true(checked_count_tell(c, TAKING_NOT_STORED));
            assert_false(checked_count_tell(c, TAKING_STORED));
            assert_unseen(c);
            assert_true(checked_count_tell(c, TAKING_ENTERED));
        }
    }
    assert_int_equal(store_rows(&s), 1);
    assert_true(checked_count_tell(c, TAKING_STORED));
    assert_false(checked_count_tell(c, TAKING_STORED));
    assert_int_equal(pushed, 0);
    assert_true(checked_count_count(c, &err));
    assert_true(pushed > 0);
    assert_true(checked_count_tell(c, TAKING_COUNTED));
    assert_int_equal(checked_count_view(c)->comparison->counted, 72);
    assert_int_equal(checked_count_view(c)->could_not, own->could_not);
    assert_false(checked_count_count(c, &err)); /* nor twice */
    checked_count_free(c);
    store_close(&s);
}

static void a_recording_is_analysed_once_it_is_stored(void **state)
{
    (void)state;
    for (size_t k = 0; k < sizeof STORES / sizeof STORES[0]; k++) {
        for (size_t i = 0; i < sizeof ENTRIES / sizeof ENTRIES[0]; i++) {
            analyse_once_stored(STORES[k], &ENTRIES[i]);
        }
    }
}

/* The way of both front ends through the steps. */
static void where_the_logbook_refuses_nothing_is_analysed(void **state)
{
    (void)state;
    for (int refused = 1; refused >= 0; refused--) {
        app_err err = APP_ERR_NONE;
        logbook_keep k;
        check_request request =
            check_request_default(RECORDINGS_DIR "/steady-072.flac");
        request.pulse.manual.entered = 70;
        pushed = 0;
        (void)unlink(path);
        logbook_keep_begin(&k, path, true, "AB");
        assert_non_null(k.book);
        (void)sqlite3_set_authorizer(k.book->db, refused ? deny : NULL, NULL);
        checked_count *const c = logbook_keep_check(&k, &request, (double)NAN, &err);
        assert_int_equal(c == NULL, refused);
        assert_int_equal(pushed == 0, refused);
        assert_int_equal(k.refused, refused);
        (void)sqlite3_set_authorizer(k.book->db, NULL, NULL);
        assert_int_equal(logbook_number(k.book, "SELECT count(*) FROM session"),
                         !refused);
        checked_count_free(c);
        logbook_keep_end(&k);
    }
}

static int make_folder(void **state)
{
    (void)state;
    if (mkdtemp(folder) == NULL) {
        return -1;
    }
    (void)snprintf(path, sizeof path, "%s/logbook.sqlite", folder);
    return 0;
}

static int remove_folder(void **state)
{
    (void)state;
    (void)unlink(path);
    return rmdir(folder);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_event_in_every_phase),
        cmocka_unit_test(no_way_leads_round_the_store),
        cmocka_unit_test(each_door_waits_for_each_store),
        cmocka_unit_test(a_recording_is_analysed_once_it_is_stored),
        cmocka_unit_test(where_the_logbook_refuses_nothing_is_analysed),
    };
    return cmocka_run_group_tests(tests, make_folder, remove_folder);
}
