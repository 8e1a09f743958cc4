#include "src/command/own_ask.h"

#include "src/base/text.h"
#include "src/words/entry_question.h"

#include <stddef.h>
#include <stdio.h>
#include <string.h>
#include <strings.h>

enum {
    WORDS_MOST = 4,
    NO_ENTRY = -1
};

struct own_question {
    const char *ask;
    size_t to;                     /* the word in own_words; unused for counts */
    const char *words[WORDS_MOST]; /* none: counts noted under way */
};

#define RHYTHM offsetof(own_words, rhythm)
static const own_question RUNNING = {
    "Your running counts at 15, 30 and 45 s, if you noted\nthem, as in 18,36,53",
    0,
    {0}};
static const own_question PULSE = {"How was the rhythm?",
                                   RHYTHM,
                                   {"regular", "occasionally irregular",
                                    "regularly irregular", "irregularly irregular"}};
static const own_question BREATHING = {
    "How was the breathing?", RHYTHM, {"even", "uneven", "with pauses"}};
static const own_question DEPTH = {
    "How deep?", offsetof(own_words, depth), {"shallow", "usual", "deep"}};
static const own_question EFFORT = {
    "With what effort?", offsetof(own_words, effort), {"easy", "laboured"}};

const own_question *own_question_at(taking_entry of, int n)
{
    static const own_question *const OF_PULSE[] = {&PULSE, &RUNNING, NULL};
    static const own_question *const OF_BREATH[] = {&BREATHING, &DEPTH, &EFFORT,
                                                    &RUNNING, NULL};
    return of == TAKING_PULSE ? OF_PULSE[n] : of == TAKING_BREATH ? OF_BREATH[n] : NULL;
}

const char *own_question_say(const own_question *q, char out[OWN_ASK_BYTES])
{
    (void)snprintf(out, OWN_ASK_BYTES, "%s\n", q->ask);
    for (int i = 0; i < WORDS_MOST && q->words[i] != NULL; i++) {
        text_add(out, OWN_ASK_BYTES, "%d  %s\n", i + 1, q->words[i]);
    }
    return out;
}

bool own_question_take(const own_question *q,
                       const char *typed,
                       own_words *to,
                       app_err *err)
{
    char *const word = (char *)to + q->to;
    long chosen = 0;
    if (q->words[0] == NULL) {
        return own_running_take(typed, to->running, err);
    }
    const bool number = text_to_long(typed, &chosen);
    for (int i = 0; i < WORDS_MOST && q->words[i] != NULL; i++) {
        if (number ? chosen == i + 1 : strcmp(typed, q->words[i]) == 0) {
            (void)snprintf(word, OWN_WORD_BYTES, "%s", q->words[i]);
            return true;
        }
    }
    word[0] = '\0';
    return typed[0] == '\0' ||
           app_err_set(err, APP_USAGE,
                       "give the number that stands before a word, or nothing");
}

void own_ask_all(taking_entry of, own_words *to)
{
    char line[OWN_WORD_BYTES * 2];
    char text[OWN_ASK_BYTES];
    const own_question *q = NULL;
    for (int n = 0; (q = own_question_at(of, n)) != NULL; n++) {
        app_err err = APP_ERR_NONE;
        (void)fprintf(stderr, "%s(Enter: not said) ", own_question_say(q, text));
        if (fgets(line, sizeof line, stdin) == NULL) {
            (void)fputc('\n', stderr);
            return;
        }
        line[strcspn(line, "\r\n")] = '\0';
        if (!own_question_take(q, line, to, &err)) {
            (void)fprintf(stderr, "%s.\n", err.text);
            n--;
        }
    }
}

static bool is_same(const own_count *a, const own_count *b)
{
    return a->could_not == b->could_not && a->entered == b->entered;
}

bool own_ask_number(taking_entry of,
                    const char *typed,
                    int seconds,
                    bool person,
                    own_count *own,
                    char *note,
                    size_t note_bytes)
{
    char text[LINES_PARAGRAPH_BYTES];
    own_count now = own_count_of(NO_ENTRY);
    long number = 0;
    now.could_not = strcasecmp(typed, "c") == 0;
    note[0] = '\0';
    if (!now.could_not &&
        !(text_to_long(typed, &number) && number >= 0 && number <= OWN_RUNNING_MOST)) {
        (void)snprintf(note, note_bytes,
                       "Please give the whole number that you counted.");
        return false;
    }
    now.entered = now.could_not ? 0 : (int)number;
    now.confirmed = is_same(&now, own);
    const entry_question q = entry_question_of(of, &now, seconds, person, text);
    *own = now;
    if (q != ENTRY_NO_QUESTION) {
        (void)snprintf(note, note_bytes, "%s %s", text,
                       own->could_not ? "c again stores it."
                                      : "The same number again stores it.");
    }
    return q == ENTRY_NO_QUESTION;
}
