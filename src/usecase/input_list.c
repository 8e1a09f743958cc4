#include "src/usecase/input_list.h"

#include "src/document/document_parts.h"
#include "src/port/devices.h"

json_t *input_list_make(app_err *err)
{
    devices all;
    if (!devices_open(&all, false, err)) {
        return NULL;
    }
    json_t *const list = json_array();
    for (size_t i = 0; i < all.n; i++) {
        if (all.list[i].inputs > 0) {
            const device *const d = &all.list[i];
            (void)json_array_append_new(
                list, json_pack("{s:o,s:o,s:i,s:b}", "key", document_text(d->key),
                                "name", document_text(d->name), "channels", d->inputs,
                                "default", d->default_input));
        }
    }
    devices_close(&all);
    return list;
}
