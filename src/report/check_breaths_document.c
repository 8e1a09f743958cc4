#include "src/document/document_parts.h"
#include "src/report/check_breaths.h"

#include <math.h>

static json_t *manual_part(const check_view *view)
{
    const fm_breath_comparison *const c = view->breaths->comparison;
    document_part m = document_start();
    document_put(&m, "entered", json_integer(c->manual.entered));
    document_put(&m, "seconds", json_integer(c->manual.seconds));
    document_put(&m, "per_min", document_rate(c->manual_per_min));
    document_put(&m, "method",
                 c->manual.method == FM_BREATH_NOT_SAID
                     ? json_null()
                     : json_string(fm_breath_method_word(c->manual.method)));
    document_put(&m, "from_taps", json_boolean(view->breaths->counted_taps));
    return document_end(&m);
}

static json_t *same_seconds_part(const fm_breath_comparison *c)
{
    document_part m = document_start();
    document_put(&m, "start_s", document_time(c->start_s));
    document_put(&m, "end_s", document_time(c->end_s));
    document_put(&m, "breaths",
                 c->reference_known ? json_integer(c->breaths) : json_null());
    document_put(&m, "per_min", document_rate(c->per_min));
    document_put(&m, "low", document_rate(c->low_per_min));
    document_put(&m, "high", document_rate(c->high_per_min));
    return document_end(&m);
}

static json_t *minute_part(const fm_breath_comparison *c)
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
    document_put(&m, "per_min",
                 document_rate(view->breaths->comparison->tolerance_per_min));
    document_put(&m, "set_by",
                 json_string(view->breaths->tolerance_set ? "instructor" : "example"));
    return document_end(&m);
}

static json_t *slip_part(const check_view *view)
{
    char text[CHECK_WORDS_BYTES];
    const fm_breath_slip slip = view->breaths->comparison->slip;
    if (slip == FM_BREATH_SLIP_NONE) {
        return json_null();
    }
    document_part m = document_start();
    document_put(&m, "kind", json_string(fm_breath_slip_word(slip)));
    document_put(&m, "text", json_string(check_breaths_slip_text(view, text)));
    return document_end(&m);
}

static json_t *taps_part(const fm_breath_comparison *c)
{
    if (!c->tapped) {
        return json_null();
    }
    document_part m = document_start();
    document_put(&m, "count", json_integer(c->taps));
    return document_end(&m);
}

static json_t *reference_part(const check_view *view)
{
    static const char *const places[] = {[FM_RANGE_BELOW] = "below",
                                         [FM_RANGE_WITHIN] = "within",
                                         [FM_RANGE_ABOVE] = "above",
                                         [FM_RANGE_EDGE] = "at the edge"};
    const fm_respiration_range *const range = view->breaths->range;
    const fm_range_place place = check_breaths_place(view);
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

json_t *check_breaths_build(const check_view *view)
{
    const fm_breath_comparison *const c = view->breaths->comparison;
    document_part m = document_start();
    document_put(&m, "manual", manual_part(view));
    document_put(&m, "difference", document_rate(c->difference_per_min));
    document_put(&m, "difference_breaths",
                 c->reference_known ? json_integer(c->manual.entered - c->breaths)
                                    : json_null());
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
    document_put(&m, "explained_by_method", json_boolean(c->method_explains));
    document_put(&m, "slip", slip_part(view));
    document_put(&m, "taps", taps_part(c));
    document_put(&m, "short_counts",
                 document_short_counts(c->short_counts, c->n_short));
    document_put(&m, "reference", reference_part(view));
    document_put(&m, "who_fast_breathing", who_part(view));
    document_put(&m, "pattern",
                 json_string(fm_breath_pattern_word(view->breaths->pattern)));
    document_put(&m, "findings",
                 document_pauses(view->breaths->pauses, view->breaths->n_pauses));
    document_put(&m, "pattern_from",
                 json_string(view->breaths->breathing_known ? "truth" : "device"));
    return document_end(&m);
}
