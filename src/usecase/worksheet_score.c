#include "src/usecase/worksheet_score.h"

#include "dsp/compare/compare.h"
#include "dsp/compare/slip.h"
#include "dsp/result.h"
#include "src/base/csv.h"
#include "src/base/text.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum {
    COLUMNS_MOST = 32
};

/* The columns, in the order of the contract. */
enum column {
    STUDENT,
    ITEM,
    BEATS,
    SECONDS,
    CONVENTION,
    RHYTHM,
    BREATHS,
    COLUMN_COUNT
};

static const char *const NAMES[COLUMN_COUNT] = {
    "student", "item", "manual_beats", "seconds", "convention", "rhythm", "breaths"};

/* As the sheet has it; no word of the rhythm. */
static const char CANNOT_TELL[] = "cannot tell";

/* Respirations: the example tolerance (common practice, no source). */
static const double BREATHS_WITHIN = FM_BREATH_TOLERANCE_EXAMPLE_PER_MIN;

const char *worksheet_slip_words(worksheet_slip slip)
{
    static const char *const WORDS[] = {
#define X(name, words) words,
        WORKSHEET_SLIP_MAP(X)
#undef X
    };
    return WORDS[slip];
}

void worksheet_scores_free(worksheet_scores *s)
{
    free(s->answers);
    free(s->students);
    free(s->items);
    *s = (worksheet_scores){.n_items = 0};
}

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

static worksheet_heard heard_of(const worksheet_item *item, const char *word)
{
    static const char REGULAR[] = "regular";
    if (word[0] == '\0' || strcmp(word, CANNOT_TELL) == 0 || item->pattern[0] == '\0') {
        return WORKSHEET_NOT_SAID;
    }
    if (strcmp(word, item->pattern) == 0) {
        return WORKSHEET_SAME_WORD;
    }
    if (strcmp(word, REGULAR) == 0) {
        return WORKSHEET_MISSED;
    }
    return strcmp(item->pattern, REGULAR) == 0 ? WORKSHEET_HEARD_TOO_MUCH
                                               : WORKSHEET_OTHER_WORD;
}

/* ---- The file ---- */

typedef struct reading {
    const worksheet_key *k;
    const char *name;
    worksheet_scores *out;
    int at[COLUMN_COUNT]; /* which field of a record; -1: not there */
    long record;
} reading;

static bool read_header(reading *r, char **fields, int n, app_err *err)
{
    for (int c = 0; c < COLUMN_COUNT; c++) {
        r->at[c] = -1;
    }
    for (int i = 0; i < n; i++) {
        int c = 0;
        while (c < COLUMN_COUNT && strcmp(NAMES[c], fields[i]) != 0) {
            c++;
        }
        if (c == COLUMN_COUNT || r->at[c] >= 0) {
            return app_err_set(
                err, APP_UNREADABLE,
                "%s: the column '%.40s' is %s; the columns are student, "
                "item, manual_beats, seconds, convention, rhythm, breaths",
                r->name, fields[i], c == COLUMN_COUNT ? "not known" : "there twice");
        }
        r->at[c] = i;
    }
    for (int c = STUDENT; c <= BEATS; c++) {
        if (r->at[c] < 0) {
            return app_err_set(err, APP_UNREADABLE, "%s has no column %s", r->name,
                               NAMES[c]);
        }
    }
    return true;
}

static bool bad(const reading *r, enum column c, const char *value, app_err *err)
{
    return app_err_set(err, APP_UNREADABLE,
                       "%s, record %ld: '%.60s' cannot be %s; nothing was scored",
                       r->name, r->record, value, NAMES[c]);
}

static const char *field(const reading *r, char **fields, enum column c)
{
    return r->at[c] < 0 ? "" : fields[r->at[c]];
}

static bool is_pattern(const char *word)
{
    for (int i = 0; i < FM_PATTERN_COUNT; i++) {
        if (strcmp(word, fm_pattern_word((fm_pattern)i)) == 0) {
            return true;
        }
    }
    return word[0] == '\0' || strcmp(word, CANNOT_TELL) == 0;
}

static bool find_student(worksheet_scores *s, const char *name, size_t *at)
{
    for (*at = 0; *at < s->n_students; (*at)++) {
        if (strcmp(s->students[*at].name, name) == 0) {
            return true;
        }
    }
    if (s->n_students == s->student_room) {
        const size_t room = s->student_room > 0 ? 2 * s->student_room : 64;
        worksheet_row *const grown = realloc(s->students, room * sizeof *grown);
        if (grown == NULL) {
            return false;
        }
        s->students = grown;
        s->student_room = room;
    }
    memset(&s->students[*at], 0, sizeof s->students[*at]);
    (void)snprintf(s->students[*at].name, sizeof s->students[*at].name, "%s", name);
    s->n_students++;
    return true;
}

static bool keep(worksheet_scores *s, const worksheet_answer *a)
{
    if (s->n_answers == s->answer_room) {
        const size_t room = s->answer_room > 0 ? 2 * s->answer_room : 256;
        worksheet_answer *const grown = realloc(s->answers, room * sizeof *grown);
        if (grown == NULL) {
            return false;
        }
        s->answers = grown;
        s->answer_room = room;
    }
    s->answers[s->n_answers++] = *a;
    return true;
}

/* A whole number of a field, or `none` where it is empty. */
static bool read_whole(const char *text, long least, long most, long none, long *out)
{
    *out = none;
    return text[0] == '\0' ||
           (text_to_long(text, out) && *out >= least && *out <= most);
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

/* Seat numbers and initials: no control characters, which could move a cursor. */
static bool is_name(const char *text)
{
    for (const char *c = text; *c != '\0'; c++) {
        if ((unsigned char)*c < 0x20 || *c == 0x7f) {
            return false;
        }
    }
    return text[0] != '\0' && strlen(text) < WORKSHEET_STUDENT_BYTES &&
           text_is_utf8(text);
}

static bool read_answer(reading *r, char **fields, app_err *err)
{
    const char *const student = field(r, fields, STUDENT);
    const char *const rhythm = field(r, fields, RHYTHM);
    const char *const convention = field(r, fields, CONVENTION);
    const worksheet_item *const item = worksheet_key_find(r->k, field(r, fields, ITEM));
    long beats = 0;
    long seconds = 60;
    long breaths = 0;
    worksheet_answer a = {.item = 0};
    if (!is_name(student)) {
        return bad(r, STUDENT, student, err);
    }
    if (item == NULL) {
        return bad(r, ITEM, field(r, fields, ITEM), err);
    }
    if (field(r, fields, BEATS)[0] == '\0' ||
        !read_whole(field(r, fields, BEATS), 0, 400, 0, &beats)) {
        return bad(r, BEATS, field(r, fields, BEATS), err);
    }
    if (!read_whole(field(r, fields, SECONDS), 15, 60, 60, &seconds) ||
        (seconds != 15 && seconds != 30 && seconds != 60)) {
        return bad(r, SECONDS, field(r, fields, SECONDS), err);
    }
    if (convention[0] != '\0' && strcmp(convention, "clock") != 0 &&
        strcmp(convention, "one") != 0 && strcmp(convention, "zero") != 0) {
        return bad(r, CONVENTION, convention, err);
    }
    if (!is_pattern(rhythm)) {
        return bad(r, RHYTHM, rhythm, err);
    }
    if (!read_whole(field(r, fields, BREATHS), 0, 200, WORKSHEET_UNKNOWN, &breaths)) {
        return bad(r, BREATHS, field(r, fields, BREATHS), err);
    }
    a.item = (size_t)(item - r->k->items);
    a.per_min = 60.0 * (double)beats / (double)seconds;
    a.difference_per_min = a.per_min - item->beats;
    a.slip =
        worksheet_slip_of(item, (int)beats, (int)seconds,
                          strcmp(convention, "zero") == 0, r->out->tolerance_per_min);
    a.heard = heard_of(item, rhythm);
    a.breaths = (int)breaths;
    if (r->out->n_answers == WORKSHEET_ANSWERS_MOST ||
        !find_student(r->out, student, &a.student)) {
        return app_err_set(err, APP_FAILED, "too many answers for the memory there is");
    }
    if (answered_before(r->out, &a)) {
        return app_err_set(
            err, APP_UNREADABLE,
            "%s, record %ld: %s has answered %s before; nothing was scored", r->name,
            r->record, student, item->item);
    }
    return keep(r->out, &a) || app_err_set(err, APP_FAILED, "out of memory");
}

static bool read_all(reading *r, char *text, size_t n, app_err *err)
{
    static const char MARK[] = "\xef\xbb\xbf";
    char *fields[COLUMNS_MOST];
    int n_columns = -1;
    size_t used = 0;
    for (size_t at = n >= 3 && memcmp(text, MARK, 3) == 0 ? 3 : 0; at < n; at += used) {
        r->record++;
        const int found = csv_split(text + at, n - at, fields, COLUMNS_MOST, &used);
        if (found == 1 && fields[0][0] == '\0') {
            continue; /* an empty line */
        }
        if (found < 1 || (n_columns >= 0 && found != n_columns)) {
            return app_err_set(
                err, APP_UNREADABLE, "%s, record %ld: %s; nothing was scored", r->name,
                r->record,
                found < 1 ? "a quote is not closed, or it holds a zero byte"
                          : "not as many columns as the first line has");
        }
        if (n_columns < 0 ? !read_header(r, fields, found, err)
                          : !read_answer(r, fields, err)) {
            return false;
        }
        n_columns = found;
    }
    return r->out->n_answers > 0 ||
           app_err_set(err, APP_UNREADABLE, "%s holds no answer", r->name);
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
    if (a->breaths != WORKSHEET_UNKNOWN && i->breaths != WORKSHEET_UNKNOWN) {
        row->breaths_n++;
        row->breaths_within += abs(a->breaths - i->breaths) <= (int)BREATHS_WITHIN;
    }
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
        if ((by_student ? a->student : a->item) == index && m < row->n) {
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
    reading r = {.k = k, .name = name, .out = out};
    return read_all(&r, text, n, err) &&
           (sum_up(k, out) ||
            app_err_set(err, APP_FAILED, "out of memory; close other programs"));
}
