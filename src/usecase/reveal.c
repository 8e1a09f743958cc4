#include "src/usecase/reveal.h"

#include "src/base/text.h"
#include "src/document/check_document.h"
#include "src/document/document_parts.h"
#include "src/picture/picture.h"
#include "src/port/file.h"
#include "src/usecase/checked_count.h"
#include "src/usecase/last_count.h"
#include "src/usecase/logbook_keep.h"
#include "src/usecase/report_strip.h"
#include "src/usecase/sitting_entries.h"
#include "src/usecase/sitting_windows.h"
#include "src/words/check_text.h"
#include "src/words/count_text.h"
#include "src/words/first_look.h"
#include "src/words/said.h"
#include "src/words/second_examiner.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

/* What belongs together while it is made. */
struct reveal {
    const reveal_request *asked;
    check_request check;
    sitting_document document;
    bool has_document;
    times taps;
    logbook_keep kept;
};

reveal_request reveal_request_none(const char *path)
{
    reveal_request r = {.own = own_count_of(0),
                        .own_breaths = own_count_of(0),
                        .seconds = 60,
                        .breath_seconds = 60,
                        .site = FM_SITE_APICAL,
                        .method = FM_BREATH_NOT_SAID,
                        .age_months = (double)NAN,
                        .tolerance_per_min = (double)NAN};
    (void)snprintf(r.path, sizeof r.path, "%s", path);
    return r;
}

bool reveal_check_learner(const char *learner, app_err *err)
{
    entry trial = entry_none();
    return learner[0] == '\0' ||
           entry_set(&trial, entry_field_named("learner"), learner) ||
           app_err_set(err, APP_USAGE,
                       "give initials or a nickname of at most %d letters",
                       ENTRY_LEARNER_BYTES - 1);
}

/* ---- What was entered ---- */

static bool from_sitting(struct reveal *r, app_err *err)
{
    const char *const path = r->asked->path;
    if (!sitting_windows_find(path, &r->document, &r->has_document, err)) {
        return false;
    }
    if (!r->has_document || r->document.sealed) {
        return app_err_set(err, APP_USAGE,
                           "not entered, so nothing is counted; enter your count "
                           "first");
    }
    sitting_windows_apply(&r->document, &r->check.analyse);
    return sitting_entries_fill(&r->document, &r->check, &r->taps) ||
           app_err_memory(err);
}

/* The same minute of a recording is heard twice, once for each count. */
static void from_request(struct reveal *r)
{
    const reveal_request *const a = r->asked;
    check_request *const c = &r->check;
    c->pulse = (check_entry){.asked = a->pulse,
                             .manual = {.entered = a->own.entered,
                                        .seconds = a->seconds,
                                        .site = a->site,
                                        .could_not = a->own.could_not},
                             .words = a->own.words,
                             .given_taps = a->taps,
                             .tolerance_per_min = a->tolerance_per_min};
    c->analyse.use_sitting = false;
    c->analyse.channel = 1; /* the one that was heard */
    c->analyse.breath_window = BREATH_WINDOW_SAME;
    c->analyse.breath_window_given = true;
    c->analyse.age_known = isfinite(a->age_months);
    c->analyse.age_months = a->age_months;
    c->breaths = (check_entry){.asked = a->breath,
                               .manual = {.entered = a->own_breaths.entered,
                                          .seconds = a->breath_seconds,
                                          .method = a->method,
                                          .could_not = a->own_breaths.could_not},
                               .words = a->own_breaths.words,
                               .given_taps = a->breath_taps,
                               .tolerance_per_min = (double)NAN};
}

/* ---- The logbook ---- */

static void begin_logbook(struct reveal *r)
{
    app_err ignored = APP_ERR_NONE;
    const reveal_request *const a = r->asked;
    char *const own = logbook_default_path(&ignored);
    const char *const path = a->logbook != NULL ? a->logbook : own;
    logbook_keep_begin(&r->kept, a->learner[0] != '\0' ? path : NULL, true, a->learner);
    if (a->learner[0] != '\0' && path == NULL) {
        r->kept.wanted = true;
        (void)snprintf(r->kept.problem, sizeof r->kept.problem,
                       "not stored in the logbook: there is no home folder to keep one "
                       "in");
    }
    free(own);
    r->kept.sealed_elsewhere = r->has_document;
    if (r->kept.book == NULL) {
        return;
    }
    if (r->check.analyse.age_known) {
        r->kept.row.age_months = r->check.analyse.age_months;
    }
    if (r->has_document) {
        sitting_entries_describe(&r->document, &r->kept.row);
    }
}

/* ---- What is shown ---- */

static json_t *text_or_null(char *text)
{
    json_t *const out = text != NULL ? json_string(text) : NULL;
    free(text);
    return out != NULL ? out : json_null();
}

static json_t *name_of(const char *path)
{
    char *const name = text_escape_name(file_base_name(path));
    return text_or_null(name);
}

/* The codes of what the text has hints for. */
static json_t *hints_of(const hint_voice *voice)
{
    json_t *list = json_array();
    for (int kind = 0; kind < HINT_COUNT; kind++) {
        if (voice->said[kind]) {
            list = document_append(list, json_string(hint_code((hint_kind)kind)));
        }
    }
    return list;
}

static json_t *show(struct reveal *r, const check_view *shown)
{
    hint_voice voice = {0};
    check_view own = *shown;
    const check_view *const view = &own;
    const check_before before = last_count_find(r->kept.book, &r->kept.row);
    count_source source = *shown->source;
    char second[LINES_PARAGRAPH_BYTES];
    source.name = r->asked->name != NULL ? r->asked->name : source.name;
    own.source = &source;
    own.voice = &voice;
    own.before = &before;
    const bool pulse = view->comparison != NULL;
    char *drawn = NULL;
    if (pulse) {
        const picture p = check_picture_of(view);
        drawn = picture_format(&p, NULL);
    }
    json_t *const picture_json = text_or_null(drawn);
    json_t *const strip =
        text_or_null(pulse ? report_strip_draw(r->asked->path, view) : NULL);
    json_t *const text = text_or_null(check_text_format(view));
    return json_pack(
        "{s:o,s:o,s:o,s:o,s:o,s:o,s:I,s:o,s:o,s:o}", "check", said_check(view), "first",
        first_look_document(view), "text", text, "hints", hints_of(&voice), "picture",
        picture_json, "strip", strip, "row", (json_int_t)r->kept.row.number, "note",
        text_or_null(text_escape_name(r->kept.problem)), "name",
        name_of(r->asked->name != NULL ? r->asked->name : r->asked->path),
        "second_examiner", document_text(second_examiner_text(&r->document, second)));
}

json_t *reveal_make(const reveal_request *request, int64_t *row, app_err *err)
{
    struct reveal r = {.asked = request,
                       .check = check_request_default(request->path),
                       .document = sitting_document_none()};
    json_t *out = NULL;
    *row = 0;
    if (!request->from_sitting) {
        from_request(&r);
    }
    if (!request->from_sitting || from_sitting(&r, err)) {
        begin_logbook(&r);
        checked_count *const checked =
            logbook_keep_check(&r.kept, &r.check, r.document.deficit_per_min, err);
        if (checked != NULL) {
            out = show(&r, checked_count_view(checked));
            if (out == NULL) {
                (void)app_err_memory(err);
            }
        }
        checked_count_free(checked);
        *row = r.kept.row.number > 0 ? r.kept.row.number : 0;
        logbook_keep_end(&r.kept);
    }
    sitting_document_free(&r.document);
    times_free(&r.taps);
    return out;
}

json_t *reveal_open_count(const char *path, app_err *err)
{
    analyse_request request = analyse_request_default(path);
    sitting_document document = sitting_document_none();
    bool found = false;
    char *text = NULL;
    size_t n = 0;
    if (!sitting_windows_find(path, &document, &found, err)) {
        return NULL;
    }
    if (found) {
        sitting_windows_apply(&document, &request);
    }
    analysed *const result =
        found && document.sealed ? NULL : analyse_file_window(&request, err);
    sitting_document_free(&document);
    if (result == NULL) {
        return NULL;
    }
    FILE *const to = open_memstream(&text, &n);
    if (to != NULL) {
        count_text_print(&result->source, &result->count, NULL, to);
        (void)fclose(to);
    }
    json_t *const out = json_pack(
        "{s:o,s:o,s:o,s:o}", "count", said_count(&result->source, &result->count),
        "text", text_or_null(text), "picture",
        text_or_null(count_picture_format(&result->source, &result->count)), "name",
        name_of(path));
    free(result);
    return out;
}
