/* The logbook on the page; reports are whole documents of their own. */
#include "src/page/page_private.h"
#include "src/usecase/logbook_views.h"

#include <stdlib.h>

void page_logbook_list(page_request *r)
{
    app_err err = APP_ERR_NONE;
    json_t *const json = logbook_views_list(r->page->options->logbook,
                                            page_argument(r, "learner"), &err);
    if (json == NULL) {
        page_reply_app_error(r, &err);
        return;
    }
    char *const usual = logbook_views_learner();
    (void)json_object_set_new(json, "usual", json_string(usual != NULL ? usual : ""));
    free(usual);
    page_reply_json(r, json);
}

/* Of a row, or without its number of a learner. */
void page_logbook_report(page_request *r)
{
    app_err err = APP_ERR_NONE;
    const char *const name = page_argument(r, "learner");
    if (logbook_views_report(r->page->options->logbook, r->number > 0 ? r->number : 0,
                             name[0] != '\0' ? name : NULL, &r->answer.body, &err)) {
        r->answer.type = "text/html; charset=utf-8";
        r->answer.own_styles = true;
        r->answer.status = MHD_HTTP_OK;
    } else {
        page_reply_app_error(r, &err);
    }
}
