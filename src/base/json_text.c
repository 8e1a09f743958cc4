#include "src/base/json_text.h"

#include <stdlib.h>

static _Thread_local bool is_short;

static void *take(size_t n)
{
    void *const memory = malloc(n);
    is_short = is_short || memory == NULL;
    return memory;
}

void json_text_begin(void)
{
    json_set_alloc_funcs(take, free);
}

bool json_text_short(void)
{
    const bool was = is_short;
    is_short = false;
    return was;
}

char *json_text_of(const json_t *json, size_t flags)
{
    char *const text = json != NULL ? json_dumps(json, flags) : NULL;
    if (json_text_short()) {
        free(text);
        return NULL;
    }
    return text;
}
