/* Reading NAME.truth.json: bytes from outside, so everything is checked. */
#include "src/document/truth_document.h"

#include "src/base/json_text.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const char SCHEMA[] = "fullminute.truth/1";
static const double TIME_MAX_S = 1e9; /* thirty years: more is no time in a recording */
static const double NUMBER_MAX = 1e9; /* no level, rate or length is larger */
/* Nearer than this two S1 are one written twice: half the shortest interval that the
 * composer makes. */
static const double S1_GAP_MIN_S = 0.1;

/* What is being read, for errors and for stopping at the first. */
struct reader {
    const char *name;
    const json_t *root;
    app_err *err;
    bool ok;
};

static void wrong(struct reader *r, const char *member, const char *what)
{
    if (r->ok) {
        r->ok = app_err_set(r->err, APP_UNREADABLE,
                            "cannot use %s: %s %s; it is not a whole %s document",
                            r->name, member, what, SCHEMA);
    }
}

static void *memory(struct reader *r, size_t n, size_t size)
{
    void *const got = calloc(n == 0 ? 1 : n, size);
    if (got == NULL && r->ok) {
        r->ok =
            app_err_set(r->err, APP_FAILED, "cannot read %s: out of memory", r->name);
    }
    return got;
}

/* The times of an array: 0 to TIME_MAX_S, not going back. NULL once something is wrong. */
static double *read_times(struct reader *r,
                          const char *member,
                          const json_t *array,
                          size_t *n)
{
    *n = 0;
    if (!json_is_array(array)) {
        wrong(r, member, "is not a list of times");
        return NULL;
    }
    const size_t length = json_array_size(array);
    double *const times_s = memory(r, length, sizeof *times_s);
    if (times_s == NULL) {
        return NULL;
    }
    double last_s = 0.0;
    for (size_t i = 0; i < length; i++) {
        const json_t *const item = json_array_get(array, i);
        const double t = json_number_value(item);
        if (!json_is_number(item) || !(t >= last_s && t <= TIME_MAX_S)) {
            wrong(r, member, "holds something that is no time, or goes back in time");
            free(times_s);
            return NULL;
        }
        times_s[i] = t;
        last_s = t;
    }
    *n = length;
    return times_s;
}

static double *read_member_times(struct reader *r, const char *member, size_t *n)
{
    return read_times(r, member, json_object_get(r->root, member), n);
}

/* S1 stand apart; a beat that stands there twice would be counted twice. */
static void check_s1(struct reader *r, const fm_truth *t)
{
    for (size_t i = 1; r->ok && i < t->n_s1; i++) {
        if (t->s1_s[i] - t->s1_s[i - 1] < S1_GAP_MIN_S) {
            wrong(r, "s1_s", "holds two beats less than 0.1 s apart");
        }
    }
}

static void read_inaudible(struct reader *r, fm_truth *t)
{
    const json_t *const array = json_object_get(r->root, "inaudible_s1");
    if (array == NULL) {
        return; /* all are audible */
    }
    if (!json_is_array(array)) {
        wrong(r, "inaudible_s1", "is not a list of indices");
        return;
    }
    const size_t length = json_array_size(array);
    t->inaudible_s1 = memory(r, length, sizeof *t->inaudible_s1);
    for (size_t i = 0; r->ok && i < length; i++) {
        const json_t *const item = json_array_get(array, i);
        const json_int_t index = json_integer_value(item);
        if (!json_is_integer(item) || index < 0 || (size_t)index >= t->n_s1) {
            wrong(r, "inaudible_s1", "points at a beat that is not there");
            return;
        }
        const size_t n = t->n_inaudible_s1;
        if (n > 0 && (size_t)index <= t->inaudible_s1[n - 1]) {
            wrong(r, "inaudible_s1", "names a beat twice, or goes back");
            return;
        }
        t->inaudible_s1[t->n_inaudible_s1++] = (size_t)index;
    }
}

/* A number, or NaN for null and for what is not there. */
static double read_number(struct reader *r, const char *member)
{
    const json_t *const value = json_object_get(r->root, member);
    if (value == NULL || json_is_null(value)) {
        return (double)NAN;
    }
    if (!json_is_number(value) || !(fabs(json_number_value(value)) <= NUMBER_MAX)) {
        wrong(r, member, "is not a number, or far too large");
    }
    return json_number_value(value);
}

/* Text of less than bytes, or "" for null and for what is not there. */
static void read_text(struct reader *r, const char *member, char *out, size_t bytes)
{
    const json_t *const value = json_object_get(r->root, member);
    out[0] = '\0';
    if (value == NULL || json_is_null(value)) {
        return;
    }
    const char *const text = json_string_value(value);
    if (text == NULL || strlen(text) >= bytes) {
        wrong(r, member, "is not a text, or too long");
        return;
    }
    memcpy(out, text, strlen(text) + 1);
}

static void read_pattern(struct reader *r, fm_truth *t)
{
    char word[64];
    read_text(r, "pattern", word, sizeof word);
    t->pattern = FM_PATTERN_UNDETERMINED;
    t->pattern_known = word[0] != '\0';
    if (!t->pattern_known) {
        return;
    }
    for (int k = 0; k < FM_PATTERN_COUNT; k++) {
        if (strcmp(word, fm_pattern_word((fm_pattern)k)) == 0) {
            t->pattern = (fm_pattern)k;
            return;
        }
    }
    wrong(r, "pattern", "is not one of the known ones");
}

static bool finding_kind(const char *word, fm_finding_kind *kind)
{
    for (int k = 0; word != NULL && k < FM_FINDING_KIND_COUNT; k++) {
        if (strcmp(word, fm_finding_word((fm_finding_kind)k)) == 0) {
            *kind = (fm_finding_kind)k;
            return true;
        }
    }
    return false;
}

static void read_finding(struct reader *r, const json_t *item, fm_finding *f)
{
    const char *const word = json_string_value(json_object_get(item, "kind"));
    const json_t *const count = json_object_get(item, "count");
    if (!finding_kind(word, &f->kind) || !json_is_integer(count) ||
        json_integer_value(count) < 0) {
        wrong(r, "findings", "holds one of no known kind, or without a count");
        return;
    }
    f->count = (size_t)json_integer_value(count);
    size_t n = 0;
    double *const times_s =
        read_times(r, "findings", json_object_get(item, "times_s"), &n);
    const size_t kept = f->count < FM_FINDING_TIMES ? f->count : FM_FINDING_TIMES;
    if (n != kept) {
        wrong(r, "findings", "holds one whose times are not as many as its count");
    }
    for (size_t i = 0; r->ok && i < n; i++) {
        f->times_s[i] = times_s[i];
    }
    free(times_s);
}

static void read_findings(struct reader *r, fm_truth *t)
{
    const json_t *const array = json_object_get(r->root, "findings");
    if (array == NULL || json_is_null(array)) {
        return;
    }
    if (!json_is_array(array) || json_array_size(array) > FM_FINDINGS_MAX) {
        wrong(r, "findings", "is not a list of findings, or too long");
        return;
    }
    for (size_t i = 0; r->ok && i < json_array_size(array); i++) {
        read_finding(r, json_array_get(array, i), &t->findings[t->n_findings++]);
    }
}

static void read_breath_pause(struct reader *r, const json_t *item, fm_breath_pause *p)
{
    const char *const word = json_string_value(json_object_get(item, "kind"));
    const json_t *const start = json_object_get(item, "start_s");
    const json_t *const end = json_object_get(item, "end_s");
    *p = (fm_breath_pause){json_number_value(start), json_number_value(end)};
    if (word == NULL || strcmp(word, "pause") != 0 || !json_is_number(start) ||
        !json_is_number(end) || !(p->start_s >= 0.0 && p->end_s > p->start_s) ||
        !(p->end_s <= TIME_MAX_S)) {
        wrong(r, "breath_findings", "holds one of no known kind, or without its times");
    }
}

/* How the breathing went; older documents do not say. */
static void read_breathing(struct reader *r, fm_truth *t)
{
    char word[64];
    int k = 0;
    read_text(r, "breath_pattern", word, sizeof word);
    t->breathing_known = word[0] != '\0';
    while (t->breathing_known && k < FM_BREATH_PATTERN_COUNT &&
           strcmp(word, fm_breath_pattern_word((fm_breath_pattern)k)) != 0) {
        k++;
    }
    if (k == FM_BREATH_PATTERN_COUNT) {
        wrong(r, "breath_pattern", "is not one of the known ones");
        return;
    }
    t->breath_pattern = (fm_breath_pattern)k;
    const json_t *const array = json_object_get(r->root, "breath_findings");
    if (array == NULL || json_is_null(array)) {
        return;
    }
    if (!json_is_array(array)) {
        wrong(r, "breath_findings", "is not a list");
        return;
    }
    t->breath_pauses = memory(r, json_array_size(array), sizeof *t->breath_pauses);
    for (size_t i = 0; r->ok && i < json_array_size(array); i++) {
        read_breath_pause(r, json_array_get(array, i), &t->breath_pauses[i]);
        t->n_breath_pauses++;
    }
}

static void read_origin(struct reader *r, truth_document *d)
{
    char origin[32];
    read_text(r, "origin", origin, sizeof origin);
    d->composed = strcmp(origin, "composed") == 0;
    if (!d->composed && strcmp(origin, "annotated") != 0) {
        wrong(r, "origin", "is neither 'composed' nor 'annotated'");
    }
    const json_t *const seed = json_object_get(r->root, "seed");
    if (json_is_integer(seed) && json_integer_value(seed) >= 0) {
        d->truth.seed = (uint64_t)json_integer_value(seed);
    } else if (seed != NULL && !json_is_null(seed)) {
        wrong(r, "seed", "is not a whole number from 0");
    }
}

static void read_members(struct reader *r, truth_document *d)
{
    fm_truth *const t = &d->truth;
    const char *const schema = json_string_value(json_object_get(r->root, "schema"));
    if (schema == NULL || strcmp(schema, SCHEMA) != 0) {
        wrong(r, "schema", "is not the one this version reads");
        return;
    }
    t->s1_s = read_member_times(r, "s1_s", &t->n_s1);
    check_s1(r, t);
    t->s2_s = read_member_times(r, "s2_s", &t->n_s2);
    read_inaudible(r, t);
    if (json_object_get(r->root, "breath_starts_s") != NULL) {
        t->breath_starts_s = read_member_times(r, "breath_starts_s", &t->n_breaths);
    }
    read_breathing(r, t);
    const json_t *const radial = json_object_get(r->root, "radial_s");
    t->has_radial = radial != NULL && !json_is_null(radial);
    if (t->has_radial) {
        t->radial_s = read_member_times(r, "radial_s", &t->n_radial);
    }
    read_pattern(r, t);
    read_text(r, "repeat", t->repeat, sizeof t->repeat);
    t->varies_with_breathing =
        json_is_true(json_object_get(r->root, "varies_with_breathing"));
    read_findings(r, t);
    t->snr_db = read_number(r, "snr_db");
    t->breath_snr_db = read_number(r, "breath_snr_db");
    t->rate_hz = read_number(r, "sample_rate_hz");
    t->duration_s = read_number(r, "duration_s");
    read_origin(r, d);
    read_text(r, "licence", d->licence, sizeof d->licence);
    read_text(r, "recipe", d->recipe, sizeof d->recipe);
    read_text(r, "sound_blake2b", d->sound, sizeof d->sound);
}

static bool read_root(const char *name,
                      json_t *root,
                      const json_error_t *json,
                      truth_document *d,
                      app_err *err)
{
    *d = (truth_document)TRUTH_NONE;
    if (json_text_short()) { /* what there is of it is not the whole */
        json_decref(root);
        return app_err_set(err, APP_FAILED, "cannot read %s: out of memory", name);
    }
    if (root == NULL) {
        if (json->line <= 0) {
            return app_err_set(err, APP_UNREADABLE, "cannot read %s: %s", name,
                               json->text);
        }
        return app_err_set(err, APP_UNREADABLE,
                           "cannot read %s: line %d, column %d: %s; it is not JSON",
                           name, json->line, json->column, json->text);
    }
    struct reader r = {name, root, err, true};
    if (!json_is_object(root)) {
        wrong(&r, "the document", "is not one object");
    } else {
        read_members(&r, d);
    }
    json_decref(root);
    if (!r.ok) {
        truth_document_free(d);
    }
    return r.ok;
}

bool truth_document_parse(
    const char *name, const char *bytes, size_t n, truth_document *d, app_err *err)
{
    json_error_t json;
    json_t *const root = json_loadb(bytes, n, JSON_REJECT_DUPLICATES, &json);
    return read_root(name, root, &json, d, err);
}
