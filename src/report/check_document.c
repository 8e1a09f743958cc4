#include "src/report/check_document.h"

#include "src/document/document_parts.h"
#include "src/report/check_breaths.h"
#include "src/words/person_first.h"

static const char SCHEMA[] = "fullminute.check/1";

static json_t *manual_part(const check_view *view)
{
    const fm_comparison *const c = view->comparison;
    document_part m = document_start();
    document_put(&m, "entered", json_integer(c->manual.entered));
    document_put(&m, "seconds", json_integer(c->manual.seconds));
    document_put(&m, "convention",
                 json_string(fm_convention_word(c->manual.convention)));
    document_put(&m, "per_min", document_rate(c->manual_per_min));
    document_put(&m, "site", json_string(fm_site_word(c->manual.site)));
    document_put(&m, "from_taps", json_boolean(view->counted_taps));
    return document_end(&m);
}

static json_t *same_seconds_part(const fm_comparison *c)
{
    document_part m = document_start();
    document_put(&m, "start_s", document_time(c->start_s));
    document_put(&m, "end_s", document_time(c->end_s));
    document_put(&m, "beats",
                 c->reference_known ? json_integer(c->beats) : json_null());
    document_put(&m, "per_min", document_rate(c->per_min));
    document_put(&m, "low", document_rate(c->low_per_min));
    document_put(&m, "high", document_rate(c->high_per_min));
    return document_end(&m);
}

static json_t *minute_part(const fm_comparison *c)
{
    document_part m = document_start();
    document_put(&m, "per_min", document_rate(c->minute_per_min));
    document_put(&m, "low", document_rate(c->minute_low_per_min));
    document_put(&m, "high", document_rate(c->minute_high_per_min));
    return document_end(&m);
}

static json_t *tolerance_part(const check_view *view)
{
    document_part m = document_start();
    document_put(&m, "per_min", document_rate(view->comparison->tolerance_per_min));
    document_put(&m, "set_by",
                 json_string(view->tolerance_set ? "instructor" : "example"));
    return document_end(&m);
}

static json_t *slip_part(const check_view *view)
{
    char text[CHECK_WORDS_BYTES];
    if (view->comparison->slip == FM_SLIP_NONE) {
        return json_null();
    }
    document_part m = document_start();
    document_put(&m, "kind", json_string(fm_slip_word(view->comparison->slip)));
    document_put(&m, "text", json_string(check_view_slip_text(view, text)));
    return document_end(&m);
}

static json_t *taps_part(const fm_taps *taps)
{
    if (taps == NULL) {
        return json_null();
    }
    document_part m = document_start();
    document_put(&m, "lag_s", document_time(taps->lag_s));
    document_put(&m, "lag_sd_s", document_time(taps->lag_sd_s));
    document_put(&m, "matched", json_integer((json_int_t)taps->n_matched));
    document_put(&m, "not_tapped_s",
                 document_times(taps->not_tapped_s, taps->n_not_tapped));
    document_put(&m, "extra_s", document_times(taps->extra_s, taps->n_extra));
    document_put(&m, "lost_from_s", document_time(taps->lost_from_s));
    document_put(&m, "lost_until_s", document_time(taps->lost_until_s));
    return document_end(&m);
}

static json_t *reference_part(const check_view *view)
{
    static const char *const places[] = {[FM_RANGE_BELOW] = "below",
                                         [FM_RANGE_WITHIN] = "within",
                                         [FM_RANGE_ABOVE] = "above",
                                         [FM_RANGE_EDGE] = "at the edge"};
    const fm_reference_range *const range = view->range;
    const fm_range_place place = check_view_place(view);
    json_t *const low =
        document_append(json_array(), document_rate(range->low_per_min));
    json_t *const pair = document_append(low, document_rate(range->high_per_min));
    document_part m = document_start();
    document_put(&m, "range", pair);
    document_put(&m, "source", json_string(range->source));
    document_put(&m, "age_band", json_string(range->age_band));
    document_put(&m, "age_given", json_boolean(view->age_known));
    document_put(&m, "meaning", json_string(range->meaning));
    document_put(&m, "from_memory", json_boolean(range->from_memory));
    document_put(&m, "place",
                 place == FM_RANGE_UNKNOWN ? json_null() : json_string(places[place]));
    return document_end(&m);
}

static json_t *difference_beats(const fm_comparison *c)
{
    return c->reference_known ? json_integer(c->manual.entered - c->beats)
                              : json_null();
}

/* The count without what is still sealed: what nobody has entered yet. */
static json_t *sealed_count(const check_view *view)
{
    json_t *const count = count_document_build(view->source, view->count);
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

static void put_pulse(document_part *to, const check_view *view)
{
    const fm_comparison *const c = view->comparison;
    document_part m = *to;
    document_put(&m, "manual", manual_part(view));
    document_put(&m, "difference", document_rate(c->difference_per_min));
    document_put(&m, "difference_beats", difference_beats(c));
    document_put(&m, "verdict", json_string(fm_verdict_word(c->verdict)));
    document_put(&m, "no_verdict",
                 c->no_verdict == FM_NO_VERDICT_NONE
                     ? json_null()
                     : json_string(fm_no_verdict_word(c->no_verdict)));
    document_put(&m, "in_doubt", json_boolean(c->doubtful));
    document_put(&m, "judged_against",
                 json_string(c->against_truth ? "truth" : "device"));
    document_put(&m, "same_seconds", same_seconds_part(c));
    document_put(&m, "minute", minute_part(c));
    document_put(&m, "tolerance", tolerance_part(view));
    document_put(&m, "explained_by_convention",
                 c->convention_explains ? json_string(fm_convention_word(c->explaining))
                                        : json_null());
    document_put(&m, "fewer_at_wrist", json_boolean(c->fewer_at_wrist));
    document_put(&m, "judged_at", json_string(c->at_wrist ? "wrist" : "apex"));
    document_put(&m, "apex_beats",
                 c->reference_known ? json_integer(c->apex_beats) : json_null());
    document_put(&m, "slip", slip_part(view));
    document_put(&m, "taps", taps_part(view->taps));
    document_put(&m, "short_counts",
                 document_short_counts(c->short_counts, c->n_short));
    document_put(&m, "reference", reference_part(view));
    *to = m;
}

/* The same members where respirations alone were checked. */
static void put_no_pulse(document_part *m)
{
    static const char *const nulls[] = {
        "manual", "difference", "difference_beats",        "same_seconds",
        "minute", "tolerance",  "explained_by_convention", "slip",
        "taps",   "reference"};
    document_put(m, "verdict", json_string(fm_verdict_word(FM_VERDICT_NOT_COMPARABLE)));
    document_put(m, "no_verdict", json_string("pulse not entered"));
    document_put(m, "short_counts", json_array());
    for (size_t i = 0; i < sizeof nulls / sizeof nulls[0]; i++) {
        document_put(m, nulls[i], json_null());
    }
}

json_t *check_document_build(const check_view *view)
{
    document_part m = document_start();
    document_put(&m, "schema", json_string(SCHEMA));
    document_put(&m, "engine", json_string(FM_VERSION));
    document_put(&m, "count", sealed_count(view));
    if (view->comparison != NULL) {
        put_pulse(&m, view);
    } else {
        put_no_pulse(&m);
    }
    const person_first first = person_first_of(view);
    document_put(&m, "person_first", person_first_build(&first));
    if (view->breaths != NULL) {
        document_put(&m, "breath_check", check_breaths_build(view));
    }
    return document_end(&m);
}
