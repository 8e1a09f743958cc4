#include "src/usecase/logbook_views.h"

#include "src/base/text.h"
#include "src/document/count_document.h"
#include "src/document/document_parts.h"
#include "src/picture/chart_plots.h"
#include "src/port/file.h"
#include "src/port/settings.h"
#include "src/usecase/progress_make.h"
#include "src/usecase/report_make.h"
#include "src/words/charted_line.h"
#include "src/words/progress_text.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum {
    ROWS_MOST = 500
};

static char *path_of(const char *path, app_err *err)
{
    return path != NULL ? strdup(path) : logbook_default_path(err);
}

/* ---- Rows ---- */

static bool add_row(void *context, const entry *e)
{
    json_t *const rows = context;
    char charted[CHARTED_LINE_BYTES];
    return json_array_append_new(
               rows,
               json_pack("{s:I,s:s,s:s,s:s,s:o,s:o,s:s,s:i,s:s,s:s,s:s}", "number",
                         (json_int_t)e->number, "utc", e->entered_utc, "learner",
                         e->learner, "charted", charted_line(e, charted), "own",
                         document_rate(entry_per_min(e)), "second",
                         document_rate(e->reference_per_min), "verdict", e->verdict,
                         "attempt", e->attempt, "rhythm", e->rhythm, "device_rhythm",
                         e->device_rhythm, "device_breath_pauses",
                         e->device_breath_pauses)) == 0;
}

static bool add_learner(void *context, const entry *e)
{
    (void)json_object_set_new((json_t *)context, e->learner, json_true());
    return true;
}

static json_t *learners_of(logbook *l)
{
    app_err ignored = APP_ERR_NONE;
    const logbook_query all = {NULL, 0};
    json_t *const names = json_object();
    json_t *const list = json_array();
    const char *name = NULL;
    json_t *value = NULL;
    (void)logbook_each(l, &all, add_learner, names, &ignored);
    json_object_foreach(names, name, value)
    {
        (void)json_array_append_new(list, json_string(name));
    }
    json_decref(names);
    return list;
}

/* ---- Progress ---- */

static json_t *drawn(svg *s)
{
    size_t n = 0;
    char *const text = svg_take(s, &n);
    json_t *const out = text != NULL ? json_string(text) : NULL;
    free(text);
    return out != NULL ? out : json_null();
}

static void add_progress(json_t *to, logbook *l, const char *learner)
{
    app_err ignored = APP_ERR_NONE;
    progress p;
    svg differences = {0};
    svg over_time = {0};
    if (progress_make(l, learner, (double)NAN, &p, &ignored)) {
        char *const words = progress_text(&p);
        chart_differences_draw(
            &differences, "Agreement: yours less the second, per minute", &p.pairs);
        chart_progress_draw(&over_time, &p);
        (void)json_object_set_new(to, "progress", progress_document(&p));
        (void)json_object_set_new(to, "words",
                                  words != NULL ? json_string(words) : json_null());
        (void)json_object_set_new(to, "differences", drawn(&differences));
        (void)json_object_set_new(to, "over_time", drawn(&over_time));
        free(words);
    }
    progress_free(&p);
}

json_t *logbook_views_list(const char *path, const char *learner, app_err *err)
{
    char *const at = path_of(path, err);
    const char *const whose = learner != NULL && learner[0] != '\0' ? learner : NULL;
    if (at == NULL) {
        return NULL;
    }
    json_t *const rows = json_array();
    char *const shown = text_escape_name(at); /* a path of any bytes */
    json_t *const out =
        json_pack("{s:s,s:s,s:O,s:[]}", "path", shown != NULL ? shown : "", "learner",
                  whose != NULL ? whose : "", "rows", rows, "learners");
    bool ok = out != NULL || app_err_memory(err);
    free(shown);
    if (ok && file_is_there(at)) {
        const logbook_query query = {whose, ROWS_MOST};
        logbook *const l = logbook_open(at, false, err);
        ok = l != NULL && logbook_each(l, &query, add_row, rows, err);
        if (ok) {
            (void)json_object_set_new(out, "learners", learners_of(l));
            if (json_array_size(rows) > 0) {
                add_progress(out, l, whose);
            }
        }
        logbook_close(l);
    }
    json_decref(rows);
    free(at);
    if (!ok) {
        json_decref(out);
        return NULL;
    }
    return out;
}

bool logbook_views_report(
    const char *path, int64_t number, const char *learner, bytes *out, app_err *err)
{
    size_t n = 0;
    char *const at = path_of(path, err);
    logbook *const l = at != NULL ? logbook_open(at, false, err) : NULL;
    char *const page = l == NULL    ? NULL
                       : number > 0 ? report_make_sitting(l, number, &n, err)
                                    : report_make_learner(l, learner, &n, err);
    if (page != NULL) {
        bytes_add(out, page, n);
    }
    free(page);
    logbook_close(l);
    free(at);
    return page != NULL;
}

char *logbook_views_learner(void)
{
    app_err ignored = APP_ERR_NONE;
    settings *const s = settings_load(&ignored);
    const char *const name = s != NULL ? settings_text(s, SETTINGS_LEARNER) : NULL;
    char *const out = name != NULL ? strdup(name) : NULL;
    settings_free(s);
    return out;
}
