#include "src/document/first_view.h"

#include "src/document/document_parts.h"

#include <math.h>

static const char *const CODES[] = {
#define X(step, code, action) code,
    FIRST_STEP_MAP(X)
#undef X
};

static const char *const ACTIONS[] = {
#define X(step, code, action) action,
    FIRST_STEP_MAP(X)
#undef X
};

static json_t *text_or_null(const char *text)
{
    return text[0] != '\0' ? json_string(text) : json_null();
}

static json_t *kind_of(fm_event_kind kind)
{
    return json_string(kind == FM_EVENT_BEAT ? "pulse" : "breath");
}

static json_t *lines_part(const first_lines *l)
{
    json_t *list = json_array();
    for (size_t i = 0; i < l->n; i++) {
        list = document_append(list, json_string(l->text[i]));
    }
    return list;
}

static json_t *person_part(const first_view *v)
{
    if (v->person.n == 0) {
        return json_null();
    }
    document_part b = document_start();
    document_put(&b, "now", json_boolean(v->now));
    document_put(&b, "text", lines_part(&v->person));
    return document_end(&b);
}

static json_t *word_part(const first_word *w)
{
    document_part b = document_start();
    document_put(&b, "yours", text_or_null(w->yours));
    document_put(&b, "found", text_or_null(w->found));
    document_put(&b, "same",
                 w->yours[0] == '\0' || w->found[0] == '\0' ? json_null()
                                                            : json_boolean(w->same));
    document_put(&b, "text", text_or_null(w->text));
    return document_end(&b);
}

static json_t *you_text(const first_side *s)
{
    return s->could_not ? json_string("could not count")
                        : json_sprintf("%.0f", s->you_per_min);
}

static json_t *side_part(const first_side *s)
{
    document_part b = document_start();
    document_put(&b, "kind", kind_of(s->kind));
    document_put(&b, "you", document_rate(s->you_per_min));
    document_put(&b, "you_text", you_text(s));
    document_put(&b, "entered", s->could_not ? json_null() : json_integer(s->entered));
    document_put(&b, "seconds", json_integer(s->seconds));
    document_put(&b, "second", document_rate(s->second_per_min));
    document_put(&b, "second_text", json_string(s->second_text));
    document_put(&b, "low", document_rate(s->low_per_min));
    document_put(&b, "high", document_rate(s->high_per_min));
    document_put(&b, "judged_by", json_string(s->by_truth ? "truth" : "second"));
    document_put(&b, "unit", json_string("per minute"));
    document_put(&b, "numbers", text_or_null(s->numbers));
    document_put(&b, "difference", text_or_null(s->difference));
    document_put(&b, "sure", text_or_null(s->sure));
    document_put(&b, "range", text_or_null(s->range));
    document_put(&b, "word", word_part(&s->word));
    return document_end(&b);
}

static json_t *next_part(const first_next *n)
{
    document_part b = document_start();
    document_put(&b, "code", json_string(CODES[n->step]));
    document_put(&b, "kind", kind_of(n->kind));
    document_put(&b, "text", json_string(n->text));
    document_put(&b, "action", json_string(ACTIONS[n->step]));
    document_put(&b, "start_s", document_time(n->start_s));
    return document_end(&b);
}

static json_t *slip_part(const first_slip *s)
{
    document_part b = document_start();
    document_put(&b, "kind", kind_of(s->kind));
    document_put(&b, "text", json_string(s->text));
    document_put(&b, "start_s", document_time(s->start_s));
    document_put(&b, "seconds",
                 isfinite(s->start_s) ? json_integer(s->seconds) : json_null());
    return document_end(&b);
}

json_t *first_view_document(const first_view *v)
{
    json_t *sides = json_array();
    json_t *slips = json_array();
    for (size_t i = 0; i < v->n_sides; i++) {
        sides = document_append(sides, side_part(&v->sides[i]));
    }
    for (size_t i = 0; i < v->n_slips; i++) {
        slips = document_append(slips, slip_part(&v->slips[i]));
    }
    document_part b = document_start();
    document_put(&b, "person", person_part(v));
    document_put(&b, "sides", sides);
    document_put(&b, "trend", text_or_null(v->trend));
    document_put(&b, "next", next_part(&v->next));
    document_put(&b, "slips", slips);
    document_put(&b, "shorter", lines_part(&v->shorter));
    document_put(&b, "method", lines_part(&v->method));
    return document_end(&b);
}
