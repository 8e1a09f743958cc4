#include "src/usecase/entry_ask.h"

#include "src/words/entry_question.h"

json_t *entry_ask_json(taking_entry of, const own_count *own, int seconds, bool person)
{
    char text[LINES_PARAGRAPH_BYTES];
    const entry_question q = entry_question_of(of, own, seconds, person, text);
    if (q == ENTRY_NO_QUESTION) {
        return NULL;
    }
    json_t *const first = q == ENTRY_PERSON_FIRST
                              ? json_pack("{s:b,s:[s]}", "now", 1, "text", text)
                              : json_null();
    return json_pack("{s:s,s:s,s:s,s:o}", "error", text, "ask", entry_question_word(q),
                     "text", text, "person", first);
}
