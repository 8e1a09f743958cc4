#include "src/report/progress.h"

#include "src/base/bytes.h"
#include "src/report/lines.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

void progress_free(progress *p)
{
    free(p->points);
    free(p->pairs.measured.value);
    free(p->pairs.truth.value);
    *p = (progress){0};
}

/* ---- Text ---- */

static void add_group(lines *to, const progress_group *g)
{
    const fm_agreement *const a = &g->agreement;
    if (a->n == 0) {
        return;
    }
    char limits[48] = "";
    if (a->n > 1) {
        (void)snprintf(limits, sizeof limits, "%+6.1f to %+.1f", a->limits.low,
                       a->limits.high);
    }
    lines_add_row(to, "  %-24s %5zu  %+6.1f   %-18s %3.0f %% (%.0f-%.0f)", g->label,
                  a->n, a->bias, limits, 100.0 * (double)g->within / (double)a->n,
                  100.0 * g->share_95.low, 100.0 * g->share_95.high);
}

static void add_table(lines *to, const progress *p)
{
    lines_add_row(to, "  %-24s %5s  %6s   %-18s %s", "", "n", "bias",
                  "limits of agreement", "within");
    add_group(to, &p->all);
    for (size_t i = 0; i < p->n_groups; i++) {
        if (i == 0 || p->groups[i].by != p->groups[i - 1].by) {
            lines_break(to);
        }
        add_group(to, &p->groups[i]);
    }
    if (p->breaths.agreement.n > 0) {
        lines_break(to);
        add_group(to, &p->breaths);
    }
    lines_break(to);
    lines_add(
        to, 0,
        "Per minute, yours less the second count; limits at 1.96 standard "
        "deviations; within %g (respirations %g) per minute%s, in brackets its 95 %% "
        "interval. Counts by one person are not independent of one another, so the "
        "intervals are a little too narrow.",
        p->within_per_min, p->breaths_within_per_min,
        p->within_set ? ", the instructor's" : ", an example");
}

static void add_trend(lines *to, const progress *p)
{
    if (p->trend_n > 0) {
        lines_break(to);
        lines_add(to, 0,
                  "The first %zu were off by %.1f per minute (median), the last %zu by "
                  "%.1f.",
                  p->trend_n, p->trend_first, p->trend_n, p->trend_last);
    }
}

static const char GOAL_COUNTS[] =
    "It takes first attempts at different recordings or people, full minutes at the "
    "apex, and of the irregular ones those whose rhythm was named right. Refused and "
    "doubtful counts are left out.";

static void add_breath_goal(lines *to, const progress_goal *g)
{
    if (g->breath_in_a_row > 0) {
        lines_add(
            to, 0,
            "Practice goal of respirations, %d full minutes in a row within %g per "
            "minute: %s.",
            g->breath_in_a_row, g->breath_within_per_min,
            g->breath_met ? "met" : "not met");
    }
}

static void add_signature(lines *to, const progress *p)
{
    if (p->is_signed) {
        lines_add(to, 0, "Signed by %s on %.10s%s. Watched: %s.", p->signed_by,
                  p->signed_utc, p->signed_goal_met ? "" : ", before the goal was met",
                  p->signed_watched[0] != '\0' ? p->signed_watched : "not said");
    } else if (p->goal.set) {
        lines_add(to, 0, "Not signed: the instructor does that, not the program.");
    }
}

static void add_goal(lines *to, const progress *p)
{
    const progress_goal *const g = &p->goal;
    lines_break(to);
    if (g->set || g->breath_in_a_row > 0 || p->is_signed) {
        lines_add(to, 0, "Practice record, not a competence check");
    }
    if (!g->set) {
        lines_add(to, 0, "No practice goal is set (fullminute logbook goal).");
    } else if (g->met) {
        lines_add(
            to, 0,
            "Practice goal, %d in a row within %g per minute, %d of them irregular: "
            "met on %.10s.",
            g->in_a_row, g->within_per_min, g->irregular, g->met_utc);
    } else {
        lines_add(
            to, 0,
            "Practice goal, %d in a row within %g per minute, %d of them irregular: "
            "not met; the newest %d are, %d of them irregular.",
            g->in_a_row, g->within_per_min, g->irregular, g->now_in_a_row,
            g->now_irregular);
    }
    if (g->set) {
        lines_add(to, 0, "%s", GOAL_COUNTS);
    }
    add_breath_goal(to, g);
    add_signature(to, p);
}

static void add_deficits(lines *to, const progress *p)
{
    if (p->n_deficits > 0) {
        lines_break(to);
        lines_add(to, 0,
                  "Two examiners, apex less wrist in the same full minute: %zu times, "
                  "mean %.1f, %.0f to %.0f per minute.",
                  p->n_deficits, p->deficit_mean, p->deficit_least, p->deficit_most);
    }
}

char *progress_text(const progress *p)
{
    lines to = BYTES_NONE;
    lines_add(&to, 0, "%s%s: %zu rows, %zu compared for the first time.",
              p->learner[0] != '\0' ? "Learner " : "Everybody",
              p->learner[0] != '\0' ? p->learner : "", p->rows, p->all.agreement.n);
    if (p->not_compared + p->repeated > 0) {
        lines_add(
            &to, 0,
            "Left out: %zu that could not be compared, %zu repeated at a recording "
            "whose count had been seen.",
            p->not_compared, p->repeated);
    }
    if (p->all.agreement.n > 0 || p->breaths.agreement.n > 0) {
        lines_break(&to);
        add_table(&to, p);
    }
    add_trend(&to, p);
    if (p->learner[0] != '\0') {
        add_goal(&to, p);
    }
    add_deficits(&to, p);
    lines_break(&to);
    lines_add(&to, 0, "Practice. Learning and research aid, not a medical device.");
    return bytes_take(&to, NULL);
}

/* ---- Document ---- */

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
        "{s:s, s:b, s:o, s:I, s:I, s:I, s:f, s:b, s:o, s:o, s:o, s:o, s:o, s:{s:I, "
        "s:o, "
        "s:o, s:o}}",
        "schema", "fullminute.progress/1", "practice", 1, "learner",
        one ? json_string(p->learner) : json_null(), "rows", (json_int_t)p->rows,
        "not_compared", (json_int_t)p->not_compared, "repeated",
        (json_int_t)p->repeated, "within_per_min", p->within_per_min, "within_set",
        p->within_set ? 1 : 0, "groups", groups_json(p), "trend_first_per_min",
        p->trend_n > 0 ? number(p->trend_first) : json_null(), "trend_last_per_min",
        p->trend_n > 0 ? number(p->trend_last) : json_null(), "goal",
        goal_json(&p->goal), "signature", signature_json(p), "deficit", "n",
        (json_int_t)p->n_deficits, "mean",
        p->n_deficits > 0 ? number(p->deficit_mean) : json_null(), "least",
        p->n_deficits > 0 ? number(p->deficit_least) : json_null(), "most",
        p->n_deficits > 0 ? number(p->deficit_most) : json_null());
}
