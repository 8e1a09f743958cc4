#include "src/words/entry_question.h"

#include <stdio.h>

/* Per minute; see the head of entry_question.h. */
static const struct {
    double least, most;
    const char *noun;
} LIMITS[] = {[TAKING_PULSE] = {30.0, 220.0, "beats"},
              [TAKING_SECOND] = {30.0, 220.0, "beats"},
              [TAKING_BREATH] = {5.0, 80.0, "respirations"}};

static void ask_person(taking_entry of, bool none, char out[LINES_PARAGRAPH_BYTES])
{
    (void)snprintf(out, LINES_PARAGRAPH_BYTES,
                   "None %s for a whole minute, or could you not count? None: call for "
                   "help, look for an answer and for breathing, and with neither begin "
                   "resuscitation as trained. %s",
                   of == TAKING_BREATH ? "seen" : "felt or heard",
                   none ? "Not counted is an answer of its own, and never 0."
                        : "Not counted: that is an answer, and it is stored as that.");
}

/* "7 beats in a full minute is fewer than ..." */
static void ask_number(taking_entry of,
                       int entered,
                       int seconds,
                       bool few,
                       char out[LINES_PARAGRAPH_BYTES])
{
    char rate[64] = "";
    char length[32] = "a full minute";
    if (seconds != 60) {
        (void)snprintf(length, sizeof length, "%d s", seconds);
        (void)snprintf(rate, sizeof rate, ", %d per minute,", entered * (60 / seconds));
    }
    (void)snprintf(
        out, LINES_PARAGRAPH_BYTES,
        "%d %s in %s%s is %s than is nearly ever met: is that what you "
        "counted?%s",
        entered, LIMITS[of].noun, length, rate, few ? "fewer" : "more",
        seconds != 60 && !few ? " Give the number as counted, not multiplied." : "");
}

entry_question entry_question_of(taking_entry of,
                                 const own_count *own,
                                 int seconds,
                                 bool person,
                                 char out[LINES_PARAGRAPH_BYTES])
{
    const double per_min = (double)own->entered * 60.0 / (double)seconds;
    const bool none = !own->could_not && own->entered == 0;
    out[0] = '\0';
    if (own->confirmed) {
        return ENTRY_NO_QUESTION;
    }
    if (own->could_not || none) {
        if (person) {
            ask_person(of, none, out);
        }
        return person ? ENTRY_PERSON_FIRST : ENTRY_NO_QUESTION;
    }
    if (per_min >= LIMITS[of].least && per_min <= LIMITS[of].most) {
        return ENTRY_NO_QUESTION;
    }
    ask_number(of, own->entered, seconds, per_min < LIMITS[of].least, out);
    return ENTRY_IMPROBABLE;
}

const char *entry_question_word(entry_question q)
{
    return q == ENTRY_IMPROBABLE     ? "improbable"
           : q == ENTRY_PERSON_FIRST ? "person"
                                     : NULL;
}
