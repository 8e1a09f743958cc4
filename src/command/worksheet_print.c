#include "src/command/say.h"
#include "src/command/worksheet_private.h"

#include "src/base/bytes.h"
#include "src/base/csv.h"
#include "src/base/json_text.h"
#include "src/base/text.h"

#include <jansson.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>

static const char *number(int value, char out[16])
{
    if (value == WORKSHEET_UNKNOWN) {
        return "-";
    }
    (void)snprintf(out, 16, "%d", value);
    return out;
}

static const char *range(const worksheet_short *s, char out[32])
{
    if (s->low_per_min == WORKSHEET_UNKNOWN) {
        return "-";
    }
    (void)snprintf(out, 32, "%d-%d", s->low_per_min, s->high_per_min);
    return out;
}

void worksheet_print_key(const worksheet_key *k)
{
    char a[16];
    char b[16];
    char c[32];
    char d[32];
    (void)printf("%-8s %5s %7s %6s  %9s %9s  %-24s %s\n", "item", "beats", "breaths",
                 "wrist", "15 s x 4", "30 s x 2", "rhythm", "recording");
    for (size_t i = 0; i < k->n; i++) {
        const worksheet_item *const item = &k->items[i];
        char rhythm[2 * WORKSHEET_WORD_BYTES + 4];
        (void)snprintf(rhythm, sizeof rhythm, "%s%s%s", item->pattern,
                       item->repeat[0] != '\0' ? ", " : "", item->repeat);
        (void)printf("%-8s %5d %7s %6s  %9s %9s  %-24s ", item->item, item->beats,
                     number(item->breaths, a), number(item->wrist, b),
                     range(&item->by_15_s, c), range(&item->by_30_s, d), rhythm);
        text_print_clean(item->source, stdout);
        say_named(stdout, item->recipe[0] != '\0' ? "\n         composed: " : "",
                  item->recipe, "\n");
    }
    (void)puts("\nOf each item's minute; the short counts: what windows of that length "
               "can give.");
}

static void print_row(const worksheet_row *r)
{
    char limits[40] = "";
    if (r->agreement.n > 1) {
        (void)snprintf(limits, sizeof limits, "%+.1f to %+.1f", r->agreement.limits.low,
                       r->agreement.limits.high);
    }
    (void)printf("%-12s %4zu  %3zu of %-3zu  %+6.1f  %-16s  %2zu of %-2zu", r->name,
                 r->n, r->within, r->n, r->agreement.bias, limits, r->same_word,
                 r->said);
    if (r->missed > 0) {
        (void)printf("  irregular missed %zu", r->missed);
    }
    for (int s = WORKSHEET_FIRST_BEAT; s < WORKSHEET_SLIP_COUNT; s++) {
        if (r->slips[s] > 0) {
            (void)printf("; %s %zu", worksheet_slip_words((worksheet_slip)s),
                         r->slips[s]);
        }
    }
    (void)putchar('\n');
}

static void print_table(const char *title, const worksheet_row *rows, size_t n)
{
    (void)printf("%-12s %4s  %-10s  %6s  %-16s  %s\n", title, "n", "within", "bias",
                 "limits", "rhythm   what misled");
    for (size_t i = 0; i < n; i++) {
        if (rows[i].n > 0) {
            print_row(&rows[i]);
        }
    }
}

/* Who was misled by what, one line an answer that was not right. */
static void print_misled(const worksheet_key *k, const worksheet_scores *s)
{
    (void)puts("\nWho, and why:");
    for (size_t i = 0; i < s->n_answers; i++) {
        const worksheet_answer *const a = &s->answers[i];
        const worksheet_item *const item = &k->items[a->item];
        const bool counted =
            a->slip != WORKSHEET_RIGHT && a->slip != WORKSHEET_FIRST_BEAT;
        if (!counted && a->heard != WORKSHEET_MISSED) {
            continue;
        }
        (void)fputs("  ", stdout);
        text_print_clean(s->students[a->student].name, stdout);
        (void)printf(", %s: ", item->item);
        if (counted) {
            (void)printf("%.0f per minute, true %d: %s", a->per_min, item->beats,
                         worksheet_slip_words(a->slip));
        }
        if (a->heard == WORKSHEET_MISSED) {
            (void)printf("%scalled regular, is %s", counted ? "; " : "", item->pattern);
        }
        (void)putchar('\n');
    }
}

void worksheet_print_scores(const worksheet_key *k, const worksheet_scores *s)
{
    print_table("student", s->students, s->n_students);
    (void)putchar('\n');
    print_table("item", s->items, s->n_items);
    print_misled(k, s);
    (void)printf(
        "\nWithin %g per minute; bias and limits of agreement per minute, answer "
        "less truth.\nPractice, for learning; not a medical device.\n",
        s->tolerance_per_min);
}

/* ---- Document ---- */

static json_t *real(double value)
{
    return isfinite(value) ? json_real(round(value * 1e3) / 1e3) : json_null();
}

static json_t *row_json(const worksheet_row *r)
{
    json_t *const slips = json_object();
    bool ok = slips != NULL;
    for (int s = 0; s < WORKSHEET_SLIP_COUNT && ok; s++) {
        ok = json_object_set_new(slips, worksheet_slip_words((worksheet_slip)s),
                                 json_integer((json_int_t)r->slips[s])) == 0;
    }
    if (!ok) {
        json_decref(slips);
        return NULL;
    }
    return json_pack(
        "{s:s, s:I, s:I, s:o, s:o, s:o, s:o, s:o, s:I, s:I, s:I, s:I, s:I, s:o}",
        "name", r->name, "n", (json_int_t)r->n, "within", (json_int_t)r->within,
        "share_low", real(r->share_95.low), "share_high", real(r->share_95.high),
        "bias_per_min", real(r->agreement.bias), "limit_low_per_min",
        real(r->agreement.limits.low), "limit_high_per_min",
        real(r->agreement.limits.high), "rhythm_said", (json_int_t)r->said,
        "rhythm_right", (json_int_t)r->same_word, "irregular_missed",
        (json_int_t)r->missed, "breaths_said", (json_int_t)r->breaths_n,
        "breaths_within", (json_int_t)r->breaths_within, "slips", slips);
}

static json_t *rows_json(const worksheet_row *rows, size_t n)
{
    json_t *const all = json_array();
    for (size_t i = 0; i < n && all != NULL; i++) {
        if (rows[i].n > 0 && json_array_append_new(all, row_json(&rows[i])) != 0) {
            json_decref(all);
            return NULL;
        }
    }
    return all;
}

static const char *const HEARD[WORKSHEET_HEARD_COUNT] = {
    NULL, "right", "another irregular word", "irregular missed",
    "irregular heard where it is regular"};

static json_t *answers_json(const worksheet_key *k, const worksheet_scores *s)
{
    json_t *const all = json_array();
    for (size_t i = 0; i < s->n_answers && all != NULL; i++) {
        const worksheet_answer *const a = &s->answers[i];
        json_t *const one = json_pack(
            "{s:s, s:s, s:o, s:o, s:s, s:s?}", "student", s->students[a->student].name,
            "item", k->items[a->item].item, "per_min", real(a->per_min),
            "difference_per_min", real(a->difference_per_min), "slip",
            worksheet_slip_words(a->slip), "rhythm", HEARD[a->heard]);
        if (json_array_append_new(all, one) != 0) {
            json_decref(all);
            return NULL;
        }
    }
    return all;
}

bool worksheet_print_json(const worksheet_key *k,
                          const worksheet_scores *s,
                          app_err *err)
{
    json_t *const all =
        json_pack("{s:s, s:b, s:f, s:o, s:o, s:o}", "schema", "fullminute.scores/1",
                  "practice", 1, "tolerance_per_min", s->tolerance_per_min, "students",
                  rows_json(s->students, s->n_students), "items",
                  rows_json(s->items, s->n_items), "answers", answers_json(k, s));
    char *const text = json_text_of(all, JSON_COMPACT);
    json_decref(all);
    if (text == NULL) {
        return app_err_set(err, APP_FAILED, "out of memory; close other programs");
    }
    (void)puts(text);
    free(text);
    return true;
}

/* ---- CSV ---- */

void worksheet_print_csv(const worksheet_key *k, const worksheet_scores *s)
{
    bytes out = BYTES_NONE;
    bytes_add_text(&out,
                   "student,item,per_min,true_per_min,difference_per_min,within,slip,"
                   "rhythm\r\n");
    for (size_t i = 0; i < s->n_answers; i++) {
        const worksheet_answer *const a = &s->answers[i];
        const worksheet_item *const item = &k->items[a->item];
        char numbers[128];
        csv_add(&out, s->students[a->student].name);
        bytes_add_text(&out, ",");
        csv_add(&out, item->item);
        (void)snprintf(numbers, sizeof numbers, ",%.1f,%d,%.1f,%s,", a->per_min,
                       item->beats, a->difference_per_min,
                       a->slip == WORKSHEET_RIGHT ? "yes" : "no");
        bytes_add_text(&out, numbers);
        csv_add(&out, worksheet_slip_words(a->slip));
        bytes_add_text(&out, ",");
        csv_add(&out, HEARD[a->heard] != NULL ? HEARD[a->heard] : "");
        bytes_add_text(&out, "\r\n");
    }
    (void)fwrite(out.data, 1, out.n, stdout);
    bytes_free(&out);
}
