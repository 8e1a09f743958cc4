#include "src/document/sitting_document.h"

#include "src/document/members.h"

#include <math.h>
#include <stdlib.h>

static const double WINDOW_MAX_S = 60.001;

/* ---- The members ---- */

static const field_word KINDS[] = {
    {"pulse", SITTING_PULSE}, {"breath", SITTING_BREATH}, {NULL, 0}};
static const field_word SITES[] = {FM_SITE_MAP(FIELD_WORD){NULL, 0}};
static const field_word CONVENTIONS[] = {FM_CONVENTION_MAP(FIELD_WORD){NULL, 0}};
static const field_word METHODS[] = {
    {"watched", FM_BREATH_WATCHED}, {"listened", FM_BREATH_LISTENED}, {NULL, 0}};

/* Up to four months, as --start; to a millionth: finer than half a sample at any rate up to
 * 192 kHz. */
#define TIME(name, type, member)                                                       \
    MEMBER(name, FIELD_IN(type, member, 0, 1e7), .decimals = 6, .how = MEMBER_NEEDED)
#define TEXT(member)                                                                   \
    MEMBER(#member, FIELD(sitting_document, member), .how = MEMBER_BLANK)
#define FLAG(member) MEMBER(#member, FIELD(sitting_document, member), .how = 0)
#define REAL(member, min, max, places)                                                 \
    MEMBER(#member, FIELD_IN(sitting_document, member, min, max), .decimals = (places))
#define WORD(name, member, words)                                                      \
    MEMBER(name, FIELD_ONE_OF(sitting_document, member, words), .how = MEMBER_ANY_WORD)

/* Sittings before 2026-11 lack it. */
static const member LOST[] = {
    TIME("start_s", sitting_window, lost_start_s),
    TIME("length_s", sitting_window, lost_length_s),
    MEMBERS_END,
};

static void put_lost(document_part *to, const void *from)
{
    const sitting_window *const w = from;
    if (w->lost_length_s > 0.0) {
        document_put(to, "contact_lost", members_object(LOST, w));
        document_put(to, "moved",
                     w->moved == SITTING_NO_ANSWER
                         ? json_null()
                         : json_boolean(w->moved == SITTING_YES));
    }
}

static void take_lost(document_reader *r, const json_t *object, void *to)
{
    sitting_window *const w = to;
    const json_t *const lost = json_object_get(object, "contact_lost");
    const json_t *const moved = json_object_get(object, "moved");
    if (lost != NULL) {
        members_take(r, LOST, lost, w);
        w->moved = json_is_true(moved)    ? SITTING_YES
                   : json_is_false(moved) ? SITTING_NO
                                          : SITTING_NO_ANSWER;
    }
}

static const member WINDOW[] = {
    MEMBER("kind", FIELD_ONE_OF(sitting_window, kind, KINDS), .how = MEMBER_NEEDED),
    TIME("start_s", sitting_window, start_s),
    TIME("end_s", sitting_window, end_s),
    MEMBER("set_aside", FIELD(sitting_window, set_aside), .how = 0),
    MEMBER_OWN(put_lost, take_lost),
    MEMBERS_END,
};

static const member GAP[] = {
    TIME("start_s", sitting_gap, start_s),
    TIME("length_s", sitting_gap, length_s),
    MEMBER("cause", FIELD(sitting_gap, cause), .how = MEMBER_BLANK),
    MEMBERS_END,
};

#define FOUND(name, member) MEMBER(name, FIELD(sitting_entry, words.member), .how = 0)
static const member FOUND_BESIDE[] = {
    FOUND("rhythm", rhythm),
    FOUND("depth", depth),
    FOUND("effort", effort),
    MEMBERS_END,
};
static const member ENTERED[] = {
    MEMBER("entered",
           FIELD_IN(sitting_entry, entered, 0, FM_MANUAL_MAX),
           .how = MEMBER_NEEDED),
    MEMBERS_END,
};

static void put_own(document_part *to, const void *from)
{
    const sitting_entry *const e = from;
    if (e->could_not) {
        document_put(to, "entered", json_null());
        document_put(to, "could_not", json_true());
    } else {
        members_put(to, ENTERED, e);
    }
}

/* What was not said is left out: sittings before 2026-12 know nothing of it. */
static void put_words(document_part *to, const void *from)
{
    const sitting_entry *const e = from;
    if (e->words.rhythm[0] != '\0' || e->words.depth[0] != '\0' ||
        e->words.effort[0] != '\0') {
        members_put(to, FOUND_BESIDE, e);
    }
    if (own_words_ran(&e->words)) {
        document_put(to, "running", own_running_json(e->words.running));
    }
}

static void take_own(document_reader *r, const json_t *object, void *to)
{
    sitting_entry *const e = to;
    e->could_not = json_is_true(json_object_get(object, "could_not"));
    if (!e->could_not) {
        members_take(r, ENTERED, object, e);
    }
}

static void take_words(document_reader *r, const json_t *object, void *to)
{
    sitting_entry *const e = to;
    e->words = own_words_none();
    members_take(r, FOUND_BESIDE, object, e);
    if (!own_running_from_json(json_object_get(object, "running"), e->words.running)) {
        document_wrong(r, "manual", "holds running counts that are none");
    }
}

static const member ENTRY[] = {
    MEMBER_OWN(put_own, take_own),
    MEMBER("seconds", FIELD_IN(sitting_entry, seconds, 15, 60), .how = MEMBER_NEEDED),
    MEMBER("entered_utc", FIELD(sitting_entry, entered_utc), .how = MEMBER_BLANK),
    MEMBER_OWN(put_words, take_words),
    MEMBERS_END,
};

#define GIVEN(name, entry, given)                                                      \
    MEMBER_INSIDE(name, sitting_document, entry, ENTRY,                                \
                  MEMBER_KNOWN(sitting_document, given))
static const member MANUAL[] = {
    GIVEN("pulse", pulse, pulse.given),
    GIVEN("breath", breath, breath.given),
    GIVEN("second_examiner", second, second.given),
    MEMBERS_END,
};

static void put_manual(document_part *to, const void *from)
{
    const sitting_document *const d = from;
    const bool any = d->pulse.given || d->breath.given || d->second.given;
    document_put(to, "manual", any ? members_object(MANUAL, d) : json_null());
}

static void take_manual(document_reader *r, const json_t *object, void *to)
{
    const json_t *const manual = json_object_get(object, "manual");
    if (manual == NULL || json_is_null(manual)) {
        return;
    }
    if (!json_is_object(manual)) {
        document_wrong(r, "manual", "is no object");
    }
    members_take(r, MANUAL, manual, to);
}

static const member MEMBERS[] = {
    MEMBER_IS("schema", "fullminute.sitting/1"),
    TEXT(engine),
    TEXT(started_utc),
    TEXT(input),
    MEMBER("channel", FIELD_IN(sitting_document, channel, 1, 1024), .how = 0),
    MEMBER("sample_rate_hz",
           FIELD_IN(sitting_document, rate_hz, 1000, 192000),
           .how = MEMBER_NEEDED | MEMBER_WHOLE),
    REAL(gain_db, -120, 120, 2),
    WORD("site", site, SITES),
    WORD("convention", convention, CONVENTIONS),
    FLAG(ticks),
    FLAG(checked),
    FLAG(sealed),
    MEMBER_LIST("windows",
                sitting_document,
                windows,
                n_windows,
                WINDOW,
                .most = SITTING_WINDOWS_MAX),
    MEMBER_LIST("gaps", sitting_document, gaps, n_gaps, GAP, .most = SITTING_GAPS_MAX),
    MEMBER_OWN(put_manual, take_manual),
    FLAG(second_asked),
    WORD("breath_method", method, METHODS),
    MEMBER_TIMES("taps_s",
                 sitting_document,
                 taps_s,
                 n_taps,
                 -10,
                 1e7,
                 .decimals = 6,
                 .most = SITTING_TAPS_MAX),
    REAL(tap_delay_s, -10, 10, 6),
    REAL(age_months, 0, 1560, 2), /* FM_AGE_MAX_MONTHS */
    REAL(tolerance_per_min, 0.1, 100, 2),
    REAL(deficit_per_min, 0, FM_MANUAL_MAX, 1),
    MEMBERS_END,
};

char *sitting_document_format(const sitting_document *d)
{
    return document_format_line(members_object(MEMBERS, d), 0);
}

/* ---- What the members are to one another ---- */

static void check_windows(document_reader *r, const sitting_document *d)
{
    double last_s[2] = {0.0, 0.0};
    for (size_t i = 0; i < d->n_windows; i++) {
        const sitting_window *const w = &d->windows[i];
        if (w->end_s <= w->start_s || w->end_s - w->start_s > WINDOW_MAX_S) {
            document_wrong(r, "windows",
                           "holds one that is empty or longer than a minute");
        }
        if (w->start_s < last_s[w->kind] - 1e-6) {
            document_wrong(r, "windows", "holds one that goes back in time");
        }
        last_s[w->kind] = w->end_s;
    }
}

static void check_gaps(document_reader *r, const sitting_document *d)
{
    double end_s = 0.0;
    for (size_t i = 0; i < d->n_gaps; i++) {
        if (d->gaps[i].start_s < end_s - 1e-6) {
            document_wrong(r, "gaps", "holds one that goes back in time");
        }
        end_s = d->gaps[i].start_s + d->gaps[i].length_s;
    }
}

static void check_entry(document_reader *r, const sitting_entry *e, int least)
{
    if (e->given && !e->could_not && e->entered < least) {
        document_wrong(r, "manual", "holds a count that is not in range");
    }
    if (e->given && e->seconds != 15 && e->seconds != 30 && e->seconds != 60) {
        document_wrong(r, "manual", "holds seconds other than 15, 30 or 60");
    }
}

bool sitting_document_parse(
    const char *name, const char *bytes, size_t n, sitting_document *d, app_err *err)
{
    document_reader r = {name, "", err, true, NULL};
    *d = sitting_document_none();
    if (members_read(&r, MEMBERS, bytes, n, d)) {
        check_windows(&r, d);
        check_gaps(&r, d);
        check_entry(&r, &d->pulse, 1);
        check_entry(&r, &d->breath, 0);
        check_entry(&r, &d->second, 1);
    }
    if (!r.ok) {
        sitting_document_free(d);
        (void)app_err_hint(err, HINT_NONE, HINT_NO_SITTING);
    }
    return r.ok;
}

/* ---- Keeping it ---- */

sitting_document sitting_document_none(void)
{
    const sitting_entry none = {.words = own_words_none()};
    return (sitting_document){.channel = 1,
                              .pulse = none,
                              .breath = none,
                              .second = none,
                              .rate_hz = (double)NAN,
                              .convention = FM_CONVENTION_CLOCK,
                              .site = FM_SITE_APICAL,
                              .ticks = true,
                              .age_months = (double)NAN,
                              .tolerance_per_min = (double)NAN,
                              .deficit_per_min = (double)NAN};
}

void sitting_document_free(sitting_document *d)
{
    free(d->windows);
    free(d->gaps);
    free(d->taps_s);
    *d = sitting_document_none();
}

/* Room for one more in a list that doubles; NULL when full or without memory. */
static void *grow(void *list, size_t n, size_t max, size_t size)
{
    const bool full = n > 0 && (n & (n - 1)) == 0;
    if (n >= max) {
        return NULL;
    }
    if (n > 0 && !full) {
        return list;
    }
    return realloc(list, (n == 0 ? 1 : 2 * n) * size);
}

bool sitting_document_add_window(sitting_document *d, const sitting_window *w)
{
    sitting_window *const list =
        grow(d->windows, d->n_windows, SITTING_WINDOWS_MAX, sizeof *list);
    if (list == NULL) {
        return false;
    }
    d->windows = list;
    list[d->n_windows++] = *w;
    return true;
}

bool sitting_document_add_gap(sitting_document *d, const sitting_gap *g)
{
    sitting_gap *const list = grow(d->gaps, d->n_gaps, SITTING_GAPS_MAX, sizeof *list);
    if (list == NULL) {
        return false;
    }
    d->gaps = list;
    list[d->n_gaps++] = *g;
    return true;
}

bool sitting_document_add_tap(sitting_document *d, double time_s)
{
    double *const list = grow(d->taps_s, d->n_taps, SITTING_TAPS_MAX, sizeof *list);
    if (list == NULL) {
        return false;
    }
    d->taps_s = list;
    list[d->n_taps++] = time_s;
    return true;
}

const sitting_window *sitting_document_window(const sitting_document *d,
                                              sitting_kind kind)
{
    for (size_t i = d->n_windows; i > 0; i--) {
        const sitting_window *const w = &d->windows[i - 1];
        if (w->kind == kind && !w->set_aside) {
            return w;
        }
    }
    return NULL;
}

double sitting_document_missing_s(const sitting_document *d,
                                  double start_s,
                                  double end_s)
{
    double missing_s = 0.0;
    for (size_t i = 0; i < d->n_gaps; i++) {
        const double from_s = fmax(start_s, d->gaps[i].start_s);
        const double to_s = fmin(end_s, d->gaps[i].start_s + d->gaps[i].length_s);
        missing_s += fmax(0.0, to_s - from_s);
    }
    return missing_s;
}
