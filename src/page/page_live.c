/* A live sitting on the page: what src/document/live_view.h lets be seen, and no more. It
 * belongs to a thread of its own (PAGE_SITTING), so that neither an input that opens slowly nor
 * a slow disk keeps the server waiting, and no analysis the sitting. */
#include "dsp/compare/reference_range.h"
#include "src/base/json_text.h"
#include "src/page/page_private.h"
#include "src/port/steady.h"
#include "src/usecase/input_list.h"
#include "src/usecase/live_sitting.h"
#include "src/usecase/reveal.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum {
    TAPS_AT_ONCE = 64
};

/* How often time goes on; what is idle only looks whether it is to be told. */
static const double STEP_S = 0.02;
static const double STEP_IDLE_S = 0.1;
/* How often a page is told; marks of an open count come more often. */
static const double TELL_S = 0.1;
static const double TELL_OPEN_S = 1.0 / 30.0;
static const double TAP_LATE_S = 30.0;

/* What the server hands the sitting's thread each time that it lets time go on, and what it
 * gets back. */
struct step {
    bool counted; /* the count has been made since */
    bool heard;   /* somebody is told at all */
    bool tell;    /* at once: somebody has just come */
    bool open;    /* back: a sitting is open, or counted */
    char *text;   /* back: to be told; NULL: nothing */
};

struct page_live {
    page *page;
    /* The server's. */
    bool stepping; /* the other thread has the step */
    bool open;     /* as of the last one */
    bool counted, tell;
    double next_step_s;
    struct step step;
    /* The sitting's thread's; the count's, too, while it is made. */
    json_t *inputs; /* as last listed */
    live_sitting *sitting;
    live_plan plan;
    char input[REVEAL_PATH_BYTES];
    char path[REVEAL_PATH_BYTES];
    char learner[REVEAL_TEXT_BYTES];
    char trouble[APP_ERR_TEXT_BYTES]; /* of the closing */
    double next_tell_s;
    bool hung;
    taking taking; /* of the last one: goes on where the sitting's has come to */
    reveal_request request;
    json_t *json; /* what is shown at the end; NULL: err says why not */
    app_err err;
};

page_live *page_live_create(page *p)
{
    page_live *const l = calloc(1, sizeof *l);
    if (l != NULL) {
        l->page = p;
    }
    return l;
}

/* ---- Closing, and what follows ---- */

/* On the thread of long work. */
static void count_it(void *context)
{
    page_live *const l = context;
    int64_t row =
        0; /* told in what is shown; the sitting holds the entry all the same */
    l->json = l->plan.checked ? reveal_make(&l->request, &row, &l->err)
                              : reveal_open_count(l->request.path, &l->err);
}

static void counted(void *context)
{
    page_live *const l = context;
    l->counted = true;
}

static bool is_counting(const page_live *l)
{
    return l->taking.phase == TAKING_COUNTING;
}

static void forget_end(page_live *l)
{
    json_decref(l->json);
    l->json = NULL;
    l->taking = (taking){.phase = TAKING_ENDED};
    l->err = (app_err)APP_ERR_NONE;
    l->trouble[0] = '\0';
}

static void close_sitting(page_live *l)
{
    app_err err = APP_ERR_NONE;
    bool hung = false;
    if (l->sitting == NULL) {
        return;
    }
    l->taking = *live_sitting_taking(l->sitting);
    if (!live_sitting_close(l->sitting, &hung, &err)) {
        (void)snprintf(l->trouble, sizeof l->trouble, "%s", err.text);
    }
    l->hung = l->hung || hung;
    l->sitting = NULL;
}

static void begin_count(page_live *l)
{
    l->request = reveal_request_none(l->path);
    l->request.from_sitting = true;
    l->request.logbook = l->page->options->logbook;
    (void)snprintf(l->request.learner, sizeof l->request.learner, "%s", l->learner);
    if (!page_jobs_add(l->page->jobs[PAGE_LONG], (page_job){count_it, counted, l})) {
        (void)taking_tell(&l->taking, TAKING_COUNT_FAILED, 0);
        (void)app_err_set(&l->err, APP_FAILED,
                          "busy; the recording is kept, count it later");
    }
}

bool page_live_hung(const page_live *l)
{
    return l->hung;
}

bool page_live_end(page_live *l, app_err *err)
{
    if (l->sitting == NULL) {
        return true;
    }
    l->trouble[0] = '\0';
    live_sitting_stop(l->sitting);
    close_sitting(l);
    return l->trouble[0] == '\0' ||
           app_err_set(err, APP_FAILED, "%s: %s", l->path, l->trouble);
}

void page_live_destroy(page_live *l)
{
    if (l != NULL) {
        forget_end(l);
        json_decref(l->inputs);
        free(l->step.text);
        free(l);
    }
}

/* ---- What is told ---- */

static json_t *state_of(page_live *l)
{
    live_view v;
    live_envelope e;
    if (l->sitting == NULL) {
        return json_pack("{s:s,s:o}", "phase", TAKING_WORDS[l->taking.phase], "trouble",
                         document_text(l->trouble));
    }
    live_sitting_get_view(l->sitting, &v);
    e.n = live_sitting_get_envelope(l->sitting, e.values, &e.first_s);
    return live_view_json(&v, l->plan.checked ? NULL : &e, steady_now_s());
}

static char *text_of(page_live *l)
{
    json_t *const state = state_of(l);
    char *const text = json_text_of(state, JSON_COMPACT | JSON_REAL_PRECISION(9));
    json_decref(state);
    return text;
}

static void step(void *context)
{
    page_live *const l = context;
    const double now_s = steady_now_s();
    bool over = false;
    if (l->step.counted) {
        (void)taking_tell(&l->taking,
                          l->json != NULL ? TAKING_COUNTED : TAKING_COUNT_FAILED, 0);
    }
    if (l->sitting != NULL) {
        live_sitting_step(l->sitting);
        const taking_phase phase = live_sitting_taking(l->sitting)->phase;
        over = phase == TAKING_COUNTING || phase == TAKING_ENDED;
        if (over) {
            close_sitting(l);
        }
        if (phase == TAKING_COUNTING) {
            begin_count(l);
        }
    }
    const bool open = l->sitting != NULL;
    l->step.open = open || is_counting(l);
    if (over || l->step.counted || l->step.tell || now_s >= l->next_tell_s) {
        const double every_s = open && !l->plan.checked ? TELL_OPEN_S : TELL_S;
        l->next_tell_s = now_s + (l->step.open ? every_s - 0.002 : 0.5);
        l->step.text = l->step.heard ? text_of(l) : NULL;
    }
}

static void stepped(void *context)
{
    page_live *const l = context;
    l->stepping = false;
    l->open = l->step.open;
    if (l->step.text != NULL) {
        page_stream_send_all(l->page, PAGE_TOPIC_LIVE, l->step.text);
    }
    free(l->step.text);
    l->step.text = NULL;
}

bool page_live_step(page_live *l, double now_s)
{
    if (!l->stepping && now_s >= l->next_step_s) {
        l->next_step_s = now_s + (l->open ? STEP_S : STEP_IDLE_S);
        l->step = (struct step){.counted = l->counted,
                                .heard = page_stream_any(l->page, PAGE_TOPIC_LIVE),
                                .tell = l->tell};
        l->stepping =
            page_jobs_add(l->page->jobs[PAGE_SITTING], (page_job){step, stepped, l});
        l->counted = l->counted && !l->stepping;
        l->tell = l->tell && !l->stepping;
    }
    return l->open;
}

/* ---- Requests ---- */

void page_live_events(page_request *r)
{
    page_stream *const s = page_stream_open(r, PAGE_TOPIC_LIVE, -1);
    if (s != NULL) {
        r->page->live->tell = true;
        r->page->live->next_step_s = 0.0;
    }
}

void page_live_inputs(page_request *r)
{
    page_live *const l = r->page->live;
    app_err err = APP_ERR_NONE;
    if (l->sitting == NULL) {
        json_t *const list = input_list_make(&err);
        if (list != NULL) {
            json_decref(l->inputs);
            l->inputs = list;
        }
    }
    page_reply_json(r, json_pack("{s:O*,s:o}", "inputs", l->inputs, "problem",
                                 document_text(err.text)));
}

/* An input of this computer by its key, or a recording of the collection in its place. */
static bool choose_input(page_live *l, const page_request *r, app_err *err)
{
    const double recording = page_number(r, "recording", 0.0);
    collection_item item;
    if (recording > 0.5) {
        if (!collection_get(r->page->collection, (int)lround(recording), &item)) {
            return app_err_set(err, APP_USAGE, "there is no such recording");
        }
        (void)snprintf(l->input, sizeof l->input, "file:%.1000s", item.path);
        return true;
    }
    const char *const key = page_text(r, "input", "");
    if (strncmp(key, "file:", 5) == 0) {
        return app_err_set(err, APP_USAGE, "name an input of this computer");
    }
    (void)snprintf(l->input, sizeof l->input, "%s", key);
    return true;
}

/* What no form sends is the default. */
static const field_member PLAN[] = {
    {"seconds", LIVE_SECONDS(live_plan, seconds)},
    {"ticks", FIELD(live_plan, ticks)},
    {"headphones", FIELD(live_plan, monitor)},
    {"second_examiner", FIELD(live_plan, second_examiner)},
    {"site", LIVE_SITE(live_plan, site)},
    {"method", LIVE_METHOD(live_plan, method)},
    {"age_months", FIELD_IN(live_plan, age_months, 0.0, FM_AGE_MAX_MONTHS)},
    {"tolerance", LIVE_TOLERANCE(live_plan, tolerance_per_min)},
    FIELD_MEMBERS_END,
};

static void read_plan(page_live *l, const page_request *r)
{
    live_plan *const p = &l->plan;
    *p = live_plan_default();
    p->ticks = false;
    field_take_json(PLAN, r->json, p);
    p->input = l->input[0] != '\0' ? l->input : NULL;
    p->checked = !page_is(r, "open");
    p->marks = !p->checked;
    p->pulse = !page_is(r, "breath_only");
    p->breath = p->checked && (page_is(r, "breath") || !p->pulse);
    p->second_examiner = p->second_examiner && p->checked;
}

void page_live_open(page_request *r)
{
    page_live *const l = r->page->live;
    app_err err = APP_ERR_NONE;
    const char *const learner = page_text(r, "learner", "");
    if (l->sitting != NULL || is_counting(l)) {
        page_reply_error(r, MHD_HTTP_CONFLICT, "a sitting is open already");
        return;
    }
    if (!reveal_check_learner(learner, &err) || !choose_input(l, r, &err)) {
        page_reply_app_error(r, &err);
        return;
    }
    read_plan(l, r);
    if (!live_plan_check(&l->plan, &err)) {
        page_reply_app_error(r, &err);
        return;
    }
    forget_end(l);
    (void)snprintf(l->learner, sizeof l->learner, "%s", learner);
    l->sitting = live_sitting_open(&l->plan, &err);
    if (l->sitting == NULL) {
        page_reply_app_error(r, &err);
        return;
    }
    (void)snprintf(l->path, sizeof l->path, "%s", live_sitting_path(l->sitting));
    l->next_tell_s = 0.0;
    page_reply_done(r);
}

static page_live *open_one(page_request *r)
{
    page_live *const l = r->page->live;
    if (l->sitting == NULL) {
        page_reply_error(r, MHD_HTTP_CONFLICT, "no sitting is open");
        return NULL;
    }
    return l;
}

void page_live_change(page_request *r)
{
    page_live *const l = open_one(r);
    if (l != NULL) {
        r->route->change(l->sitting);
        l->next_tell_s = 0.0;
        page_reply_done(r);
    }
}

/* Before the entry a checked sitting just ends; its recording stays and can be entered
 * later. An open one is counted as far as it went. */
void page_live_stop(page_request *r)
{
    page_live *const l = open_one(r);
    if (l == NULL) {
        return;
    }
    live_sitting_stop(l->sitting);
    close_sitting(l);
    if (is_counting(l)) {
        begin_count(l);
    }
    l->next_tell_s = 0.0;
    page_reply_json(r,
                    json_pack("{s:b,s:o}", "done", 1, "path", document_text(l->path)));
}

/* Moments on this computer's clock, which the page keeps in step with; a tap that comes
 * late is put where it was made. */
void page_live_tap(page_request *r)
{
    page_live *const l = open_one(r);
    const json_t *const taps = json_object_get(r->json, "at_s");
    if (l == NULL) {
        return;
    }
    const double now_s = steady_now_s();
    for (size_t i = 0; i < json_array_size(taps) && i < TAPS_AT_ONCE; i++) {
        const double at_s = json_number_value(json_array_get(taps, i));
        if (at_s > now_s - TAP_LATE_S && at_s < now_s + 0.05) {
            live_sitting_tap(l->sitting, fmin(at_s, now_s));
        }
    }
    page_reply_done(r);
}

/* Said with the reason, whatever screen the page shows by then: a recording that could not
 * be written ends the sitting, and the page has then left the entry. */
static void say_not_stored(page_request *r, unsigned status, const char *why)
{
    char text[APP_ERR_TEXT_BYTES + 16];
    (void)snprintf(text, sizeof text, "Not stored: %s", why);
    page_reply_error(r, status, text);
}

static bool awaits_entry(page_request *r, page_live *l, live_view *v)
{
    live_sitting_get_view(l->sitting, v);
    if (v->phase != TAKING_ENTRY) {
        say_not_stored(r, MHD_HTTP_CONFLICT,
                       v->trouble != NULL && v->trouble[0] != '\0'
                           ? v->trouble
                           : "no count is asked for at this moment");
    }
    return v->phase == TAKING_ENTRY;
}

void page_live_enter(page_request *r)
{
    page_live *const l = open_one(r);
    app_err err = APP_ERR_NONE;
    live_view v;
    own_count own;
    if (l == NULL || !awaits_entry(r, l, &v)) {
        return;
    }
    const bool read = page_own_count(r, v.entry, &own, &err);
    if (read && page_ask_back(r, v.entry, &own, v.seconds, true)) {
        return;
    }
    if (!read || !live_sitting_enter(l->sitting, &own, &err)) {
        say_not_stored(r, page_status_of(&err), err.text);
        return;
    }
    l->next_tell_s = 0.0;
    page_reply_done(r);
}

/* Once everything is stored and counted; the recording may then be listened to. */
void page_live_reveal(page_request *r)
{
    page_live *const l = r->page->live;
    if (l->taking.phase != TAKING_SHOWN && l->taking.phase != TAKING_FAILED) {
        page_reply_error(r, MHD_HTTP_CONFLICT, "nothing is to be shown yet");
        return;
    }
    if (l->json == NULL) {
        page_reply_app_error(r, &l->err);
        return;
    }
    json_t *const out = json_copy(l->json);
    (void)json_object_set_new(
        out, "recording",
        json_integer(collection_add(r->page->collection, COLLECTION_TAKEN,
                                    "Your last recording", l->path)));
    page_reply_json(r, out);
}
