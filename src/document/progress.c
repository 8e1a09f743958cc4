#include "src/document/progress.h"

#include <math.h>
#include <stdlib.h>

void progress_free(progress *p)
{
    free(p->points);
    free(p->pairs.measured.value);
    free(p->pairs.truth.value);
    *p = (progress){0};
}

static json_t *number(double value)
{
    return isfinite(value) ? json_real(round(value * 1e4) / 1e4) : json_null();
}

static json_t *group_json(const progress_group *g)
{
    const fm_agreement *const a = &g->agreement;
    return json_pack(
        "{s:s, s:s, s:I, s:o, s:o, s:o, s:o, s:I, s:o, s:o}", "by", g->by, "label",
        g->label, "n", (json_int_t)a->n, "bias_per_min", number(a->bias), "sd_per_min",
        number(a->sd), "limit_low_per_min", number(a->limits.low), "limit_high_per_min",
        number(a->limits.high), "within", (json_int_t)g->within, "share_low",
        number(g->share_95.low), "share_high", number(g->share_95.high));
}

static json_t *groups_json(const progress *p)
{
    json_t *const all = json_array();
    bool ok = all != NULL && json_array_append_new(all, group_json(&p->all)) == 0;
    for (size_t i = 0; i < p->n_groups && ok; i++) {
        ok = p->groups[i].agreement.n == 0 ||
             json_array_append_new(all, group_json(&p->groups[i])) == 0;
    }
    ok = ok && (p->breaths.agreement.n == 0 ||
                json_array_append_new(all, group_json(&p->breaths)) == 0);
    if (!ok) {
        json_decref(all);
        return NULL;
    }
    return all;
}

static json_t *goal_json(const progress_goal *g)
{
    if (!g->set) {
        return json_null();
    }
    return json_pack("{s:i, s:f, s:i, s:b, s:s*, s:i, s:i, s:i, s:f, s:b, s:i}",
                     "in_a_row", g->in_a_row, "within_per_min", g->within_per_min,
                     "irregular", g->irregular, "met", g->met ? 1 : 0, "met_utc",
                     g->met ? g->met_utc : NULL, "now_in_a_row", g->now_in_a_row,
                     "now_irregular", g->now_irregular, "breath_in_a_row",
                     g->breath_in_a_row, "breath_within_per_min",
                     g->breath_within_per_min, "breath_met", g->breath_met ? 1 : 0,
                     "breath_now_in_a_row", g->breath_now_in_a_row);
}

static json_t *signature_json(const progress *p)
{
    return p->is_signed
               ? json_pack("{s:s, s:s, s:b, s:s}", "by", p->signed_by, "signed_utc",
                           p->signed_utc, "goal_met", p->signed_goal_met ? 1 : 0,
                           "watched", p->signed_watched)
               : json_null();
}

json_t *progress_document(const progress *p)
{
    const bool one = p->learner[0] != '\0';
    return json_pack(
        "{s:s, s:b, s:o, s:I, s:I, s:I, s:I, s:I, s:f, s:b, s:o, s:o, s:o, s:o, s:o, "
        "s:{s:I, "
        "s:o, "
        "s:o, s:o}}",
        "schema", "fullminute.progress/1", "practice", 1, "learner",
        one ? json_string(p->learner) : json_null(), "rows", (json_int_t)p->rows,
        "not_compared", (json_int_t)p->not_compared, "repeated",
        (json_int_t)p->repeated, "could_not", (json_int_t)p->could_not,
        "could_not_rightly", (json_int_t)p->could_not_rightly, "within_per_min",
        p->within_per_min, "within_set", p->within_set ? 1 : 0, "groups",
        groups_json(p), "trend_first_per_min",
        p->trend_n > 0 ? number(p->trend_first) : json_null(), "trend_last_per_min",
        p->trend_n > 0 ? number(p->trend_last) : json_null(), "goal",
        goal_json(&p->goal), "signature", signature_json(p), "deficit", "n",
        (json_int_t)p->n_deficits, "mean",
        p->n_deficits > 0 ? number(p->deficit_mean) : json_null(), "least",
        p->n_deficits > 0 ? number(p->deficit_least) : json_null(), "most",
        p->n_deficits > 0 ? number(p->deficit_most) : json_null());
}
