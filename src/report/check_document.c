#include "src/report/check_document.h"

#include "src/document/document_parts.h"
#include "src/report/check_breaths.h"
#include "src/words/person_first.h"
#include "src/words/said.h"

static const char SCHEMA[] = "fullminute.check/1";

/* An object in the making. Setting a NULL value or in a NULL object fails and frees. */
struct members {
    json_t *object;
    int failed;
};

static struct members members_start(void)
{
    return (struct members){.object = json_object()};
}

static void put(struct members *m, const char *key, json_t *value)
{
    m->failed |= json_object_set_new(m->object, key, value);
}

static json_t *members_end(struct members *m)
{
    if (m->failed == 0) {
        return m->object;
    }
    json_decref(m->object);
    return NULL;
}

static json_t *times(const double *times_s, size_t n)
{
    json_t *const array = json_array();
    for (size_t i = 0; i < n; i++) {
        if (json_array_append_new(array, document_time(times_s[i])) != 0) {
            json_decref(array);
            return NULL;
        }
    }
    return array;
}

static json_t *manual_part(const check_view *view)
{
    const fm_comparison *const c = view->comparison;
    struct members m = members_start();
    put(&m, "entered", json_integer(c->manual.entered));
    put(&m, "seconds", json_integer(c->manual.seconds));
    put(&m, "convention", json_string(fm_convention_word(c->manual.convention)));
    put(&m, "per_min", document_rate(c->manual_per_min));
    put(&m, "site", json_string(fm_site_word(c->manual.site)));
    put(&m, "from_taps", json_boolean(view->counted_taps));
    return members_end(&m);
}

static json_t *same_seconds_part(const fm_comparison *c)
{
    struct members m = members_start();
    put(&m, "start_s", document_time(c->start_s));
    put(&m, "end_s", document_time(c->end_s));
    put(&m, "beats", c->reference_known ? json_integer(c->counted) : json_null());
    put(&m, "per_min", document_rate(c->per_min));
    put(&m, "low", document_rate(c->low_per_min));
    put(&m, "high", document_rate(c->high_per_min));
    return members_end(&m);
}

static json_t *minute_part(const fm_comparison *c)
{
    struct members m = members_start();
    put(&m, "per_min", document_rate(c->minute_per_min));
    put(&m, "low", document_rate(c->minute_low_per_min));
    put(&m, "high", document_rate(c->minute_high_per_min));
    return members_end(&m);
}

static json_t *tolerance_part(const check_view *view)
{
    struct members m = members_start();
    put(&m, "per_min", document_rate(view->comparison->tolerance_per_min));
    put(&m, "set_by", json_string(view->tolerance_set ? "instructor" : "example"));
    return members_end(&m);
}

static json_t *slip_part(const check_view *view)
{
    char text[CHECK_WORDS_BYTES];
    if (view->comparison->slip == FM_SLIP_NONE) {
        return json_null();
    }
    struct members m = members_start();
    put(&m, "kind", json_string(fm_slip_word(view->comparison->slip)));
    put(&m, "text", json_string(check_view_slip_text(view, view->comparison, text)));
    return members_end(&m);
}

static json_t *taps_part(const fm_taps *taps)
{
    if (taps == NULL) {
        return json_null();
    }
    struct members m = members_start();
    put(&m, "lag_s", document_time(taps->lag_s));
    put(&m, "lag_sd_s", document_time(taps->lag_sd_s));
    put(&m, "matched", json_integer((json_int_t)taps->n_matched));
    put(&m, "not_tapped_s", times(taps->not_tapped_s, taps->n_not_tapped));
    put(&m, "extra_s", times(taps->extra_s, taps->n_extra));
    put(&m, "lost_from_s", document_time(taps->lost_from_s));
    put(&m, "lost_until_s", document_time(taps->lost_until_s));
    return members_end(&m);
}

static json_t *short_count_part(const fm_short_count *w)
{
    struct members m = members_start();
    put(&m, "seconds", json_integer(w->seconds));
    put(&m, "windows", json_integer((json_int_t)w->n_windows));
    put(&m, "min", document_rate(w->min_per_min));
    put(&m, "max", document_rate(w->max_per_min));
    put(&m, "mean", document_rate(w->mean_per_min));
    return members_end(&m);
}

static json_t *short_counts_part(const fm_comparison *c)
{
    json_t *const array = json_array();
    for (size_t i = 0; i < c->n_short; i++) {
        if (json_array_append_new(array, short_count_part(&c->short_counts[i])) != 0) {
            json_decref(array);
            return NULL;
        }
    }
    return array;
}

static json_t *reference_part(const check_view *view)
{
    static const char *const places[] = {[FM_RANGE_BELOW] = "below",
                                         [FM_RANGE_WITHIN] = "within",
                                         [FM_RANGE_ABOVE] = "above",
                                         [FM_RANGE_EDGE] = "at the edge"};
    const fm_reference_range *const range = view->range;
    const fm_range_place place = check_view_place(view);
    const double limits[] = {range->low_per_min, range->high_per_min};
    json_t *const pair = json_array();
    int failed = 0;
    for (size_t i = 0; i < 2; i++) {
        failed |= json_array_append_new(pair, document_rate(limits[i]));
    }
    struct members m = members_start();
    put(&m, "range", pair);
    put(&m, "source", json_string(range->source));
    put(&m, "age_band", json_string(range->age_band));
    put(&m, "age_given", json_boolean(view->age_known));
    put(&m, "meaning", json_string(range->meaning));
    put(&m, "from_memory", json_boolean(range->from_memory));
    put(&m, "place",
        place == FM_RANGE_UNKNOWN ? json_null() : json_string(places[place]));
    m.failed |= failed;
    return members_end(&m);
}

static json_t *difference_beats(const fm_comparison *c)
{
    return c->reference_known ? json_integer(c->manual.entered - c->counted)
                              : json_null();
}

/* The count without what is still sealed: what nobody has entered yet. */
static json_t *sealed_count(const check_view *view)
{
    json_t *const count = said_count(view->source, view->count);
    int failed = 0;
    if (count != NULL && view->comparison == NULL) {
        failed |= json_object_set_new(count, "heart", json_null());
        failed |= json_object_set_new(count, "rhythm", json_null());
    }
    if (count != NULL && view->breaths == NULL) {
        failed |= json_object_set_new(count, "breath", json_null());
    }
    if (failed != 0) {
        json_decref(count);
        return NULL;
    }
    return count;
}

static void put_pulse(struct members *to, const check_view *view)
{
    const fm_comparison *const c = view->comparison;
    struct members m = *to;
    put(&m, "manual", manual_part(view));
    put(&m, "difference", document_rate(c->difference_per_min));
    put(&m, "difference_beats", difference_beats(c));
    put(&m, "verdict", json_string(fm_verdict_word(c->verdict)));
    put(&m, "no_verdict",
        c->no_verdict == FM_NO_VERDICT_NONE
            ? json_null()
            : json_string(fm_no_verdict_word(c->no_verdict)));
    put(&m, "in_doubt", json_boolean(c->doubtful));
    put(&m, "judged_against", json_string(c->against_truth ? "truth" : "device"));
    put(&m, "same_seconds", same_seconds_part(c));
    put(&m, "minute", minute_part(c));
    put(&m, "tolerance", tolerance_part(view));
    put(&m, "explained_by_convention",
        c->convention_explains ? json_string(fm_convention_word(c->explaining))
                               : json_null());
    put(&m, "fewer_at_wrist", json_boolean(c->fewer_at_wrist));
    put(&m, "judged_at", json_string(c->at_wrist ? "wrist" : "apex"));
    put(&m, "apex_beats",
        c->reference_known ? json_integer(c->apex_beats) : json_null());
    put(&m, "slip", slip_part(view));
    put(&m, "taps", taps_part(view->taps));
    put(&m, "short_counts", short_counts_part(c));
    put(&m, "reference", reference_part(view));
    *to = m;
}

/* The same members where respirations alone were checked. */
static void put_no_pulse(struct members *m)
{
    static const char *const nulls[] = {
        "manual", "difference", "difference_beats",        "same_seconds",
        "minute", "tolerance",  "explained_by_convention", "slip",
        "taps",   "reference"};
    put(m, "verdict", json_string(fm_verdict_word(FM_VERDICT_NOT_COMPARABLE)));
    put(m, "no_verdict", json_string("pulse not entered"));
    put(m, "short_counts", json_array());
    for (size_t i = 0; i < sizeof nulls / sizeof nulls[0]; i++) {
        put(m, nulls[i], json_null());
    }
}

json_t *check_document_build(const check_view *view)
{
    struct members m = members_start();
    put(&m, "schema", json_string(SCHEMA));
    put(&m, "engine", json_string(FM_VERSION));
    put(&m, "count", sealed_count(view));
    if (view->comparison != NULL) {
        put_pulse(&m, view);
    } else {
        put_no_pulse(&m);
    }
    const person_first first = person_first_of(view);
    put(&m, "person_first", person_first_build(&first));
    if (view->breaths != NULL) {
        put(&m, "breath_check", check_breaths_build(view));
    }
    return members_end(&m);
}
