#include "src/report/check_document.h"

#include "src/document/document_parts.h"
#include "src/report/check_breaths.h"
#include "src/words/person_first.h"

#include <math.h>

static const char SCHEMA[] = "fullminute.check/1";

/** The half of a check that is the pulse's or that of respirations. */
typedef struct half {
    const check_view *view;
    const fm_comparison *c;
    const fm_reference_range *range;
    fm_range_place place;
    bool tolerance_set;
    bool counted_taps;
    bool pulse;
} half;

static half pulse_of(const check_view *view)
{
    return (half){view,
                  view->comparison,
                  view->range,
                  check_view_place(view),
                  view->tolerance_set,
                  view->counted_taps,
                  true};
}

static half breaths_of(const check_view *view)
{
    const check_breaths *const b = view->breaths;
    return (half){view,
                  b->comparison,
                  b->range,
                  check_breaths_place(view),
                  b->tolerance_set,
                  b->counted_taps,
                  false};
}

static json_t *manual_part(const half *h)
{
    const fm_manual *const m = &h->c->manual;
    document_part p = document_start();
    document_put(&p, "entered", json_integer(m->entered));
    document_put(&p, "seconds", json_integer(m->seconds));
    if (h->pulse) {
        document_put(&p, "convention", json_string(fm_convention_word(m->convention)));
    }
    document_put(&p, "per_min", document_rate(h->c->manual_per_min));
    if (h->pulse) {
        document_put(&p, "site", json_string(fm_site_word(m->site)));
    } else {
        document_put(&p, "method",
                     m->method == FM_BREATH_NOT_SAID
                         ? json_null()
                         : json_string(fm_breath_method_word(m->method)));
    }
    document_put(&p, "from_taps", json_boolean(h->counted_taps));
    return document_end(&p);
}

static json_t *same_seconds_part(const half *h)
{
    const fm_comparison *const c = h->c;
    document_part m = document_start();
    document_put(&m, "start_s", document_time(c->start_s));
    document_put(&m, "end_s", document_time(c->end_s));
    document_put(&m, h->pulse ? "beats" : "breaths",
                 c->reference_known ? json_integer(c->counted) : json_null());
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

static json_t *tolerance_part(const half *h)
{
    document_part m = document_start();
    document_put(&m, "per_min", document_rate(h->c->tolerance_per_min));
    document_put(&m, "set_by",
                 json_string(h->tolerance_set ? "instructor" : "example"));
    return document_end(&m);
}

static json_t *slip_part(const half *h)
{
    char text[CHECK_WORDS_BYTES];
    if (h->c->slip == FM_SLIP_NONE) {
        return json_null();
    }
    document_part m = document_start();
    document_put(&m, "kind", json_string(fm_slip_word(h->c->slip)));
    document_put(&m, "text", json_string(check_view_slip_text(h->view, h->c, text)));
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

static json_t *taps_counted_part(const fm_comparison *c)
{
    if (!c->tapped) {
        return json_null();
    }
    document_part m = document_start();
    document_put(&m, "count", json_integer(c->taps));
    return document_end(&m);
}

static json_t *short_count_part(const fm_short_count *w)
{
    document_part m = document_start();
    document_put(&m, "seconds", json_integer(w->seconds));
    document_put(&m, "windows", json_integer((json_int_t)w->n_windows));
    document_put(&m, "min", document_rate(w->min_per_min));
    document_put(&m, "max", document_rate(w->max_per_min));
    document_put(&m, "mean", document_rate(w->mean_per_min));
    return document_end(&m);
}

static json_t *short_counts_part(const fm_comparison *c)
{
    json_t *array = json_array();
    for (size_t i = 0; i < c->n_short; i++) {
        array = document_append(array, short_count_part(&c->short_counts[i]));
    }
    return array;
}

static json_t *reference_part(const half *h)
{
    static const char *const places[] = {[FM_RANGE_BELOW] = "below",
                                         [FM_RANGE_WITHIN] = "within",
                                         [FM_RANGE_ABOVE] = "above",
                                         [FM_RANGE_EDGE] = "at the edge"};
    document_part m = document_start();
    document_put(&m, "range",
                 document_append(document_append(json_array(),
                                                 document_rate(h->range->low_per_min)),
                                 document_rate(h->range->high_per_min)));
    document_put(&m, "source", json_string(h->range->source));
    document_put(&m, "age_band", json_string(h->range->age_band));
    document_put(&m, "age_given", json_boolean(h->view->age_known));
    document_put(&m, "meaning", json_string(h->range->meaning));
    document_put(&m, "from_memory", json_boolean(h->range->from_memory));
    document_put(&m, "place",
                 h->place == FM_RANGE_UNKNOWN ? json_null()
                                              : json_string(places[h->place]));
    return document_end(&m);
}

/* The members that both halves begin with. */
static void put_judged(document_part *m, const half *h)
{
    const fm_comparison *const c = h->c;
    document_put(m, "manual", manual_part(h));
    document_put(m, "difference", document_rate(c->difference_per_min));
    document_put(m, h->pulse ? "difference_beats" : "difference_breaths",
                 c->reference_known ? json_integer(c->manual.entered - c->counted)
                                    : json_null());
    document_put(m, "verdict", json_string(fm_verdict_word(c->verdict)));
    document_put(m, "no_verdict",
                 c->no_verdict == FM_NO_VERDICT_NONE
                     ? json_null()
                     : json_string(fm_no_verdict_word(c->no_verdict)));
    document_put(m, "in_doubt", json_boolean(c->doubtful));
    document_put(m, "judged_against",
                 json_string(c->against_truth ? "truth" : "device"));
    document_put(m, "same_seconds", same_seconds_part(h));
    document_put(m, "minute", minute_part(c));
    document_put(m, "tolerance", tolerance_part(h));
}

/* Those that follow what is only the one's or the other's. */
static void put_explained(document_part *m, const half *h, json_t *taps)
{
    document_put(m, "slip", slip_part(h));
    document_put(m, "taps", taps);
    document_put(m, "short_counts", short_counts_part(h->c));
    document_put(m, "reference", reference_part(h));
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

static void put_pulse(document_part *m, const check_view *view)
{
    const fm_comparison *const c = view->comparison;
    const half h = pulse_of(view);
    put_judged(m, &h);
    document_put(m, "explained_by_convention",
                 c->convention_explains ? json_string(fm_convention_word(c->explaining))
                                        : json_null());
    document_put(m, "fewer_at_wrist", json_boolean(c->fewer_at_wrist));
    document_put(m, "judged_at", json_string(c->at_wrist ? "wrist" : "apex"));
    document_put(m, "apex_beats",
                 c->reference_known ? json_integer(c->apex_beats) : json_null());
    put_explained(m, &h, taps_part(view->taps));
}

static json_t *who_part(const check_view *view)
{
    const double limit =
        view->age_known ? fm_who_fast_per_min(view->age_months) : (double)NAN;
    const fm_who_breathing who = check_breaths_who(view);
    if (isnan(limit)) {
        return json_null();
    }
    document_part m = document_start();
    document_put(&m, "limit_per_min", document_rate(limit));
    document_put(&m, "fast",
                 who == FM_WHO_NOT_KNOWN ? json_null()
                                         : json_boolean(who == FM_WHO_FAST));
    document_put(&m, "source", json_string(fm_who_source()));
    return document_end(&m);
}

static json_t *breaths_part(const check_view *view)
{
    const check_breaths *const b = view->breaths;
    const half h = breaths_of(view);
    document_part m = document_start();
    put_judged(&m, &h);
    document_put(&m, "explained_by_method", json_boolean(h.c->method_explains));
    put_explained(&m, &h, taps_counted_part(h.c));
    document_put(&m, "who_fast_breathing", who_part(view));
    document_put(&m, "pattern", json_string(fm_breath_pattern_word(b->pattern)));
    document_put(&m, "findings", document_pauses(b->pauses, b->n_pauses));
    document_put(&m, "pattern_from",
                 json_string(b->breathing_known ? "truth" : "device"));
    return document_end(&m);
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
        document_put(&m, "breath_check", breaths_part(view));
    }
    return document_end(&m);
}
