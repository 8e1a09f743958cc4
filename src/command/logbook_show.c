/* logbook: what only reads. */
#include "src/command/logbook_private.h"

#include "src/base/json_text.h"
#include "src/base/text.h"
#include "src/document/entry_json.h"
#include "src/logbook/charted_line.h"
#include "src/report/progress_text.h"
#include "src/sitting/progress_make.h"
#include "src/sitting/report_make.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

logbook_query logbook_query_of(const options *o)
{
    return (logbook_query){options_text(o, "learner", NULL),
                           (size_t)options_whole(o, "last", 0)};
}

static bool print_json(json_t *document, app_err *err)
{
    char *const text = json_text_of(document, JSON_COMPACT | JSON_REAL_PRECISION(15));
    json_decref(document);
    if (text == NULL) {
        return app_err_set(err, APP_FAILED, "out of memory; close other programs");
    }
    (void)puts(text);
    free(text);
    return true;
}

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
                 e->counted_utc[0] == '\0'    ? "not counted by fullminute"
                 : e->verdict[0] != '\0'      ? e->verdict
                 : e->beats == ENTRY_NO_WHOLE ? "respirations alone"
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

bool logbook_do_list(logbook *l, const options *o, app_err *err)
{
    const logbook_query q = logbook_query_of(o);
    if (options_given(o, "json")) {
        json_t *const document = entry_json_document();
        if (!logbook_each(l, &q, gather, json_object_get(document, "sessions"), err)) {
            json_decref(document);
            return false;
        }
        return print_json(document, err);
    }
    listing list = {.most = q.last > 0 ? q.last : LISTED};
    const logbook_query newest = {q.learner, list.most + (q.last == 0)};
    if (!logbook_each(l, &newest, count_row, &list, err)) {
        return false;
    }
    if (list.n > list.most) {
        (void)printf("The newest %zu; --last N shows more.\n", list.most);
    }
    (void)printf("%6s  %-16s  %-10s %-7s %4s %4s %5s\n", "row", "entered (UTC)",
                 "learner", "site", "mine", "2nd", "off");
    return logbook_each(l, &newest, print_row, &list, err);
}

/* ---- show, chart ---- */

static bool find_row(logbook *l, const char *text, entry *e, app_err *err)
{
    long number = 0;
    if (!text_to_long(text, &number) || number < 1) {
        return app_err_set(err, APP_USAGE, "'%.40s' is not the number of a row", text);
    }
    return logbook_get(l, number, e, err);
}

bool logbook_do_show(logbook *l, const options *o, app_err *err)
{
    entry e;
    char line[CHARTED_LINE_BYTES];
    char shown[ENTRY_SHOWN_BYTES];
    if (!find_row(l, o->operands[1], &e, err)) {
        return false;
    }
    if (options_given(o, "json")) {
        return print_json(entry_json(&e), err);
    }
    (void)printf("%s\n\n", charted_line(&e, line));
    for (size_t i = 0; i < entry_n_fields(); i++) {
        const entry_field *const f = &ENTRY_FIELD[i];
        if (entry_has(&e, f)) {
            (void)printf("%-26s ", f->name);
            text_print_clean(entry_show(&e, f, shown), stdout);
            (void)putchar('\n');
        }
    }
    return true;
}

static bool print_line(void *context, const entry *e)
{
    char line[CHARTED_LINE_BYTES];
    (void)context;
    (void)printf("%.10s ", e->entered_utc);
    text_print_clean(charted_line(e, line), stdout);
    (void)putchar('\n');
    return true;
}

bool logbook_do_chart(logbook *l, const options *o, app_err *err)
{
    const logbook_query q = logbook_query_of(o);
    entry e;
    if (o->n_operands < 2) {
        return logbook_each(l, &q, print_line, NULL, err);
    }
    char line[CHARTED_LINE_BYTES];
    char ranges[REPORT_RANGES_BYTES];
    if (!find_row(l, o->operands[1], &e, err)) {
        return false;
    }
    text_print_clean(charted_line(&e, line), stdout);
    (void)printf("\n\n%s\n", report_ranges(&e, ranges));
    return true;
}

/* ---- progress ---- */

bool logbook_do_progress(logbook *l, const options *o, app_err *err)
{
    progress p;
    bool ok = progress_make(l, options_text(o, "learner", NULL),
                            options_number(o, "within", (double)NAN), &p, err);
    if (ok && options_given(o, "json")) {
        ok = print_json(progress_document(&p), err);
    } else if (ok) {
        char *const text = progress_text(&p);
        ok = text != NULL || app_err_set(err, APP_FAILED, "out of memory");
        if (ok) {
            (void)fputs(text, stdout);
        }
        free(text);
    }
    progress_free(&p);
    return ok;
}
