/* What a page sends when a count is entered, and what it is asked back, by that alone. */
#include "dsp/compare/compare.h"
#include "src/page/page_private.h"
#include "src/usecase/entry_ask.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

/* Too long a word is none of the list's, and is refused as that. */
static bool take_word(const page_request *r,
                      const char *member,
                      char to[OWN_WORD_BYTES],
                      app_err *err)
{
    const char *const word = page_text(r, member, "");
    if (strlen(word) >= OWN_WORD_BYTES) {
        return app_err_set(err, APP_USAGE, "'%.40s' is not one of the words to choose",
                           word);
    }
    (void)snprintf(to, OWN_WORD_BYTES, "%s", word);
    return true;
}

bool page_own_count(const page_request *r,
                    taking_entry of,
                    own_count *out,
                    app_err *err)
{
    const bool breath = of == TAKING_BREATH;
    const double entered = page_number(r, "entered", -1.0);
    *out = own_count_of(0);
    out->could_not = page_is(r, "could_not");
    out->confirmed = page_is(r, "confirmed");
    if (!out->could_not &&
        (!(entered >= 0.0 && entered <= FM_MANUAL_MAX) || entered > floor(entered))) {
        return app_err_set(err, APP_USAGE, "give the whole number that you counted");
    }
    out->entered = out->could_not ? 0 : (int)entered;
    if (!own_running_from_json(json_object_get(r->json, "running"),
                               out->words.running)) {
        return app_err_set(err, APP_USAGE,
                           "the counts noted at 15, 30 and 45 s are whole numbers that "
                           "go up");
    }
    return take_word(r, breath ? "breath_rhythm" : "rhythm", out->words.rhythm, err) &&
           (!breath || (take_word(r, "breath_depth", out->words.depth, err) &&
                        take_word(r, "breath_effort", out->words.effort, err))) &&
           own_words_check(&out->words, of, err);
}

bool page_ask_back(
    page_request *r, taking_entry of, const own_count *own, int seconds, bool person)
{
    json_t *const question = entry_ask_json(of, own, seconds, person);
    if (question == NULL) {
        return false;
    }
    page_reply_json(r, question);
    r->answer.status = MHD_HTTP_CONFLICT;
    return true;
}
