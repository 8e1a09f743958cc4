/* A checked count of a recording, heard through the browser: no microphone needed. The
 * recording has a number of this run's own and no name until the end. Several may be open,
 * one in each tab: what is asked and entered carries the identity that its begin gave. */
#include "dsp/compare/reference_range.h"
#include "src/page/page_private.h"
#include "src/usecase/listen_make.h"
#include "src/usecase/live_sitting.h"
#include "src/usecase/recording_like.h"
#include "src/usecase/reveal.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum {
    TAPS_MOST = 600,
    OPEN_MOST = 8 /* tabs at once; the oldest gives way to a ninth */
};

/* One practice. */
struct practice {
    char id[PAGE_TOKEN_BYTES];
    taking taking;
    long begun; /* which of all that were begun, in order */
    int n;      /* the unnamed recording */
    collection_item item;
    reveal_request request;
    double taps_s[TAPS_MOST];
    double breath_taps_s[TAPS_MOST];
};

struct page_practice {
    long begun; /* so far */
    struct practice all[OPEN_MOST];
};

page_practice *page_practice_create(void)
{
    return calloc(1, sizeof(page_practice));
}

void page_practice_destroy(page_practice *c)
{
    free(c);
}

/* The one that is meant; NULL: answered. */
static struct practice *find(page_request *r, const char *id)
{
    page_practice *const all = r->page->practice;
    for (size_t i = 0; i < OPEN_MOST; i++) {
        struct practice *const c = &all->all[i];
        if (page_token_is(id, c->id) && c->taking.phase == TAKING_ENTRY) {
            return c;
        }
    }
    page_reply_error(r, MHD_HTTP_CONFLICT,
                     "Not stored: this practice is over, or too many were begun after "
                     "it; begin another");
    return NULL;
}

/* Room for a new one: what is over, or what was begun longest ago. */
static struct practice *find_room(page_practice *all)
{
    struct practice *room = &all->all[0];
    for (size_t i = 1; i < OPEN_MOST && room->taking.phase == TAKING_ENTRY; i++) {
        struct practice *const c = &all->all[i];
        if (c->taking.phase != TAKING_ENTRY || c->begun < room->begun) {
            room = c;
        }
    }
    return room;
}

void page_practice_list(page_request *r)
{
    page_reply_json(
        r, json_pack("{s:i}", "recordings", collection_n_unnamed(r->page->collection)));
}

static const field_member PLAN[] = {
    {"seconds", LIVE_SECONDS(reveal_request, seconds)},
    {"age_months", FIELD_IN(reveal_request, age_months, 0.0, FM_AGE_MAX_MONTHS)},
    {"tolerance", LIVE_TOLERANCE(reveal_request, tolerance_per_min)},
    {"learner", FIELD(reveal_request, learner)},
    FIELD_MEMBERS_END,
};

static void read_plan(struct practice *c, const page_request *r)
{
    c->request = reveal_request_none(c->item.path);
    c->request.logbook = r->page->options->logbook;
    c->request.name = c->item.kind == COLLECTION_DROPPED ? c->item.name : NULL;
    field_take_json(PLAN, r->json, &c->request);
    c->taking =
        (taking){.steps = {{TAKING_PULSE, c->request.seconds, .with_next = true},
                           {.entry = TAKING_BREATH, .seconds = 60}},
                 .n_steps = page_is(r, "breath") ? 2 : 1};
    taking_begin(&c->taking);
}

/* The next after the n-th whose known beats are of that kind, or just the next ("other"); none
 * is: the n-th. */
static int find_like(collection *of, const char *like, int n)
{
    const int n_all = collection_n_unnamed(of);
    collection_item item;
    for (int i = 0; like[0] != '\0' && i < n_all; i++) {
        const int k = (n + i) % n_all + 1;
        if (strcmp(like, "other") == 0 ||
            (collection_get_unnamed(of, k, &item) && recording_like(item.path, like))) {
            return k;
        }
    }
    return n;
}

void page_practice_begin(page_request *r)
{
    page_practice *const all = r->page->practice;
    struct practice *const c = find_room(all);
    app_err err = APP_ERR_NONE;
    collection_item item;
    int n = (int)fmax(0.0, fmin(1000.0, page_number(r, "number", 0.0)));
    const int own = (int)fmax(0.0, fmin(1000.0, page_number(r, "own", 0.0)));
    if (!reveal_check_learner(page_text(r, "learner", ""), &err)) {
        page_reply_app_error(r, &err);
        return;
    }
    n = find_like(r->page->collection, page_text(r, "like", ""), n);
    /* One that the person brought, by the number that its drop gave. */
    if (own > 0 ? !collection_get(r->page->collection, own, &item) ||
                      item.kind != COLLECTION_DROPPED
                : !collection_get_unnamed(r->page->collection, n, &item)) {
        page_reply_error(r, MHD_HTTP_BAD_REQUEST, "there is no such recording");
        return;
    }
    page_token_make(c->id);
    c->begun = ++all->begun;
    c->n = n;
    c->item = item;
    read_plan(c, r);
    page_reply_json(r, json_pack("{s:s,s:i,s:i}", "practice", c->id, "number", n,
                                 "seconds", c->request.seconds));
}

/* ---- The sound ---- */

void page_practice_sound(page_request *r)
{
    const struct practice *const c = find(r, page_argument(r, "practice"));
    if (c != NULL) {
        const listen_request of = {
            .path = c->item.path, .seconds = 60.0, .sealed = true};
        page_reply_sound(r, &of);
    }
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

/* What is stored stays so and is not entered twice; what is not may be entered again. */
static void fail(page_request *r, int64_t row, const app_err *err)
{
    app_err said = APP_ERR_NONE;
    if (row > 0) {
        (void)app_err_set(&said, (app_code)err->code,
                          "Your count is in the logbook as row %lld, but the second "
                          "count failed: %s",
                          (long long)row, err->text);
    } else {
        (void)app_err_set(&said, (app_code)err->code, "Not stored: %s", err->text);
    }
    page_reply_app_error(r, &said);
}

static void count_it(page_request *r, struct practice *c)
{
    app_err err = APP_ERR_NONE;
    int64_t row = 0;
    json_t *const json = reveal_make(&c->request, &row, &err);
    (void)taking_tell(&c->taking,
                      json != NULL || row > 0 ? TAKING_STORED : TAKING_NOT_STORED, 0);
    (void)taking_tell(&c->taking, json != NULL ? TAKING_COUNTED : TAKING_COUNT_FAILED,
                      0);
    if (json == NULL) {
        fail(r, row, &err);
    } else {
        (void)json_object_set_new(json, "recording", json_integer(c->item.number));
        page_reply_json(r, json);
    }
}

static bool take_entry(struct practice *c,
                       const page_request *r,
                       const own_count *own,
                       app_err *err)
{
    const char *const method = page_text(r, "method", "");
    const int entered = own->entered;
    reveal_request *const q = &c->request;
    const bool pulse = taking_at(&c->taking)->entry == TAKING_PULSE;
    const int most = pulse ? FM_MANUAL_MAX * q->seconds / 60 : FM_BREATHS_MANUAL_MAX;
    if (!own->could_not && (entered < (pulse ? 1 : 0) || entered > most)) {
        return app_err_set(err, APP_USAGE, "give a whole number from %d to %d",
                           pulse ? 1 : 0, most);
    }
    if (pulse) {
        q->pulse = true;
        q->own = *own;
        q->taps = take_taps(r, c->taps_s);
    } else {
        q->breath = true;
        q->own_breaths = *own;
        q->breath_taps = take_taps(r, c->breath_taps_s);
        q->method =
            strcmp(method, "listened") == 0 ? FM_BREATH_LISTENED : FM_BREATH_NOT_SAID;
    }
    return true;
}

/* The pulse's, then the respirations'; nothing is counted before the last of them. What is
 * sent twice says which it is, so that a pulse is not taken for respirations. */
void page_practice_enter(page_request *r)
{
    struct practice *const c = find(r, page_text(r, "practice", NULL));
    app_err err = APP_ERR_NONE;
    own_count own;
    if (c == NULL) {
        return;
    }
    const taking_entry of = taking_at(&c->taking)->entry;
    const char *const wanted = TAKING_ENTRY_WORDS[of];
    if (strcmp(page_text(r, "kind", wanted), wanted) != 0) {
        page_reply_error(r, MHD_HTTP_CONFLICT,
                         of == TAKING_PULSE ? "Not stored: enter the pulse first"
                                            : "the pulse is entered already; the "
                                              "respirations are wanted");
        return;
    }
    const bool read = page_own_count(r, of, &own, &err) && take_entry(c, r, &own, &err);
    if (!read) {
        page_reply_app_error(r, &err);
        return;
    }
    if (page_ask_back(r, of, &own, taking_at(&c->taking)->seconds, false)) {
        return;
    }
    (void)taking_tell(&c->taking, TAKING_ENTERED, 0);
    if (c->taking.phase == TAKING_ENTRY) {
        page_reply_json(r, json_pack("{s:s}", "next", "breath"));
    } else {
        count_it(r, c);
    }
}
