#include "src/usecase/input_list.h"

#include "src/base/text.h"
#include "src/port/devices.h"

#include <stdlib.h>

static json_t *one(const device *d)
{
    char *const key = text_escape_name(d->key);
    char *const name = text_escape_name(d->name);
    json_t *const out = json_pack("{s:s?,s:s?,s:i,s:b}", "key", key, "name", name,
                                  "channels", d->inputs, "default", d->default_input);
    free(key);
    free(name);
    return out;
}

json_t *input_list_make(app_err *err)
{
    devices all;
    if (!devices_open(&all, false, err)) {
        return NULL;
    }
    json_t *const list = json_array();
    for (size_t i = 0; i < all.n; i++) {
        if (all.list[i].inputs > 0) {
            (void)json_array_append_new(list, one(&all.list[i]));
        }
    }
    devices_close(&all);
    return list;
}
