#include "src/words/progress_text.h"

#include "src/base/bytes.h"
#include "src/words/lines.h"

#include <math.h>
#include <stdio.h>

static void add_group(lines *to, const progress_group *g)
{
    const fm_agreement *const a = &g->agreement;
    if (a->n == 0) {
        return;
    }
    char limits[48] = "";
    if (isfinite(a->limits.low)) {
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
        "deviations, none from fewer than three counts: two say too little; within %g "
        "(respirations %g) per minute%s, in brackets its 95 %% "
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
    "doubtful counts are left out. One that could not be counted, though it can be, "
    "ends a run.";

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
        lines_add(to, 0, "No practice goal is set: the instructor sets one.");
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
    if (p->could_not > 0) {
        lines_add(
            &to, 0,
            "Of those that could not be compared, %zu could not be counted by the "
            "learner; %zu of them rightly: fullminute could not either.",
            p->could_not, p->could_not_rightly);
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
