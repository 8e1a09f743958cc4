/* logbook: what only reads. */
#include "src/command/logbook_private.h"

#include "dsp/compare/compare.h"
#include "src/command/say.h"

#include "src/base/text.h"
#include "src/document/entry_json.h"
#include "src/usecase/progress_make.h"
#include "src/usecase/report_make.h"
#include "src/words/charted_line.h"
#include "src/words/progress_text.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

/* ---- list ---- */

enum {
    LISTED = 50 /* without --last */
};

/* How many rows are to come; more than are shown is only said. */
typedef struct listing {
    size_t most, n;
} listing;

static bool count_row(void *context, const entry *e)
{
    (void)e;
    ((listing *)context)->n++;
    return true;
}

static const char *could_not_words(const entry *e)
{
    return strcmp(e->verdict, fm_verdict_word(FM_VERDICT_AGREES)) == 0
               ? "could not count, rightly"
           : strcmp(e->verdict, fm_verdict_word(FM_VERDICT_DIFFERS)) == 0
               ? "could not count, though it can be"
               : "could not count";
}

static bool print_row(void *context, const entry *e)
{
    listing *const list = context;
    char mine[16] = "-";
    char reference[16] = "-";
    char off[16] = "-";
    if (list->n-- > list->most) {
        return true;
    }
    if (isfinite(entry_per_min(e))) {
        (void)snprintf(mine, sizeof mine, "%.0f", entry_per_min(e));
    }
    if (isfinite(e->reference_per_min)) {
        (void)snprintf(reference, sizeof reference, "%.0f", e->reference_per_min);
    }
    if (isfinite(e->difference_per_min)) {
        (void)snprintf(off, sizeof off, "%+.0f", e->difference_per_min);
    }
    (void)printf("%6lld  %.10s %.5s  ", (long long)e->number, e->entered_utc,
                 e->entered_utc + (e->entered_utc[0] != '\0' ? 11 : 0));
    (void)printf("%-10s %-7s %4s %4s %5s  %s%s%s%s\n", e->learner, e->site, mine,
                 reference, off,
                 e->counted_utc[0] == '\0'        ? "not counted by fullminute"
                 : e->could_not != ENTRY_NO_WHOLE ? could_not_words(e)
                 : e->verdict[0] != '\0'          ? e->verdict
                 : e->beats == ENTRY_NO_WHOLE     ? "respirations alone"
                                                  : "",
                 e->attempt > 1 ? ", repeated" : "",
                 e->device_breath_pauses[0] != '\0' ? "; no breath heard, s: " : "",
                 e->device_breath_pauses);
    return true;
}

static bool gather(void *context, const entry *e)
{
    json_t *const rows = context;
    return json_array_append_new(rows, entry_json(e)) == 0;
}

bool logbook_do_list(logbook *l, const logbook_plan *p, app_err *err)
{
    if (p->json) {
        json_t *const document = entry_json_document();
        if (!logbook_each(l, &p->rows, gather, json_object_get(document, "sessions"),
                          err)) {
            json_decref(document);
            return false;
        }
        return say_json(document, err);
    }
    listing list = {.most = p->rows.last > 0 ? p->rows.last : LISTED};
    const logbook_query newest = {p->rows.learner, list.most + (p->rows.last == 0)};
    if (!logbook_each(l, &newest, count_row, &list, err)) {
        return false;
    }
    if (list.n > list.most) {
        (void)printf("The newest %zu, the newest last; --last N shows more.\n",
                     list.most);
    }
    (void)printf("%6s  %-16s  %-10s %-7s %4s %4s %5s\n", "row", "entered (UTC)",
                 "learner", "site", "mine", "2nd", "off");
    return logbook_each(l, &newest, print_row, &list, err);
}

/* ---- show, chart ---- */

bool logbook_find_row(logbook *l, const logbook_plan *p, entry *e, app_err *err)
{
    const char *const text = p->operands[0];
    long number = 0;
    if (!text_to_long(text, &number) || number < 1) {
        return app_err_set(err, APP_USAGE, "'%.40s' is not the number of a row", text);
    }
    return logbook_get(l, number, e, err);
}

bool logbook_do_show(logbook *l, const logbook_plan *p, app_err *err)
{
    entry e;
    char line[CHARTED_LINE_BYTES];
    char shown[ENTRY_SHOWN_BYTES];
    if (!logbook_find_row(l, p, &e, err)) {
        return false;
    }
    if (p->json) {
        return say_json(entry_json(&e), err);
    }
    (void)printf("%s\n\n", charted_line(&e, line));
    for (size_t i = 0; i < entry_n_fields(); i++) {
        const entry_field *const f = &ENTRY_FIELD[i];
        if (entry_has(&e, f)) {
            (void)printf("%-26s ", f->name);
            say_line(entry_show(&e, f, shown), stdout);
        }
    }
    return true;
}

static bool print_line(void *context, const entry *e)
{
    char line[CHARTED_LINE_BYTES];
    (void)context;
    (void)printf("%.10s ", e->entered_utc);
    say_line(charted_line(e, line), stdout);
    return true;
}

bool logbook_do_chart(logbook *l, const logbook_plan *p, app_err *err)
{
    entry e;
    if (p->n_operands < 1) {
        return logbook_each(l, &p->rows, print_line, NULL, err);
    }
    char line[CHARTED_LINE_BYTES];
    char ranges[REPORT_RANGES_BYTES];
    if (!logbook_find_row(l, p, &e, err)) {
        return false;
    }
    text_print_clean(charted_line(&e, line), stdout);
    (void)printf("\n\n%s\n", report_ranges(&e, ranges));
    return true;
}

/* ---- progress ---- */

bool logbook_do_progress(logbook *l, const logbook_plan *p, app_err *err)
{
    progress made;
    bool ok = progress_make(l, p->rows.learner, p->within_per_min, &made, err);
    if (ok) {
        ok = p->json ? say_json(progress_document(&made), err)
                     : say_text(progress_text(&made), err);
    }
    progress_free(&made);
    return ok;
}
