#include "src/document/worksheet_scores.h"

#include "dsp/words.h"
#include "src/base/csv.h"
#include "src/base/text.h"

#include <stdio.h>
#include <stdlib.h>

FM_WORD_FUNCTION(worksheet_slip_words,
                 worksheet_slip,
                 WORKSHEET_SLIP_COUNT,
                 WORKSHEET_SLIP_MAP)

void worksheet_scores_free(worksheet_scores *s)
{
    free(s->answers);
    free(s->students);
    free(s->items);
    *s = (worksheet_scores){.n_items = 0};
}

/* ---- Answers ---- */

static const field_word CONVENTIONS[] = {FM_CONVENTION_MAP(FIELD_WORD){NULL, 0}};
/* And as the sheet has it: no word of the rhythm. */
static const field_word RHYTHMS[] = {
    FM_PATTERN_MAP(FIELD_WORD){"cannot tell", FM_PATTERN_COUNT}, {NULL, 0}};

#define GIVEN_TEXT(member)                                                             \
    MEMBER(#member, FIELD(worksheet_given, member), .how = MEMBER_NEEDED)
#define GIVEN_COUNT(name, member, most, ...)                                           \
    MEMBER(name, FIELD_IN(worksheet_given, member, 0, most), __VA_ARGS__)
#define GIVEN_WORD(member, words)                                                      \
    MEMBER(#member, FIELD_ONE_OF(worksheet_given, member, words), .how = 0)

static const member GIVEN[] = {
    GIVEN_TEXT(student),
    GIVEN_TEXT(item),
    GIVEN_COUNT("manual_beats", beats, 400, .how = MEMBER_NEEDED | MEMBER_BLANK),
    GIVEN_COUNT("seconds", seconds, 60, .how = 0),
    GIVEN_WORD(convention, CONVENTIONS),
    GIVEN_WORD(rhythm, RHYTHMS),
    GIVEN_COUNT("breaths", breaths, 200, .how = 0),
    MEMBERS_END,
};

typedef struct reading {
    worksheet_answer_taker *take;
    void *context;
} reading;

static bool read_names(csv_table *t, void *context, app_err *err)
{
    (void)context;
    return csv_table_names(t, GIVEN,
                           "is not known; the columns are student, item, manual_beats, "
                           "seconds, convention, rhythm, breaths",
                           err);
}

static bool read_given(csv_table *t, void *context, app_err *err)
{
    const reading *const r = context;
    worksheet_given g = {.beats = WORKSHEET_UNKNOWN,
                         .seconds = 60,
                         .convention = FM_CONVENTION_CLOCK,
                         .rhythm = FM_PATTERN_COUNT,
                         .breaths = WORKSHEET_UNKNOWN};
    if (!csv_table_fill(t, &g, err)) {
        return false;
    }
    if (!text_is_printable(g.student)) {
        return csv_table_wrong_field(t, g.student, "student", err);
    }
    if (g.seconds != 15 && g.seconds != 30 && g.seconds != 60) {
        return csv_table_wrong(t, "seconds can be 15, 30 or 60", err);
    }
    return r->take(r->context, &g, t, err);
}

bool worksheet_answers_read(const char *name,
                            char *text,
                            size_t n,
                            worksheet_answer_taker *take,
                            void *context,
                            app_err *err)
{
    csv_table t = {.name = name, .hint = "; nothing was scored"};
    reading r = {take, context};
    return csv_table_read(&t, text, n, read_names, read_given, &r, err);
}

/* ---- Scores ---- */

#define COUNT(name, member) MEMBER(name, FIELD(worksheet_row, member), .how = 0)
#define REAL(name, member)  MEMBER(name, FIELD(worksheet_row, member), .decimals = 3)

static void put_slips(document_part *to, const void *from)
{
    const worksheet_row *const row = from;
    document_part slips = document_start();
    for (int s = 0; s < WORKSHEET_SLIP_COUNT; s++) {
        document_put(&slips, worksheet_slip_words((worksheet_slip)s),
                     json_integer((json_int_t)row->slips[s]));
    }
    document_put(to, "slips", document_end(&slips));
}

static const member ROW[] = {
    COUNT("name", name),
    COUNT("n", n),
    COUNT("within", within),
    REAL("share_low", share_95.low),
    REAL("share_high", share_95.high),
    REAL("bias_per_min", agreement.bias),
    REAL("limit_low_per_min", agreement.limits.low),
    REAL("limit_high_per_min", agreement.limits.high),
    COUNT("rhythm_said", said),
    COUNT("rhythm_right", same_word),
    COUNT("irregular_missed", missed),
    COUNT("breaths_said", breaths_n),
    COUNT("breaths_within", breaths_within),
    MEMBER_OWN(put_slips, NULL),
    MEMBERS_END,
};

static json_t *rows_json(const worksheet_row *rows, size_t n)
{
    json_t *all = json_array();
    for (size_t i = 0; i < n; i++) {
        all = rows[i].n > 0 ? document_append(all, members_object(ROW, &rows[i])) : all;
    }
    return all;
}

/* An answer with the names that it is shown by. */
typedef struct scored {
    const char *student, *item;
    double per_min, difference_per_min;
    const char *slip, *rhythm;
    int truth;
    bool said; /* of the respirations, where they are known */
    int breaths, true_breaths, breaths_difference;
    bool breaths_within;
} scored;

bool worksheet_breaths_said(const worksheet_item *item, const worksheet_answer *a)
{
    return a->breaths != WORKSHEET_UNKNOWN && item->breaths != WORKSHEET_UNKNOWN;
}

/* Respirations: the example tolerance (common practice, no source). */
bool worksheet_breaths_within(const worksheet_item *item, const worksheet_answer *a)
{
    return worksheet_breaths_said(item, a) &&
           abs(a->breaths - item->breaths) <= (int)FM_BREATH_TOLERANCE_EXAMPLE_PER_MIN;
}

static scored scored_of(const worksheet_key *k, const worksheet_scores *s, size_t i)
{
    static const char *const HEARD[] = {WORKSHEET_HEARD_MAP(FM_WORD_ENTRY)};
    const worksheet_answer *const a = &s->answers[i];
    const worksheet_item *const item = &k->items[a->item];
    return (scored){.student = s->students[a->student].name,
                    .item = item->item,
                    .per_min = a->per_min,
                    .difference_per_min = a->difference_per_min,
                    .slip = worksheet_slip_words(a->slip),
                    .rhythm = HEARD[a->heard],
                    .truth = item->beats,
                    .said = worksheet_breaths_said(item, a),
                    .breaths = a->breaths,
                    .true_breaths = item->breaths,
                    .breaths_difference = a->breaths - item->breaths,
                    .breaths_within = worksheet_breaths_within(item, a)};
}

#define BREATHS(name, member)                                                          \
    MEMBER(name, FIELD(scored, member), MEMBER_KNOWN(scored, said))
static const member SCORED[] = {
    MEMBER("student", FIELD(scored, student), .how = 0),
    MEMBER("item", FIELD(scored, item), .how = 0),
    MEMBER("per_min", FIELD(scored, per_min), .decimals = 3),
    MEMBER("difference_per_min", FIELD(scored, difference_per_min), .decimals = 3),
    MEMBER("slip", FIELD(scored, slip), .how = 0),
    MEMBER("rhythm", FIELD(scored, rhythm), .how = 0),
    BREATHS("breaths", breaths),
    BREATHS("true_breaths", true_breaths),
    BREATHS("breaths_difference", breaths_difference),
    BREATHS("breaths_within", breaths_within),
    MEMBERS_END,
};

static json_t *answers_json(const worksheet_key *k, const worksheet_scores *s)
{
    json_t *all = json_array();
    for (size_t i = 0; i < s->n_answers; i++) {
        const scored a = scored_of(k, s, i);
        all = document_append(all, members_object(SCORED, &a));
    }
    return all;
}

json_t *worksheet_scores_document(const worksheet_key *k, const worksheet_scores *s)
{
    document_part all = document_start();
    document_put(&all, "schema", json_string("fullminute.scores/1"));
    document_put(&all, "practice", json_true());
    document_put(&all, "tolerance_per_min", json_real(s->tolerance_per_min));
    document_put(&all, "students", rows_json(s->students, s->n_students));
    document_put(&all, "items", rows_json(s->items, s->n_items));
    document_put(&all, "answers", answers_json(k, s));
    return document_end(&all);
}

void worksheet_scores_csv(const worksheet_key *k, const worksheet_scores *s, bytes *to)
{
    bytes_add_text(to,
                   "student,item,per_min,true_per_min,difference_per_min,within,slip,"
                   "rhythm,breaths,true_breaths,breaths_within\r\n");
    for (size_t i = 0; i < s->n_answers; i++) {
        const scored a = scored_of(k, s, i);
        char numbers[128];
        csv_add(to, a.student);
        bytes_add_text(to, ",");
        csv_add(to, a.item);
        if (s->answers[i].slip == WORKSHEET_COULD_NOT) {
            (void)snprintf(numbers, sizeof numbers, ",,%d,,no,", a.truth);
        } else {
            (void)snprintf(numbers, sizeof numbers, ",%.1f,%d,%.1f,%s,", a.per_min,
                           a.truth, a.difference_per_min,
                           s->answers[i].slip == WORKSHEET_RIGHT ? "yes" : "no");
        }
        bytes_add_text(to, numbers);
        csv_add(to, a.slip);
        bytes_add_text(to, ",");
        csv_add(to, a.rhythm != NULL ? a.rhythm : "");
        (void)snprintf(numbers, sizeof numbers, ",%d,%d,%s", a.breaths, a.true_breaths,
                       a.breaths_within ? "yes" : "no");
        bytes_add_text(to, a.said ? numbers : ",,,");
        bytes_add_text(to, "\r\n");
    }
}
