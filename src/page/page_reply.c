/* Answers, and the headers that each of them carries. */
#include "src/base/bytes.h"
#include "src/base/json_text.h"
#include "src/page/page_assets.h"
#include "src/page/page_private.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static const char POLICY[] =
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' data:; "
    "connect-src 'self'; media-src 'self' blob:; base-uri 'none'; form-action 'none'; "
    "frame-ancestors 'none'";
/* A report is one document with its style sheet inside and no script. */
static const char POLICY_DOCUMENT[] =
    "default-src 'none'; style-src 'unsafe-inline'; img-src data:; base-uri 'none'; "
    "form-action 'none'; frame-ancestors 'none'; sandbox";

static const char TYPE_JSON[] = "application/json";

void page_reply_json(page_request *r, json_t *json)
{
    page_answer *const a = &r->answer;
    char *const text = json_text_of(json, JSON_COMPACT | JSON_REAL_PRECISION(12));
    json_decref(json);
    a->type = TYPE_JSON;
    a->status = text != NULL ? MHD_HTTP_OK : MHD_HTTP_INTERNAL_SERVER_ERROR;
    bytes_add_text(&a->body, text != NULL ? text : "{\"error\":\"out of memory\"}");
    free(text);
}

void page_reply_done(page_request *r)
{
    page_reply_json(r, json_pack("{s:b}", "done", 1));
}

bool page_reply_error(page_request *r, unsigned status, const char *text)
{
    page_reply_json(r, json_pack("{s:o}", "error", document_text(text)));
    r->answer.status = status;
    return false;
}

void page_reply_sound(page_request *r, const listen_request *of)
{
    app_err err = APP_ERR_NONE;
    r->answer.type = "audio/wav";
    if (listen_make_sound(of, &r->answer.body, &err)) {
        r->answer.status = MHD_HTTP_OK;
    } else {
        page_reply_app_error(r, &err);
    }
}

unsigned page_status_of(const app_err *err)
{
    return err->code == APP_USAGE        ? MHD_HTTP_BAD_REQUEST
           : err->code == APP_UNREADABLE ? MHD_HTTP_UNPROCESSABLE_CONTENT
                                         : MHD_HTTP_INTERNAL_SERVER_ERROR;
}

void page_reply_app_error(page_request *r, const app_err *err)
{
    (void)page_reply_error(r, page_status_of(err), err->text);
}

bool page_reply_asset(page_request *r, const char *path)
{
    for (const page_asset *a = PAGE_ASSETS; a->path != NULL; a++) {
        if (strcmp(a->path, path) == 0) {
            r->answer.status = MHD_HTTP_OK;
            r->answer.type = a->type;
            bytes_add(&r->answer.body, a->data, a->n);
            return true;
        }
    }
    return false;
}

void page_headers_add(struct MHD_Response *response, const page_answer *a)
{
    const char *const headers[][2] = {
        {MHD_HTTP_HEADER_CONTENT_TYPE, a->type != NULL ? a->type : "text/plain"},
        {"Content-Security-Policy", a->own_styles ? POLICY_DOCUMENT : POLICY},
        {"X-Content-Type-Options", "nosniff"},
        {"Referrer-Policy", "no-referrer"},
        {"Cross-Origin-Opener-Policy", "same-origin"},
        {"Cross-Origin-Resource-Policy", "same-origin"},
        {MHD_HTTP_HEADER_CACHE_CONTROL, "no-store"}};
    for (size_t i = 0; i < sizeof headers / sizeof headers[0]; i++) {
        (void)MHD_add_response_header(response, headers[i][0], headers[i][1]);
    }
}

enum MHD_Result page_send(page_request *r)
{
    page_answer *const a = &r->answer;
    if (a->body.failed) {
        bytes_free(&a->body);
        a->status = MHD_HTTP_INTERNAL_SERVER_ERROR;
    }
    /* The response frees what it was given. */
    static char nothing[1];
    struct MHD_Response *const response = MHD_create_response_from_buffer(
        a->body.n, a->body.data != NULL ? a->body.data : nothing,
        a->body.data != NULL ? MHD_RESPMEM_MUST_FREE : MHD_RESPMEM_PERSISTENT);
    if (response == NULL) {
        return MHD_NO;
    }
    a->body = (bytes)BYTES_NONE;
    page_headers_add(response, a);
    if (r->route != NULL && r->route->run == page_home && a->status == MHD_HTTP_OK) {
        char cookie[160];
        (void)snprintf(cookie, sizeof cookie,
                       "fullminute_%d=%s; HttpOnly; SameSite=Strict; Path=/",
                       r->listener->port, r->page->session);
        (void)MHD_add_response_header(response, MHD_HTTP_HEADER_SET_COOKIE, cookie);
    }
    if (a->status == MHD_HTTP_FORBIDDEN || a->status == MHD_HTTP_TOO_MANY_REQUESTS ||
        a->status == MHD_HTTP_CONTENT_TOO_LARGE) {
        (void)MHD_add_response_header(response, MHD_HTTP_HEADER_CONNECTION, "close");
    }
    const enum MHD_Result sent = MHD_queue_response(r->connection, a->status, response);
    MHD_destroy_response(response);
    return sent;
}

const char *page_argument(const page_request *r, const char *name)
{
    const char *const text =
        MHD_lookup_connection_value(r->connection, MHD_GET_ARGUMENT_KIND, name);
    return text != NULL ? text : "";
}

const char *page_text(const page_request *r, const char *member, const char *fallback)
{
    const char *const text = json_string_value(json_object_get(r->json, member));
    return text != NULL ? text : fallback;
}

double page_number(const page_request *r, const char *member, double fallback)
{
    const json_t *const value = json_object_get(r->json, member);
    return json_is_number(value) ? json_number_value(value) : fallback;
}

bool page_is(const page_request *r, const char *member)
{
    return json_is_true(json_object_get(r->json, member));
}
