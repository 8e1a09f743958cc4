#include "src/base/hint.h"

#include <stddef.h>

static const struct {
    const char *code, *words;
} HINTS[HINT_COUNT] = {
#define X(kind, code, words) [kind] = {code, words},
    HINT_MAP(X)
#undef X
};

const char *hint_say(hint_voice *voice, hint_kind kind)
{
    if (voice == NULL) {
        return HINTS[kind].words;
    }
    voice->said[kind] = true;
    return voice->words != NULL ? voice->words[kind] : HINTS[kind].words;
}

const char *hint_code(hint_kind kind)
{
    return HINTS[kind].code;
}
