/* Reading NAME.sitting.json: bytes from outside, so everything is checked. */
#include "src/document/sitting_document.h"

#include "src/base/json_text.h"

#include <jansson.h>
#include <math.h>
#include <string.h>

static const char SCHEMA[] = "fullminute.sitting/1";
static const double TIME_MAX_S = 1e7; /* as --start: four months */
static const double RATE_MIN_HZ = 1000.0;
static const double RATE_MAX_HZ = 192000.0;
static const double WINDOW_MAX_S = 60.001;
static const double GAIN_MAX_DB = 120.0;
static const double MONTHS_MAX = 1560.0; /* FM_AGE_MAX_MONTHS */
static const double TOLERANCE_MAX = 100.0;
static const double DELAY_MAX_S = 10.0;

/* What is being read, for errors and for stopping at the first. */
struct reader {
    const char *name;
    app_err *err;
    bool ok;
};

static void wrong(struct reader *r, const char *member, const char *what)
{
    if (r->ok) {
        r->ok = app_err_set(r->err, APP_UNREADABLE,
                            "cannot use %s: %s %s; --no-sitting leaves it out", r->name,
                            member, what);
    }
}

/* A number in a range; fallback for null and for what is not there. */
static double number(struct reader *r,
                     const json_t *object,
                     const char *member,
                     double min,
                     double max,
                     double fallback)
{
    const json_t *const value = json_object_get(object, member);
    if (value == NULL || json_is_null(value)) {
        return fallback;
    }
    const double got = json_number_value(value);
    if (!json_is_number(value) || !(got >= min && got <= max)) {
        wrong(r, member, "is no number, or out of range");
        return fallback;
    }
    return got;
}

/* A number that has to be there. */
static double needed(
    struct reader *r, const json_t *object, const char *member, double min, double max)
{
    const double got = number(r, object, member, min, max, (double)NAN);
    if (isnan(got)) {
        wrong(r, member, "is missing");
        return min;
    }
    return got;
}

static void text(
    struct reader *r, const json_t *object, const char *member, char *out, size_t room)
{
    const json_t *const value = json_object_get(object, member);
    out[0] = '\0';
    if (value == NULL || json_is_null(value)) {
        return;
    }
    const char *const got = json_string_value(value);
    if (got == NULL || strlen(got) >= room) {
        wrong(r, member, "is no text, or too long");
        return;
    }
    memcpy(out, got, strlen(got) + 1);
}

static const json_t *list(struct reader *r,
                          const json_t *object,
                          const char *member,
                          size_t max)
{
    const json_t *const value = json_object_get(object, member);
    if (value == NULL || json_is_null(value)) {
        return NULL;
    }
    if (!json_is_array(value) || json_array_size(value) > max) {
        wrong(r, member, "is no list, or far too long");
        return NULL;
    }
    return value;
}

static void out_of_memory(struct reader *r)
{
    if (r->ok) {
        r->ok =
            app_err_set(r->err, APP_FAILED, "cannot read %s: out of memory", r->name);
    }
}

/* Members that sittings before 2026-11 lack. */
static void read_lost(struct reader *r, const json_t *item, sitting_window *w)
{
    const json_t *const lost = json_object_get(item, "contact_lost");
    const json_t *const moved = json_object_get(item, "moved");
    if (lost == NULL) {
        return;
    }
    w->lost_start_s = needed(r, lost, "start_s", 0.0, TIME_MAX_S);
    w->lost_length_s = needed(r, lost, "length_s", 0.0, WINDOW_MAX_S);
    w->moved = json_is_true(moved)    ? SITTING_YES
               : json_is_false(moved) ? SITTING_NO
                                      : SITTING_NO_ANSWER;
}

static void read_windows(struct reader *r, const json_t *root, sitting_document *d)
{
    const json_t *const array = list(r, root, "windows", SITTING_WINDOWS_MAX);
    double last_s[2] = {0.0, 0.0};
    for (size_t i = 0; r->ok && i < json_array_size(array); i++) {
        const json_t *const item = json_array_get(array, i);
        const char *const kind = json_string_value(json_object_get(item, "kind"));
        sitting_window w = {.start_s = needed(r, item, "start_s", 0.0, TIME_MAX_S),
                            .end_s = needed(r, item, "end_s", 0.0, TIME_MAX_S),
                            .set_aside =
                                json_is_true(json_object_get(item, "set_aside"))};
        read_lost(r, item, &w);
        if (kind != NULL && strcmp(kind, "breath") == 0) {
            w.kind = SITTING_BREATH;
        } else if (kind == NULL || strcmp(kind, "pulse") != 0) {
            wrong(r, "windows", "holds one of no known kind");
        }
        if (w.end_s <= w.start_s || w.end_s - w.start_s > WINDOW_MAX_S) {
            wrong(r, "windows", "holds one that is empty or longer than a minute");
        }
        if (w.start_s < last_s[w.kind] - 1e-6) {
            wrong(r, "windows", "holds one that goes back in time");
        }
        last_s[w.kind] = w.end_s;
        if (r->ok && !sitting_document_add_window(d, &w)) {
            out_of_memory(r);
        }
    }
}

static void read_gaps(struct reader *r, const json_t *root, sitting_document *d)
{
    const json_t *const array = list(r, root, "gaps", SITTING_GAPS_MAX);
    double end_s = 0.0;
    for (size_t i = 0; r->ok && i < json_array_size(array); i++) {
        const json_t *const item = json_array_get(array, i);
        sitting_gap g = {.start_s = needed(r, item, "start_s", 0.0, TIME_MAX_S),
                         .length_s = needed(r, item, "length_s", 0.0, TIME_MAX_S)};
        text(r, item, "cause", g.cause, sizeof g.cause);
        if (g.start_s < end_s - 1e-6) {
            wrong(r, "gaps", "holds one that goes back in time");
        }
        end_s = g.start_s + g.length_s;
        if (r->ok && !sitting_document_add_gap(d, &g)) {
            out_of_memory(r);
        }
    }
}

static void read_taps(struct reader *r, const json_t *root, sitting_document *d)
{
    const json_t *const array = list(r, root, "taps_s", SITTING_TAPS_MAX);
    double last_s = -DELAY_MAX_S;
    for (size_t i = 0; r->ok && i < json_array_size(array); i++) {
        const json_t *const item = json_array_get(array, i);
        const double t = json_number_value(item);
        if (!json_is_number(item) || !(t >= last_s && t <= TIME_MAX_S)) {
            wrong(r, "taps_s", "holds something that is no time, or goes back in time");
            return;
        }
        last_s = t;
        if (!sitting_document_add_tap(d, t)) {
            out_of_memory(r);
        }
    }
}

static void read_entry(struct reader *r,
                       const json_t *manual,
                       const char *member,
                       int min,
                       sitting_entry *e)
{
    const json_t *const value = json_object_get(manual, member);
    if (value == NULL || json_is_null(value)) {
        return;
    }
    const json_t *const entered = json_object_get(value, "entered");
    const json_t *const seconds = json_object_get(value, "seconds");
    const json_int_t n = json_integer_value(entered);
    const json_int_t s = json_integer_value(seconds);
    if (!json_is_integer(entered) || n < min || n > FM_MANUAL_MAX) {
        wrong(r, "manual", "holds a count that is no whole number in range");
    } else if (s != 15 && s != 30 && s != 60) {
        wrong(r, "manual", "holds seconds other than 15, 30 or 60");
    } else {
        e->given = true;
        e->entered = (int)n;
        e->seconds = (int)s;
        text(r, value, "entered_utc", e->entered_utc, sizeof e->entered_utc);
    }
}

static void read_manual(struct reader *r, const json_t *root, sitting_document *d)
{
    const json_t *const manual = json_object_get(root, "manual");
    if (manual == NULL || json_is_null(manual)) {
        return;
    }
    if (!json_is_object(manual)) {
        wrong(r, "manual", "is no object");
        return;
    }
    read_entry(r, manual, "pulse", 1, &d->pulse);
    read_entry(r, manual, "breath", 0, &d->breath);
    read_entry(r, manual, "second_examiner", 1, &d->second);
}

static void read_words(struct reader *r, const json_t *root, sitting_document *d)
{
    char word[SITTING_TEXT_BYTES];
    text(r, root, "site", word, sizeof word);
    d->site = strcmp(word, "radial") == 0 ? FM_SITE_RADIAL : FM_SITE_APICAL;
    text(r, root, "convention", word, sizeof word);
    for (int k = 0; k < FM_CONVENTION_COUNT; k++) {
        if (strcmp(word, fm_convention_word((fm_convention)k)) == 0) {
            d->convention = (fm_convention)k;
        }
    }
    text(r, root, "breath_method", word, sizeof word);
    if (strcmp(word, "watched") == 0) {
        d->method = FM_BREATH_WATCHED;
    } else if (strcmp(word, "listened") == 0) {
        d->method = FM_BREATH_LISTENED;
    }
}

static void read_members(struct reader *r, const json_t *root, sitting_document *d)
{
    const char *const schema = json_string_value(json_object_get(root, "schema"));
    if (schema == NULL || strcmp(schema, SCHEMA) != 0) {
        wrong(r, "schema", "is not the one this version reads");
        return;
    }
    text(r, root, "engine", d->engine, sizeof d->engine);
    text(r, root, "started_utc", d->started_utc, sizeof d->started_utc);
    text(r, root, "input", d->input, sizeof d->input);
    d->channel = (int)number(r, root, "channel", 1.0, 1024.0, 1.0);
    d->rate_hz = needed(r, root, "sample_rate_hz", RATE_MIN_HZ, RATE_MAX_HZ);
    d->gain_db = number(r, root, "gain_db", -GAIN_MAX_DB, GAIN_MAX_DB, 0.0);
    read_words(r, root, d);
    d->ticks = json_is_true(json_object_get(root, "ticks"));
    d->checked = json_is_true(json_object_get(root, "checked"));
    d->sealed = json_is_true(json_object_get(root, "sealed"));
    d->second_asked = json_is_true(json_object_get(root, "second_asked"));
    d->tap_delay_s = number(r, root, "tap_delay_s", -DELAY_MAX_S, DELAY_MAX_S, 0.0);
    d->age_months = number(r, root, "age_months", 0.0, MONTHS_MAX, (double)NAN);
    d->tolerance_per_min =
        number(r, root, "tolerance_per_min", 0.1, TOLERANCE_MAX, (double)NAN);
    d->deficit_per_min =
        number(r, root, "deficit_per_min", 0.0, FM_MANUAL_MAX, (double)NAN);
    read_windows(r, root, d);
    read_gaps(r, root, d);
    read_taps(r, root, d);
    read_manual(r, root, d);
}

static bool read_root(const char *name,
                      json_t *root,
                      const json_error_t *json,
                      sitting_document *d,
                      app_err *err)
{
    *d = sitting_document_none();
    if (json_text_short()) { /* what there is of it is not the whole */
        json_decref(root);
        return app_err_set(err, APP_FAILED, "cannot read %s: out of memory", name);
    }
    if (root == NULL) {
        return app_err_set(err, APP_UNREADABLE,
                           "cannot read %s: line %d, column %d: %s; it is not JSON; "
                           "--no-sitting leaves it out",
                           name, json->line, json->column, json->text);
    }
    struct reader r = {name, err, true};
    if (!json_is_object(root)) {
        wrong(&r, "the document", "is not one object");
    } else {
        read_members(&r, root, d);
    }
    json_decref(root);
    if (!r.ok) {
        sitting_document_free(d);
    }
    return r.ok;
}

bool sitting_document_parse(const char *name,
                            const char *text_bytes,
                            size_t n,
                            sitting_document *d,
                            app_err *err)
{
    json_error_t json;
    json_t *const root = json_loadb(text_bytes, n, JSON_REJECT_DUPLICATES, &json);
    return read_root(name, root, &json, d, err);
}
