/* Recordings to listen to: by number, dropped on the page, or written by intervals. */
#include "src/page/page_private.h"
#include "src/port/dropped_sound.h"
#include "src/usecase/blind.h"
#include "src/usecase/compose_bars.h"
#include "src/usecase/listen_make.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static void add_item(void *context, const collection_item *item)
{
    static const char *const KINDS[] = {[COLLECTION_FOUND] = "found",
                                        [COLLECTION_DROPPED] = "dropped",
                                        [COLLECTION_COMPOSED] = "composed",
                                        [COLLECTION_TAKEN] = "taken"};
    (void)json_array_append_new(
        context, json_pack("{s:i,s:s,s:s,s:b,s:i}", "number", item->number, "name",
                           item->name, "kind", KINDS[item->kind], "known", item->known,
                           "blind", blind_number(item->path)));
}

void page_listen_list(page_request *r)
{
    json_t *const list = json_array();
    collection_each(r->page->collection, add_item, list);
    page_reply_json(r, json_pack("{s:o}", "recordings", list));
}

/* What the address asks for; false: answered. */
static bool find(page_request *r, collection_item *item, listen_request *of)
{
    if (!collection_get(r->page->collection, (int)r->number, item)) {
        return page_reply_error(r, MHD_HTTP_NOT_FOUND,
                                "there is no such recording; choose another");
    }
    *of = (listen_request){
        .path = item->path,
        .start_s = fmax(0.0, fmin(1e6, strtod(page_argument(r, "start"), NULL))),
        .seconds = 60.0,
        .small_speaker = strcmp(page_argument(r, "speaker"), "small") == 0};
    return true;
}

void page_listen_sound(page_request *r)
{
    collection_item item;
    listen_request of;
    if (find(r, &item, &of)) {
        page_reply_sound(r, &of);
    }
}

void page_listen_marks(page_request *r)
{
    collection_item item;
    listen_request of;
    app_err err = APP_ERR_NONE;
    if (!find(r, &item, &of)) {
        return;
    }
    json_t *const json = listen_make_marks(&of, &err);
    if (json == NULL) {
        page_reply_app_error(r, &err);
        return;
    }
    (void)json_object_set_new(json, "name", json_string(item.name));
    page_reply_json(r, json);
}

/* A file dropped on the page. */
void page_listen_drop(page_request *r)
{
    app_err err = APP_ERR_NONE;
    char path[COLLECTION_PATH_BYTES];
    if (r->body.failed || r->body.n == 0) {
        page_reply_error(r, MHD_HTTP_BAD_REQUEST,
                         "there is nothing in that file; choose another");
        return;
    }
    if (!collection_new_path(r->page->collection, path, &err) ||
        !dropped_sound_take(r->body.data, r->body.n, path, &err)) {
        page_reply_app_error(r, &err);
        return;
    }
    page_reply_json(r, json_pack("{s:i}", "number",
                                 collection_add(r->page->collection, COLLECTION_DROPPED,
                                                page_argument(r, "name"), path)));
}

/* Written by intervals. */
void page_listen_compose(page_request *r)
{
    const json_t *const list = json_object_get(r->json, "intervals_s");
    app_err err = APP_ERR_NONE;
    char path[COLLECTION_PATH_BYTES];
    compose_bars bars = {
        .seconds = fmax(5.0, fmin(120.0, page_number(r, "seconds", 66.0))),
        .breaths_per_min = fmax(4.0, fmin(80.0, page_number(r, "breaths", 15.0))),
        .noise_snr_db = page_is(r, "noisy") ? 6.0 : (double)NAN};
    bars.n = json_array_size(list) <= COMPOSE_BARS_MOST ? json_array_size(list) : 0;
    for (size_t i = 0; i < bars.n; i++) {
        bars.intervals_s[i] = json_number_value(json_array_get(list, i));
    }
    if (!collection_new_path(r->page->collection, path, &err) ||
        !compose_bars_write(&bars, path, &err)) {
        page_reply_app_error(r, &err);
        return;
    }
    char *const text = compose_bars_text(&bars);
    const int number = collection_add(r->page->collection, COLLECTION_COMPOSED,
                                      page_text(r, "name", "Composed"), path);
    page_reply_json(r, json_pack("{s:i,s:s?}", "number", number, "recipe", text));
    free(text);
}
