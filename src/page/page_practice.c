/* A checked count of a recording, heard through the browser: no microphone needed. The
 * recording has a number of this run's own and no name until the end. */
#include "dsp/reference_range.h"
#include "src/page/page_private.h"
#include "src/sitting/listen_make.h"
#include "src/sitting/reveal.h"

#include <math.h>
#include <stdatomic.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum {
    TAPS_MOST = 600
};

struct page_practice {
    page *page;
    bool open;
    atomic_bool counting; /* on the other thread: nothing here may change meanwhile */
    bool pulse_wanted, breath_wanted;
    int n; /* the unnamed recording */
    shelf_item item;
    reveal_request request;
    double taps_s[TAPS_MOST];
    double breath_taps_s[TAPS_MOST];
};

page_practice *page_practice_create(page *p)
{
    page_practice *const c = calloc(1, sizeof *c);
    if (c != NULL) {
        c->page = p;
    }
    return c;
}

void page_practice_destroy(page_practice *c)
{
    free(c);
}

void page_practice_list(page_request *r)
{
    page_reply_json(r,
                    json_pack("{s:i}", "recordings", shelf_n_unnamed(r->page->shelf)));
}

void page_practice_begin(page_request *r)
{
    page_practice *const c = r->page->practice;
    app_err err = APP_ERR_NONE;
    const char *const learner = page_text(r, "learner", "");
    const double seconds = page_number(r, "seconds", 60.0);
    const double months = page_number(r, "age_months", -1.0);
    const double tolerance = page_number(r, "tolerance", -1.0);
    const int n = (int)fmax(0.0, fmin(1000.0, page_number(r, "number", 0.0)));
    if (atomic_load(&c->counting)) {
        page_reply_error(r, MHD_HTTP_CONFLICT,
                         "the last count is still being compared");
        return;
    }
    if (!reveal_check_words(learner, "", &err)) {
        page_reply_app_error(r, &err);
        return;
    }
    if (!shelf_get_unnamed(r->page->shelf, n, &c->item)) {
        page_reply_error(r, MHD_HTTP_BAD_REQUEST, "there is no such recording");
        return;
    }
    c->open = true;
    c->n = n;
    c->request = reveal_request_none(c->item.path);
    c->request.seconds = seconds < 20.0 ? 15 : seconds < 45.0 ? 30 : 60;
    c->request.logbook = r->page->options->logbook;
    if (months >= 0.0 && months <= FM_AGE_MAX_MONTHS) {
        c->request.age_months = months;
    }
    if (tolerance >= 0.5 && tolerance <= 50.0) {
        c->request.tolerance_per_min = tolerance;
    }
    (void)snprintf(c->request.learner, sizeof c->request.learner, "%s", learner);
    c->pulse_wanted = true;
    c->breath_wanted = page_is(r, "breath");
    page_reply_json(r,
                    json_pack("{s:i,s:i}", "number", n, "seconds", c->request.seconds));
}

/* ---- The sound ---- */

static void make_sound(page_request *r)
{
    const listen_request *const l = r->context;
    app_err err = APP_ERR_NONE;
    r->answer.type = "audio/wav";
    if (listen_make_sound(l, &r->answer.body, &err)) {
        r->answer.status = MHD_HTTP_OK;
    } else {
        page_answer_error(&r->answer, &err);
    }
}

/* The path must outlive the sitting: it is copied behind the request. */
void page_practice_sound(page_request *r)
{
    const page_practice *const c = r->page->practice;
    const size_t n = strlen(c->item.path) + 1;
    if (!c->open) {
        page_reply_error(r, MHD_HTTP_CONFLICT, "no practice is open");
        return;
    }
    listen_request *const l = calloc(1, sizeof *l + n);
    if (l == NULL) {
        page_reply_error(r, MHD_HTTP_INTERNAL_SERVER_ERROR, "out of memory");
        return;
    }
    char *const path = (char *)(l + 1);
    memcpy(path, c->item.path, n);
    *l = (listen_request){.path = path, .seconds = 60.0, .sealed = true};
    r->context = l;
    r->free_context = free;
    (void)page_request_later(r, make_sound);
}

/* ---- Entries ---- */

static times take_taps(const page_request *r, double *to)
{
    const json_t *const taps = json_object_get(r->json, "taps_s");
    times out = {.s = to, .n = 0};
    for (size_t i = 0; i < json_array_size(taps) && out.n < TAPS_MOST; i++) {
        const double at_s = json_number_value(json_array_get(taps, i));
        const bool back = out.n > 0 && at_s < to[out.n - 1];
        if (at_s >= 0.0 && at_s < 60.0 && !back) {
            to[out.n++] = at_s;
        }
    }
    return out;
}

static void count_it(page_request *r)
{
    page_practice *const c = r->page->practice;
    app_err err = APP_ERR_NONE;
    json_t *const json = reveal_make(&c->request, &err);
    const int number = c->item.number;
    atomic_store(&c->counting, false);
    if (json == NULL) {
        page_answer_error(&r->answer, &err);
        return;
    }
    (void)json_object_set_new(json, "recording", json_integer(number));
    page_answer_json(&r->answer, json);
}

static bool take_entry(page_practice *c, const page_request *r, app_err *err)
{
    const double entered = page_number(r, "entered", -1.0);
    const char *const method = page_text(r, "method", "");
    const char *const rhythm = page_text(r, "rhythm", "");
    reveal_request *const q = &c->request;
    const bool pulse = c->pulse_wanted;
    const int most = pulse ? FM_MANUAL_MAX * q->seconds / 60 : FM_BREATHS_MANUAL_MAX;
    if (!(entered >= (pulse ? 1.0 : 0.0) && entered <= most) ||
        entered > floor(entered)) {
        return app_err_set(err, APP_USAGE, "give a whole number from %d to %d",
                           pulse ? 1 : 0, most);
    }
    if (!reveal_check_words("", rhythm, err)) {
        return false;
    }
    if (pulse) {
        q->pulse = true;
        q->entered = (int)entered;
        q->taps = take_taps(r, c->taps_s);
        (void)snprintf(q->rhythm, sizeof q->rhythm, "%s", rhythm);
        c->pulse_wanted = false;
    } else {
        q->breath = true;
        q->breaths = (int)entered;
        q->breath_taps = take_taps(r, c->breath_taps_s);
        q->method =
            strcmp(method, "listened") == 0 ? FM_BREATH_LISTENED : FM_BREATH_NOT_SAID;
        c->breath_wanted = false;
    }
    return true;
}

/* The pulse's, then the respirations'; nothing is counted before the last of them. */
void page_practice_enter(page_request *r)
{
    page_practice *const c = r->page->practice;
    app_err err = APP_ERR_NONE;
    if (!c->open || (!c->pulse_wanted && !c->breath_wanted)) {
        page_reply_error(r, MHD_HTTP_CONFLICT, "no entry is waited for");
    } else if (!take_entry(c, r, &err)) {
        page_reply_app_error(r, &err);
    } else if (c->breath_wanted) {
        page_reply_json(r, json_pack("{s:s}", "next", "breath"));
    } else {
        c->open = false;
        atomic_store(&c->counting, true);
        if (!page_request_later(r, count_it)) {
            atomic_store(&c->counting, false);
        }
    }
}
