#include "src/document/check_document.h"

#include "src/document/members.h"

#include <math.h>

/* ---- The members ---- */

static const field_word VERDICTS[] = {FM_VERDICT_MAP(FIELD_WORD){NULL, 0}};
static const field_word CONVENTIONS[] = {FM_CONVENTION_MAP(FIELD_WORD){NULL, 0}};
static const field_word SITES[] = {FM_SITE_MAP(FIELD_WORD){NULL, 0}};
static const field_word METHODS[] = {
    {"watched", FM_BREATH_WATCHED}, {"listened", FM_BREATH_LISTENED}, {NULL, 0}};
static const field_word AGAINST[] = {{"truth", true}, {"device", false}, {NULL, 0}};
static const field_word JUDGED_AT[] = {{"wrist", true}, {"apex", false}, {NULL, 0}};
static const field_word PLACES[] = {{"below", FM_RANGE_BELOW},
                                    {"within", FM_RANGE_WITHIN},
                                    {"above", FM_RANGE_ABOVE},
                                    {"at the edge", FM_RANGE_EDGE},
                                    {NULL, 0}};

#define PLAIN(name, member) MEMBER(name, FIELD(fm_comparison, member), .how = 0)
#define RATE(name, member)  MEMBER(name, FIELD(fm_comparison, member), .decimals = 1)
#define TIME(name, member)  MEMBER(name, FIELD(fm_comparison, member), .decimals = 3)
#define WORD(name, member, words)                                                      \
    MEMBER(name, FIELD_ONE_OF(fm_comparison, member, words), .how = 0)
#define COUNTED(name, member)                                                          \
    MEMBER(name, FIELD(fm_comparison, member),                                         \
           MEMBER_KNOWN(fm_comparison, reference_known))

static const member MANUAL[] = {
    PLAIN("entered", manual.entered),
    PLAIN("seconds", manual.seconds),
    WORD("convention", manual.convention, CONVENTIONS),
    RATE("per_min", manual_per_min),
    WORD("site", manual.site, SITES),
    MEMBERS_END,
};
static const member BREATH_MANUAL[] = {
    PLAIN("entered", manual.entered),
    PLAIN("seconds", manual.seconds),
    RATE("per_min", manual_per_min),
    WORD("method", manual.method, METHODS),
    MEMBERS_END,
};
#define SAME_SECONDS(name)                                                             \
    {                                                                                  \
        TIME("start_s", start_s), TIME("end_s", end_s), COUNTED(name, counted),        \
            RATE("per_min", per_min), RATE("low", low_per_min),                        \
            RATE("high", high_per_min), MEMBERS_END                                    \
    }
static const member SAME_SECONDS_BEATS[] = SAME_SECONDS("beats");
static const member SAME_SECONDS_BREATHS[] = SAME_SECONDS("breaths");
static const member MINUTE[] = {
    RATE("per_min", minute_per_min),
    RATE("low", minute_low_per_min),
    RATE("high", minute_high_per_min),
    MEMBERS_END,
};
static const member VERDICT[] = {WORD("verdict", verdict, VERDICTS), MEMBERS_END};
static const member JUDGED[] = {
    PLAIN("in_doubt", doubtful),
    WORD("judged_against", against_truth, AGAINST),
    MEMBERS_END,
};
static const member EXPLAINED[] = {
    MEMBER("explained_by_convention",
           FIELD_ONE_OF(fm_comparison, explaining, CONVENTIONS),
           MEMBER_KNOWN(fm_comparison, convention_explains)),
    PLAIN("fewer_at_wrist", fewer_at_wrist),
    WORD("judged_at", at_wrist, JUDGED_AT),
    COUNTED("apex_beats", apex_beats),
    MEMBERS_END,
};

/* ---- Parts that pulse and respirations share ---- */

/* What of a comparison is told alike. */
typedef struct part {
    const fm_comparison *c;
    const member *manual, *same_seconds;
    const char *difference; /* of the counts: its member's name */
    bool counted_taps, tolerance_set;
    const fm_reference_range *range;
    fm_range_place place;
    const check_learner *learner; /* NULL: nothing said */
    const char *slip;             /* its sentence */
} part;

static json_t *word_or_null(const char *word)
{
    return word != NULL && word[0] != '\0' ? document_text(word) : json_null();
}

static void put_words(document_part *to, const check_learner *l, bool breaths)
{
    const own_words none = own_words_none();
    const bool said = l != NULL;
    if (!breaths) {
        document_put(to, "rhythm", word_or_null(said ? l->rhythm : NULL));
        document_put(to, "running", own_running_json(said ? l->running : none.running));
        return;
    }
    document_put(to, "rhythm", word_or_null(said ? l->breathing : NULL));
    document_put(to, "depth", word_or_null(said ? l->depth : NULL));
    document_put(to, "effort", word_or_null(said ? l->effort : NULL));
    document_put(to, "running",
                 own_running_json(said ? l->breath_running : none.running));
}

static json_t *manual_part(const part *p)
{
    document_part b = document_start();
    members_put(&b, p->manual, p->c);
    if (p->c->manual.could_not) {
        document_put(&b, "entered", json_null());
    }
    document_put(&b, "could_not", json_boolean(p->c->manual.could_not));
    document_put(&b, "from_taps", json_boolean(p->counted_taps));
    put_words(&b, p->learner, p->manual == BREATH_MANUAL);
    return document_end(&b);
}

static void put_judged(document_part *to, const part *p)
{
    const fm_comparison *const c = p->c;
    document_part tolerance = document_start();
    document_put(&tolerance, "per_min", document_rate(c->tolerance_per_min));
    document_put(&tolerance, "set_by",
                 json_string(p->tolerance_set ? "instructor" : "example"));
    document_put(to, "manual", manual_part(p));
    document_put(to, "difference", document_rate(c->difference_per_min));
    document_put(to, p->difference,
                 c->reference_known && !c->manual.could_not
                     ? json_integer(c->manual.entered - c->counted)
                     : json_null());
    document_put(to, "could_not",
                 c->manual.could_not ? json_string(fm_verdict_word(c->could_not))
                                     : json_null());
    members_put(to, VERDICT, c);
    document_put(to, "no_verdict",
                 c->no_verdict == FM_NO_VERDICT_NONE
                     ? json_null()
                     : json_string(fm_no_verdict_word(c->no_verdict)));
    members_put(to, JUDGED, c);
    document_put(to, "same_seconds", members_object(p->same_seconds, c));
    document_put(to, "minute", members_object(MINUTE, c));
    document_put(to, "tolerance", document_end(&tolerance));
}

static json_t *slip_part(const part *p)
{
    if (p->c->slip == FM_SLIP_NONE) {
        return json_null();
    }
    document_part b = document_start();
    document_put(&b, "kind", json_string(fm_slip_word(p->c->slip)));
    document_put(&b, "text", json_string(p->slip));
    return document_end(&b);
}

static json_t *reference_part(const check_view *view, const part *p)
{
    const fm_reference_range *const range = p->range;
    const char *const place = field_word_of(PLACES, p->place);
    document_part b = document_start();
    document_put(&b, "range",
                 document_append(
                     document_append(json_array(), document_rate(range->low_per_min)),
                     document_rate(range->high_per_min)));
    document_put(&b, "source", json_string(range->source));
    document_put(&b, "age_band", json_string(range->age_band));
    document_put(&b, "age_given", json_boolean(view->age_known));
    document_put(&b, "meaning", json_string(range->meaning));
    document_put(&b, "from_memory", json_boolean(range->from_memory));
    document_put(&b, "place", place == NULL ? json_null() : json_string(place));
    return document_end(&b);
}

static void put_reference(document_part *to, const check_view *view, const part *p)
{
    const fm_comparison *const c = p->c;
    document_put(to, "short_counts",
                 document_short_counts(c->short_counts, c->n_short));
    document_put(to, "reference", reference_part(view, p));
}

/* ---- The pulse ---- */

static json_t *taps_part(const fm_taps *taps)
{
    if (taps == NULL) {
        return json_null();
    }
    document_part b = document_start();
    document_put(&b, "lag_s", document_time(taps->lag_s));
    document_put(&b, "lag_sd_s", document_time(taps->lag_sd_s));
    document_put(&b, "matched", json_integer((json_int_t)taps->n_matched));
    document_put(&b, "not_tapped_s",
                 document_times(taps->not_tapped_s, taps->n_not_tapped));
    document_put(&b, "extra_s", document_times(taps->extra_s, taps->n_extra));
    document_put(&b, "lost_from_s", document_time(taps->lost_from_s));
    document_put(&b, "lost_until_s", document_time(taps->lost_until_s));
    return document_end(&b);
}

static void put_pulse(document_part *to, const check_view *view, const char *slip)
{
    const part p = {view->comparison,   MANUAL,
                    SAME_SECONDS_BEATS, "difference_beats",
                    view->counted_taps, view->tolerance_set,
                    view->range,        check_rate_place(view->comparison, view->range),
                    view->learner,      slip};
    put_judged(to, &p);
    members_put(to, EXPLAINED, p.c);
    document_put(to, "slip", slip_part(&p));
    document_put(to, "taps", taps_part(view->taps));
    put_reference(to, view, &p);
}

/* The same members where respirations alone were checked. */
static void put_no_pulse(document_part *to)
{
    static const char *const nulls[] = {
        "manual",       "difference", "difference_beats", "could_not",
        "same_seconds", "minute",     "tolerance",        "explained_by_convention",
        "slip",         "taps",       "reference"};
    document_put(to, "verdict",
                 json_string(fm_verdict_word(FM_VERDICT_NOT_COMPARABLE)));
    document_put(to, "no_verdict", json_string("pulse not entered"));
    document_put(to, "short_counts", json_array());
    for (size_t i = 0; i < sizeof nulls / sizeof nulls[0]; i++) {
        document_put(to, nulls[i], json_null());
    }
}

/* ---- Respirations ---- */

static json_t *who_part(const check_view *view)
{
    const double limit =
        view->age_known ? fm_who_fast_per_min(view->age_months) : (double)NAN;
    const fm_who_breathing who = check_breaths_who(view);
    if (isnan(limit)) {
        return json_null();
    }
    document_part b = document_start();
    document_put(&b, "limit_per_min", document_rate(limit));
    document_put(&b, "fast",
                 who == FM_WHO_NOT_KNOWN ? json_null()
                                         : json_boolean(who == FM_WHO_FAST));
    document_put(&b, "source", json_string(fm_who_source()));
    return document_end(&b);
}

static json_t *breath_taps(const fm_comparison *c)
{
    return c->tapped ? json_pack("{s:i}", "count", c->taps) : json_null();
}

static json_t *breaths_part(const check_view *view, const char *slip)
{
    const check_breaths *const v = view->breaths;
    const part p = {v->comparison,
                    BREATH_MANUAL,
                    SAME_SECONDS_BREATHS,
                    "difference_breaths",
                    v->counted_taps,
                    v->tolerance_set,
                    v->range,
                    check_rate_place(v->comparison, v->range),
                    view->learner,
                    slip};
    document_part b = document_start();
    put_judged(&b, &p);
    document_put(&b, "explained_by_method", json_boolean(p.c->method_explains));
    document_put(&b, "slip", slip_part(&p));
    document_put(&b, "taps", breath_taps(p.c));
    put_reference(&b, view, &p);
    document_put(&b, "who_fast_breathing", who_part(view));
    document_put(&b, "pattern", json_string(fm_breath_pattern_word(v->pattern)));
    document_put(&b, "findings", document_pauses(v->pauses, v->n_pauses));
    document_put(&b, "pattern_from",
                 json_string(v->breathing_known ? "truth" : "device"));
    return document_end(&b);
}

/* ---- The document ---- */

/* The count without what is still sealed: what nobody has entered yet. */
static json_t *sealed_count(const check_view *view, const count_said *said)
{
    document_part b = {count_document_build(view->source, view->count, said), false};
    b.failed = b.object == NULL;
    if (view->comparison == NULL) {
        document_put(&b, "heart", json_null());
        document_put(&b, "rhythm", json_null());
    }
    if (view->breaths == NULL) {
        document_put(&b, "breath", json_null());
    }
    return document_end(&b);
}

static json_t *first_part(const check_said *said)
{
    json_t *text = json_array();
    for (size_t i = 0; i < said->n_first; i++) {
        text = document_append(text, json_string(said->first[i]));
    }
    document_part b = document_start();
    document_put(&b, "act_now", json_boolean(said->act_now));
    document_put(&b, "composed", json_boolean(said->composed));
    document_put(&b, "text", text);
    return document_end(&b);
}

json_t *check_document_build(const check_view *view, const check_said *said)
{
    document_part b = document_start();
    document_put(&b, "schema", json_string("fullminute.check/1"));
    document_put(&b, "engine", json_string(FM_VERSION));
    document_put(&b, "count", sealed_count(view, &said->count));
    if (view->comparison != NULL) {
        put_pulse(&b, view, said->slip);
    } else {
        put_no_pulse(&b);
    }
    document_put(&b, "person_first", first_part(said));
    if (view->breaths != NULL) {
        document_put(&b, "breath_check", breaths_part(view, said->breath_slip));
    }
    return document_end(&b);
}
