#include "src/usecase/worksheet_score.h"

#include "dsp/compare/slip.h"
#include "src/base/bytes.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* ---- One answer ---- */

/* What the answer looks like beside the recording's minute, by the one order there is. */
static fm_slip slip_of(const worksheet_item *item, int beats, int seconds)
{
    const worksheet_short *const s = seconds == 15 ? &item->by_15_s : &item->by_30_s;
    const fm_short_count by = {.seconds = seconds,
                               .min_per_min = s->low_per_min,
                               .max_per_min = s->high_per_min};
    const fm_slip_case off = {
        .entered = beats,
        .seconds = seconds,
        .reference = item->beats,
        .doubled = FM_SLIP_BOTH_SOUNDS,
        .halved = FM_SLIP_EVERY_OTHER,
        .of_minute = true,
        .n_short = seconds < 60 && s->low_per_min != WORKSHEET_UNKNOWN ? 1 : 0,
        .short_counts = &by,
    };
    return fm_slip_of(&off);
}

worksheet_slip worksheet_slip_of(const worksheet_item *item,
                                 int beats,
                                 int seconds,
                                 bool first_is_zero,
                                 double tolerance)
{
    const double per_min = 60.0 * beats / seconds;
    const double truth = item->beats;
    const double off = per_min - truth;
    const double one = 60.0 / seconds;
    if (fabs(off) <= tolerance + 1e-9) {
        return WORKSHEET_RIGHT;
    }
    if (first_is_zero && fabs(off + one) <= tolerance + 1e-9) {
        return WORKSHEET_FIRST_BEAT;
    }
    switch (slip_of(item, beats, seconds)) {
    case FM_SLIP_SHORT_COUNT:
        return WORKSHEET_SHORT_COUNT;
    case FM_SLIP_BOTH_SOUNDS:
        return WORKSHEET_BOTH_SOUNDS;
    case FM_SLIP_EVERY_OTHER:
        return WORKSHEET_EVERY_OTHER;
    default:
        break;
    }
    if (item->early > 0 && fabs(off + item->early) <= fmax(1.0, 0.2 * item->early)) {
        return WORKSHEET_EARLY_MISSED;
    }
    return WORKSHEET_LOST;
}

static worksheet_heard heard_of(const worksheet_item *item, fm_pattern rhythm)
{
    const char *const regular = fm_pattern_word(FM_PATTERN_REGULAR);
    if (rhythm == FM_PATTERN_COUNT || item->pattern[0] == '\0') {
        return WORKSHEET_NOT_SAID;
    }
    if (strcmp(fm_pattern_word(rhythm), item->pattern) == 0) {
        return WORKSHEET_SAME_WORD;
    }
    return rhythm == FM_PATTERN_REGULAR          ? WORKSHEET_MISSED
           : strcmp(item->pattern, regular) == 0 ? WORKSHEET_HEARD_TOO_MUCH
                                                 : WORKSHEET_OTHER_WORD;
}

/* ---- All of them ---- */

typedef struct scoring {
    const worksheet_key *k;
    worksheet_scores *out;
} scoring;

static bool find_student(worksheet_scores *s, const char *name, size_t *at)
{
    for (*at = 0; *at < s->n_students; (*at)++) {
        if (strcmp(s->students[*at].name, name) == 0) {
            return true;
        }
    }
    worksheet_row *const students = list_with_room(s->students, s->n_students + 1,
                                                   &s->student_room, sizeof *students);
    if (students == NULL) {
        return false;
    }
    s->students = students;
    memset(&s->students[*at], 0, sizeof s->students[*at]);
    (void)snprintf(s->students[*at].name, sizeof s->students[*at].name, "%s", name);
    s->n_students++;
    return true;
}

static bool keep(worksheet_scores *s, const worksheet_answer *a)
{
    worksheet_answer *const answers =
        list_with_room(s->answers, s->n_answers + 1, &s->answer_room, sizeof *answers);
    if (answers == NULL) {
        return false;
    }
    s->answers = answers;
    s->answers[s->n_answers++] = *a;
    return true;
}

static bool answered_before(const worksheet_scores *s, const worksheet_answer *a)
{
    for (size_t i = 0; i < s->n_answers; i++) {
        if (s->answers[i].student == a->student && s->answers[i].item == a->item) {
            return true;
        }
    }
    return false;
}

static bool take_answer(void *context,
                        const worksheet_given *given,
                        const csv_table *t,
                        app_err *err)
{
    const scoring *const s = context;
    const worksheet_item *const item = worksheet_key_find(s->k, given->item);
    worksheet_answer a = {.breaths = given->breaths};
    if (item == NULL) {
        return csv_table_wrong_field(t, given->item, "item", err);
    }
    a.item = (size_t)(item - s->k->items);
    const bool counted = given->beats != WORKSHEET_UNKNOWN;
    a.per_min = counted ? 60.0 * given->beats / given->seconds : (double)NAN;
    a.difference_per_min = a.per_min - item->beats;
    a.slip = counted ? worksheet_slip_of(item, given->beats, given->seconds,
                                         given->convention == FM_CONVENTION_ZERO,
                                         s->out->tolerance_per_min)
                     : WORKSHEET_COULD_NOT;
    a.heard = heard_of(item, given->rhythm);
    if (s->out->n_answers == WORKSHEET_ANSWERS_MOST ||
        !find_student(s->out, given->student, &a.student)) {
        return app_err_set(err, APP_FAILED, "too many answers for the memory there is");
    }
    if (answered_before(s->out, &a)) {
        char what[WORKSHEET_STUDENT_BYTES + WORKSHEET_WORD_BYTES + 32];
        (void)snprintf(what, sizeof what, "%s has answered %s before", given->student,
                       item->item);
        return csv_table_wrong(t, what, err);
    }
    return keep(s->out, &a) || app_err_memory(err);
}

/* ---- The rows ---- */

static void add_to(worksheet_row *row,
                   const worksheet_answer *a,
                   const worksheet_item *i)
{
    row->n++;
    row->within += a->slip == WORKSHEET_RIGHT || a->slip == WORKSHEET_FIRST_BEAT;
    row->said += a->heard != WORKSHEET_NOT_SAID;
    row->same_word += a->heard == WORKSHEET_SAME_WORD;
    row->missed += a->heard == WORKSHEET_MISSED;
    row->slips[a->slip]++;
    row->breaths_n += worksheet_breaths_said(i, a);
    row->breaths_within += worksheet_breaths_within(i, a);
}

/* Bias and limits of one row's answers. */
static bool agree(const worksheet_scores *s,
                  const worksheet_key *k,
                  worksheet_row *row,
                  size_t index,
                  bool by_student)
{
    double *const said = malloc((row->n > 0 ? row->n : 1) * 2 * sizeof *said);
    if (said == NULL) {
        return false;
    }
    double *const truth = said + row->n;
    size_t m = 0;
    for (size_t i = 0; i < s->n_answers; i++) {
        const worksheet_answer *const a = &s->answers[i];
        if ((by_student ? a->student : a->item) == index && m < row->n &&
            isfinite(a->per_min)) {
            said[m] = a->per_min;
            truth[m++] = k->items[a->item].beats;
        }
    }
    row->agreement = fm_agreement_of(said, truth, m);
    row->share_95 = fm_share_exact_95((long)row->within, (long)row->n);
    free(said);
    return true;
}

static bool sum_up(const worksheet_key *k, worksheet_scores *s)
{
    bool ok = true;
    s->items = calloc(k->n, sizeof *s->items);
    if (s->items == NULL) {
        return false;
    }
    s->n_items = k->n;
    for (size_t i = 0; i < s->n_answers; i++) {
        const worksheet_answer *const a = &s->answers[i];
        add_to(&s->students[a->student], a, &k->items[a->item]);
        add_to(&s->items[a->item], a, &k->items[a->item]);
    }
    for (size_t i = 0; i < k->n && ok; i++) {
        (void)snprintf(s->items[i].name, sizeof s->items[i].name, "%s",
                       k->items[i].item);
        ok = agree(s, k, &s->items[i], i, false);
    }
    for (size_t i = 0; i < s->n_students && ok; i++) {
        ok = agree(s, k, &s->students[i], i, true);
    }
    return ok;
}

bool worksheet_score(const worksheet_key *k,
                     const char *name,
                     char *text,
                     size_t n,
                     double tolerance,
                     worksheet_scores *out,
                     app_err *err)
{
    *out = (worksheet_scores){.tolerance_per_min = tolerance};
    scoring s = {k, out};
    if (n > 0 && !worksheet_answers_read(name, text, n, take_answer, &s, err)) {
        return false;
    }
    if (out->n_answers == 0) {
        return app_err_set(err, APP_UNREADABLE, "%s holds no answer", name);
    }
    return sum_up(k, out) || app_err_memory(err);
}
