#include "src/document/document_parts.h"
#include "src/report/check_breaths.h"

#include <math.h>

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

static json_t *manual_part(const check_view *view)
{
    const fm_comparison *const c = view->breaths->comparison;
    struct members m = members_start();
    put(&m, "entered", json_integer(c->manual.entered));
    put(&m, "seconds", json_integer(c->manual.seconds));
    put(&m, "per_min", document_rate(c->manual_per_min));
    put(&m, "method",
        c->manual.method == FM_BREATH_NOT_SAID
            ? json_null()
            : json_string(fm_breath_method_word(c->manual.method)));
    put(&m, "from_taps", json_boolean(view->breaths->counted_taps));
    return members_end(&m);
}

static json_t *same_seconds_part(const fm_comparison *c)
{
    struct members m = members_start();
    put(&m, "start_s", document_time(c->start_s));
    put(&m, "end_s", document_time(c->end_s));
    put(&m, "breaths", c->reference_known ? json_integer(c->counted) : json_null());
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
    put(&m, "per_min", document_rate(view->breaths->comparison->tolerance_per_min));
    put(&m, "set_by",
        json_string(view->breaths->tolerance_set ? "instructor" : "example"));
    return members_end(&m);
}

static json_t *slip_part(const check_view *view)
{
    char text[CHECK_WORDS_BYTES];
    const fm_slip slip = view->breaths->comparison->slip;
    if (slip == FM_SLIP_NONE) {
        return json_null();
    }
    struct members m = members_start();
    put(&m, "kind", json_string(fm_slip_word(slip)));
    put(&m, "text",
        json_string(check_view_slip_text(view, view->breaths->comparison, text)));
    return members_end(&m);
}

static json_t *taps_part(const fm_comparison *c)
{
    if (!c->tapped) {
        return json_null();
    }
    struct members m = members_start();
    put(&m, "count", json_integer(c->taps));
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
    const fm_reference_range *const range = view->breaths->range;
    const fm_range_place place = check_breaths_place(view);
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

static json_t *who_part(const check_view *view)
{
    const double limit =
        view->age_known ? fm_who_fast_per_min(view->age_months) : (double)NAN;
    const fm_who_breathing who = check_breaths_who(view);
    if (isnan(limit)) {
        return json_null();
    }
    struct members m = members_start();
    put(&m, "limit_per_min", document_rate(limit));
    put(&m, "fast",
        who == FM_WHO_NOT_KNOWN ? json_null() : json_boolean(who == FM_WHO_FAST));
    put(&m, "source", json_string(fm_who_source()));
    return members_end(&m);
}

json_t *check_breaths_build(const check_view *view)
{
    const fm_comparison *const c = view->breaths->comparison;
    struct members m = members_start();
    put(&m, "manual", manual_part(view));
    put(&m, "difference", document_rate(c->difference_per_min));
    put(&m, "difference_breaths",
        c->reference_known ? json_integer(c->manual.entered - c->counted)
                           : json_null());
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
    put(&m, "explained_by_method", json_boolean(c->method_explains));
    put(&m, "slip", slip_part(view));
    put(&m, "taps", taps_part(c));
    put(&m, "short_counts", short_counts_part(c));
    put(&m, "reference", reference_part(view));
    put(&m, "who_fast_breathing", who_part(view));
    put(&m, "pattern", json_string(fm_breath_pattern_word(view->breaths->pattern)));
    put(&m, "findings",
        document_pauses(view->breaths->pauses, view->breaths->n_pauses));
    put(&m, "pattern_from",
        json_string(view->breaths->breathing_known ? "truth" : "device"));
    return members_end(&m);
}
