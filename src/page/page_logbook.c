/* The logbook on the page; reports are whole documents of their own. */
#include "src/page/page_private.h"
#include "src/usecase/logbook_views.h"

#include <stdlib.h>
#include <string.h>

enum {
    LEARNER_BYTES = 64
};

static void keep_learner(page_request *r)
{
    const char *const name = page_argument(r, "learner");
    r->context = strdup(strlen(name) < LEARNER_BYTES ? name : "");
    r->free_context = free;
}

static void list(page_request *r)
{
    app_err err = APP_ERR_NONE;
    json_t *const json =
        logbook_views_list(r->page->options->logbook, r->context, &err);
    if (json == NULL) {
        page_answer_error(&r->answer, &err);
        return;
    }
    char *const usual = logbook_views_learner();
    (void)json_object_set_new(json, "usual", json_string(usual != NULL ? usual : ""));
    free(usual);
    page_answer_json(&r->answer, json);
}

void page_logbook_list(page_request *r)
{
    keep_learner(r);
    (void)page_request_later(r, list);
}

static void report(page_request *r)
{
    app_err err = APP_ERR_NONE;
    const char *const name = r->context;
    r->answer.type = "text/html; charset=utf-8";
    r->answer.own_styles = true;
    if (logbook_views_report(r->page->options->logbook, r->number > 0 ? r->number : 0,
                             name != NULL && name[0] != '\0' ? name : NULL,
                             &r->answer.body, &err)) {
        r->answer.status = MHD_HTTP_OK;
    } else {
        r->answer.own_styles = false;
        page_answer_error(&r->answer, &err);
    }
}

/* Of a row, or without its number of a learner. */
void page_logbook_report(page_request *r)
{
    keep_learner(r);
    (void)page_request_later(r, report);
}
