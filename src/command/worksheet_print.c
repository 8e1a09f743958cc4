#include "src/command/say.h"
#include "src/command/worksheet_private.h"

#include "src/base/bytes.h"
#include "src/base/json_text.h"
#include "src/base/text.h"

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
    if (isfinite(r->agreement.limits.low)) {
        (void)snprintf(limits, sizeof limits, "%+.1f to %+.1f", r->agreement.limits.low,
                       r->agreement.limits.high);
    }
    char bias[16] = "";
    char breaths[48] = "";
    if (r->agreement.n > 0) {
        (void)snprintf(bias, sizeof bias, "%+.1f", r->agreement.bias);
    }
    if (r->breaths_n > 0) {
        (void)snprintf(breaths, sizeof breaths, "%2zu of %-2zu", r->breaths_within,
                       r->breaths_n);
    }
    (void)printf("%-12s %4zu  %3zu of %-3zu  %6s  %-16s  %2zu of %-2zu  %-12s", r->name,
                 r->n, r->within, r->n, bias, limits, r->same_word, r->said, breaths);
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
    (void)printf("%-12s %4s  %-10s  %6s  %-16s  %-8s  %-12s  %s\n", title, "n",
                 "within", "bias", "limits", "rhythm", "respirations", "what misled");
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
        const bool breaths =
            worksheet_breaths_said(item, a) && !worksheet_breaths_within(item, a);
        if (!counted && a->heard != WORKSHEET_MISSED && !breaths) {
            continue;
        }
        say_named(stdout, "  ", s->students[a->student].name, "");
        (void)printf(", %s: ", item->item);
        if (a->slip == WORKSHEET_COULD_NOT) {
            (void)printf("could not count, true %d per minute", item->beats);
        } else if (counted) {
            (void)printf("%.0f per minute, true %d: %s", a->per_min, item->beats,
                         worksheet_slip_words(a->slip));
        }
        if (a->heard == WORKSHEET_MISSED) {
            (void)printf("%scalled regular, is %s", counted ? "; " : "", item->pattern);
        }
        if (breaths) {
            (void)printf("%srespirations %d, true %d",
                         counted || a->heard == WORKSHEET_MISSED ? "; " : "",
                         a->breaths, item->breaths);
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
    (void)printf("\nWithin %g per minute, respirations within %g; bias and limits of "
                 "agreement per minute, answer "
                 "less truth.\nPractice, for learning; not a medical device.\n",
                 s->tolerance_per_min, FM_BREATH_TOLERANCE_EXAMPLE_PER_MIN);
}

bool worksheet_print_json(const worksheet_key *k,
                          const worksheet_scores *s,
                          app_err *err)
{
    json_t *const all = worksheet_scores_document(k, s);
    char *const text = json_text_of(all, JSON_COMPACT);
    json_decref(all);
    if (text == NULL) {
        return app_err_memory(err);
    }
    (void)puts(text);
    free(text);
    return true;
}

void worksheet_print_csv(const worksheet_key *k, const worksheet_scores *s)
{
    bytes out = BYTES_NONE;
    worksheet_scores_csv(k, s, &out);
    (void)fwrite(out.data, 1, out.n, stdout);
    bytes_free(&out);
}
