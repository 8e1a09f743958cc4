/* Recordings to listen to: by number, dropped on the page, or written by intervals. */
#include "src/page/page_private.h"
#include "src/port/dropped_sound.h"
#include "src/usecase/compose_bars.h"
#include "src/usecase/listen_make.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum {
    NAME_BYTES = 80
};

/* A job's own copy of what it works on. */
struct work {
    listen_request request; /* first, for page_reply_sound */
    collection_item item;
    compose_bars bars;
    char name[NAME_BYTES];
};

static void add_item(void *context, const collection_item *item)
{
    static const char *const KINDS[] = {[COLLECTION_FOUND] = "found",
                                        [COLLECTION_DROPPED] = "dropped",
                                        [COLLECTION_COMPOSED] = "composed",
                                        [COLLECTION_TAKEN] = "taken"};
    (void)json_array_append_new(context,
                                json_pack("{s:i,s:s,s:s,s:b}", "number", item->number,
                                          "name", item->name, "kind", KINDS[item->kind],
                                          "known", item->known));
}

void page_listen_list(page_request *r)
{
    json_t *const list = json_array();
    collection_each(r->page->collection, add_item, list);
    page_reply_json(r, json_pack("{s:o}", "recordings", list));
}

static struct work *work_of(page_request *r)
{
    struct work *const w = calloc(1, sizeof *w);
    if (w == NULL) {
        page_reply_error(r, MHD_HTTP_INTERNAL_SERVER_ERROR, "out of memory");
        return NULL;
    }
    r->context = w;
    r->free_context = free;
    return w;
}

static struct work *item_of(page_request *r)
{
    struct work *const w = work_of(r);
    if (w == NULL) {
        return NULL;
    }
    if (!collection_get(r->page->collection, (int)r->number, &w->item)) {
        page_reply_error(r, MHD_HTTP_NOT_FOUND, "there is no such recording");
        return NULL;
    }
    w->request = (listen_request){
        .path = w->item.path,
        .start_s = fmax(0.0, fmin(1e6, strtod(page_argument(r, "start"), NULL))),
        .seconds = 60.0,
        .small_speaker = strcmp(page_argument(r, "speaker"), "small") == 0};
    return w;
}

void page_listen_sound(page_request *r)
{
    if (item_of(r) != NULL) {
        page_reply_sound(r);
    }
}

static void make_marks(page_request *r)
{
    const struct work *const w = r->context;
    app_err err = APP_ERR_NONE;
    json_t *const json = listen_make_marks(&w->request, &err);
    if (json == NULL) {
        page_answer_error(&r->answer, &err);
        return;
    }
    (void)json_object_set_new(json, "name", json_string(w->item.name));
    page_answer_json(&r->answer, json);
}

void page_listen_marks(page_request *r)
{
    if (item_of(r) != NULL) {
        (void)page_request_later(r, make_marks);
    }
}

/* ---- A file dropped on the page ---- */

static void take_drop(page_request *r)
{
    const struct work *const w = r->context;
    app_err err = APP_ERR_NONE;
    char path[COLLECTION_PATH_BYTES];
    if (r->body.failed || r->body.n == 0) {
        page_reply_error(r, MHD_HTTP_BAD_REQUEST, "there is nothing in that file");
        return;
    }
    if (!collection_new_path(r->page->collection, path, &err) ||
        !dropped_sound_take(r->body.data, r->body.n, path, &err)) {
        page_answer_error(&r->answer, &err);
        return;
    }
    page_answer_json(&r->answer,
                     json_pack("{s:i}", "number",
                               collection_add(r->page->collection, COLLECTION_DROPPED,
                                              w->name, path)));
}

void page_listen_drop(page_request *r)
{
    struct work *const w = work_of(r);
    if (w != NULL) {
        const char *const name = page_argument(r, "name");
        const size_t n =
            strlen(name) < sizeof w->name ? strlen(name) : sizeof w->name - 1;
        memcpy(w->name, name, n);
        (void)page_request_later(r, take_drop);
    }
}

/* ---- Written by intervals ---- */

static void compose(page_request *r)
{
    struct work *const w = r->context;
    app_err err = APP_ERR_NONE;
    char path[COLLECTION_PATH_BYTES];
    if (!collection_new_path(r->page->collection, path, &err) ||
        !compose_bars_write(&w->bars, path, &err)) {
        page_answer_error(&r->answer, &err);
        return;
    }
    char *const text = compose_bars_text(&w->bars);
    const int number =
        collection_add(r->page->collection, COLLECTION_COMPOSED, w->name, path);
    page_answer_json(&r->answer,
                     json_pack("{s:i,s:s?}", "number", number, "recipe", text));
    free(text);
}

void page_listen_compose(page_request *r)
{
    struct work *const w = work_of(r);
    const json_t *const list = json_object_get(r->json, "intervals_s");
    if (w == NULL) {
        return;
    }
    const char *const name = page_text(r, "name", "Composed");
    const size_t n = strlen(name) < sizeof w->name ? strlen(name) : sizeof w->name - 1;
    memcpy(w->name, name, n);
    w->bars.n = json_array_size(list) <= COMPOSE_BARS_MOST ? json_array_size(list) : 0;
    for (size_t i = 0; i < w->bars.n; i++) {
        w->bars.intervals_s[i] = json_number_value(json_array_get(list, i));
    }
    w->bars.seconds = fmax(5.0, fmin(120.0, page_number(r, "seconds", 66.0)));
    w->bars.breaths_per_min = fmax(4.0, fmin(80.0, page_number(r, "breaths", 15.0)));
    w->bars.noise_snr_db = page_is(r, "noisy") ? 6.0 : (double)NAN;
    (void)page_request_later(r, compose);
}
