/* A live sitting on the page: what src/usecase/live_view.h lets be seen, and no more. */
#include "dsp/compare/reference_range.h"
#include "src/base/json_text.h"
#include "src/base/text.h"
#include "src/page/page_private.h"
#include "src/port/steady.h"
#include "src/usecase/input_list.h"
#include "src/usecase/live_sitting.h"
#include "src/usecase/reveal.h"

#include <math.h>
#include <pthread.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum {
    TAPS_AT_ONCE = 64
};

/* How often a page is told; marks of an open count come more often. */
static const double TELL_S = 0.1;
static const double TELL_OPEN_S = 1.0 / 30.0;
static const double TAP_LATE_S = 30.0;

/* The end of a sitting on its way: counted on the other thread. */
typedef struct ending {
    pthread_mutex_t lock;
    taking taking; /* goes on where the sitting's has come to */
    bool checked;
    reveal_request request;
    json_t *json;
    app_err err;
} ending;

struct page_live {
    page *page;
    live_sitting *sitting;
    live_plan plan;
    char input[REVEAL_PATH_BYTES];
    char path[REVEAL_PATH_BYTES];
    char learner[REVEAL_TEXT_BYTES];
    char rhythm[REVEAL_TEXT_BYTES];
    char trouble[APP_ERR_TEXT_BYTES]; /* of the closing */
    double next_tell_s;
    bool hung;
    ending end;
};

page_live *page_live_create(page *p)
{
    page_live *const l = calloc(1, sizeof *l);
    if (l != NULL) {
        l->page = p;
        (void)pthread_mutex_init(&l->end.lock, NULL);
    }
    return l;
}

/* ---- Closing, and what follows ---- */

static void count_it(void *context)
{
    ending *const e = context;
    app_err err = APP_ERR_NONE;
    int64_t row =
        0; /* told in what is shown; the sitting holds the entry all the same */
    json_t *const json = e->checked ? reveal_make(&e->request, &row, &err)
                                    : reveal_open_count(e->request.path, &err);
    (void)pthread_mutex_lock(&e->lock);
    e->json = json;
    e->err = err;
    (void)taking_tell(&e->taking, json != NULL ? TAKING_COUNTED : TAKING_COUNT_FAILED,
                      0);
    (void)pthread_mutex_unlock(&e->lock);
}

static taking_phase phase_of(page_live *l)
{
    (void)pthread_mutex_lock(&l->end.lock);
    const taking_phase phase = l->end.taking.phase;
    (void)pthread_mutex_unlock(&l->end.lock);
    return phase;
}

static bool is_counting(page_live *l)
{
    return phase_of(l) == TAKING_COUNTING;
}

static void forget_end(page_live *l)
{
    json_decref(l->end.json);
    l->end.json = NULL;
    l->end.taking = (taking){.phase = TAKING_ENDED};
    l->end.err = (app_err)APP_ERR_NONE;
    l->trouble[0] = '\0';
}

static void close_sitting(page_live *l)
{
    app_err err = APP_ERR_NONE;
    bool hung = false;
    if (l->sitting == NULL) {
        return;
    }
    l->end.taking = *live_sitting_taking(l->sitting);
    if (!live_sitting_close(l->sitting, &hung, &err)) {
        (void)snprintf(l->trouble, sizeof l->trouble, "%s", err.text);
    }
    l->hung = l->hung || hung;
    l->sitting = NULL;
}

static void begin_count(page_live *l)
{
    ending *const e = &l->end;
    e->request = reveal_request_none(l->path);
    e->request.from_sitting = true;
    e->request.logbook = l->page->options->logbook;
    (void)snprintf(e->request.learner, sizeof e->request.learner, "%s", l->learner);
    (void)snprintf(e->request.rhythm, sizeof e->request.rhythm, "%s", l->rhythm);
    e->checked = l->plan.checked;
    if (!page_jobs_add(l->page->jobs, count_it, e)) {
        (void)taking_tell(&e->taking, TAKING_COUNT_FAILED, 0);
        (void)app_err_set(&e->err, APP_FAILED,
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
        (void)pthread_mutex_destroy(&l->end.lock);
    }
}

/* ---- What is told ---- */

static json_t *finite(double v, double step)
{
    return isfinite(v) ? json_real(round(v / step) * step) : json_null();
}

static json_t *marks_of(const live_view *v)
{
    json_t *const list = json_array();
    for (int i = 0; i < v->n_marks; i++) {
        (void)json_array_append_new(
            list,
            json_pack("[o,b]", finite(v->marks[i].time_s, 1e-3), v->marks[i].is_s2));
    }
    return list;
}

static json_t *open_part(page_live *l, const live_view *v)
{
    float envelope[LIVE_ENVELOPE_MAX];
    json_t *const list = json_array();
    double first_s = 0.0;
    const size_t n = live_sitting_get_envelope(l->sitting, envelope, &first_s);
    for (size_t i = 0; i < n; i++) {
        (void)json_array_append_new(list,
                                    json_real(round(1e4 * (double)envelope[i]) * 1e-4));
    }
    return json_pack("{s:o,s:o,s:f,s:f}", "marks", marks_of(v), "envelope", list,
                     "envelope_from_s", first_s, "envelope_hz",
                     (double)LIVE_ENVELOPE_HZ);
}

static json_t *view_of(page_live *l)
{
    live_view v;
    live_sitting_get_view(l->sitting, &v);
    json_t *const out = json_pack(
        "{s:s,s:s,s:b,s:s,s:i,s:f,s:f,s:b,s:o,s:s,s:o,s:f,s:f,s:f,s:b,s:b,s:b,s:f,s:f}",
        "phase", TAKING_WORDS[v.phase], "kind",
        v.kind == SITTING_PULSE ? "pulse" : "breath", "watched", v.watched, "entry",
        TAKING_ENTRY_WORDS[v.entry], "seconds", v.seconds, "elapsed_s", v.elapsed_s,
        "left_s", v.left_s, "can_start", v.can_start, "level_dbfs",
        isfinite(v.level_dbfs) ? json_real(v.level_dbfs) : json_null(), "advice",
        v.advice != NULL ? v.advice : "", "trouble",
        page_json_text(v.trouble != NULL ? v.trouble : ""), "missing_s", v.missing_s,
        "lost_start_s", v.lost_start_s, "lost_length_s", v.lost_length_s, "stalled",
        v.stalled, "checked", l->plan.checked, "ticks", v.ticks, "now_s", v.now_s,
        "at_s", steady_now_s());
    if (out != NULL) {
        (void)json_object_set_new(out, "person", json_string(v.person));
    }
    if (out != NULL && !l->plan.checked) {
        (void)json_object_set_new(out, "open", open_part(l, &v));
    }
    return out;
}

static json_t *state_of(page_live *l)
{
    if (l->sitting != NULL) {
        return view_of(l);
    }
    return json_pack("{s:s,s:o}", "phase", TAKING_WORDS[phase_of(l)], "trouble",
                     page_json_text(l->trouble));
}

static void tell(page_live *l)
{
    if (!page_stream_any(l->page, PAGE_TOPIC_LIVE)) {
        return;
    }
    json_t *const state = state_of(l);
    char *const text = json_text_of(state, JSON_COMPACT | JSON_REAL_PRECISION(9));
    json_decref(state);
    if (text != NULL) {
        page_stream_send_all(l->page, PAGE_TOPIC_LIVE, text);
    }
    free(text);
}

bool page_live_step(page_live *l, double now_s)
{
    const bool open = l->sitting != NULL;
    bool over = false;
    if (open) {
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
    const bool waiting = is_counting(l);
    const double every_s = open && !l->plan.checked ? TELL_OPEN_S : TELL_S;
    if (over || now_s >= l->next_tell_s) {
        l->next_tell_s = now_s + (open || waiting ? every_s - 0.002 : 0.5);
        tell(l);
    }
    return open || waiting;
}

/* ---- Requests ---- */

void page_live_events(page_request *r)
{
    page_stream *const s = page_stream_open(r, PAGE_TOPIC_LIVE, -1);
    if (s != NULL) {
        r->page->live->next_tell_s = 0.0;
    }
}

void page_live_inputs(page_request *r)
{
    page *const p = r->page;
    app_err err = APP_ERR_NONE;
    if (p->live->sitting == NULL) {
        json_t *const list = input_list_make(&err);
        if (list != NULL) {
            json_decref(p->inputs);
            p->inputs = list;
        }
    }
    page_reply_json(r, json_pack("{s:O*,s:o}", "inputs", p->inputs, "problem",
                                 page_json_text(err.text)));
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
    if (!reveal_check_words(learner, "", &err) || !choose_input(l, r, &err)) {
        page_reply_app_error(r, &err);
        return;
    }
    forget_end(l);
    read_plan(l, r);
    l->rhythm[0] = '\0';
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
                    json_pack("{s:b,s:o}", "done", 1, "path", page_json_text(l->path)));
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

static bool awaits_entry(page_request *r, page_live *l)
{
    live_view v;
    live_sitting_get_view(l->sitting, &v);
    if (v.phase != TAKING_ENTRY) {
        say_not_stored(r, MHD_HTTP_CONFLICT,
                       v.trouble != NULL && v.trouble[0] != '\0'
                           ? v.trouble
                           : "no count is asked for at this moment");
    }
    return v.phase == TAKING_ENTRY;
}

void page_live_enter(page_request *r)
{
    page_live *const l = open_one(r);
    app_err err = APP_ERR_NONE;
    const double entered = page_number(r, "entered", -1.0);
    const char *const rhythm = page_text(r, "rhythm", "");
    if (l == NULL || !awaits_entry(r, l)) {
        return;
    }
    if (!(entered >= 0.0 && entered <= FM_MANUAL_MAX) || entered > floor(entered)) {
        page_reply_error(r, MHD_HTTP_BAD_REQUEST,
                         "give the whole number that you counted");
        return;
    }
    if (!reveal_check_words("", rhythm, &err) ||
        !live_sitting_enter(l->sitting, (int)entered, &err)) {
        say_not_stored(r, page_status_of(&err), err.text);
        return;
    }
    if (rhythm[0] != '\0') {
        (void)snprintf(l->rhythm, sizeof l->rhythm, "%s", rhythm);
    }
    l->next_tell_s = 0.0;
    page_reply_done(r);
}

/* Once everything is stored and counted; the recording may then be listened to. */
void page_live_reveal(page_request *r)
{
    page_live *const l = r->page->live;
    (void)pthread_mutex_lock(&l->end.lock);
    const taking_phase phase = l->end.taking.phase;
    json_t *const json = phase == TAKING_SHOWN ? json_incref(l->end.json) : NULL;
    const app_err err = l->end.err;
    (void)pthread_mutex_unlock(&l->end.lock);
    if (phase != TAKING_SHOWN && phase != TAKING_FAILED) {
        page_reply_error(r, MHD_HTTP_CONFLICT, "nothing is to be shown yet");
        return;
    }
    if (json == NULL) {
        page_reply_app_error(r, &err);
        return;
    }
    json_t *const out = json_copy(json);
    json_decref(json);
    (void)json_object_set_new(
        out, "recording",
        json_integer(collection_add(r->page->collection, COLLECTION_TAKEN,
                                    "Your last recording", l->path)));
    page_reply_json(r, out);
}
